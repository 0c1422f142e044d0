"""What Run tells at one instant, in the words and figures that its picture sets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from cartclock.engine.ahead.foreseen import Foresight
from cartclock.engine.ahead.telling import ready_about
from cartclock.engine.body.rest_words import pace_line, short_pace_line, why_called
from cartclock.engine.body.watch import Watch, climate_lines, drink_text
from cartclock.engine.dates import clock_apart, local, spoken
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Hands
from cartclock.engine.facts.words import place_text, said_in
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.films.film_advice import WATCH
from cartclock.engine.now.faces import Face
from cartclock.engine.now.glance import Glance
from cartclock.engine.now.key_line import CHANGED
from cartclock.engine.now.moment import Moment
from cartclock.engine.now.running import Field
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.short_names import short_names
from cartclock.tui.face.room import move_lines
from cartclock.tui.face.run_picture import Told
from cartclock.tui.keys import Key

# An answer has been read after so long, and advice may take its line. Our own judgement.
SAID_US = 20_000_000
# Each of several matters that share a line stands for so long. Our own judgement.
TURN_US = 8_000_000
# Each line of an answer that is longer than its room. Our own judgement.
PAGE_US = 4_000_000
# After so long an answer gives way to the asking to watch a film. Our own judgement.
WATCH_US = 4_000_000
MINUTE_US = 60_000_000

_WAVE = ("seen", "take_back", "put_down", "water", "note")
_WORK = ("break", "other_work", "reading", "drink", "put_down", "note", "amount", "vehicle")
_REST = ("drink", "unwell", "reading", "caller")
_FREE = ("break", "other_work", "reading", "clock", "vehicle", "note", "today")
_NO_JOB = ("today", "reading", "other_work", "clock", "break")
_OFF = ("clock", "today", "reading", "record")
OCCASIONS: dict[Field, tuple[str, ...]] = {
    "wait": _WAVE,
    "ready": _WAVE,
    "late": _WAVE,
    "plain": _WORK,
    "ask": (),
    "soon": _REST,
    "rest": _REST,
    "break": _REST,
    "back": _REST,
    "off": _OFF,
}
"""What the hands are at -> the keys that are told of, in order of need; ? shows all of them."""


class Said(Struct, frozen=True):
    """What there is to tell.

    Fields:
        now: the moment; seen: the glance of it.
        zone: of the place of work.
        at: which of the moves is chosen.
        ready: when the job in view should be ready, in few words.
        beside: what the helper's hands do; None without a helper.
        changed: True while what SPACE takes up became another by itself and SPACE does not count.
        helps: what the helper's key takes up and what the helper is at; "" off the clock.
        ago: minutes typed before SPACE; "" for none.
        question: what is asked, in place of the first face; "" for nothing.
        answer: what the line that answers says; `answered_us`: since when.
        unit: of temperatures.
        keymap: the keys of the screen; reasons: of those that cannot work, why.
        listed: True while a list is open.
    """

    now: Moment
    seen: Glance
    zone: str
    at: int
    ready: str
    beside: Face | None
    changed: bool
    helps: str
    ago: str
    question: str
    answer: str
    answered_us: Instant
    unit: TemperatureUnit
    keymap: tuple[Key, ...]
    reasons: Mapping[str, str]
    listed: bool

    @property
    def read(self) -> bool:
        """True if the answer has been read or was never given."""
        since_us = self.now.now_us - self.answered_us
        # A film to be watched may be ready before the answer would have made room.
        watched = WATCH in self.seen.notices and since_us > WATCH_US
        return not self.answer or watched or since_us > SAID_US


def told(said: Said) -> Told:
    """Everything that the picture of Run says."""
    now, seen, watch = said.now, said.seen, said.now.me.watch
    local_time = local(now.now_us, said.zone)
    faces = seen.faces if said.beside is None else (*seen.faces, said.beside)
    moves = now.me.moves
    ago = f"  {said.ago} min ago" if said.ago else ""
    name = seen.next_vehicle
    return Told(
        now_us=now.now_us,
        time=f"{local_time:%H:%M}" if now.sure else "",
        date=" ".join(spoken(now.now_us, said.zone).split(" ")[:3]),
        ready=said.ready,
        vehicle=seen.head,
        stage=seen.place,
        count=seen.count,
        faces=faces,
        question=said_in(said.question, said.unit),
        key=f"{CHANGED if said.changed else 'SPACE'}{ago}",
        whose=name[:1].upper() + name[1:],
        move=seen.next_line,
        shortly=tuple(_shortly(seen.next_line, moves[said.at] if moves else None, now)),
        at=f"up, down: {said.at + 1} of {len(moves)}" if len(moves) > 1 else "",
        moves=tuple(move_lines(moves, said.at, now.jobs, now.now_us)),
        changed=said.changed,
        helps=said.helps,
        heat=_heat(watch, faces, said.unit),
        drink="" if watch is None else drink_text(watch.water),
        climate=() if watch is None else climate_lines(watch, said.unit),
        notices=tuple(said_in(one, said.unit) for one in seen.notices),
        answer="" if said.read else said.answer,
        answer_turn=(now.now_us - said.answered_us) // PAGE_US,
        turn=now.now_us // TURN_US,
        keys=tuple(_keys(said, [face.field for face in faces], seen.faces[0].key)),
        all_keys=next(key.face for key in said.keymap if key.id == "help"),
        listed=said.listed,
    )


def _shortly(line: str, move: Move | None, now: Moment) -> Iterator[str]:
    """What SPACE takes up with the sections by their shorter names, then without the reason why it
    is still to do, then with fewer words of the work: where it is to be done is never left out.
    """
    shift = now.me.on
    doing: Move | Hands | None = move if move is not None and move.sections else None
    if doing is None and shift is not None and isinstance(shift.doing, Hands):
        # What is finished by it is in hand.
        doing = shift.doing
    job = None if doing is None else now.jobs.get(doing.job)
    if doing is None or job is None:
        return
    where = place_text(job, doing.stage, doing.sections)
    if where not in line:
        return
    names = short_names(where)
    yield from (line.replace(where, name) for name in names)
    yield from (line.replace(where, name).partition("; ")[0] for name in (where, *names))
    words = line.partition(where)[0].split()
    yield from (f"{' '.join(words[:end])} {names[-1]}" for end in range(len(words) - 1, 0, -1))


def _heat(watch: Watch | None, faces: tuple[Face, ...], unit: TemperatureUnit) -> tuple[str, ...]:
    if watch is None:
        return ()
    if any(face.field in ("rest", "soon") for face in faces) and not watch.pace.no_work_time:
        # How long it must be stands in large.
        return why_called(watch.pace, unit)
    found = [pace_line(watch.pace, width) for width in (78, 66, 54, 42)]
    return tuple(dict.fromkeys([*found, *(short_pace_line(watch.pace, w) for w in (38, 30, 24))]))


def _keys(said: Said, fields: list[Field], key: str) -> Iterable[tuple[str, str]]:
    """The keys of this occasion that work, each with what it does."""
    films = next((field for field in fields if field in ("ready", "late", "wait")), None)
    ids = {"free": _FREE, "no job": _NO_JOB}.get(key) or OCCASIONS[films or fields[0]]
    known = {key.id: key for key in said.keymap}
    for key_id in ids:
        if key_id in known and key_id not in said.reasons:
            yield known[key_id].face, known[key_id].label


def ready_text(job: Job | None, ahead: Foresight, now_us: Instant, here: str) -> str:
    """When a job should be ready, in few words, and by which clock if not that of the zone `here`;
    "" if nothing is left of it, or its plan has no minutes for what is.
    """
    if job is None or job.state != "open":
        return ""
    found = ahead.at(now_us)
    at_us = found.ready_us(job.id)
    if at_us is None or at_us <= found.now_us:
        return ""
    zone = job.opened.zone
    cures = all(section.over for section in job.sections.values())
    said = f"ready {ready_about(at_us, cures, found.now_us, zone)}"
    return f"{said} {clock_apart(found.now_us, zone, here)}".rstrip()
