"""The demo sessions, played from the first key to the last on the real screens.

A record that has changed for a good reason is written anew with
`cartclock demo NAME --plain > demo_sessions/NAME/record.txt`, and read before it is kept.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from importlib import resources

import pytest

from cartclock.demo_sessions import session
from cartclock.demo_sessions.script import file_text
from cartclock.engine.facts import events as ev
from cartclock.engine.paper.facts import PaperFacts, Size
from cartclock.engine.paper.papers import PAPERS
from tests.kit.pdf import sheets
from tests.kit.reckoner import SECOND_US, reckoned
from tests.kit.sessions import SMALL, Result, result
from tests.kit.setting import record_html, record_pdf, record_text

# Where tests are dealt out by group, each session is played on one worker only.
pytestmark = pytest.mark.xdist_group("demo sessions")

NAMES = (
    "cool_damp_coupe",
    "dry_heat_estate",
    "three_washes",
    "two_day_van",
    "two_layers_and_a_saloon",
)
# Twice what a press takes on an idle core.
MOST_YARDS_A_PRESS = 0.6
# Much more often than a session looks by itself.
OFTEN_S = 150.0
INVENTED = "All of it is invented; the numbers are synthetic."


def test_the_sessions_are_these() -> None:
    assert session.sessions() == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_a_session_gives_the_record_beside_it(name: str) -> None:
    assert result(name).played.record == file_text(name, "record.txt")


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_a_small_screen_painted_more_often_gives_the_same_record(name: str) -> None:
    small, home = result(name, SMALL, OFTEN_S).played, result(name).played
    assert small.record == home.record
    assert small.keys == home.keys


@pytest.mark.parametrize("name", NAMES)
def test_a_play_takes_seconds(name: str) -> None:
    played = result(name)
    print(f"{name}: {played.busy_seconds:.1f} s busy, {played.busy_yards:.0f} yards")  # noqa: T201  # shown with -rP
    assert played.busy_yards < MOST_YARDS_A_PRESS * played.played.presses


@pytest.mark.parametrize("name", NAMES)
def test_the_count_of_presses_ends_the_record(name: str) -> None:
    played = result(name).played
    assert played.record.endswith(f"\n{len(played.keys)} presses\n")


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_left_open(name: str) -> None:
    found = result(name)
    assert found.broken == []
    assert len(found.events(ev.JobOpened)) == len(found.events(ev.JobClosed))
    assert all(off_us is not None for _shift, _on_us, off_us in found.shifts)
    for lines in found.records():
        assert not any(line.startswith("Not answered: ") for line in lines)
        assert not any("set aside" in line for line in lines)
        assert max(map(len, lines)) <= 80


def hour_tables(record: list[str]) -> dict[tuple[str, str], list[int | None]]:
    """The hours of a record: minutes by table and line, a column for each shift and for all."""
    begins = next(at for at, line in enumerate(record) if line.startswith("HOURS "))
    ends = next(at for at in range(begins, len(record)) if record[at].startswith("Breaks: "))
    found: dict[tuple[str, str], list[int | None]] = {}
    table, edges = "use", []
    for line in record[begins:ends]:
        table = "hands" if line.strip().startswith("hands on, by stage") else table
        table = "standing by" if line == "standing by a window" else table
        figures = list(re.finditer(r"(\d+):(\d\d)(?=\s|$)", line))
        if not figures:
            continue
        label = line[: figures[0].start()].strip()
        edges = edges or [figure.end() for figure in figures]
        minutes = {f.end(): int(f[1]) * 60 + int(f[2]) for f in figures}
        assert set(minutes) <= set(edges)
        found[table, label] = [minutes.get(edge) for edge in edges]
    return found


def in_minutes(seconds: int) -> int:
    """The nearest minute."""
    return (seconds + 30) // 60


@pytest.mark.parametrize("name", NAMES)
def test_the_hours_add_up_to_the_time_on_the_clock(name: str) -> None:
    found = result(name)
    on_the_clock: dict[str, int] = {}
    for shift, on_us, off_us in found.shifts:
        assert off_us is not None
        # What a stretch was may be told when the shift is over.
        during = [r for r in found.rows if not isinstance(r.event, ev.GapJudged)]
        times = [r.at_us for r in during if r.shift == shift]
        assert (on_us, off_us) == (min(times), max(times))
        buckets = reckoned(found.rows, shift, off_us)
        assert reckoned(found.rows, shift, off_us, leaps=True) == buckets
        assert sum(buckets.values()) * SECOND_US == off_us - on_us
        on_the_clock[shift] = sum(buckets.values())
    by_number = {r.event.number: r.job for r in found.events(ev.JobOpened)}  # type: ignore[attr-defined]  # the rows are of one kind
    for number, (record, paper) in enumerate(zip(found.records(), found.papers, strict=True), 1):
        work = [r for r in found.events(ev.WorkStarted) if r.job == by_number[number]]
        # A paper tells the shifts in which its job was worked on.
        shifts = [on_the_clock[shift] for shift in dict.fromkeys(r.shift for r in work)]
        for account, seconds in zip(paper.accounts, shifts, strict=True):
            assert sum(share.length_us for share in account.shares) == seconds * SECOND_US
        together = [sum(shifts)] if len(shifts) > 1 else []
        printed = hour_tables(record)
        assert printed["use", "On the clock"] == [in_minutes(s) for s in (*shifts, *together)]
        # Every figure is rounded by itself, half a minute at the most.
        uses = [row[-1] or 0 for (table, _label), row in printed.items() if table == "use"][1:]
        assert abs(sum(uses) * 60 - sum(shifts)) <= 30 * len(uses)


@pytest.mark.parametrize("name", NAMES)
def test_every_line_of_the_hours_is_in_the_log(name: str) -> None:
    found = result(name)
    by_number = {r.event.number: r.job for r in found.events(ev.JobOpened)}  # type: ignore[attr-defined]  # the rows are of one kind
    counted = 0
    for number, (record, paper) in enumerate(zip(found.records(), found.papers, strict=True), 1):
        job = by_number[number]
        printed = hour_tables(record)
        ends = {shift: off_us or 0 for shift, _on_us, off_us in found.shifts}
        for column, account in enumerate(paper.accounts):
            buckets = reckoned(found.rows, account.shift, ends[account.shift])
            for (kind, what, whose, stage), seconds in buckets.items():
                if whose != job:
                    continue
                line = ("use", f"Other: {what}") if kind == "other" else (kind, stage)
                assert printed[line][column] == in_minutes(seconds)
                counted += 1
    assert counted >= 8


def presses_of(found: Result, number: int) -> list[str]:
    """The keys from the first work on a job to its close, both with it."""
    job = next(r.job for r in found.events(ev.JobOpened) if r.event.number == number)  # type: ignore[attr-defined]  # the rows are of one kind
    first_us = next(r.at_us for r in found.events(ev.WorkStarted) if r.job == job)
    closed_us = next(r.at_us for r in found.events(ev.JobClosed) if r.job == job)
    return [key for at_us, key in found.played.keys if first_us <= at_us <= closed_us]


def test_a_long_day_takes_at_most_ninety_presses() -> None:
    assert result("dry_heat_estate").played.presses <= 90
    about = file_text("dry_heat_estate", "about.md")
    assert f"in {result('dry_heat_estate').played.presses} key presses" in about


@pytest.mark.parametrize("number", [1, 3])
def test_a_maintenance_wash_takes_at_most_eight_presses(number: int) -> None:
    keys = presses_of(result("three_washes"), number)
    assert keys[0] == "space"
    assert 1 < len(keys) <= 8


def test_a_flash_outlives_the_laptop() -> None:
    found = result("two_day_van")
    assert len({row.boot for row in found.rows}) == 3
    assert len(found.shifts) == 2

    def boots(section: str) -> tuple[str, str, int]:
        first = [r for r in found.rows if section in getattr(r.event, "sections", ())]
        first = [r for r in first if getattr(r.event, "stage", "") == "Coat"]
        applied = next(r for r in first if isinstance(r.event, ev.StepFinished))
        levelled = next(
            r for r in first if isinstance(r.event, ev.WorkStarted) and r.event.turn.step > 0
        )
        return applied.boot, levelled.boot, (levelled.at_us - applied.at_us) // SECOND_US

    before, after, seconds = boots("barn doors")
    assert before != after
    taken = f" {seconds // 60}:{seconds % 60:02}"
    record = found.records()[0]
    assert any(entry.startswith("  barn doors ") and entry.endswith(taken) for entry in record)
    (gap,) = found.events(ev.GapFound)
    assert isinstance(gap.event, ev.GapFound)
    assert gap.event.to_us - gap.event.from_us == 4 * 60 * SECOND_US
    assert [row.event.was for row in found.events(ev.GapJudged)] == ["as it stood"]  # type: ignore[attr-defined]  # the rows are of one kind


def test_the_van_is_called_back_and_handed_over_as_the_script_says() -> None:
    """By hand: a key takes 2 s. Pads and towels from 15:36:31; 4 min and two keys later the phone,
    at 15:40:35, which is called back in the press behind it; 3 min and two keys later pads and
    towels again. So the phone has 7:13 of the first call (7 min, a time and a name typed),
    3:06 of this one and 2:52 of the third: 10:19, and 13:11 in all.
    """
    found = result("two_day_van")
    (promised,), (ended,) = (found.events(k) for k in (ev.CallBackPromised, ev.CallBackEnded))
    late_us = ended.at_us - promised.event.at_us  # type: ignore[attr-defined]  # the rows are of one kind
    assert late_us == 37 * SECOND_US
    (keys,), (paid,) = (found.events(kind) for kind in (ev.KeysTaken, ev.PaymentNoted))
    (closed,) = found.events(ev.JobClosed)
    assert closed.at_us <= keys.at_us == paid.at_us
    paper = " ".join(" ".join(found.records()[0]).split())
    assert "08:26 paid: cash; me 08:26 keys: taken by Barnaby Quillfeather; me" in paper
    clip = "broken part; a clip of the number plate broke; a new one is on it"
    assert f"08:25 whole vehicle: {clip}; noted by me, on the customer's sheet" in paper
    assert clip in " ".join(found.given["sheet", "text"].decode().split())
    assert "Other: phone 0:10 0:03 0:13" in paper


def test_a_clock_set_wrong_moves_no_length() -> None:
    found = result("two_day_van")
    assert [row.event.by_us for row in found.events(ev.ClockStepped)] == [-3600 * SECOND_US]  # type: ignore[attr-defined]  # the rows are of one kind
    at = found.rows.index(found.events(ev.ClockStepped)[0])
    before, after = found.rows[at - 1], found.rows[at + 1]
    assert after.wall_us < before.wall_us
    assert after.at_us - before.at_us == after.tick_us - before.tick_us > 0


def test_three_calls_are_other_work_for_the_van() -> None:
    calls = [row.event for row in result("two_day_van").events(ev.OtherWorkStarted)]
    phone = [call for call in calls if isinstance(call, ev.OtherWorkStarted)]
    assert [call.what for call in phone].count("phone") == 3


def test_three_jobs_in_one_shift_with_rain() -> None:
    found = result("three_washes")
    assert len(found.shifts) == 1
    assert len(found.events(ev.JobClosed)) == 3
    plans = [row.event.plan for row in found.events(ev.JobOpened)]  # type: ignore[attr-defined]  # the rows are of one kind
    panels = [stage.sections for plan in plans for stage in plan.stages if len(stage.sections) > 9]
    assert len(panels) == len(set(panels)) == 3
    rain = [row.event.rain_at_us - row.at_us for row in found.events(ev.ReadingTaken)]  # type: ignore[attr-defined]  # the rows are of one kind
    assert [us // SECOND_US // 60 for us in rain] == [180, 20]
    calls = [row.event for row in found.events(ev.OtherWorkStarted)]
    assert [call.what for call in calls if isinstance(call, ev.OtherWorkStarted)] == ["phone"]
    (water,) = found.events(ev.WaterTouched)
    (sealant,) = [stage for stage in plans[1].stages if stage.name == "Sealant"]
    assert water.event == ev.WaterTouched("Sealant", sealant.sections)
    paper = " ".join(" ".join(found.records()[1]).split())
    remedy = "Dry it with a soft towel at once and look for spots."
    assert f"all of it: water on it Sat 18 Apr 11:02: {remedy}" in paper
    assert "Got wet on Sat 18 Apr 2026, 11:02; all of it." in paper


@pytest.mark.parametrize("name", NAMES)
def test_the_page_of_a_session(name: str) -> None:
    lines = file_text(name, "about.md").splitlines()
    assert INVENTED in lines
    assert any(f"`cartclock demo {name}`" in line for line in lines)
    assert len(lines) <= 70


@pytest.mark.parametrize("name", NAMES)
def test_every_duration_of_the_plans_is_an_example(name: str) -> None:
    folder = resources.files("cartclock.demo_sessions").joinpath(name)
    files = [f for f in folder.iterdir() if f.name.endswith(".toml") and f.name != "steps.toml"]
    assert files
    for file in files:
        plan = tomllib.loads(file.read_text(encoding="utf-8"))
        for stage in plan["stage"]:
            lengths = [step for step in stage["step"] if "wait" in step]
            lengths += [stage[key] for key in ("gap", "cure") if key in stage]
            assert all(length.get("example") is True for length in lengths), stage["name"]
        assert all(care["source"] == "example" for care in plan["aftercare"])


# Pages of the records, A4; text lines of the longest. The van has an incident and a call back more
# than three pages hold.
MOST_PAGES = {"two_layers_and_a_saloon": 5, "two_day_van": 4, "dry_heat_estate": 3}
MOST_LINES = 380
LEAST_PT = 7.0


@pytest.mark.parametrize("name", MOST_PAGES)
def test_a_record_is_short_in_letters_that_can_be_read_and_alike_on_both_papers(name: str) -> None:
    found = result(name).papers[0]
    a4, letter = (sheets(record_pdf(found, size=size, search=None)) for size in ("A4", "Letter"))
    assert len(a4) == len(letter) <= MOST_PAGES[name]
    assert min(page.smallest for page in (*a4, *letter)) >= LEAST_PT - 0.01
    # Who has half a minute finds on the first page what all hours came to, every shift and every
    # window; and of a single shift the tables of its hours.
    first = ["on the clock", "Shift ", "Heat", "Windows", "nearest to the close"]
    if len(found.accounts) < 2:
        first += ["Hours", "On the clock", "Breaks: "]
    for said in first:
        assert said in a4[0].text and said in letter[0].text
    assert record_text(found).count("\n") <= MOST_LINES


@pytest.mark.parametrize("name", ["two_layers_and_a_saloon", "three_washes"])
def test_every_paper_keeps_to_its_pages_and_its_letters(name: str) -> None:
    for record in result(name).papers:
        for kind in ("sheet", "arrival", "windscreen"):
            paper = PAPERS[kind]
            sizes: tuple[Size, Size] = ("A4", "Letter")
            for size in sizes:
                pages = sheets(paper.made("pdf", PaperFacts(record, size=size)))
                # Readings of the paint are an annex of the sheet; none of these has any.
                assert len(pages) <= (paper.as_sheet.pages or 0), (kind, size)
                least = min(page.smallest for page in pages)
                assert least >= paper.as_sheet.least_pt - 0.01, (kind, size)


@pytest.mark.parametrize("name", NAMES)
def test_the_hours_are_the_same_in_every_form(name: str) -> None:
    for found in result(name).papers:
        pages = "\n".join(page.text for page in sheets(record_pdf(found, search=None)))
        markup = re.sub(r"<[^>]+>", "\n", record_html(found))
        told = [hours_in(text) for text in (record_text(found), pages, markup)]
        assert told[0] == told[1] == told[2]
        assert sum(told[0].values()) > 4


def hours_in(text: str) -> Counter[str]:
    """How often each figure stands in the tables of the hours."""
    begins = re.search(r"(?i)hours\s+hours:minutes", text)
    assert begins is not None
    part = text[begins.end() : text.index("Breaks: ", begins.end())]
    return Counter(re.findall(r"(?<!\S)\d+:\d\d(?!\S)", part))
