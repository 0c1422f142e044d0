"""`cartclock outlook --day`: text and JSON of one day, and what it refuses."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.letters import cells
from cartclock.engine.planning.day_words import DayWords
from cartclock.engine.planning.weather import Weather
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.plan_file.reader import starter, with_body
from cartclock.tui.commands.group import commands
from cartclock.tui.commands.outlook import _lines
from tests.kit.plans import POLISH, WIPE, opening
from tests.planning.test_day_plan import HOT, MILD, hours, job, planned

# A day of July that is ahead.
ON = f"{datetime.now(UTC).year + 1}-07-24"
DAY = ("--day", ON, "--plan", "one_step_correction_and_coat")
FORECAST = ("--low", "22", "--high", "37", "--dew", "19")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cart whose log is empty."""
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    (tmp_path / "config").mkdir()
    from cartclock.engine.store.laptop.places import log_path

    Bench.open(log_path(), SystemClock(), "me").close()
    return tmp_path


def run(*words: str) -> Result:
    return CliRunner().invoke(commands, ["outlook", *words])


def test_the_first_lines_say_what_to_decide_and_a_program_is_told_the_same(home: Path) -> None:
    done = run(*DAY, *FORECAST)
    assert done.exit_code == 0, done.output
    lines = done.output.splitlines()
    # Of this start alone the coat finds right air.
    assert lines[0].startswith("Not in one day (your day ends 19:00): from 07:00 done about ")
    assert any(line.startswith("Coat behind the night, from ") for line in lines[:4])
    assert any(line.startswith("Air right for this coat: ") for line in lines[:6])
    assert sum(line[:2].isdigit() and line[2:4] == "  " for line in lines) == 24
    assert "no medical advice" in done.output
    assert max(map(len, lines)) <= 80
    told = json.loads(run(*DAY, *FORECAST, "--json").output)
    assert told["day"] == ON
    assert len(told["hours"]) == 24
    assert told["hours"][14]["air_c"] == 37.0
    assert told["plan"]["best"] in told["plan"]["starts"]
    text = " ".join(done.output.split())
    assert all(sentence in text for sentence in (*told["says"], *told["from"]))


@pytest.mark.parametrize("wide", [40, 50, 60, 72, 80])
@pytest.mark.parametrize("weather", [HOT, MILD])
def test_a_day_fits_the_columns_there_are_and_loses_nothing(weather: Weather, wide: int) -> None:
    second = job("one_step_correction_and_coat", certain=False)
    second = replace(second, job=replace(second.job, id="second"))
    jobs = [job("two_layer_coat_overnight", certain=False), second]
    for one in ([second], jobs, [job("maintenance_wash")]):
        found, words = planned(weather, *one), DayWords(hours(weather))
        # Of two words that speak against the air both are told.
        start = replace(found.starts[-1], against=("damp", "hot", "near dew"))
        for plan in (found, replace(found, starts=(*found.starts[:-1], start))):
            lines = _lines(words, plan, one, wide)
            assert max(map(len, lines)) <= wide
            # All of it, no word broken: each of an hour's in front of those of the next.
            shown = " ".join(" ".join(lines).split())
            strips = [words.strip(plan, hour) for hour in words.hours.hours]
            assert {word for strip in strips for word in strip.split()} <= set(shown.split())
            for at in plan.starts:
                by = words.clock(at.by_us, up=True)
                begins = f"{words.clock(at.start_us)} {words.clock(at.done_us)} {by} "
                assert begins in shown
                if at.coat_us is not None:
                    assert words.coat_clock(at) in shown.split(begins)[1]
            assert plan is found or plan.starts[-1].coat_us is None or "damp, hot, near" in shown


