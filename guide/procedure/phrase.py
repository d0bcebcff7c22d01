"""Pieces of a procedure in words, as they stand on paper and in a comparison."""

from __future__ import annotations

from guide.procedure.channels import CHANNELS
from guide.procedure.model import ChangeLimit, ChannelAsk, Condition, Limit, OrderFigure


def condition_words(condition: Condition) -> str:
    """Such as `safety group is A1 or A2L`."""
    word = "is not" if condition.negated else "is"
    return f"{condition.fact} {word} {' or '.join(condition.values)}"


def figure_words(figure: OrderFigure) -> str:
    """Such as `recovery level of the order`."""
    if figure is OrderFigure.WEIGH_IN_CHARGE:
        return "charge to weigh in, of the order"
    return f"{entry_words(figure)} of the order"


def entry_words(entry: str) -> str:
    """An entry of the order, such as `low-side design pressure`."""
    return entry.replace("_", " ").replace(" side", "-side")


def limit_words(limit: Limit) -> str:
    """Such as `Vacuum in the hoses at most 1000 micron`."""
    value = figure_words(limit.value) if isinstance(limit.value, OrderFigure) else limit.value.typed
    return f"{CHANNELS[limit.channel].label} {limit.bound} {value}"


def change_words(change: ChangeLimit) -> str:
    """Such as `Test pressure, nitrogen falls at most 1 dpsi, beyond what the gas temperature does`."""
    words = f"{CHANNELS[change.channel].label} {change.drift}s at most {change.at_most.typed}"
    return words if change.gas_temperature is None else f"{words}, beyond what the gas temperature does"


def ask_words(ask: ChannelAsk) -> str:
    """Such as `Suction line at the service valve [F], -60 F to 150 F, settled 90 s`."""
    settled = f", settled {duration_words(ask.settled_s)}" if ask.settled_s else ""
    return f"{ask.ask} [{ask.unit}], {ask.low.typed} to {ask.high.typed}{settled}"


def duration_words(seconds: int) -> str:
    """Whole minutes as such, anything else in seconds."""
    return f"{seconds // 60} min" if seconds % 60 == 0 else f"{seconds} s"
