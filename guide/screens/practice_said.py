"""One line about what hands did, what happened, and what the instruments say at the unit. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from guide.job.order import Order
from guide.journal.event import Stamp
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Step
from guide.rig.acts import Handling
from guide.rig.happenings import Happening, Kind
from guide.rig.spoken import spoken
from guide.screens import say
from guide.units import show, usual_digits

if TYPE_CHECKING:
    from guide.instruments.readings import Readings

_UNITS: Final = MappingProxyType(
    {
        Kind.AIR_IN: "g",
        Kind.MOISTURE_IN: "g",
        Kind.REFRIGERANT_LOST: "g",
        Kind.PARTED_UNDER_PRESSURE: "g",
        Kind.CYLINDER_OVERFILLED: "g",
        Kind.WRONG_REFRIGERANT: "g",
        Kind.REFRIGERANT_IN_PUMP: "g",
        Kind.OVER_DESIGN_PRESSURE: "psia",
        Kind.OPENED_UNDER_PRESSURE: "psia",
        Kind.HIGH_PRESSURE_TRIP: "psia",
        Kind.TOO_HOT: "F",
    }
)
"""In which unit the amount of a happening is said; one without stands alone."""

_AT_HAND: Final = ("suction_pressure", "liquid_pressure", "hose_vacuum", "cylinder_weight")
"""What is looked at while hands are busy: the gauges, the vacuum, the scale."""


_NO_VACUUM_Pa: Final = 2600
"""Above this a vacuum gauge is at the end of its scale and says nothing."""


def happening_words(happening: Happening) -> str:
    """What happened, where, and how much of it."""
    where = f" ({happening.where})" if happening.where else ""
    unit = _UNITS.get(happening.kind)
    if happening.amount is None or unit is None:
        return f"{happening.kind.value}{where}"
    return f"{happening.kind.value}{where}: {amount_words(happening.amount, unit)}"


def amount_words(amount: float, unit: str) -> str:
    """An amount [SI] in a unit; grams to a tenth."""
    if unit == "g":
        return f"{amount * 1000:.1f} g"
    return show(amount, unit, digits=0)


def told_words(happened: Sequence[Happening]) -> str:
    """Everything that happened just now, each kind once with its whole amount."""
    sums: dict[tuple[Kind, str], Happening] = {}
    for happening in happened:
        key = (happening.kind, happening.where)
        before = sums.get(key)
        if before is None or before.amount is None or happening.amount is None:
            sums[key] = happening
        elif _UNITS.get(happening.kind) == "g":
            total = before.amount + happening.amount
            sums[key] = Happening(happening.kind, happening.at_s, total, happening.where)
    words = "; ".join(happening_words(happening) for happening in sums.values())
    return f"{words[:1].upper()}{words[1:]}."


def done_words(words: str, now: Stamp) -> str:
    """That something was done, and when."""
    return f"{say.clock(now)}  done: {words}."


def for_you_words(handlings: Sequence[Handling]) -> str:
    """What was done for the learner at a step."""
    return f"Done for you: {', '.join(spoken(handling) for handling in handlings)}."


def read_words(shown: Mapping[str, float], step: Step | None, order: Order) -> str:
    """Values that only eyes can read, in the units they are asked in."""
    units = {each.channel: each.unit for each in getattr(step.proof, "channels", ())} if step else {}
    parts = []
    for channel, si in shown.items():
        unit = units.get(channel, "")
        if unit:
            value = show(si, unit, digits=usual_digits(unit), site_pressure_Pa=order.site_pressure_Pa)
            parts.append(f"{CHANNELS[channel].label}: {value}")
    return f"You read: {'; '.join(parts)}." if parts else ""


def _unit_of(channel: str, shown: Order) -> str:
    metric = say.weight_unit(shown) == "kg"
    return CHANNELS[channel].unit_si if metric else CHANNELS[channel].unit_ip


def live_words(readings: Readings | None, order: Order, shown: Order) -> tuple[str, ...]:
    """What gauges, vacuum gauge and scale say now, in a line, in the units that are shown."""
    if readings is None:
        return ()
    parts = []
    for channel in _AT_HAND:
        unit = say.weight_unit(shown) if channel == "cylinder_weight" else _unit_of(channel, shown)
        live = readings.live(order, channel, unit)
        if live is None or live.value is None or live.state != "live":
            continue
        if channel == "hose_vacuum" and live.value.si > _NO_VACUUM_Pa:
            continue
        name = "scale" if channel == "cylinder_weight" else CHANNELS[channel].label.partition(",")[0]
        parts.append(f"{name.lower()} {live.value.typed}")
    return (f"Shown: {', '.join(parts)}.",) if parts else ()
