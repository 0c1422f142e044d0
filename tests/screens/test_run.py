"""Run: a day of presses on the real screen, what it shows in every state, and what it refuses.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from datetime import time
from pathlib import Path

import pytest
from msgspec.structs import replace
from rich.style import Style
from textual.geometry import Offset

from cartclock.engine.ahead.foreseen import Learned
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.alarm_settings import AlarmSettings
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.settings import Settings
from cartclock.tui.face.canvas import Ground
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.screens.run import RunScreen
from cartclock.tui.told.run import _FREE, _NO_JOB, OCCASIONS
from cartclock.tui.widgets.keyrow import KeyRow
from tests.kit.afar import AFAR, reaches
from tests.kit.plans import COAT, FALLOUT, POLISH, WIPE
from tests.kit.run_states import STATES, late, one_window, plain, two_windows
from tests.kit.stage import HOME, LARGE, SMALL, START_US, Play, compare, key_event, played, whole

HUGE = (200, 50)
SIZES = pytest.mark.parametrize("size", [HOME, SMALL], ids=["80x24", "40x12"])
# Rows of the digits that each size must keep while work goes on; our own floor.
LEAST_ROWS = {HOME: 9, SMALL: 5, LARGE: 11}
ONE_LAYER = replace(COAT, layers=1, gap=None)
LETTERS = {k.id: k.keys[0] for k in on_screen(KEYS, "run") if len(k.keys[0]) == 1}


async def go_on(play: Play) -> None:
    """Presses SPACE for the next move and works as long as it is planned."""
    move = play.app.workplace.chosen
    assert move is not None
    shift = play.bench.shift()
    if move.act == "stand by" and shift is not None and shift.state == "free":
        assert move.opens_us is not None
        await play.wind((move.opens_us - play.bench.now_us) / 1e6)
        return
    await play.press("space")
    if move.act == "take up":
        await play.wind(move.minutes * 60)


@SIZES
async def test_space_does_a_plain_day_and_closes_no_job_by_itself(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (FALLOUT, POLISH, ONE_LAYER, WIPE), size=size, on=False) as play:
        assert "OFF THE CLOCK" in play.seen
        await play.press("space", "space")
        presses = play.app.presses
        (job,) = play.bench.jobs.values()
        for _ in range(60):
            if all(section.over for section in job.sections.values()):
                break
            await go_on(play)
            (job,) = play.bench.jobs.values()
            assert whole(play) == []
            assert play.digits() >= LEAST_ROWS[size]
        assert all(section.state == "done" for section in job.sections.values())
        # Three sprays and two rinses (the first windows open before the third section could be
        # sprayed), two steps on two panels, three on three sections, one wipe.
        assert play.kinds.count("WorkStarted") == 3 + 2 + 4 + 9 + 1
        # Besides them only standing by, at most once a window, and the end are presses.
        assert play.app.presses - presses <= 19 + 6 + 1
        assert play.odd() == []
        # One key that is pressed for the next piece does not hand a vehicle over.
        await play.press("space")
        assert play.sheet.title == "Bottle green estate: hand it over and close the job?"
        await play.press("down", "space")
        assert "JobClosed" not in play.kinds
        await play.press("space", "space")
        assert "nothing: T, then +" in play.next_line


@pytest.mark.parametrize("state", STATES)
async def test_every_state_says_its_word_in_large_and_reaches_3_m_nureg_0700(
    tmp_path: Path, state: str
) -> None:
    """Name, digits and word have 20 minutes of arc there (`tests/kit/afar.py`)."""
    shown = STATES[state]
    async with played(tmp_path, *shown.jobs) as play:
        await shown.reach(play)
        faces = play.glance.faces
        assert tuple(face.field for face in faces) == shown.fields
        # What has no large form is text, `tests/screens/test_afar.py`.
        afar = AFAR if state != "no_large_form" else ()
        for size in (HOME, SMALL, LARGE):
            if size != HOME:
                await play.resize(size)
            if size in afar:
                reaches(play.picture, faces)
            for word in shown.words:
                assert word in play.seen
            # The first matter in large on its ground; the second as a strip on its own.
            strip = () if len(faces) < 2 or size == SMALL else (faces[1].field,)
            assert {faces[0].field, *strip} <= grounds(play)
            hours = size == SMALL and len(faces[0].clock) > 5
            assert play.digits() >= LEAST_ROWS[size] - hours
            assert whole(play) == []
            compare(f"run_{state}", play)
        if HUGE in afar:
            await play.resize(HUGE)
            reaches(play.picture, faces)
        assert play.odd() == []


def grounds(play: Play) -> set[Ground]:
    """The grounds of the picture that fill a row from edge to edge."""
    return {row[0].ground for row in play.picture.looks if len({one.ground for one in row}) == 1}


async def test_what_is_not_whole_is_found(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("t")
        row = play.screen.query_one(KeyRow)
        row.show([])
        await play.settle()
        assert "no key space in the key row" in whole(play)
        play.screen.paint()
        row.offset = Offset(0, 3)
        await play.settle()
        assert any("outside" in fault for fault in whole(play))
        row.offset = Offset(0, -5)
        await play.settle()
        assert any("overlaps" in fault for fault in whole(play))


async def test_a_small_screen_shows_the_clock_that_hurts_first(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), size=SMALL) as play:
        await two_windows(play)
        assert play.seen.startswith("bonnet left   LEVEL")
        turns = set()
        for _ in range(16):
            turns.add("bonnet right: wait" in play.text)
            await play.wind(1)
        # The second takes turns with the tape.
        assert turns == {True, False}
        await play.wind(300)
        assert play.seen.startswith("bonnet left   LATE")


# What a key means.


async def test_space_takes_up_what_the_line_named_whatever_the_time(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await plain(play)
        assert "stand by for bonnet left" in play.next_line
        # The window opens after the last tick and before the press.
        await play.press("space")
        await play.wind(59)
        # There is nothing to press for: the line says until when, as the tape does.
        assert play.next_line == "SPACE  wait until 14:15: bonnet left"
        play.clock.wind(1.5)
        await play.press("space")
        assert play.kinds[-1] != "WorkStarted"
        assert play.notice == "Nothing is in hand; wait until 14:15: bonnet left."
        assert "level bonnet left" in play.next_line
        await play.press("space")
        assert play.kinds[-1] == "WorkStarted"


async def test_what_was_chosen_stays_chosen_while_time_reorders(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await one_window(play)
        await play.press("down", "down")
        assert "apply roof" in play.next_line
        await play.wind(300)
        assert "LATE" in play.seen
        assert "apply roof" in play.next_line
        await play.press("esc")
        assert "level bonnet left" in play.next_line
        await play.press("up")
        assert "up, down: 3 of 3" in play.text
        await play.press("down", "down", "down", "down")
        assert "up, down: 1 of 3" in play.text


async def test_every_key_of_next_and_undo_does_it(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        undo = ["backspace", "pageup", "left", "backspace"]
        for key, back in zip(["space", "pagedown", "right", "enter"], undo, strict=True):
            await play.press(key)
            assert play.kinds[-1] == "WorkStarted", key
            await play.press(back)
            assert play.kinds[-1] == "PressStruck", back
            assert play.notice == "Taken back: took up: apply bonnet left (Coat, layer 1)."
            assert "NOTHING IN HAND" in play.seen


async def test_digits_before_space_mean_minutes_ago(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.wind(900)
        await play.press("0", "1", "2")
        assert "SPACE  12 min ago" in play.next_line
        assert "12 min ago" in play.notice
        await play.press("space")
        row = play.bench.rows[-1]
        assert row.kind == "WorkStarted"
        assert row.entered_us - row.at_us == 12 * 60_000_000
        # The film that was begun then closed after five minutes.
        face = play.glance.faces[0]
        assert (face.word, face.clock) == ("LATE", "7:00")
        assert "ago" not in play.next_line


async def test_esc_forgets_the_minutes(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.wind(900)
        await play.press("7", "esc", "space")
        assert play.bench.rows[-1].at_us == play.bench.rows[-1].entered_us


async def test_a_late_entry_that_cannot_be_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.wind(120)
        before = play.kinds
        await play.press("9", "9", "space")
        assert play.kinds == before
        assert "not on the clock" in play.notice
        assert play.odd() == []


async def test_a_held_down_key_counts_once(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.hold("space", 40)
        assert play.kinds.count("WorkStarted") == 1
        await play.press("space")
        assert play.kinds[-2:] == ["StepFinished", "ProductUsed"]
        before = len(play.kinds)
        await play.hold("backspace", 40)
        assert len(play.kinds) == before + 1


async def test_a_held_down_key_never_answers_its_own_list(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), on=False) as play:
        await play.hold("space", 40)
        assert "clock on" in play.spoken
        assert "ClockedOn" not in play.kinds
        await play.press("space")
        assert play.kinds[-1] == "ClockedOn"
        for letter in [*LETTERS.values(), "slash", "plus"]:
            before = play.kinds
            if letter not in "0qtuple":
                await play.hold(letter, 5)
                assert play.kinds == before or letter in "hw", letter
                await play.press("esc", "esc", "esc")
        assert play.called == "run"


async def test_an_unknown_key_answers(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        for key in ("&", "f5", "tab", "%", "ctrl+a", "home", "é"):
            await play.press("esc", key)
            assert play.notice == "That key has no meaning here; ? shows the keys.", key


async def test_a_greyed_key_says_why(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), on=False) as play:
        reasons = play.app.run_screen.reasons()
        assert {"put_down", "seen", "break", "reading", "caller"} <= set(reasons)
        for key in on_screen(KEYS, "run"):
            if key.id in reasons:
                await play.press("esc", key.keys[0])
                assert play.notice == reasons[key.id], key.id
                assert not play.sheet.is_open
        assert play.kinds == ["JobOpened"]
    async with played(tmp_path / "empty") as play:
        await play.press("u")
        for letter in "anshwd":
            await play.press("esc", letter)
            assert (
                play.notice
                == play.app.run_screen.reasons()[
                    next(k.id for k in on_screen(KEYS, "run") if letter in k.keys)
                ]
            )


async def test_caps_lock_changes_no_letter(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space")
        for id in sorted(
            set(LETTERS) - {"quit", "minutes", "help", "cut_in_two", "add", "put_down"}
        ):
            letter, seen = LETTERS[id], []
            assert letter != letter.upper()
            for pressed in (letter, letter.upper()):
                await play.press("esc", pressed)
                seen.append((play.called, play.sheet.is_open and play.sheet.title, play.text))
                await play.press("esc", "esc")
            assert seen[0] == seen[1], id
        await play.press("H")
        assert play.kinds[-1] == "WorkPutDown"


async def test_quit_leaves_and_nothing_is_lost(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space", "Q")
        assert play.app.is_running
        await play.press("q")
        assert not play.app.is_running
        assert play.app.return_code == 0
    async with played(tmp_path) as play:
        assert "APPLY" in play.seen


async def test_hold_puts_down_and_seen_marks_the_film(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space", "h")
        assert play.kinds[-1] == "WorkPutDown"
        await play.press("space")
        await play.wind(90)
        await play.press("space", "w")
        assert play.kinds[-1] == "WindowSeen"


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "run"):
        assert hasattr(RunScreen, f"press_{key.id}"), key.id
    assert key_event("?").key == "question_mark"


def test_the_keys_of_every_occasion_are_keys_of_the_screen() -> None:
    there = {key.id for key in on_screen(KEYS, "run")}
    for field, ids in OCCASIONS.items():
        assert set(ids) <= there, field
    assert {*_FREE, *_NO_JOB} <= there


# Bells and advice.


async def test_a_window_rings_three_times_when_ready_and_again_when_late(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await one_window(play)
        bells = [play.app.bells]
        for seconds in (34, 1, 1, 1, 1, 8, 130, 60, 1, 1, 1, 26, 1):
            await play.leap(seconds)
            bells.append(play.app.bells)
        assert bells == [0, 0, 1, 2, 3, 3, 3, 3, 4, 5, 6, 6, 6, 7]


async def test_a_window_rings_on_other_screens_and_shows_there(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await one_window(play)
        for key in "ltpe?":
            await play.press(key)
            assert "bonnet left: wait ▼ 0:35" in play.lines[0]
        await play.wind(60)
        assert play.app.bells == 1
        assert "bonnet left: level" in play.lines[0]
        await play.wind(300)
        assert play.app.bells == 2
        assert "bonnet left: late" in play.lines[0]


async def test_a_hidden_window_rings_too(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await two_windows(play)
        await play.choose("apply roof")
        await play.press("space")
        lines = [face.line for face in play.glance.faces]
        assert lines == ["bonnet left: level 0:10", "roof: apply 0:00", "bonnet right: wait 0:25"]
        bells = play.app.bells
        await play.wind(25)
        lines = [face.line for face in play.glance.faces]
        assert "bonnet right: level 1:20" in lines
        assert play.app.bells == bells + 1


async def test_the_bell_can_be_silenced(tmp_path: Path) -> None:
    silent = Settings(alarm=AlarmSettings(bell=False))
    async with played(tmp_path, (COAT,), settings=silent) as play:
        await late(play)
        assert play.app.bells == 0


async def test_advice_takes_the_line_of_an_answer_that_was_read(tmp_path: Path) -> None:
    tight = Stage(
        "Tight", ("roof",), (Work("apply", 4.0), Wait("flash", 60, 100, 200), Work("level", 1.0))
    )
    async with played(tmp_path, (tight,)) as play:
        await play.press("space")
        await play.wind(240)
        await play.press("b", "f", "r", "down", "space")
        assert play.notice == "Break: rest."
        await play.wind(25)
        assert "roof closes before it opens: too big at this pace" in play.notice
        assert whole(play) == []


# Restart, the second program, the sleep of the machine.


@pytest.mark.parametrize("state", ["two_windows", "late", "on_break", "at_the_phone", "plain"])
async def test_a_restart_shows_the_same_faces(tmp_path: Path, state: str) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), clock=clock) as play:
        await STATES[state].reach(play)
        before = play.glance
    async with played(tmp_path, clock=clock) as play:
        assert play.glance == before
        assert play.called == "run"
        assert before.faces[0].word in play.seen


async def test_a_second_program_on_the_log_is_told_and_then_works(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        other = Bench.open(tmp_path / "log.db", play.clock)
        other.do(rules.note_shift, ev.DrinkTaken(240))
        await play.press("space")
        assert "WorkStarted" not in play.kinds
        assert play.notice.endswith("wrote meanwhile: drank 240 ml.")
        said = " ".join(line.strip() for line in play.lines)
        assert "Nothing of yours was written; look, then press again." in said
        await play.press("space")
        assert play.kinds[-1] == "WorkStarted"
        other.close()


async def test_the_machine_meets_the_second_program_without_a_fall(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        other = Bench.open(tmp_path / "log.db", play.clock)
        other.do(rules.note_shift, ev.DrinkTaken(240))
        play.clock.wind(600)
        play.app.tick()
        await play.settle()
        assert "wrote meanwhile" in play.notice
        play.app.tick()
        assert play.kinds[-1] == "GapFound"
        other.close()


async def test_a_sleep_of_the_machine_is_said_and_asked(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        play.clock.wind(42 * 60)
        play.app.tick()
        await play.settle()
        assert play.notice == "The program did not run for 42 min."
        await play.wind(30)
        assert play.notice == "1 question about today (G)"


async def test_a_start_after_a_death_says_so(tmp_path: Path) -> None:
    clock = HandClock(START_US)
    async with played(tmp_path, (COAT,), clock=clock) as play:
        await play.press("space")
    clock.reboot("boot-2", 1800)
    async with played(tmp_path, clock=clock) as play:
        assert "The program did not run for a while; G asks what that time was." in play.notice
        # The film that was in hand closed meanwhile.
        assert "LATE up 25:00" in play.seen


# Looks.


@pytest.mark.parametrize("theme", ["shade", "sun"])
@pytest.mark.parametrize("state", ["plain", "one_window", "ready", "late", "break_and_late"])
async def test_without_colour_a_state_is_told_by_word_and_by_reverse(
    tmp_path: Path, theme: str, state: str
) -> None:
    shown, settings = STATES[state], Settings(theme=theme)
    async with played(tmp_path, *shown.jobs, settings=settings, colours="none") as play:
        await shown.reach(play)
        for word in shown.words:
            assert word in play.seen
        cells = reverse = 0
        for strip in play.screen._compositor.render_strips():
            for segment in strip:
                style = segment.style or Style()
                assert style.color is None
                assert style.bgcolor is None
                cells += segment.cell_length
                reverse += segment.cell_length * bool(style.reverse)
        # A field is a good part of the screen; without one nothing but a clock in the head is.
        assert reverse > 0.3 * cells or state == "plain"
        assert reverse < 0.05 * cells or state != "plain"


HOSTILE = "[/x][red]a\x1b[31mb\x9b2Jc\u202ed"


@SIZES
async def test_what_persons_wrote_is_never_obeyed(tmp_path: Path, size: tuple[int, int]) -> None:
    stage = Stage(
        HOSTILE, (HOSTILE, "[b]"), (Work(HOSTILE, 1.0), Wait("dwell", 5, 6, 60), Work("[i"))
    )
    async with played(tmp_path, (stage,), size=size) as play:
        (job,) = play.bench.jobs.values()
        note = ev.NoteWritten(play.bench.seal(HOSTILE), stage.name, HOSTILE)
        play.app.write(rules.note_job, job.id, note)
        await play.press("space")
        assert "[/X][RED]A\N{SYMBOL FOR ESCAPE}[31MB\ufffd2JC\ufffdD" in play.seen
        for keys in (
            ["s"],
            ["esc", "p"],
            ["l"],
            ["space"],
            ["esc", "e"],
            ["t"],
            ["esc"],
        ):
            await play.press(*keys)
            await play.wind(2)
            assert "\x1b" not in play.text
            assert "\x9b" not in play.text
            assert "\u202e" not in play.text
            assert whole(play) == []


@pytest.mark.parametrize("signal", [True, False])
async def test_a_film_that_is_ready_turns_the_picture_for_a_second(
    tmp_path: Path, signal: bool
) -> None:
    settings = Settings(alarm=AlarmSettings(signal=signal))
    async with played(tmp_path, (COAT,), settings=settings) as play:
        assert ("turns round" in play.notice) is signal
        await one_window(play)
        await play.leap(34)

        def ground() -> str:
            style = play.screen._compositor.render_strips()[5]._segments[0].style
            assert style is not None
            assert style.bgcolor is not None
            return style.bgcolor.get_truecolor().hex.lower()

        colours = play.app.theme_variables
        field, ink = (colours[f"ready-{part}"].lower() for part in ("field", "ink"))
        seen = []
        for _ in range(4):
            await play.leap(1)
            seen.append(ground())
        assert seen == [field, ink if signal else field, field, field]


async def test_what_outlasts_its_minutes_makes_the_job_ready_later_minute_by_minute(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (WIPE, POLISH)) as play:
        await play.press("space")

        async def ready_in(minutes: int) -> list[str]:
            """What the head says of it, minute by minute."""
            said = []
            for _ in range(minutes):
                await play.wind(60)
                assert play.app.run_screen.told is not None
                said.append(play.app.run_screen.told.ready)
            return said

        # Five minutes are planned. It is said in steps of five minutes, and never sooner again.
        in_time = await ready_in(4)
        assert len(set(in_time)) == 1
        assert in_time[0].startswith("ready ")
        late = await ready_in(20)
        assert late[-1] > in_time[0]
        assert [*in_time, *late] == sorted([*in_time, *late])


async def test_where_it_is_to_be_done_is_never_left_out_of_the_line_of_space(
    tmp_path: Path,
) -> None:
    long = Stage(
        "Polish",
        ("passenger front door lower", "driver rear quarter upper left"),
        (Work("finish with the fine pad", 2.0),),
    )
    async with played(tmp_path, (long,), size=SMALL) as play:
        assert play.lines[11].strip() == "SPACE  finish with the fine PF DOOR L"
        await play.press("space")
        await play.choose("finish: ")
        assert play.lines[11].strip() == "SPACE  finish: finish with PF DOOR L"
        await play.resize(HOME)
        assert "SPACE  finish: finish with the fine pad passenger front door lower" in play.text


async def test_the_head_says_anew_what_is_learned_while_old_jobs_are_still_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten hours of work, begun in the afternoon, for one whose days are known to end soon."""
    long = Stage("Wipe", ("front", "middle", "rear", "glass"), (Work("wipe", 150.0),))
    async with played(tmp_path, [long]) as play:
        before = play.lines[0]
        assert "ready Tue" in before
        monkeypatch.setattr(play.bench.library, "left", lambda *_of: 1)
        learned = Learned(begins=time(11), ends=time(15))
        monkeypatch.setattr(play.bench._learning, "of", lambda *_of: learned)
        await play.wind(1)
        assert "ready Fri" in play.lines[0]
