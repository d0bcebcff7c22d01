"""Plays a careful technician: at every place of the work, the next command such a person would give.

It looks at nothing but the job's state, the simulated system and the simulated clock, so it goes on
from wherever a job stands, also after the program was killed in the middle of it. The last act, the
signature, is left to the caller: it needs a passphrase.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, Protocol

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.assess import minutes_since_change
from guide.job.elapsed import elapsed
from guide.job.focus import Focus, Front
from guide.job.order import Cylinder
from guide.job.state import refrigerant_may_move
from guide.job.walk import offered
from guide.job.work import Work
from guide.procedure.model import (
    Adjust,
    ChannelAsk,
    Choose,
    Confirm,
    Direction,
    Reading,
    Step,
    Wait,
    Weigh,
)
from guide.rig.instrument import shown, weight
from guide.rig.simple_plant import Plant

ACT_S: Final = 20.0
"""Simulated time a person takes for one act [s] (PROPOSED)."""
MOVE_S: Final = 120.0
"""Simulated time to let refrigerant in or out, throttled, and to draw the hose down [s] (PROPOSED)."""
WEIGH_SHARE: Final = Decimal("0.05")
"""What a plain weighing step moves, as a share of the nameplate charge (PROPOSED)."""
MOST_TRIES: Final = 10
MOST_ROUNDS: Final = 40
_FULL_CYLINDER_kg: Final = 14.5  # gross, cylinder and 25 lb of refrigerant (PROPOSED)
_EMPTY_CYLINDER_kg: Final = 7.0
_CUSTOMER: Final = "A. Invented"


class PlayerStuck(ChargewrightError):
    """The player doesn't know how to go on here: where, and why."""


class MovableClock(Protocol):
    """A clock that can be told to run on."""

    def advance(self, seconds: float) -> None:
        """Let time pass."""


@dataclass(frozen=True, slots=True)
class Play:
    """The next command, and in words what a technician does and sees at this place."""

    words: str
    command: c.Command


