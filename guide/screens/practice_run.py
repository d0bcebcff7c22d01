"""The run of a lesson beside its sheet: hands at the simulated unit, time, hints, the choice of a step.

Every act is logged before the unit is told of it, so that a run can be gone through again from its log.
Nothing here knows the terminal; whatever reaches the unit or the disk may take a moment, and is called
from a thread.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.focus import Front
from guide.journal.event import Event
from guide.procedure.model import Confirm, Step
from guide.rig.acts import Handling
from guide.rig.by_hand import Pause, Until
from guide.rig.happenings import Happening
from guide.rig.learning.run import CONCLUSION
from guide.rig.retrace import RunTime, acts_of, handling_of, practised
from guide.screens.practice_roles import Came, Coach, Paced, Seen, Unit
from guide.screens.practice_shown import Candidate, Doable, Stopped
from guide.screens.waits import left_s

if TYPE_CHECKING:
    from guide.bench.bench import Bench
    from guide.bench.people import Technician
    from guide.instruments.readings import Readings
    from guide.job.work import Work

_LOOK_EVERY_S = 10
"""How often a gauge is looked at while something is waited for [s of simulated time]."""
_MOST_RETURNS = 3
"""How often a unit that broke off is brought back before somebody does something more (PROPOSED)."""


class Run:
    """One lesson being run; `called_away` is when somebody calls the learner away [s], and their words."""

    def __init__(
        self, *, bench: Bench, technician: Technician, work: Work, clock: Paced, unit: Unit, coach: Coach,
        title: str, readings: Readings | None = None, called_away: tuple[float, str] | None = None,
    ) -> None:  # fmt: skip
        assert work.state.opened is not None
        assert work.state.opened.lesson is not None
        self.bench = bench
        self.technician = technician
        self.work = work
        self.clock = clock
        self.unit = unit
        self.coach = coach
        self.title = title
        self.readings = readings
        self._called_away = called_away
        self.lesson = work.state.opened.lesson
        self.happened: list[Happening] = []
        self.doables: tuple[Doable, ...] = ()
        self.seen: tuple[str, ...] = ()
        self.sight = ""
        self._shown: dict[str, float] = {}
        self._sight_of = ""
        self._chosen: set[tuple[str, int]] = set()
        self._done_for: set[tuple[str, str, int, int]] = set()
        self._hints: dict[str, int] = {}
        self.concluded = False
        self.brought_back = 0
        """How often the unit was brought back after it broke off."""
        self._returns: tuple[int, int] = (-1, 0)
        self._untold: tuple[Happening, ...] = ()
        self._told_before: Counter[Happening] = Counter()
        """What a unit that was brought back will tell once more."""
        events = tuple(work.events())
        self._time = RunTime.of(events)
        self._begun_s = self._time.at(events[-1].stamp)
        self._go_through(events)

    def _go_through(self, events: Iterable[Event]) -> None:
        """What was taken, chosen and done up to here, where a run is taken up again."""
        redone = moved = 0
        for event in events:
            redone += event.kind == p.Redone.KIND
            moved += event.kind in {p.WeighEnded.KIND, p.RoundRead.KIND}
            if event.kind != p.Practised.KIND:
                continue
            beside = p.Practised.model_validate(event.body)
            step = beside.step or ""
            if beside.what == "hint":
                self._hints[step] = self._hints.get(step, 0) + 1
            elif beside.what == "chosen" and beside.at == CONCLUSION:
                self.concluded = True
            elif beside.what == "chosen":
                self._chosen.add((step, redone))
            elif beside.what == "handled" and step:
                self._done_for |= {(step, front, redone, moved) for front in (Front.STEP, Front.WEIGHING)}

    # -- where it stands ----------------------------------------------------------------------

    @property
    def help(self) -> str:
        """How much help it is run with."""
        return self.lesson.help

    @property
    def tells(self) -> bool:
        """Whether what went wrong is told at once, and not at the end."""
        return self.help != "none"

    @property
    def over(self) -> bool:
        """Whether nothing of the lesson is left to do."""
        state = self.work.state
        return state.closed is not None or state.stopped is not None or self.coach.over(state)

    def t_s(self) -> float:
        """Simulated seconds since the opening, now."""
        return self._time.at(self.clock.now())

    def called(self) -> str:
        """Words of whoever calls the learner away, once, when it is time; empty else."""
        if self._called_away is None or self.t_s() < self._called_away[0]:
            return ""
        words, self._called_away = self._called_away[1], None
        return words

    def left_s(self) -> float | None:
        """Seconds until a hold or settling is over; None where nothing waits."""
        return left_s(self.work.state, self.clock.now())

    def _step(self) -> Step | None:
        return self.work.focus().step

    def _redone(self) -> int:
        return self.work.state.counts.get(p.Redone.KIND, 0)

    # -- the unit -----------------------------------------------------------------------------

    def follow(self) -> tuple[Happening, ...]:
        """Let the unit catch up with the clock, and look at it; what happened meanwhile.

        A unit that broke off is brought back first, to where the log has it.

        Raises:
            ChargewrightError: something grave is not logged, or the unit answers no more.
        """
        if self.unit.lost:
            self._bring_back()
        happened = self._note(self.unit.to(self.t_s()))
        self._look()
        return happened

    def _bring_back(self) -> None:
        last = self.work.state.last_seq
        tries = self._returns[1] if self._returns[0] == last else 0
        if tries >= _MOST_RETURNS:
            return  # it breaks off at this very place; what was said of it stands
        self._returns = (last, tries + 1)
        self._told_before = Counter((*self.happened, *self._untold))
        self.unit.again(acts_of(self.work.events()), self.t_s())
        self.brought_back += 1

    def handle(self, handling: Handling) -> Came:
        """Do something at the unit; what came of it.

        Raises:
            ChargewrightError: it is not logged, or the unit answers no more.
        """
        self._log_grave()
        step = self._step()
        told = practised(handling, step.id if step else None)
        events = self.work.do(c.Practise(told))
        came = self.unit.do(handling_of(told), self._time.take(events[0].stamp))
        happened = self._note(came.happened)
        self._look()
        return replace(came, happened=happened)

    def do_for(self) -> tuple[tuple[Handling, ...], tuple[Happening, ...]]:
        """With the hands done for the learner: what is due at this place, once; the acts, what came of them.

        Raises:
            ChargewrightError: something is not logged, or the unit answers no more.
        """
        focus = self.work.focus()
        if self.help != "fill" or focus.step is None or focus.front not in {Front.STEP, Front.WEIGHING}:
            return (), ()
        state = self.work.state
        place = (focus.step.id, focus.front.value, self._redone(), len(state.moves) + len(state.rounds))
        if place in self._done_for:
            return (), ()
        self._done_for.add(place)
        try:
            done, happened = self._do_what_is_due(focus.step, focus.front)
        except ChargewrightError:
            self._done_for.discard(place)  # what is not so yet is still to be done
            raise
        self._look()
        return done, happened

    def _do_what_is_due(self, step: Step, front: Front) -> tuple[tuple[Handling, ...], tuple[Happening, ...]]:
        done: list[Handling] = []
        happened: list[Happening] = []
        for move in self.coach.moves(step, self.work.state, front, Seen(self.unit)):
            if isinstance(move, Handling):
                done.append(move)
                happened += self.handle(move).happened
            elif isinstance(move, Pause):
                happened += self._pass(move.seconds)
            else:
                happened += self._until(move)
            if self.work.state.stopped is not None:
                break
        return tuple(done), tuple(happened)

    def _pass(self, seconds: float) -> tuple[Happening, ...]:
        self.clock.advance(seconds)
        return self._note(self.unit.to(self.t_s()))

    def _until(self, wanted: Until) -> list[Happening]:
        happened: list[Happening] = []
        passed_s = 0
        while passed_s < wanted.most_s:
            now = self.unit.reading(wanted.channel)
            low = now is not None and (wanted.at_most_Pa is None or now <= wanted.at_most_Pa)
            high = now is not None and (wanted.at_least_Pa is None or now >= wanted.at_least_Pa)
            if low and high:
                break
            happened += self._pass(_LOOK_EVERY_S)
            passed_s += _LOOK_EVERY_S
        return happened

    def _note(self, happened: tuple[Happening, ...]) -> tuple[Happening, ...]:
        """Take in what happened; what is new of it. Something grave is logged before anybody is told.

        Raises:
            ChargewrightError: it is not logged; it will be told once it is.
        """
        for each in happened:
            if self._told_before[each] > 0:
                self._told_before[each] -= 1
            elif each.grave or each.at_s >= self._begun_s:
                self._untold += (each,)
            else:
                self.happened.append(each)
        self._log_grave()
        told, self._untold = self._untold, ()
        self.happened += told
        return told

    def _log_grave(self) -> None:
        grave = grave_among(self._untold)
        if grave is not None:
            self.end(grave)

    def _look(self) -> None:
        self.doables = self.unit.doables()
        self.seen = self.unit.seen()
        step = self._step()
        looked = step is not None and isinstance(step.proof, Confirm)
        self._sight_of = step.id if step is not None else ""
        self._shown = self._read_by_eye(step) if step is not None else {}
        self.sight = self.unit.sight(step, self.work.state) if step is not None and looked else ""

    def _read_by_eye(self, step: Step) -> dict[str, float]:
        """What is asked at a step and no stream of the order tells, read off the instruments."""
        order = self.work.state.order
        asked = [each.channel for each in getattr(step.proof, "channels", ())]
        found = {}
        for channel in asked:
            if channel == "cylinder_weight" or order.instrument_for(channel) is not None:
                continue
            seen = self.unit.reading(channel)
            if seen is not None:
                found[channel] = seen
        return found

    def shown_here(self) -> dict[str, float]:
        """Values that are asked here and only eyes can read, by channel [SI]."""
        step = self._step()
        return self._shown if step is not None and step.id == self._sight_of else {}

    def sight_here(self) -> str:
        """What is seen at the step in front; empty where nobody looked yet."""
        step = self._step()
        return self.sight if step is not None and step.id == self._sight_of else ""

    def end(self, happening: Happening) -> Stopped:
        """End the run because of something grave.

        Raises:
            ChargewrightError: it is not logged.
        """
        ended = p.Practised(
            what="ended", act=happening.kind.value, at=happening.where or None,
            amount=None if happening.amount is None else Decimal(f"{happening.amount:.9f}"),
        )  # fmt: skip
        if self.work.state.stopped is None and self.work.state.closed is None:
            self.work.do(c.Practise(ended))
        return self.coach.stopped(happening)

    # -- hints and choices --------------------------------------------------------------------

    def hints_taken(self) -> tuple[str, ...]:
        """The hints of this step that were paid for."""
        step = self._step()
        if step is None:
            return ()
        return self.coach.hints(step, self.work.state)[: self._hints.get(step.id, 0)]

    def take_hint(self) -> None:
        """Pay for the next hint of this step."""
        step = self._step()
        if step is None or self._hints.get(step.id, 0) >= 3:
            return
        number = self._hints.get(step.id, 0)
        act = ("pointer", "rule", "answer")[number]
        self.work.do(c.Practise(p.Practised(what="hint", act=act, step=step.id)))
        self._hints[step.id] = number + 1

    def to_choose(self) -> tuple[Candidate, ...]:
        """Steps to choose among before the sheet shows the next one; empty where there is no choice."""
        focus = self.work.focus()
        if self.help != "choose" or focus.step is None or focus.front not in {Front.HAZARD, Front.STEP}:
            return ()
        if (focus.step.id, self._redone()) in self._chosen or self.work.state.waiting is not None:
            return ()
        candidates = self.coach.candidates(self.work.state)
        return candidates if len(candidates) > 1 else ()

    def choose(self, picked: str) -> bool:
        """Say which step comes next; whether it does."""
        step = self._step()
        assert step is not None
        self.work.do(c.Practise(p.Practised(what="chosen", act=picked, step=step.id)))
        self._chosen.add((step.id, self._redone()))
        return picked == step.id

    def to_conclude(self) -> tuple[str, tuple[str, ...]] | None:
        """What is asked before the work is handed over or the score is told: question and troubles."""
        state = self.work.state
        if self.concluded or state.closed is not None or state.stopped is not None:
            return None
        ready = self.over or self.work.focus().front in {Front.CUSTOMER, Front.SIGN}
        return self.coach.conclusion if ready else None

    def conclude(self, trouble: str) -> None:
        """Name the trouble.

        Raises:
            ChargewrightError: it is not logged.
        """
        self.work.do(c.Practise(p.Practised(what="chosen", act=trouble, at=CONCLUSION)))
        self.concluded = True

    def close(self) -> None:
        """Let the unit and its readings go; the job stays where it stands."""
        self.unit.close()
        if self.readings is not None:
            self.readings.close()


def grave_among(happened: Sequence[Happening]) -> Happening | None:
    """The first happening that ends a run."""
    return next((happening for happening in happened if happening.grave), None)
