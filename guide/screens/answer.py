"""From filled-in fields to the command that goes into the log.

`keep` puts a free text aside and gives the reference a command carries (`guide.job.work.Work.keep`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from guide.errors import ChargewrightError
from guide.job import commands as c
from guide.job import payloads as p
from guide.job.focus import Focus
from guide.job.order import Order
from guide.job.state import JobState
from guide.job.weighing import progress
from guide.screens.filling import Filling
from guide.screens.live import chosen
from guide.screens.mode import FINISHED, Mode, Turn
from guide.screens.turn import RULED_OUT
from guide.screens.weigh_turn import only_cylinder

Keep = Callable[[str], str]

WEIGHT = "cylinder_weight"


class NeedsReason(ChargewrightError):
    """The command goes against what is offered; it takes a reason."""


def reading(order: Order, filling: Filling, key: str, channel: str, keep: Keep) -> p.ReadingValue:
    """The reading in a field, typed or accepted from a stream.

    Raises:
        UnitError: there is none.
    """
    value = filling.quantity(key)
    why = filling.reason(key)
    instrument = order.instrument_for(channel)
    name = order.scale_id if channel == WEIGHT else instrument.id if instrument else None
    typed = p.ReadingValue(
        channel=channel,
        si=value.si,
        unit=value.unit,
        typed=value.typed,
        source="typed",
        instrument=name,
        unusual=keep(why) if why else None,
    )
    return chosen(typed, filling.accepted.get(key))


def command(  # noqa: PLR0911, PLR0912 - one return a mode
    state: JobState, focus: Focus, asked: Turn, filling: Filling, *, person: p.Person, keep: Keep
) -> c.Command:
    """What the filled-in fields ask of the job.

    Raises:
        UnitError: a field holds no quantity.
        NeedsReason: a branch was taken that is not the one offered, or weighings end off their target.
    """
    step = focus.step.id if focus.step else ""
    match asked.mode:
        case Mode.HAZARD:
            return c.Acknowledge(step, focus.hazard or 0)
        case Mode.ANSWER:
            return c.Answer(step, filling.text("seen"))
        case Mode.READ | Mode.ROUND:
            return c.Read(step, _readings(state, filling, keep))
        case Mode.WAIT_BEGIN:
            return c.BeginWait(step, _readings(state, filling, keep))
        case Mode.WAIT_END:
            return c.EndWait(step, _readings(state, filling, keep))
        case Mode.WEIGH_NEXT if filling.text("next") == FINISHED:
            return finish(state, focus)
        case Mode.WEIGH_BEGIN | Mode.WEIGH_NEXT | Mode.ADVISED_MOVE:
            return begin_weigh(state, step, _direction(state, focus, asked), filling, keep)
        case Mode.WEIGH_END:
            return c.EndWeigh(step, reading(state.order, filling, "after", WEIGHT, keep))
        case Mode.LOOP_END:
            return c.EndAdjust(step)
        case Mode.CHOOSE:
            return choose(step, asked, filling)
        case Mode.PART_END:
            return c.EndPart(focus.part.id if focus.part else "")
        case Mode.CUSTOMER:
            return customer(filling, keep)
        case Mode.RESUME:
            return c.Resume(person, check(state, filling, keep))
    raise NeedsReason("nothing to do here yet")


def _readings(state: JobState, filling: Filling, keep: Keep) -> tuple[p.ReadingValue, ...]:
    return tuple(reading(state.order, filling, ask.key, ask.key, keep) for ask in filling.asks)


def _direction(state: JobState, focus: Focus, asked: Turn) -> Literal["in", "out"]:
    if asked.mode is Mode.ADVISED_MOVE:
        return "in" if state.rounds[-1].read.assessment.action == "add" else "out"
    direction = getattr(focus.step.proof, "direction", None) if focus.step else None
    return "out" if direction is not None and direction.value == "out" else "in"


def begin_weigh(
    state: JobState,
    step: str,
    direction: Literal["in", "out"],
    filling: Filling,
    keep: Keep,
    *,
    against: str | None = None,
) -> c.BeginWeigh:
    """A cylinder on the scale, its weight before.

    Raises:
        UnitError: the weight is no quantity.
    """
    asked = [ask.key for ask in filling.asks]
    cylinder = filling.text("cylinder") if "cylinder" in asked else only_cylinder(state, direction)
    before = reading(state.order, filling, "before", WEIGHT, keep)
    return c.BeginWeigh(step, direction, cylinder, before, keep(against) if against else None)


def finish(state: JobState, focus: Focus, reason: str | None = None) -> c.EndWeighing:
    """The weighings of a step are finished.

    Raises:
        NeedsReason: they are off their target, and there is no reason yet.
    """
    assert focus.step is not None
    if reason is None and not progress(state, focus.step).on_target(state.order.scale_division.si):
        raise NeedsReason("the target is not met: say why it is finished all the same")
    return c.EndWeighing(focus.step.id, reason)


def choose(step: str, asked: Turn, filling: Filling, reason: str | None = None) -> c.Choose:
    """The way that was picked.

    Raises:
        NeedsReason: it is not the one the facts offer, and there is no reason yet.
    """
    option = filling.text("option")
    first = asked.asks[0].picked
    ruled_out = any(choice.value == option and choice.note == RULED_OUT for choice in asked.asks[0].choices)
    other = first is None or asked.asks[0].choices[first].value != option
    if reason is None and other and not ruled_out:
        raise NeedsReason("another way than the one offered: say why")
    return c.Choose(step, option, reason)


def customer(filling: Filling, keep: Keep) -> c.ShowCustomer:
    """How the customer took note.

    Raises:
        NeedsReason: an acknowledgement without a name.
    """
    how = filling.text("how")
    if how == "acknowledged":
        name = filling.text("name")
        if not name:
            raise NeedsReason("an acknowledgement carries the customer's typed name")
        return c.ShowCustomer("acknowledged", keep(name))
    return c.ShowCustomer("refused" if how == "refused" else "not present")


def check(state: JobState, filling: Filling, keep: Keep) -> p.CylinderCheck | None:
    """What stands on the scale on coming back.

    Raises:
        UnitError: the weight is no quantity.
    """
    if not filling.asks:
        return None
    return p.CylinderCheck(
        cylinder=filling.text("cylinder"),
        weight=reading(state.order, filling, "weight", WEIGHT, keep),
        valve="open" if filling.text("valve") == "open" else "closed",
    )