class Player:
    """Works a job on a simulated system.

    `next` says what comes; asking again at the same place gives the same answer. `step` does it.
    """

    def __init__(self, work: Work, plant: Plant, clock: MovableClock) -> None:
        self.work = work
        self._plant = plant
        self._clock = clock
        self._last: tuple[int, Play | None] | None = None
        self._catch_up()

    def next(self) -> Play | None:
        """The next command of the work, or None where a signature is due or nothing is left to do.

        Raises:
            PlayerStuck: the procedure asks for something this player can't do.
        """
        seq = self.work.state.last_seq
        if self._last is None or self._last[0] != seq:
            self._last = (seq, self._play(self.work.focus()))
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
            self.work.do(play.command)
        finally:
            self._last = None
        self._pass(ACT_S)
        return play

    # -- the simulated world ------------------------------------------------------------------

    def _pass(self, seconds: float) -> None:
        if seconds > 0:
            self._clock.advance(seconds)
            self._plant.pass_time(seconds)

    def _catch_up(self) -> None:
        """Bring a fresh plant to where the job's events left it."""
        state = self.work.state
        for move in state.moves:
            self._stand(move.cylinder)
            self._plant.move(float(move.into_system_kg))
        if state.weighing is not None:
            self._stand(state.weighing.begun.cylinder)
        if state.opened_at is not None and state.last_at is not None:
            self._plant.pass_time(elapsed(state.opened_at, state.last_at).seconds)

    def _stand(self, cylinder: str) -> None:
        known = self.work.state.order.cylinder(cylinder)
        empty = known is not None and known.contents in {"empty", "recovered"}
        self._plant.put_on_scale(cylinder, _EMPTY_CYLINDER_kg if empty else _FULL_CYLINDER_kg)

    def _cylinder(self, direction: str) -> str:
        """The order's cylinder for this direction, by its contents."""
        order = self.work.state.order

        def fits(cylinder: Cylinder) -> bool:
            for_recovery = cylinder.contents in {"empty", "recovered"}
            same = cylinder.refrigerant == order.refrigerant.designation
            return same and for_recovery == (direction == "out")

        found = next((entry.id for entry in order.cylinders if fits(entry)), None)
        if found is None:
            kind = "an empty one for recovery" if direction == "out" else "one to charge from"
            raise PlayerStuck(f"the order has no cylinder of {order.refrigerant.designation} that is {kind}")
        return found

    def _weight(self, cylinder: str) -> p.ReadingValue:
        self._stand(cylinder)
        return weight(self.work.state.order, self._plant.read("cylinder_weight"))

    def _readings(self, asked: Sequence[ChannelAsk]) -> tuple[p.ReadingValue, ...]:
        order = self.work.state.order
        self._pass(float(max((ask.settled_s for ask in asked), default=0)))
        values = []
        for ask in asked:
            if ask.channel == "cylinder_weight":
                values.append(self._weight(self._cylinder_in_use()))
            else:
                values.append(shown(order, ask.channel, self._plant.read(ask.channel), ask.unit))
        return tuple(values)

    def _cylinder_in_use(self) -> str:
        moves = self.work.state.moves
        return moves[-1].cylinder if moves else self._cylinder("in")

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
            cylinder = open_weighing.begun.cylinder if open_weighing else self._cylinder_in_use()
            reading = self._weight(cylinder)
            check = p.CylinderCheck(cylinder=cylinder, weight=reading, valve="closed")
            words += f"; cylinder {cylinder} weighs {reading.typed}, its valve is closed"
        return Play(words, c.Resume(self.work.person, check))

    def _at(self, step: Step) -> Play:
        proof = step.proof
        if isinstance(proof, Confirm):
            return Play(f"{step.id} {step.do} Seen: {proof.accept[0]}", c.Answer(step.id, proof.accept[0]))
        if isinstance(proof, Reading):
            self._patience(step)
            readings = self._readings(proof.channels)
            return Play(f"{step.id} {step.do} {_listed(readings)}", c.Read(step.id, readings))
        if isinstance(proof, Wait):
            return self._wait(step, proof)
        if isinstance(proof, Choose):
            option = offered(self.work.state, proof)
            if option is None:
                raise PlayerStuck(f"step {step.id}: no way applies by the facts that are known")
            return Play(f"{step.id} {step.do} {option.text}", c.Choose(step.id, option.key))
        if isinstance(proof, Weigh):
            return self._begin_weighing(step, proof.direction.value)
        if isinstance(proof, Adjust):
            return self._adjust(step, proof)
        raise PlayerStuck(f"step {step.id} asks for something this player can't do")

    def _patience(self, step: Step) -> None:
        """Don't read for ever what will not come."""
        tries = len({entry.seq for entry in self.work.state.entries if entry.step == step.id})
        if tries > MOST_TRIES:
            raise PlayerStuck(f"step {step.id}: read {tries} times, and the simulated system meets no limit")

    def _wait(self, step: Step, proof: Wait) -> Play:
        waiting = self.work.state.waiting
        if waiting is None:
            self._patience(step)
            readings = self._readings(proof.channels)
            said = f" {_listed(readings)}" if readings else ""
            return Play(f"{step.id} {step.do} Begun.{said}", c.BeginWait(step.id, readings))
        passed = elapsed(waiting.at, self.work.now().stamp).seconds
        self._pass(waiting.begun.at_least_s - passed + 1.0)
        readings = self._readings(proof.channels)
        minutes = max(passed, waiting.begun.at_least_s) / 60
        said = f" {_listed(readings)}" if readings else ""
        return Play(f"{step.id} {minutes:.0f} min have passed.{said}", c.EndWait(step.id, readings))

    # -- refrigerant --------------------------------------------------------------------------

    def _begin_weighing(self, step: Step, direction: Literal["in", "out"], words: str = "") -> Play:
        cylinder = self._cylinder(direction)
        before = self._weight(cylinder)
        said = words or f"{step.id} {step.do}"
        return Play(
            f"{said} Cylinder {cylinder} weighs {before.typed}.",
            c.BeginWeigh(step.id, direction, cylinder, before),
        )

    def _end_weighing(self, step: Step) -> Play:
        weighing = self.work.state.weighing
        assert weighing is not None
        begun = weighing.begun
        wanted = self._wanted_kg(step)
        self._stand(begun.cylinder)
        # moved so far at this weighing counts: asked again, nothing moves twice
        so_far = abs(float(begun.before.si) - self._plant.read("cylinder_weight"))
        left = float(wanted) - so_far
        if left > float(self.work.state.order.scale_division.si) / 2:
            self._plant.move(left if begun.direction == Direction.IN.value else -left)
            self._pass(MOVE_S)
        after = self._weight(begun.cylinder)
        return Play(
            f"{step.id} closes the cylinder valve; cylinder {begun.cylinder} weighs {after.typed}.",
            c.EndWeigh(step.id, after),
        )

    def _wanted_kg(self, step: Step) -> Decimal:
        state = self.work.state
        if isinstance(step.proof, Adjust):
            return state.step_rounds(step.id)[-1].read.assessment.amount_kg
        return (state.order.nameplate_charge.si * WEIGH_SHARE).quantize(Decimal("0.0001"))

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
        passed_min = float(minutes_since_change(state, self.work.now().stamp))
        self._pass((settle_min - passed_min) * 60 + 6.0)
        readings = self._readings(proof.channels)
        return Play(f"{step.id} round {number}: {_listed(readings)}", c.Read(step.id, readings))


def _listed(readings: Sequence[p.ReadingValue]) -> str:
    return ", ".join(f"{reading.channel.replace('_', ' ')} {reading.typed}" for reading in readings)
