"""Plays a careful technician: at every place of the work, the next command such a person would give.

It looks at nothing but the job's state, the simulated system and the simulated clock, so it goes on
from wherever a job stands, also after the program was killed in the middle of it. The last act, the
signature, is left to the caller: it needs a passphrase.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from guide.job import commands as c
from guide.job import limits
from guide.job import payloads as p
from guide.job.assess import minutes_since_change
from guide.job.elapsed import elapsed
from guide.job.focus import Focus, Front
from guide.job.state import Standing, beyond_fails, refrigerant_may_move
from guide.job.walk import offered
from guide.job.weighing import SCALE_NOISE_DIVISIONS, progress
from guide.job.work import Work
from guide.procedure.model import (
    Adjust,
    Choose,
    Confirm,
    Direction,
    OrderFigure,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.rig import cylinders, tending
from guide.rig.circuit import Inside
from guide.rig.cylinders import Way
from guide.rig.hands import Hands, MovableClock
from guide.rig.hands import PlayerStuck as PlayerStuck  # noqa: PLC0414 - raised by the player too
from guide.rig.port import Plant
from guide.units import show

ACT_S: Final = 20.0
"""Simulated time a person takes for one act [s] (PROPOSED)."""
WEIGH_SHARE: Final = Decimal("0.05")
"""What a plain weighing step moves, as a share of the nameplate charge (PROPOSED)."""
MOST_TRIES: Final = 10
MOST_ROUNDS: Final = 40
LOOKS: Final = 4
"""How often a hold is looked at while it runs (PROPOSED)."""
_CUSTOMER: Final = "A. Invented"
NO_ANSWERS: Final[Mapping[str, str]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Play:
    """The next command, and in words what a technician does and sees at this place."""

    words: str
    command: c.Command


class Player:
    """Works a job on a simulated system.

    `next` says what comes; asking again at the same place gives the same answer. `step` does it.
    What is seen at a step is the first answer that lets the work go on, unless `answers` has another.
    """

    def __init__(
        self, work: Work, plant: Plant, clock: MovableClock, *, answers: Mapping[str, str] = NO_ANSWERS,
        hands: Hands | None = None,
    ) -> None:  # fmt: skip
        self.work = work
        self._answers = answers
        self.plant = plant
        self._last: tuple[int, Play | None] | None = None
        self._hands = Hands(work, plant, clock) if hands is None else hands

    def next(self) -> Play | None:
        """The next command of the work, or None where a signature is due or nothing is left to do.

        Raises:
            PlayerStuck: the procedure asks for something this player can't do.
        """
        if self._last is None or self._last[0] != self.work.state.last_seq:
            play = self._play(self.work.focus())
            self._last = (self.work.state.last_seq, play)  # what hands do on the way is logged too
        return self._last[1]

    def step(self) -> Play | None:
        """Give the next command; what was played, or None where a signature is due or nothing is left.

        Raises:
            PlayerStuck, Refused, NotLogged: as `next` and `Work.do`.
        """
        play = self.next()
        if play is None:
            return None
        try:
            events = self.work.do(play.command)
        finally:
            self._last = None
        for event in events:
            self._hands.course.take(p.read_payload(event.kind, event.body))
        self._hands.pass_time(ACT_S)
        return play

    # -- what comes next ----------------------------------------------------------------------

    def _play(self, place: Focus) -> Play | None:  # noqa: PLR0911 - one return a front
        match place.front:
            case Front.RESUME:
                return self._resume()
            case Front.WEIGHING:
                assert place.step is not None
                return self._end_weighing(place.step)
            case Front.HAZARD:
                assert place.step is not None
                assert place.hazard is not None
                hazard = place.step.hazards[place.hazard]
                words = f"{place.step.id} reads: {hazard.word} {hazard.text}"
                return Play(words, c.Acknowledge(place.step.id, place.hazard))
            case Front.STEP:
                assert place.step is not None
                return self._at(place.step)
            case Front.PART_END:
                assert place.part is not None
                return Play(f"{place.part.title}: complete", c.EndPart(place.part.id))
            case Front.CUSTOMER:
                name = self.work.keep(_CUSTOMER)
                return Play(f"the customer, {_CUSTOMER}, takes note", c.ShowCustomer("acknowledged", name))
            case _:
                return None

    def _resume(self) -> Play:
        state = self.work.state
        check = None
        words = "goes on with the work"
        if refrigerant_may_move(state):
            open_weighing = state.weighing
            cylinder = open_weighing.begun.cylinder if open_weighing else self._hands.cylinder_in_use()
            reading = self._hands.weight(cylinder)
            check = p.CylinderCheck(cylinder=cylinder, weight=reading, valve="closed")
            words += f"; cylinder {cylinder} weighs {reading.typed}, its valve is closed"
        return Play(words, c.Resume(self.work.person, check))

    def _at(self, step: Step) -> Play:
        proof = step.proof
        if isinstance(proof, Confirm):
            seen = self._answers.get(step.id) or self._hands.look(step, proof)
            return Play(f"{step.id} {step.do} Seen: {seen}", c.Answer(step.id, seen))
        if isinstance(proof, Reading):
            self._patience(step)
            self._hands.make_pressure(step)
            readings = self._hands.readings(step, proof.channels)
            return Play(f"{step.id} {step.do} {_listed(readings)}", c.Read(step.id, readings))
        if isinstance(proof, Wait):
            return self._wait(step, proof)
        if isinstance(proof, Choose):
            option = offered(self.work.state, proof)
            if option is None:
                raise PlayerStuck(f"step {step.id}: no way applies by the facts that are known")
            return Play(f"{step.id} {step.do} {option.text}", c.Choose(step.id, option.key))
        if isinstance(proof, Weigh):
            return self._weigh(step, proof)
        if isinstance(proof, Adjust):
            return self._adjust(step, proof)
        raise PlayerStuck(f"step {step.id} asks for something this player can't do")

    def _patience(self, step: Step) -> None:
        """Don't read for ever what will not come."""
        tries = len({entry.seq for entry in self.work.state.entries if entry.step == step.id})
        if tries > MOST_TRIES:
            raise PlayerStuck(f"step {step.id}: read {tries} times, and the simulated system meets no limit")

    # -- holds --------------------------------------------------------------------------------

    def _wait(self, step: Step, proof: Wait) -> Play:
        if self.work.state.waiting is not None:
            return self._go_on_waiting(step, proof)
        self._patience(step)
        again = self._begin_again(step)
        if again is not None:
            return again
        self._hands.make_pressure(step)
        readings = self._hands.readings(step, proof.channels)
        said = f" {_listed(readings)}" if readings else ""
        return Play(f"{step.id} {step.do} Begun.{said}", c.BeginWait(step.id, readings))

    def _go_on_waiting(self, step: Step, proof: Wait) -> Play:
        """See the hold through; where nothing is connected, look now and then whether it fails already."""
        waiting = self.work.state.waiting
        assert waiting is not None
        whole_s = float(waiting.begun.at_least_s)
        looks = LOOKS if tending.stands_alone(step) and (proof.limits or proof.changes) else 1
        while True:
            passed_s = elapsed(waiting.at, self.work.now().stamp).seconds
            self._hands.pass_time(min(whole_s - passed_s + 1.0, whole_s / looks + 1.0))
            readings = self._hands.readings(step, proof.channels)
            passed_s = elapsed(waiting.at, self.work.now().stamp).seconds
            said = f" {_listed(readings)}" if readings else ""
            if passed_s >= whole_s:
                words = f"{step.id} {passed_s / 60:.0f} min have passed.{said}"
                return Play(words, c.EndWait(step.id, readings))
            state = self.work.state
            verdicts = limits.of_hold(
                proof, waiting.begun.readings, readings, state.order, strict=beyond_fails(state)
            )
            if any(verdict.verdict == "fail" for verdict in verdicts):
                words = f"{step.id} ended after {passed_s / 60:.0f} min: it does not hold.{said}"
                return Play(words, c.EndWait(step.id, readings))

    def _begin_again(self, step: Step) -> Play | None:
        """Where a careful technician goes back to when a hold was bad, or its circuit was opened since."""
        made = tending.tended(step)
        circuit = self.plant.circuit
        if self._hands.course.failed == step.id:
            if made == "system_vacuum" and circuit.leaks:
                why, start = "a leak is found and mended", self._first_done("test_pressure", None)
            elif made == "system_vacuum":
                why, start = "no leak is found: moisture", self._first_done(made, step)
            else:
                why, start = "the leak is found and mended", self._first_done(made, step)
        elif made == "system_vacuum" and circuit.inside is Inside.NITROGEN:
            why, start = "the circuit was opened again", self._first_done(made, step)
        else:
            return None
        if start is None:
            return None
        return Play(f"{step.id} {why}; goes back to {start.id}", c.Redo(start.id, self.work.keep(why)))

    def _first_done(self, made: str | None, before: Step | None) -> Step | None:
        """The first step that is done and makes such a pressure, in the part of `before` or a test of it."""
        for part in self.work.state.path():
            held = any(isinstance(step.proof, Wait) and tending.tended(step) == made for step in part.steps)
            if not held if before is None else before not in part.steps:
                continue
            for step in part.steps:
                done = self.work.state.standing(step.id) is Standing.DONE
                if done and tending.tended(step) == made:
                    return step
        return None

    # -- refrigerant --------------------------------------------------------------------------

    def _weigh(self, step: Step, proof: Weigh) -> Play:
        """The next weighing of a step, or its end."""
        state = self.work.state
        if proof.repeat:
            stands = progress(state, step)
            some = stands.moved_kg > 0 or stands.target_kg is not None
            if some and self._left_kg(step, 0.0) <= self._noise_kg():
                words = f"{step.id} {step.do} Finished: {show(stands.moved_kg, 'kg', digits=3)} moved."
                return Play(words, c.EndWeighing(step.id))
            if sum(move.step == step.id for move in state.moves) > MOST_TRIES:
                raise PlayerStuck(f"step {step.id}: weighed {MOST_TRIES} times, and it comes to no end")
        return self._begin_weighing(step, proof.direction.value)

    def _begin_weighing(self, step: Step, way: Way, words: str = "") -> Play:
        cylinder = self._hands.cylinder_for(step, way)
        before = self._hands.weight(cylinder)
        said = words or f"{step.id} {step.do}"
        return Play(
            f"{said} Cylinder {cylinder} weighs {before.typed}.",
            c.BeginWeigh(step.id, way, cylinder, before),
        )

    def _end_weighing(self, step: Step) -> Play:
        state = self.work.state
        weighing = state.weighing
        assert weighing is not None
        begun = weighing.begun
        self._hands.stand(begun.cylinder)
        # moved so far at this weighing counts: asked again, nothing moves twice
        so_far = abs(float(begun.before.si) - self.plant.read("cylinder_weight"))
        room = cylinders.room_of_kg(self.plant, state.order, begun.cylinder, begun.direction)
        left = min(self._left_kg(step, so_far), room)
        if left > float(self.work.state.order.scale_division.si) / 2:
            self._hands.move(step, left, begun.direction)
        after = self._hands.weight(begun.cylinder)
        return Play(
            f"{step.id} closes the cylinder valve; cylinder {begun.cylinder} weighs {after.typed}.",
            c.EndWeigh(step.id, after),
        )

    def _noise_kg(self) -> float:
        return SCALE_NOISE_DIVISIONS * float(self.work.state.order.scale_division.si)

    def _left_kg(self, step: Step, so_far_kg: float) -> float:
        """What is still to move at a step [kg], when `so_far_kg` of a weighing under way has moved."""
        state, proof = self.work.state, step.proof
        if isinstance(proof, Adjust):
            return float(state.step_rounds(step.id)[-1].read.assessment.amount_kg) - so_far_kg
        assert isinstance(proof, Weigh)
        remaining = progress(state, step).remaining_kg
        if remaining is not None:
            return float(remaining) - so_far_kg
        if proof.repeat and proof.direction is Direction.OUT:
            level = state.order.figure(OrderFigure.RECOVERY_LEVEL)
            level_Pa = float(level.si if level is not None else state.order.site_pressure_Pa)
            return self._hands.left_in_it_kg(tending.WELL_BELOW * level_Pa)
        share = WEIGH_SHARE * state.order.nameplate_charge.si
        return float(share - progress(state, step).moved_kg) - so_far_kg

    def _adjust(self, step: Step, proof: Adjust) -> Play:
        state = self.work.state
        rounds = state.step_rounds(step.id)
        if len(rounds) > MOST_ROUNDS:
            raise PlayerStuck(
                f"step {step.id}: {MOST_ROUNDS} rounds and no end; look at the simulated system"
            )
        changed = bool(rounds) and any(move.seq > rounds[-1].seq for move in state.moves)
        last = rounds[-1].read.assessment if rounds else None
        if last is None or changed or last.action == "wait":
            return self._round(step, proof, number=len(rounds) + 1)
        reason = f" {last.reasons[0]}" if last.reasons else ""
        if last.action == "add":
            return self._begin_weighing(step, "in", f"{step.id} advice: add.{reason}")
        if last.action == "recover":
            return self._begin_weighing(step, "out", f"{step.id} advice: recover.{reason}")
        return Play(f"{step.id} advice: {last.action}.{reason}", c.EndAdjust(step.id))

    def _round(self, step: Step, proof: Adjust, *, number: int) -> Play:
        state = self.work.state
        settle_min = max(proof.settle_s / 60, float(state.order.appliance().settle_minutes))
        for _ in range(LOOKS):
            passed_min = float(minutes_since_change(self.work.state, self.work.now().stamp))
            if passed_min >= settle_min:
                break
            self._hands.pass_time((settle_min - passed_min) * 60 + 6.0)  # somebody may come in between
        readings = self._hands.readings(step, proof.channels)
        return Play(f"{step.id} round {number}: {_listed(readings)}", c.Read(step.id, readings))


def _listed(readings: Sequence[p.ReadingValue]) -> str:
    return ", ".join(f"{reading.channel.replace('_', ' ')} {reading.typed}" for reading in readings)
