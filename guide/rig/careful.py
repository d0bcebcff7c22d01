"""A careful technician who works a job on a rig with their hands only: no shortcut, nothing known unseen.

At each step the hands do what `guide.rig.doing` says, eyes see what `guide.rig.sights` shows, and what is
found wrong is put right where that can be done on the spot. Where a step stays refused the job is broken off.
In the run of a lesson every act stands in the log before it is done. It is the run that a trainee's own is
laid beside, and the proof that a lesson can be done.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.order import Order
from guide.job.state import Standing, refrigerant_may_move
from guide.job.work import Work
from guide.procedure.model import Confirm, OrderFigure, Step, Weigh
from guide.rig import cylinders, tending
from guide.rig.acts import Act, Handling
from guide.rig.at_a_look import seen_at
from guide.rig.by_hand import Centre, Move, Pause, Piece, Until, undone
from guide.rig.by_weight import draw_down, feed_plan, recover_plan
from guide.rig.course import Course
from guide.rig.cylinders import Way
from guide.rig.doing import HOSE_VACUUM_Pa, plan
from guide.rig.hands import Hands, MovableClock, PlayerStuck
from guide.rig.happenings import Happening
from guide.rig.hookup import MACHINE, PUMP
from guide.rig.instrument import weight
from guide.rig.look import Sight
from guide.rig.player import Play, Player
from guide.rig.retrace import practised
from guide.rig.rig import Rig

ACT_s: Final = 4
"""Simulated time one act takes (PROPOSED)."""
WATCHED_s: Final = 1
"""The same at a valve beside the scale."""
LOOKED_s: Final = 30
"""How long is waited until a look shows what was put right (PROPOSED)."""
AWAY_s: Final = 300
"""How long somebody is kept from the work who is called away (PROPOSED)."""
STEP_s: Final = 10
"""How often a gauge is looked at while something is waited for (PROPOSED)."""
SHORT_kg: Final = 0.05
"""More than this missing of what was to move means that no more comes (PROPOSED)."""
_FIRST_PULL: Final = "EVACUATE the circuit for as long as the gauge falls."
_DAMP: Final = "the vacuum climbed and levelled off: moisture"
_PRESSED: Final = frozenset(
    {"LISTEN along every joint that was made.", "TEST every joint with bubble solution."}
)
"""Looked at under test pressure, so done again from the first pressure once something was mended."""


class CarefulHands(Hands):
    """One technician's hands on one rig that stands where the job's events left it."""

    def __init__(self, work: Work, rig: Rig, clock: MovableClock) -> None:
        super().__init__(work, rig, clock)
        self._rig = rig
        self.seen: Sight | None = None
        """What was seen last."""
        self.no_more: str | None = None
        """The step at which the cylinder gave no more, the unit at rest."""
        self._busy = False
        self._called_away = False

    def _brought_here(self) -> Course:
        """A rig is brought where the events left it by whoever made it (`guide.rig.retrace`)."""
        return Course()

    # -- acts and time ------------------------------------------------------------------------

    def act(self, handling: Handling, took_s: int = ACT_s) -> tuple[Happening, ...]:
        """Do one act, written down first where this is the run of a lesson."""
        opened = self._work.state.opened
        if opened is not None and opened.lesson is not None:
            step = self._work.focus().step
            self._work.do(c.Practise(practised(handling, None if step is None else step.id)))
        happened = self._rig.do(handling)
        self.pass_time(took_s)
        return happened

    def carry_out(self, moves: Iterable[Move], took_s: int = ACT_s) -> None:
        """Do moves one after the other, each made only when the one before it is done."""
        for move in moves:
            if isinstance(move, Handling):
                self.act(move, took_s)
            elif isinstance(move, Pause):
                self.pass_time(move.seconds)
            else:
                self._wait_for(move)

    def do(self, pieces: Iterable[Piece]) -> None:
        """Do what of a plan is not so already."""
        self.carry_out(undone(pieces, self._rig.hookup))

    def _wait_for(self, until: Until) -> None:
        passed = 0
        while passed < until.most_s:
            now_Pa = self._rig.read(until.channel)
            low_enough = until.at_most_Pa is None or now_Pa <= until.at_most_Pa
            if low_enough and (until.at_least_Pa is None or now_Pa >= until.at_least_Pa):
                return
            self.pass_time(STEP_s)
            passed += STEP_s

    def pass_time(self, seconds: float) -> None:
        """Let time pass; who is called away meanwhile puts the work to rest and comes back to it."""
        called = self._rig.interruption
        ahead_s = 0.0 if called is None else called.at_s - self._rig.elapsed_s
        if called is None or self._called_away or self._busy or seconds < ahead_s:
            super().pass_time(seconds)
            return
        first_s = max(0.0, float(int(ahead_s)))
        super().pass_time(first_s)
        self._called_away = True
        self._rest(called.words)
        super().pass_time(seconds - first_s)

    def _rest(self, words: str) -> None:
        """Everything shut, the work paused, and after a while taken up again with the cylinder's weight."""
        self._busy = True
        if self._rig.hookup.cylinder_open > 0.0:
            self.act(Handling(Act.CLOSE_CYLINDER))
        self._work.do(c.Pause(self._work.keep(words)))
        super().pass_time(AWAY_s)
        state = self._work.state
        check = None
        if refrigerant_may_move(state):
            cylinder = state.weighing.begun.cylinder if state.weighing else self.cylinder_in_use()
            check = p.CylinderCheck(cylinder=cylinder, weight=self.weight(cylinder), valve="closed")
        self._work.do(c.Resume(self._work.person, check))
        self._busy = False

    # -- looking and reading ------------------------------------------------------------------

    def look(self, step: Step, proof: Confirm) -> str:
        """Do what the step wants done, then say what is seen; put right what can be put right on the spot."""
        before = self._work.state.answers.get(step.id)
        if before is not None and not before.accepted:
            self._put_right(seen_at(self._rig, step, self._work.state))
        self.carry_out(plan(step, self._work.state, self._rig.hookup))
        self.seen = seen_at(self._rig, step, self._work.state)
        if self.seen.cure and self.seen.answer in proof.accept:
            self._put_right(self.seen)
            self.seen = seen_at(self._rig, step, self._work.state)
        return self.seen.answer

    def _put_right(self, seen: Sight) -> None:
        for handling in seen.cure:
            self.act(handling)
        if seen.cure:
            self.pass_time(LOOKED_s)

    def make_pressure(self, step: Step) -> None:
        """Do what the step wants done before it is read or its hold begins; mend first what a hold showed."""
        if tending.tended(step) is not None and self.course.trouble:
            self.course.trouble = False
            self._find_and_mend()
        self.carry_out(plan(step, self._work.state, self._rig.hookup))

    def _find_and_mend(self) -> None:
        self.act(Handling(Act.SMELL_OUT))
        if self._rig.circuit.leaks:
            self.do((
                Handling(Act.CLOSE_HAND_VALVE, "low"), Handling(Act.CLOSE_HAND_VALVE, "high"),
                Handling(Act.STOP_PUMP), Handling(Act.RELEASE, "low"), Handling(Act.RELEASE, "high"),
                Handling(Act.MEND),
            ))  # fmt: skip

    # -- cylinders ----------------------------------------------------------------------------

    def stand(self, cylinder: str) -> None:
        """Put a cylinder on the scale."""
        self.do((Handling(Act.STAND, cylinder),))

    def weight(self, cylinder: str) -> p.ReadingValue:
        """What the scale shows with a cylinder on it."""
        self.stand(cylinder)
        return weight(self._order, self._rig.read("cylinder_weight"))

    def cylinder(self, way: Way) -> str:
        """The first cylinder of the order that still gives (in) or takes (out), put on the scale.

        Raises:
            PlayerStuck: there is none.
        """
        for each in cylinders.of_kind(self._order, way):
            self.stand(each)
            if cylinders.room_of_kg(self._rig, self._order, each, way) > cylinders.WORTH_WHILE_kg:
                return each
        raise PlayerStuck(f"the order has no cylinder left that {'gives' if way == 'in' else 'takes'} any")

    def cylinder_for(self, step: Step, way: Way) -> str:
        """The cylinder for a weighing, on the scale, its hose on and free of air, liquid at its valve.

        Raises:
            PlayerStuck: as `cylinder`.
        """
        cylinder = self.cylinder(way)
        hookup = self._rig.hookup
        if isinstance(step.proof, Weigh) and way == "out":
            self.do((Centre(MACHINE),))
            return cylinder
        if hookup.centre.joined != cylinder:
            if hookup.runs and hookup.centre.liquid:
                self.carry_out(draw_down(self._rig))
            self.do((Centre(cylinder),))
            self._free_the_hose()
        if way == "in":
            self.do((Handling(Act.TURN_FOR_LIQUID),))
        return cylinder

    def _free_the_hose(self) -> None:
        """A hose that was just joined holds air: it goes by the pump, or with a breath where is none."""
        if self._order.instrument_for("hose_vacuum") is None:
            if self._rig.hookup.centre.joined and self._gives_vapour():
                self.act(Handling(Act.PURGE, "centre"))
            return
        self.do((
            Handling(Act.JOIN, PUMP), Handling(Act.START_PUMP),
            Until("hose_vacuum", 600, at_most_Pa=HOSE_VACUUM_Pa), Handling(Act.STOP_PUMP),
        ))  # fmt: skip

    def _gives_vapour(self) -> bool:
        known = self._order.cylinder(self._rig.hookup.on_scale)
        return known is not None and known.contents not in {"empty", "recovered"}

    def move(self, step: Step, kg: float, way: Way) -> None:
        """Let refrigerant [kg] in or out at a step, by the scale; the hose is drawn down afterwards."""
        self._busy = True
        if isinstance(step.proof, Weigh) and way == "out":
            order = self._order
            room = cylinders.room_of_kg(self._rig, order, self._rig.hookup.on_scale, way)
            self.carry_out(recover_plan(self._rig, room, tending.WELL_BELOW * _level_Pa(order)), WATCHED_s)
        else:
            before_kg = self._rig.read("cylinder_weight")
            self.carry_out(feed_plan(self._rig, kg, way), WATCHED_s)
            short_kg = kg - abs(self._rig.read("cylinder_weight") - before_kg)
            if short_kg > SHORT_kg and not self._rig.hookup.runs:
                self.no_more = step.id
        self._busy = False

    def left_in_it_kg(self, level_Pa: float) -> float:
        """How much has still to come out [kg]: nothing once the gauge stands low enough."""
        if self._rig.hookup.low.joined and self._rig.read("system_pressure") <= 1.02 * level_Pa:
            return 0.0
        return self._rig.charge_kg

    @property
    def _order(self) -> Order:
        return self._work.state.order


