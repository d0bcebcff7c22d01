"""How the figures of the newest round come about: uncertainties by their parts, the target's places. Pure.

Nothing is judged here: the parts are those that `guide.charging` adds up, laid open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from guide.charging import target_table
from guide.charging import uncertainty as spread
from guide.charging.meaning import CHANNEL_WORDS, target_of
from guide.charging.round import FIELD_OF_CHANNEL, Appliance, Round
from guide.charging.target import Method
from guide.charging.wording import to_F
from guide.errors import ChargewrightError
from guide.job.assess import appliance_at
from guide.job.state import JobState, Move
from guide.screens import say
from guide.screens.paint import clean
from guide.units import show

if TYPE_CHECKING:
    from guide.charging.target import Target

_NEAR_F = 0.054
"""A reading this near to a whole degree stands on it, as in `guide.charging.target`."""


def uncertainty_paragraphs(state: JobState, unit: str) -> tuple[str, ...]:
    """What each instrument adds to the uncertainty of each figure; `unit` is F or C."""
    if not state.rounds:
        return ()
    try:
        appliance, now = _newest(state)
        return tuple(_uncertainties(state, appliance, now, unit))
    except ChargewrightError as error:
        return (f"the parts can't be reckoned: {error}",)


def _newest(state: JobState) -> tuple[Appliance, Round]:
    done = state.rounds[-1].read
    fields = {
        FIELD_OF_CHANNEL[v.channel]: float(v.si) for v in done.readings if v.channel in FIELD_OF_CHANNEL
    }
    said = done.assessment
    now = Round(
        net_charged_kg=float(said.net_charged_kg),
        minutes_since_change=float(said.minutes_since_change),
        **fields,
    )
    return appliance_at(state, done.step), now


def _uncertainties(state: JobState, appliance: Appliance, now: Round, unit: str) -> Iterator[str]:
    curve, pressure, line = appliance.curve, now.suction_pressure_Pa, now.suction_line_K
    if pressure is not None and line is not None:
        parts = spread.superheat_uncertainty(
            dew_slope_K_per_Pa=curve.dew_slope_K_per_Pa(pressure),
            suction_pressure_Pa=pressure, suction_line_K=line, accuracies=appliance.accuracies,
            surroundings_K=now.outdoor_db_K,
        )  # fmt: skip
        yield from _by_parts("superheat", parts, state, unit)
        yield from _one_sided(parts, unit)
    pressure, line = now.liquid_pressure_Pa, now.liquid_line_K
    if pressure is not None and line is not None:
        parts = spread.subcooling_uncertainty(
            bubble_slope_K_per_Pa=curve.bubble_slope_K_per_Pa(pressure),
            liquid_pressure_Pa=pressure, liquid_line_K=line, accuracies=appliance.accuracies,
        )  # fmt: skip
        yield from _by_parts("subcooling", parts, state, unit)
    target = _tabled(appliance, now)
    if target is not None and now.indoor_wb_K is not None and now.outdoor_db_K is not None:
        parts = spread.target_uncertainty(
            slope_per_wb=target.slope_per_wb, slope_per_db=target.slope_per_db,
            indoor_wb_K=now.indoor_wb_K, outdoor_db_K=now.outdoor_db_K, accuracies=appliance.accuracies,
        )  # fmt: skip
        yield from _by_parts("target", parts, state, unit)


def _by_parts(name: str, parts: spread.Uncertainty, state: JobState, unit: str) -> Iterator[str]:
    degrees = "°F" if unit == "F" else "K"
    total = say.difference(Decimal(repr(parts.total_K)), unit)
    yield f"{name} ± {total} {degrees}, root of the sum of the squares of:"
    for part in parts.parts:
        effect = say.difference(Decimal(repr(abs(part.effect_K))), unit)
        yield f"  {CHANNEL_WORDS[part.channel]} {_limit(state, part, unit)}: ± {effect} {degrees}"


def _one_sided(parts: spread.Uncertainty, unit: str) -> Iterator[str]:
    """What a sensor that is not insulated adds on one side."""
    if not parts.reads_high_K:
        return
    degrees = "°F" if unit == "F" else "K"
    most = say.difference(Decimal(repr(parts.reads_high_K)), unit)
    below = say.difference(Decimal(repr(parts.below_K)), unit)
    yield (
        f"  suction line sensor not insulated: reads up to {most} {degrees} too warm, so that superheat may "
        f"lie {below} {degrees} lower"
    )


def _limit(state: JobState, part: spread.Contribution, unit: str) -> str:
    """The limit of a reading, in the units in which the round was read, and whose it is."""
    limit = Decimal(repr(part.limit))
    if part.channel.endswith("_Pa"):
        psi = unit == "F"
        words = (
            f"{show(limit, 'dpsi' if psi else 'dbar', digits=2, with_unit=False)} {'psi' if psi else 'bar'}"
        )
    else:
        words = f"{say.difference(limit, unit)} {'°F' if unit == 'F' else 'K'}"
    channel = next(name for name, of in FIELD_OF_CHANNEL.items() if of == part.channel)
    instrument = state.order.instrument_for(channel)
    return f"± {words} ({clean(instrument.id) if instrument else 'Title 24 limit, none is stated'})"


def _tabled(appliance: Appliance, now: Round) -> Target | None:
    target = target_of(appliance, now)
    tables = {Method.TABLE, Method.MAKER}
    return target if target is not None and target.method in tables and target.value_K else None


def target_paragraphs(state: JobState, unit: str) -> tuple[str, ...]:
    """Where the target comes from: given by the maker, or read between places of the table."""
    if not state.rounds:
        return ()
    said = state.rounds[-1].read.assessment
    given = said.target_subcooling_K if said.target_superheat_K is None else None
    if given is not None:
        return (f"target subcooling {_of(given, unit)}: given by the maker, in the order",)
    if said.target_superheat_K is None:
        return ("no target: the table has none for this air, or a reading for it is missing",)
    value = _of(said.target_superheat_K, unit)
    if state.order.target_superheat is not None:
        return (f"target superheat {value}: given by the maker, in the order",)
    return _from_table(state, value, unit)


def _from_table(state: JobState, value: str, unit: str) -> tuple[str, ...]:
    try:
        appliance, now = _newest(state)
        target = _tabled(appliance, now)
    except ChargewrightError as error:
        return (f"target superheat {value}; its places can't be shown: {error}",)
    if target is None or now.indoor_wb_K is None or now.outdoor_db_K is None:
        return (f"target superheat {value}",)
    by = "by wet bulb inside and dry bulb outside"
    if target.method is Method.MAKER:
        words = [f"target superheat {value}: the maker's table, {clean(target.version)}, {by}"]
    else:
        version = f"table {target.version}" if target.version else "table"
        words = [f"target superheat {value}: {version}, {by}, at:"]
        words += _places(to_F(now.indoor_wb_K), to_F(now.outdoor_db_K), unit)
    words.append(
        f"  one degree more of wet bulb moves it by {target.slope_per_wb:+.1f}, "
        f"one degree more outside by {target.slope_per_db:+.1f}"
    )
    return tuple(words)


def _places(wb_F: float, db_F: float, unit: str) -> Iterator[str]:
    """The places of the table around the two readings, with what stands there."""
    table = target_table.rows()
    for db in _around(db_F):
        for wb in _around(wb_F):
            row, column = db - target_table.FIRST_DB_F, wb - target_table.FIRST_WB_F
            if 0 <= row < len(table) and 0 <= column < len(table[0]):
                value = table[row][column]
                words = "none" if value is None else _figure(value, unit)
                yield f"  {_air(wb, unit)} inside, {_air(db, unit)} outside: {words}"


def _around(value_F: float) -> tuple[int, ...]:
    whole = round(value_F)
    if abs(value_F - whole) <= _NEAR_F:
        return (whole,)
    return (math.floor(value_F), math.floor(value_F) + 1)


def _air(value_F: int, unit: str) -> str:
    return f"{value_F} °F" if unit == "F" else f"{(value_F - 32) / 1.8:.1f} °C"


def _figure(value_F: float, unit: str) -> str:
    return f"{value_F:.1f} °F" if unit == "F" else f"{value_F / 1.8:.1f} K"


def _of(value: Decimal, unit: str) -> str:
    return f"{say.difference(value, unit)} {'°F' if unit == 'F' else 'K'}"


def balance_paragraphs(state: JobState) -> tuple[str, ...]:
    """What crossed the scale, move by move, against the nameplate."""
    order = state.order
    words = [_move(state, move) for move in state.moves]
    if not words:
        words = ["nothing has crossed the scale in this job"]
    net = state.net_charged_kg()
    share = net / order.nameplate_charge.si * 100
    words.append(
        f"net {say.amount(net, order, sign=True)} = {say.amount(state.charged_kg(), order)} in - "
        f"{say.amount(state.recovered_kg(), order)} out; nameplate {say.nameplate(order)}, "
        f"the net is {share:+.1f} % of it"
    )
    words.append(f"scale {clean(order.scale_id)}, division {clean(order.scale_division.typed)}")
    return tuple(words)


def _move(state: JobState, move: Move) -> str:
    order = state.order
    before = f"{say.weight(move.before.si, order)} before" if move.before else "not weighed before"
    seen = "" if move.observed else ", while nobody was at the program"
    return (
        f"{say.clock(move.at, seconds=False)} {clean(move.cylinder)}: {before}, "
        f"{say.weight(move.after.si, order)} after: {say.amount(move.into_system_kg, order, sign=True)}{seen}"
    )