def test_a_table_of_hours_stands_for_the_forecast(home: Path) -> None:
    table = home / "hours.csv"
    table.write_text("time,air_c,dew_c\n" + "".join(f"{h:02}:00,20,5\n" for h in range(24)))
    done = run(*DAY, "--hours", str(table))
    assert "Hours of hours.csv" in done.output
    assert "Coat in the same run, from " in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (DAY, "nothing was read today: give --low, --high and --dew, or --hours"),
        ((*DAY, "--low", "22"), "--high and --dew: missing"),
        ((*DAY, "--low", "37", "--high", "22", "--dew", "1"), "--low: 37 is above --high, 22"),
        ((*DAY, "--low", "22", "--high", "37", "--dew", "38"), "--dew: 38 is above --high, 37"),
        ((*DAY, *FORECAST, "--hours", "x.csv"), "a table or a forecast, not both"),
        ((*DAY, "--hours", "no-such.csv"), "cannot be read"),
        (("--day", "soon", *FORECAST), '"soon" is no date; write it like 2026-07-24'),
        (FORECAST, "No job is open; name a plan to be begun that day."),
        (("--plan", "no-such", *FORECAST), "There is no file no-such."),
        ((*DAY[2:], "--day", "2026-07-24", *FORECAST), "2026-07-24 is past; give today, which is "),
        ((*DAY[2:], "--day", "yesterday", *FORECAST), " is past; give today, which is "),
        (("--body", "van"), "--body: is of a starter that --plan names; open jobs have their own"),
        (
            (*DAY, "--low", "68", "--high", "70", "--dew", "9"),
            "--low 68 C cannot be. Without its unit a figure is in C here; write 68F.",
        ),
        ((*DAY, "--low", "168F", "--high", "70", "--dew", "9"), "--low 168 F cannot be.\n"),
    ],
)
def test_what_cannot_be_planned_is_said_on_one_line(
    home: Path, words: tuple[str, ...], said: str
) -> None:
    done = run(*words)
    assert done.exit_code in (1, 2)
    assert done.stdout == ""
    assert said in done.stderr


def test_a_figure_alone_is_in_the_unit_of_the_settings(home: Path) -> None:
    celsius = json.loads(run(*DAY, *FORECAST, "--json").output)
    written = ("--low", "71.6F", "--high", "98.6F", "--dew", "66.2F")
    assert json.loads(run(*DAY, *written, "--json").output)["hours"] == celsius["hours"]
    (home / "settings.toml").write_text('temperature = "F"\n')
    alone = ("--low", "71.6", "--high", "98.6", "--dew", "66.2")
    both = ("--low", "22C", "--high", "37C", "--dew", "66.2")
    for words in (alone, both):
        done = run(*DAY, *words)
        assert "Planning curve 71.6 to 98.6 F, dew point 66.2 F" in done.output
        assert json.loads(run(*DAY, *words, "--json").output)["hours"] == celsius["hours"]
    done = run(*DAY, "--low", "-30", "--high", "50", "--dew", "20")
    assert done.stderr == (
        "--low -30 F cannot be. Without its unit a figure is in F here; write -30C.\n"
    )


def test_a_plan_file_has_its_own_body(home: Path) -> None:
    file = home / "mine.toml"
    file.write_text(with_body(starter("maintenance_wash"), "coupe"))
    for words in (("estimate", str(file)), ("outlook", "--plan", str(file), *FORECAST)):
        for body in ((), ("--body", "coupe")):
            done = CliRunner().invoke(commands, (*words, *body))
            assert done.exit_code == 0, done.output
        done = CliRunner().invoke(commands, (*words, "--body", "van"))
        assert (done.exit_code, done.stdout) == (2, "")
        assert done.stderr.startswith("--body: mine.toml has the body coupe, and that stands; ")
    handmade = file.read_text().replace('shape = "coupe"', "")
    file.write_text(handmade)
    done = CliRunner().invoke(commands, ("estimate", str(file), "--body", "van"))
    assert "--body: mine.toml names its panels itself, and that stands" in done.stderr


def test_who_mistypes_a_starter_is_told_which_there_are(home: Path) -> None:
    done = CliRunner().invoke(commands, ("estimate", "maintenence_wash"))
    assert done.exit_code == 2
    assert done.stderr == (
        'There is no file maintenence_wash. Nor is it a starter; did you mean "maintenance_wash"?\n'
    )
    done = CliRunner().invoke(commands, ("estimate", str(home)))
    assert "Nor is it a starter" not in done.stderr