class Careful(Player):
    """Works a job on a rig by hand, from wherever job and rig stand together."""

    def __init__(self, work: Work, rig: Rig, clock: MovableClock) -> None:
        self.hands = CarefulHands(work, rig, clock)
        super().__init__(work, rig, clock, hands=self.hands)
        self.rig = rig

    def _weigh(self, step: Step, proof: Weigh) -> Play:
        if self.hands.no_more == step.id:
            self.hands.no_more = None
            why = "both pressures are equal, it takes no more at rest"
            words = f"{step.id} {why}; the rest goes in with the unit running."
            return Play(words, c.EndWeighing(step.id, self.work.keep(why)))
        return super()._weigh(step, proof)

    def _begin_again(self, step: Step) -> Play | None:
        """A vacuum that climbed and levelled off: evacuated again from the first pull on."""
        damp = self.hands.course.failed == step.id and tending.tended(step) == "system_vacuum"
        if not damp or self.rig.circuit.leaks:
            return super()._begin_again(step)
        first = next((each for _, each in self.work.state.procedure.steps() if each.do == _FIRST_PULL), None)
        if first is None or self.work.state.standing(first.id) is not Standing.DONE:
            return super()._begin_again(step)
        self.hands.course.trouble = False
        words = f"{step.id} {_DAMP}; goes back to {first.id}"
        return Play(words, c.Redo(first.id, self.work.keep(_DAMP)))

    def _at(self, step: Step) -> Play:
        answered = self.work.state.answers.get(step.id)
        if answered is None or answered.accepted or not isinstance(step.proof, Confirm):
            return super()._at(step)
        seen = seen_at(self.rig, step, self.work.state)
        if seen.answer in step.proof.refuse and not seen.cure:
            words = f"{step.id} {seen.words} That can't be put right here; breaks the job off"
            return Play(words, c.Abort(self.work.keep(f"{step.do} {seen.words}")))
        if step.do in _PRESSED and seen.cure:
            start = self._first_done("test_pressure", step)
            if start is not None:
                self.hands.look(step, step.proof)
                why = "the leak is found and mended"
                return Play(
                    f"{step.id} {why}; goes back to {start.id}", c.Redo(start.id, self.work.keep(why))
                )
        return super()._at(step)


def _level_Pa(order: Order) -> float:
    level = order.figure(OrderFigure.RECOVERY_LEVEL)
    return float(level.si if level is not None else order.site_pressure_Pa)
