"""The door: commands and exit codes.

stdout is data, stderr is talk. Exit 0 done, 1 refused or not found, 2 bad input, 70 a bug.
What only one command needs is imported where that command begins.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from engine.trouble import Asks, PlanFault, Refused, StoreFault
from tui.work_out import work_out

if TYPE_CHECKING:
    from engine.bench import Bench
    from engine.store.settings import Settings

DONE, REFUSED, BAD_INPUT, BUG = 0, 1, 2, 70


def _leave(code: int, sentence: str) -> NoReturn:
    click.echo(sentence, err=True)
    sys.exit(code)


def _plainly(command: Callable[..., Any]) -> Callable[..., Any]:
    """Turns troubles into a sentence on stderr and an exit code."""

    @wraps(command)
    def run(*args: Any, **options: Any) -> Any:
        try:
            return command(*args, **options)
        except PlanFault as faults:
            _leave(BAD_INPUT, str(faults))
        except (Refused, Asks, StoreFault) as why:
            _leave(REFUSED, str(why))
        except BrokenPipeError:
            # The reader of a pipe went away; the interpreter must not complain at its exit.
            sys.stderr.close()
            sys.exit(DONE)

    return run


def _settings() -> Settings:
    from engine.store.places import settings_path
    from engine.store.settings import load_settings

    return load_settings(settings_path())


def _bench(settings: Settings) -> Bench:
    from engine.bench import Bench
    from engine.clock import SystemClock
    from engine.store.places import log_path

    return Bench.open(log_path(), SystemClock(), settings.worker)


def _existing_bench(settings: Settings) -> Bench:
    """The bench of a log that is there; a command that only reads makes none."""
    from engine.store.places import log_path

    if not log_path().exists():
        raise Refused("There is no log yet; cartclock alone opens the screens and begins one.")
    return _bench(settings)


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="cartclock")
@click.option("--mouse", is_flag=True, help="Let the mouse work on the screens.")
@click.pass_context
@_plainly
def main(context: click.Context, mouse: bool) -> None:
    """The clock on the cart: stages, chemical windows, breaks, the record of the day.

    Without a command the screens open.
    """
    if context.invoked_subcommand is not None:
        return
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refused(
            "The screens need a terminal; cartclock record JOB, or cartclock day DATE, "
            "prints without one."
        )
    settings = _settings()
    bench = _bench(settings)
    try:
        sys.exit(_run_screens(bench, settings, mouse))
    finally:
        bench.close()


def _run_screens(bench: Bench, settings: Settings, mouse: bool) -> int:
    from engine.shop import Shop
    from tui.app import CartClock

    app = CartClock(bench, Shop(bench.log, settings.rest_place), settings)
    app.run(mouse=mouse)
    if app.return_code:
        click.echo(
            f"That was a bug of cartclock. Every press it answered is in {bench.log.path}; "
            "start it again and go on.",
            err=True,
        )
        return BUG
    return DONE


@main.command()
@click.argument("name", default="dry_heat_estate")
@click.option(
    "--speed",
    type=click.FloatRange(1, 100_000),
    default=600,
    show_default=True,
    help="How many times faster than the clock.",
)
@click.option("--plain", is_flag=True, help="Print the record, without the screens.")
@_plainly
def demo(name: str, speed: float, plain: bool) -> None:
    """Play a demo session on a scratch log and end on its record."""
    from demo_sessions import session

    if plain or not (sys.stdin.isatty() and sys.stdout.isatty()):
        click.echo(session.play(name).record, nl=False)
        return
    sys.exit(session.show(name, speed))


@main.command()
@click.option("--from", "start", required=True, help="Name of a starter plan.")
@click.option("--body", help="Body shape: hatchback, saloon, estate, coupe, SUV, pickup, van.")
@click.option("--out", type=click.Path(path_type=Path), help="File to write; stdout if left out.")
@_plainly
def new(start: str, body: str | None, out: Path | None) -> None:
    """Write a plan file from a starter, to be made your own."""
    from engine.store.plan_file import starter, with_body

    text = starter(start)
    if body is not None:
        text = with_body(text, body)
    if out is None:
        click.echo(text, nl=False)
        return
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise Refused(f"{out} is there already; nothing was written.") from None
    except OSError as why:
        raise Refused(f"{out} cannot be written: {why.strerror}.") from None
    click.echo(f"Written to {out}. Next: cartclock check {out}", err=True)


@main.command()
@click.argument("plan", type=click.Path(path_type=Path))
@_plainly
def check(plan: Path) -> None:
    """Say what is wrong with a plan file, and which durations are still examples."""
    from engine.job.reminders import remarks
    from engine.store.plan_file import examples, read_plan

    found = read_plan(_text_of(plan), plan.name)
    sections = sum(len(stage.sections) for stage in found.stages)
    click.echo(f"{plan.name}: {len(found.stages)} stages, {sections} sections, no fault.")
    for sentence in (*examples(found), *remarks(found)):
        click.echo(sentence)


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise Refused(f"There is no file {path}.") from None
    except UnicodeDecodeError:
        raise PlanFault((f"{path.name}: this is not UTF-8 text.",)) from None
    except OSError as why:
        raise Refused(f"{path} cannot be read: {why.strerror}.") from None


@main.command()
@click.argument("job")
@_plainly
def record(job: str) -> None:
    """Print the record of a job, by its number."""
    from engine.paper.record_text import record_text
    from engine.shop import Shop

    settings = _settings()
    bench = _existing_bench(settings)
    try:
        made = Shop(bench.log, settings.rest_place).record(job, bench.now_us)
        click.echo(record_text(made, settings.round_minutes, settings.currency), nl=False)
    finally:
        bench.close()


@main.command()
@click.argument("date", required=False)
@_plainly
def day(date: str | None) -> None:
    """Print the summary of a day (YYYY-MM-DD; today if left out)."""
    from engine.job.dates import local
    from engine.paper.day_text import day_text
    from engine.shop import Shop

    settings = _settings()
    bench = _existing_bench(settings)
    try:
        wanted = date or local(bench.now_us, settings.zone).date().isoformat()
        made = Shop(bench.log, settings.rest_place).day(wanted, settings.zone, bench.now_us)
        click.echo(day_text(made, settings.round_minutes), nl=False)
    finally:
        bench.close()


@main.command("check-log")
@_plainly
def check_log() -> None:
    """Recompute the chain of digests; name every broken link."""
    settings = _settings()
    bench = _existing_bench(settings)
    try:
        broken = bench.log.check()
        head = bench.log.head
    finally:
        bench.close()
    for sentence in broken:
        click.echo(sentence)
    if broken:
        sys.exit(REFUSED)
    click.echo(f"{head.seq + 1} rows, every link holds. Head: {head.digest}")


@main.command()
@click.argument("to", type=click.Path(path_type=Path))
@_plainly
def backup(to: Path) -> None:
    """Copy the log, whole and consistent, to a new file."""
    settings = _settings()
    bench = _existing_bench(settings)
    try:
        bench.log.backup(to)
    finally:
        bench.close()
    click.echo(f"Copied to {to}.", err=True)


@main.command("test-alarm")
@_plainly
def test_alarm() -> None:
    """Ring one alarm of each urgency, and say what they are heard by."""
    from engine.store.places import sounds_folder
    from tui.alarm import Voice, rehearse

    # A bell in a file rings nobody.
    terminal = sys.stderr.isatty()

    def bell() -> None:
        if terminal:
            click.echo("\a", nl=False, err=True)

    voice = Voice(_settings().alarm, bell, sounds_folder())
    if voice.settings.bell and not terminal:
        click.echo("Without a terminal behind stderr the bell is not heard.", err=True)
    try:
        for line in rehearse(voice):
            click.echo(line)
    finally:
        voice.close()


main.add_command(work_out)

if __name__ == "__main__":
    main()