@pytest.mark.parametrize("wide", [30, 40, 60, 80, 200])
def test_an_estimate_fits_the_terminal_with_its_answer_and_prices(
    home: Path, wide: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cartclock.tui.commands.estimate.columns", lambda: min(wide, 80))
    name = "Clay of all the painted panels and of the sills"
    text = starter("decontamination_and_sealant").replace('name = "Clay"', f'name = "{name}"')
    (home / "long.toml").write_text(text)
    done = CliRunner().invoke(commands, ("estimate", str(home / "long.toml"), "--rate", "38"))
    lines = done.output.splitlines()
    assert max(map(cells, lines)) <= wide
    assert " four times in five), all work at 38.00 an hour; " in " ".join(done.output.split())
    (clay,) = (line for line in lines if line.startswith("Clay of"))
    (shampoo,) = (line for line in lines if line.startswith("Shampoo"))
    assert "0:49" in clay
    assert ("measured" in done.output) == (wide >= 80)
    assert ("no price" in shampoo) == (wide >= 40)


def test_an_estimate_of_a_day_that_is_past_is_refused(home: Path) -> None:
    words = ("estimate", "maintenance_wash", "--day")
    done = CliRunner().invoke(commands, (*words, "2020-05-04"))
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith("--day: 2020-05-04 is past; give today, which is ")
    assert CliRunner().invoke(commands, (*words, "today")).exit_code == 0


def test_an_estimate_answers_first_and_is_its_struct_for_a_program(home: Path) -> None:
    words = ("estimate", "one_step_correction_and_coat", *FORECAST, "--rate", "38")
    done = CliRunner().invoke(commands, words)
    assert done.exit_code == 0, done.output
    lines = done.output.splitlines()
    assert lines[0] == "Estimate: One-step correction and coat, estate"
    assert " of all work, from the plan only." in lines[1]
    assert lines[2].startswith("Begun ")
    assert max(map(len, lines)) <= 80
    found = json.loads(CliRunner().invoke(commands, (*words, "--json")).output)
    names = [line.split("  ")[0] for line in lines]
    assert all(stage["stage"] in names for stage in found["stages"])
    assert found["hourly"] == "38.00"
    assert float(found["labour"]) == pytest.approx(found["own_us"] / 3.6e9 * 38, abs=0.005)
    assert " ".join(found["says"]) in " ".join(done.output.split())
    assert all(one["cost"] is None for one in found["products"])
    wrong = CliRunner().invoke(commands, (*words[:2], "--rate", "much"))
    assert wrong.exit_code == 1
    assert "is not a price; write digits like 18.50" in wrong.stderr


def test_without_a_day_it_says_when_the_open_jobs_will_be_ready(home: Path) -> None:
    assert run().output == "No job is open.\n"
    from cartclock.engine.store.laptop.places import log_path

    bench = Bench.open(log_path(), SystemClock(), "me")
    promised_us = bench.now_us + 30 * 3_600_000_000
    made = replace(opening(WIPE, POLISH), promised_us=promised_us)
    bench.do(rules.open_job, bench.new_id(), made)
    bench.close()
    done = run()
    assert done.exit_code == 0, done.output
    text = done.output
    assert "bottle green estate" in text
    assert "from the plan only." in text
    assert "Promised " in text and "The promise is kept in " in text
    assert "hands" in text and "4 in 5" in text
    assert max(map(len, text.splitlines())) <= 80
    (told,) = json.loads(run("--json").output)["jobs"]
    assert [stage["stage"] for stage in told["stages"]] == ["Wipe", "Polish"]
    assert told["ready_us"] <= told["ready_by_us"]
    assert 0 <= told["promise_kept"] <= 1


def test_a_promise_that_is_past_is_said_to_be(home: Path) -> None:
    from cartclock.engine.store.laptop.places import log_path

    bench = Bench.open(log_path(), SystemClock(), "me")
    made = replace(opening(WIPE, POLISH), promised_us=bench.now_us)
    bench.do(rules.open_job, bench.new_id(), made)
    bench.close()
    assert ". The promised time is past: call now.\n" in run().output
    assert [one["promise_kept"] for one in json.loads(run("--json").output)["jobs"]] == [0]
