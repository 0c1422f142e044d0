"""What is left of a job, played forward in the order in which SPACE would take it up.

The policy is that of the moves (late, window, the stage of a film in play, held, the stage's
order, gap), on a light copy of the sections, with the plan's own minutes or with those expected.
Each piece says which earlier pieces began the wait in front of it, so that the order can be
reckoned again with other minutes (`engine.ahead.reckon`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from operator import attrgetter

from cartclock.engine.ahead.on_its_way import OnItsWay, groups_of, rank_of, taken_with
from cartclock.engine.ahead.played import Played, WaitBehind, Weights, ready_s, waits
from cartclock.engine.facts.in_play import SPENT_US, ends_film, handler, lays_film, spent_us
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US, Section, WindowKind, next_turn, work_of
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.films.waves import Factors
from cartclock.engine.plan.plan import Stage
from cartclock.engine.times import Instant, Length

Woken = Callable[[Instant], Instant]
"""When the hands are there again from an instant on: the same, or the morning behind its night."""


def play(
    job: Job,
    now_us: Instant,
    behind: WaitBehind | None = None,
    over_s: Callable[[WindowKind, Marks], int] = ready_s,
    hands_gone_us: int | None = None,
    ahead_us: int | None = None,
    factors: Factors | None = None,
    in_hand_us: int | None = None,
    weights: Weights | None = None,
    worker: str = "",
    again: Collection[Section] = (),
) -> tuple[Played, ...]:
    """The pieces left of an open job, in order; what is in hand comes first.

    Args:
        behind: the waits; None: by the label and the plan, without a reading.
        over_s: seconds after the last touch from which a wait is over.
        hands_gone_us: how long what is in hand was in it; None: since its first touch.
        ahead_us: how far it is played at least; None: to the end.
        factors: how much longer or shorter than planned the work is; None: as planned.
        in_hand_us: what is left of what is in hand; None: what its plan leaves.
        weights: of panels, beside those of the plan; None: the plan's alone.
        worker: whose SPACE it is: films that another had in hand last keep nobody at their stage;
            "": they do.
        again: what that worker left for a break or a call, which goes on first.
    """
    behind = waits() if behind is None else behind
    played = _Play(
        job, now_us, behind, over_s, factors or {}, weights or {}, worker=worker, again=again
    )
    played.finish_in_hand(hands_gone_us, in_hand_us)
    while (ahead_us is None or played.at - now_us < ahead_us) and played.take_next():
        pass
    return tuple(played.pieces)


def played_on(
    job: Job,
    now_us: Instant,
    factors: Factors,
    in_hand_us: int | None,
    weights: Weights,
    woken: Woken | None = None,
    again: Collection[Section] = (),
) -> Iterator[Played]:
    """The same to the end, each piece played when it is asked for. Args: as for `play`.

    woken: of the nights ahead; None: there are none.
    """
    played = _Play(job, now_us, waits(), ready_s, factors, weights, woken=woken, again=again)
    played.finish_in_hand(None, in_hand_us)
    yield from played.pieces
    while played.take_next():
        yield played.pieces[-1]


def piece_in_hand(job: Job, now_us: Instant, weights: Weights | None = None) -> Played | None:
    """What is in hand first, as `play` has it, with all of its plan still left; None if nothing is.

    weights: as in `play`.
    """
    held = {at[0] for at, section in job.sections.items() if section.state == "in hand"}
    if not held:
        return None
    played = _Play(job, now_us, waits(), ready_s, {}, weights or {}, held)
    played.finish_in_hand(0, None)
    return played.pieces[0] if played.pieces else None


# Of what goes on first: before whatever stands in the stage's order, and taken up together.
_FIRST, _AGAIN = (-1,), "again"


class _Play:
    def __init__(
        self,
        job: Job,
        now_us: Instant,
        behind: WaitBehind,
        over_s: Callable[[WindowKind, Marks], int],
        factors: Factors,
        weights: Weights,
        only: Collection[str] | None = None,
        worker: str = "",
        woken: Woken | None = None,
        again: Collection[Section] = (),
    ) -> None:
        """only: the stages that are looked at; None: all."""
        self.worker, self.woken = worker, woken
        # What goes on first, by stage and name, until it does.
        self.again = {(one.stage, one.name) for one in again}
        self.job, self.at, self.behind, self.over_s = job, now_us, behind, over_s
        self.factors, self.weights = factors, weights
        # Of each step its minutes, whether they are for all sections, and its factor.
        self.steps: dict[tuple[str, int], tuple[float, bool, float | None]] = {}
        # Of each turn: the next, the wait behind it, whether it ends a film, whether it has one.
        self.turns: dict[
            tuple[str, int, int, int],
            tuple[Turn | None, tuple[WindowKind, Marks] | None, bool, bool],
        ] = {}
        self.pieces: list[Played] = []
        # Stages of which a section was put somewhere else.
        self.unsorted: set[str] = set()
        # Sections in front of which a film waits, and such with one that was put down.
        self.films: list[tuple[Stage, OnItsWay]] = []
        # The stage of which a film is in hand; None if none is.
        self.film_in_hand: Stage | None = None
        self.stages: list[tuple[Stage, list[OnItsWay]]] = []
        for stage in job.stages if job.state == "open" else ():
            if only is not None and stage.name not in only:
                continue
            units = [unit for unit in self._units(stage) if unit.state != "over"]
            if units:
                self.stages.append((stage, units))
        self.left = {stage.name: units for stage, units in self.stages}

    def _units(self, stage: Stage) -> list[OnItsWay]:
        found = []
        for index, section in enumerate(self.job.of(stage.name)):
            state = "over" if section.over else section.state
            weight = stage.weight_of(section.name)
            if self.weights:
                weight *= self.weights.get((stage.name, section.panel), 1.0)
            unit = OnItsWay(section.name, section.panel, index, section.turn, state, weight)
            unit.first = section.first_us
            window = section.window
            if window is not None:
                unit.gap = window.kind == "gap"
                ready = self.over_s(window.kind, window.marks)
                unit.opens = window.last_us + ready * SECOND_US
                if window.seen_us is not None:
                    unit.opens = min(unit.opens, window.seen_us)
                unit.closes, unit.off_by = window.closes_us, window.off_by_us
            spent = None
            if state in ("waiting", "held"):
                spent = spent_us(self.job, stage, section)
            if spent is not None:
                if not self.worker or handler(self.job, section) in ("", self.worker):
                    unit.wet_until = spent
                self.films.append((stage, unit))
            if state != "over":
                self._place(stage, unit)
            found.append(unit)
        return found

    def finish_in_hand(self, gone_us: int | None, left_us: int | None) -> None:
        """What is in hand, by whomever, is finished first."""
        for stage, units in self.stages:
            in_hand = [unit for unit in units if unit.state == "in hand"]
            if not in_hand:
                continue
            turn = in_hand[0].turn
            group = [unit for unit in in_hand if unit.turn == turn]
            first_us = min(
                (unit.first for unit in group if unit.first is not None), default=self.at
            )
            _length_us, planned_us, units_many = self._lengths(stage, group)
            gone = self.at - first_us if gone_us is None else gone_us
            one_us = max(0, planned_us - gone) if left_us is None else left_us
            self._add(
                stage,
                group,
                self.at,
                Length(one_us),
                Length(one_us),
                units_many,
                in_hand=True,
            )

    def _lengths(self, stage: Stage, group: Sequence[OnItsWay]) -> tuple[int, int, int]:
        """How long a group takes by the lengths it is played with, and by the plan, and how many
        times the plan's minutes are in it."""
        minutes, over_all, factor = self._step(stage, group[0].turn)
        many = 1 if over_all else len(group)
        if over_all:
            weight = 1.0
        else:
            weight = group[0].weight if many == 1 else sum([one.weight for one in group])
        planned_us = round(minutes * weight * MINUTE_US)
        return planned_us if factor is None else round(planned_us * factor), planned_us, many

    def _step(self, stage: Stage, turn: Turn) -> tuple[float, bool, float | None]:
        key = (stage.name, turn.step)
        step = self.steps.get(key)
        if step is None:
            work = work_of(stage, turn)
            step = self.steps[key] = work.minutes, work.over == "all", self.factors.get(key)
        return step

    def _place(self, stage: Stage, unit: OnItsWay) -> None:
        """Puts a section where it stands in its stage."""
        unit.rank = rank_of(stage, unit)
        self.unsorted.add(stage.name)
        if stage.press == "stage" or self._step(stage, unit.turn)[1]:
            unit.alike = unit.turn, unit.state, unit.gap
        elif stage.press == "panel":
            unit.alike = unit.turn, unit.state, unit.gap, unit.panel
        else:
            unit.alike = unit.index
        if self.again and unit.state == "held" and (stage.name, unit.name) in self.again:
            unit.rank, unit.alike = _FIRST, _AGAIN

    def take_next(self) -> bool:
        """Takes up what SPACE would; False if nothing is left."""
        while self.stages and not self.stages[0][1]:
            self.stages.pop(0)
        if not self.stages:
            return False
        live = self.stages[0]
        if self.again:
            for one in self.stages:
                if any(unit.alike == _AGAIN for unit in one[1]):
                    live = one
        if self.films or self.film_in_hand is not None:
            # A later stage is never begun while this one has sections left, nor is this one gone
            # back to while a film of a later one is in play.
            wet = {stage.name for stage, unit in self.films if unit.wet_until > self.at}
            if self.film_in_hand is not None:
                wet.add(self.film_in_hand.name)
            for one in reversed(self.stages) if wet else ():
                if one[0].name in wet and not all(map(self._asleep, one[1])):
                    live = one
                    break
        stage, group, start_us = self._chosen(*live)
        length_us, planned_us, many = self._lengths(stage, group)
        self._add(stage, group, Instant(start_us), Length(length_us), Length(planned_us), many)
        return True

    def _asleep(self, unit: OnItsWay) -> bool:
        return unit.gap and (unit.opens or 0) > self.at

    def _waiting(self) -> list[tuple[Stage, list[OnItsWay]]]:
        """The groups in front of which a film waits, of whatever stage."""
        found: dict[str, tuple[Stage, list[OnItsWay]]] = {}
        for stage, unit in sorted(self.films, key=lambda one: one[1].index):
            if unit.opens is not None:
                found.setdefault(stage.name, (stage, []))[1].append(unit)
        return [(stage, group) for stage, units in found.values() for group in groups_of(units)]

    def _chosen(self, stage: Stage, units: list[OnItsWay]) -> tuple[Stage, list[OnItsWay], int]:
        """What is taken up next and when: late, open, soon open, by the order, after a gap."""
        awake, asleep = self._in_order(stage, units)
        plain = [] if awake is None else taken_with(awake, units)
        if plain and not self.films:
            return stage, plain, self.at
        until_us = self.at + (self._lengths(stage, plain)[0] if plain else 0)
        late: list[tuple[int, str, Stage, list[OnItsWay]]] = []
        ready: list[tuple[int, str, Stage, list[OnItsWay]]] = []
        soon: list[tuple[int, str, Stage, list[OnItsWay]]] = []
        for own, group in self._waiting():
            opens_us, closes_us, wanted_us = self._marks(own, group)
            each = own is stage and stage.order == "each"
            if closes_us <= self.at:
                late.append((closes_us, group[0].name, own, group))
            elif opens_us <= self.at:
                ready.append((closes_us, group[0].name, own, group))
            elif not plain or each or wanted_us <= until_us:
                soon.append((opens_us, group[0].name, own, group))
        for found in (late, ready):
            if found:
                _closes_us, _name, own, group = min(found, key=lambda one: one[:2])
                return own, group, self.at
        if soon:
            opens_us, _name, own, group = min(soon, key=lambda one: one[:2])
            return own, group, opens_us
        if plain:
            return stage, plain, self.at
        first = min(asleep, key=lambda unit: unit.opens or 0)
        opens_us = first.opens or self.at
        if self.woken is not None:
            # By then the layers of the other sections may be over as well.
            opens_us = self.woken(Instant(opens_us))
        return stage, taken_with(first, units), opens_us

    def _in_order(
        self, stage: Stage, units: list[OnItsWay]
    ) -> tuple[OnItsWay | None, list[OnItsWay]]:
        """The first that no film and no gap is in front of, and those before it that a gap is."""
        if stage.name in self.unsorted:
            self.unsorted.remove(stage.name)
            units.sort(key=attrgetter("rank"))
        asleep: list[OnItsWay] = []
        seen: set[object] = set()
        for unit in units:
            # The first of those that are taken up together speaks for all of them.
            if unit.alike in seen:
                continue
            seen.add(unit.alike)
            if unit.gap and self._asleep(unit):
                asleep.append(unit)
            elif unit.opens is None or unit.gap:
                return unit, asleep
        return None, asleep

    def _marks(self, stage: Stage, group: list[OnItsWay]) -> tuple[int, int, int]:
        """When a group opens, when it closes, and when the hands must be free for it."""
        closes_us = min(unit.closes for unit in group)
        opens = [unit.opens for unit in group if unit.opens is not None]
        work_us = self._lengths(stage, group)[0]
        latest_us = max(min(opens), closes_us - work_us)
        opens_us = min(max(opens), latest_us)
        off_by = [unit.off_by for unit in group if unit.off_by is not None]
        begin_by_us = max(opens_us, closes_us - work_us)
        wanted_us = max(opens_us, min([*off_by, begin_by_us])) if off_by else opens_us
        return opens_us, closes_us, wanted_us

    def _add(
        self,
        stage: Stage,
        group: list[OnItsWay],
        start_us: Instant,
        length_us: Length,
        planned_us: Length,
        units: int,
        in_hand: bool = False,
    ) -> None:
        turn = group[0].turn
        if self.again:
            self._pass_over(group)
        end_us = start_us + length_us
        key = (stage.name, turn.pass_, turn.layer, turn.step)
        known = self.turns.get(key)
        if known is None:
            ends = ends_film(stage, turn.step)
            film = ends or lays_film(stage, turn.step)
            known = (next_turn(stage, turn), self.behind(stage, turn), ends, film)
            self.turns[key] = known
        following, wait, ends, film = known
        self.film_in_hand = stage if film else None
        after: tuple[int, ...] = ()
        wait_us, cut_us, not_before_us = 0, 0, None
        opens = [unit.opens for unit in group if unit.opens is not None]
        if opens:
            running = [unit.opens for unit in group if unit.opens is not None and unit.after < 0]
            if running:
                not_before_us = Instant(min(max(running), start_us))
            after = tuple([unit.after for unit in group if unit.after >= 0])
            if after:
                wait_us = max([unit.wait for unit in group if unit.after >= 0])
                last_us = max([self.pieces[i].end_us for i in after])
                cut_us = max(0, last_us + wait_us - start_us)
        if self.films:
            self.films = [one for one in self.films if one[1] not in group]
        self.pieces.append(
            Played(
                job=self.job.id,
                stage=stage.name,
                sections=tuple([unit.name for unit in group]),
                turn=turn,
                work_us=planned_us,
                units=units,
                after=after,
                wait_us=Length(wait_us),
                cut_us=Length(cut_us),
                not_before_us=not_before_us,
                start_us=start_us,
                end_us=Instant(end_us),
                in_hand=in_hand,
                lays=wait is not None and wait[0] != "gap",
                ends=ends,
                gap=group[0].gap,
            )
        )
        self.at = Instant(end_us)
        self._go_on(stage, group, following, start_us, wait)

    def _pass_over(self, group: Sequence[OnItsWay]) -> None:
        """What was left for a break or a call goes on first or not at all: behind other work it
        stands in the order of its stage again.
        """
        again, self.again = self.again, set()
        for stage, units in self.stages:
            for unit in units:
                if (stage.name, unit.name) in again and unit not in group:
                    self._place(stage, unit)

    def _go_on(
        self,
        stage: Stage,
        group: list[OnItsWay],
        following: Turn | None,
        start_us: int,
        wait: tuple[WindowKind, Marks] | None,
    ) -> None:
        """Each section of the group is at its next turn, waits for it, or is over."""
        units = self.left[stage.name]
        for unit in group:
            if following is None:
                units.remove(unit)
                continue
            first_us = start_us if unit.first is None else unit.first
            unit.clear()
            unit.turn, unit.state = following, "todo"
            if wait is None:
                self._place(stage, unit)
                continue
            kind, marks = wait
            unit.state, unit.gap = "waiting", kind == "gap"
            self._place(stage, unit)
            unit.after, unit.wait = len(self.pieces) - 1, self.over_s(kind, marks) * SECOND_US
            unit.opens = self.at + unit.wait
            # A gap counts from the last touch at both ends, a film closes from the first.
            unit.closes = (self.at if unit.gap else first_us) + marks.closes_s * SECOND_US
            if marks.off_by_s is not None:
                unit.off_by = self.at + marks.off_by_s * SECOND_US
            if not unit.gap:
                unit.wet_until = unit.closes + SPENT_US
                self.films.append((stage, unit))
