"""What the instruments at a simulated unit show: the true value, where the sensor sits, its scatter. SI.

A saturation scale set for another refrigerant (`Hookup.set_for`) changes no pressure; what the gauge shows
as saturation with it is `shown_saturation_K`.
"""

from __future__ import annotations

import random
from typing import Final

from guide.charging.water_vapor import MICRON_Pa
from guide.refrigerant.saturation import OutOfRange, curve
from guide.rig.hookup import CENTRE, SIDES
from guide.rig.port import NoSuchChannel
from guide.rig.unit_state import UnitState

SCATTER: Final = {"temperature_K": 0.08, "pressure_share": 0.0008, "still_pressure_share": 0.0001}
"""One standard deviation of an instrument that nothing is wrong with (PROPOSED)."""
VACUUM_GAUGE_END_Pa: Final = 20_000.0 * MICRON_Pa
GAUGES: Final = {
    "suction_pressure": "low", "low_side_standing_pressure": "low", "low_gauge_open": "low",
    "liquid_pressure": "high", "high_side_standing_pressure": "high", "hose_pressure": "high",
    "high_gauge_open": "high",
}  # fmt: skip
"""Which gauge of the set a channel reads."""
_AT_A_PORT: Final = frozenset(
    {"suction_pressure", "liquid_pressure", "low_side_standing_pressure", "high_side_standing_pressure"}
)
"""What a gauge shows of the circuit and not of its own hose."""
_RUNNING: Final = frozenset(
    {"suction_pressure", "liquid_pressure", "suction_line", "liquid_line", "compressor_discharge_line"}
)
"""What is asked of a running unit; at rest other channels are asked."""
_LAGGED: Final = {
    "suction_line": "suction_line_K", "liquid_line": "liquid_line_K",
    "compressor_discharge_line": "discharge_K", "supply_db": "supply_db_K",
}  # fmt: skip
_INDOOR: Final = frozenset({"indoor_db", "indoor_wb", "supply_db"})
_STILL: Final = frozenset({"system_pressure", "test_pressure"})
TENDED_HOSE_VACUUM_Pa: Final = 180.0 * MICRON_Pa
"""What pumped-out hoses show where nobody's hands are followed (PROPOSED)."""


def reading(state: UnitState, channel: str, at_s: float, *, by_hand: bool) -> float:
    """What an instrument on this channel shows at a moment [K, Pa absolute, kg].

    With `by_hand` gauges read what their hoses hold and sensors where they hang; otherwise all is as a
    careful technician would have connected it.

    Raises:
        NoSuchChannel: there is no such reading, or no cylinder stands on the scale.
    """
    if channel == "cylinder_weight":
        if not state.on_scale:
            raise NoSuchChannel("no cylinder stands on the simulated scale; put one there first")
        return state.contents[state.on_scale].gross_kg
    value = (_by_hand if by_hand else _tended)(state, channel, at_s)
    # keyed by channel and moment: asking twice gives the same answer, and a job taken up again too
    chance = random.Random(f"{state.scenario.seed}/{channel}/{at_s:.0f}")  # noqa: S311 - scatter, no secret
    scatter = max(-2.5, min(2.5, chance.gauss(0.0, 1.0)))
    if channel.endswith(("_pressure", "_vacuum", "_open")):
        share = SCATTER["still_pressure_share" if channel in _STILL else "pressure_share"]
        return max(0.0, value * (1.0 + (0.0 if channel.endswith("_open") else share * scatter)))
    return value + SCATTER["temperature_K"] * scatter


def unread(state: UnitState, channel: str) -> str:
    """Why what an instrument shows is no value of the unit now; empty where it is one."""
    if channel == "cylinder_weight":
        return "" if state.on_scale else "nothing stood on the scale"
    side = GAUGES.get(channel)
    if channel in _AT_A_PORT and side is not None and not state.set.live(side):
        return "its hose was not open to its port"
    if channel in _LAGGED and channel not in state.clamped:
        return "its sensor was not in its place"
    return "the unit did not run" if channel in _RUNNING and not state.runs else ""


def off(state: UnitState, channel: str, at_s: float) -> float:
    """By how much an instrument shows something else than is there, through a fault of its own or of its
    seat [K, Pa]. What only lags behind or scatters is not off.

    Raises:
        NoSuchChannel: there is no such reading.
    """
    side = GAUGES.get(channel)
    if side is not None and not channel.endswith("_open"):
        return state.set.zero_Pa[side]
    share = state.troubles.probes.get(channel, 0.0)
    if share == 0.0 or channel not in state.clamped:
        return 0.0
    air_K = state.scenario.weather.indoor_db_K if channel in _INDOOR else state.outdoor_K
    return share * (air_K - _temperature_K(state, channel, at_s))


def shown_saturation_K(state: UnitState, side: str, at_s: float) -> float | None:
    """What the gauge of a side shows as saturation with the refrigerant it is set for: dew on the low side,
    bubble on the high side; None outside that refrigerant's scale."""
    pressure = state.hose_Pa(side, at_s) + state.set.zero_Pa[side]
    scale = curve(state.set_for)
    try:
        return scale.dew_temperature_K(pressure) if side == "low" else scale.bubble_temperature_K(pressure)
    except (OutOfRange, ValueError):
        return None


def _by_hand(state: UnitState, channel: str, at_s: float) -> float:
    side = GAUGES.get(channel)
    if side is not None:
        return max(0.0, state.hose_Pa(side, at_s) + state.set.zero_Pa[side])
    if channel in _STILL:
        return state.hose_Pa(next((s for s in SIDES if state.set.live(s)), "low"), at_s)
    if channel == "hose_vacuum":
        return min(state.hose_Pa(CENTRE, at_s), VACUUM_GAUGE_END_Pa)
    if channel == "system_vacuum":
        return min(max(state.side_Pa("low", at_s), 0.0), VACUUM_GAUGE_END_Pa)
    air_K = state.scenario.weather.indoor_db_K if channel in _INDOOR else state.outdoor_K
    true_K = _temperature_K(state, channel, at_s)
    if channel not in state.clamped:
        return air_K
    share = state.troubles.probes.get(channel, 0.0)
    return (1.0 - share) * true_K + share * air_K


def _tended(state: UnitState, channel: str, at_s: float) -> float:  # noqa: PLR0911 - one line a channel
    site_Pa = state.scenario.site_pressure_Pa
    match channel:
        case "suction_pressure" | "hose_pressure":  # the high-side hose is drawn down to suction
            return state.side_Pa("low", at_s)
        case "liquid_pressure":
            return state.side_Pa("high", at_s)
        case (
            "low_side_standing_pressure" | "high_side_standing_pressure" | "system_pressure" | "test_pressure"
        ):  # fmt: skip
            return state.rest_Pa(at_s)
        case "low_gauge_open" | "high_gauge_open":
            return site_Pa
        case "hose_vacuum":
            return TENDED_HOSE_VACUUM_Pa
        case "system_vacuum":
            return min(state.rest_Pa(at_s), VACUUM_GAUGE_END_Pa)
        case _:
            return _temperature_K(state, channel, at_s)


def _temperature_K(state: UnitState, channel: str, at_s: float) -> float:
    weather = state.scenario.weather
    name = _LAGGED.get(channel)
    if name is not None:
        return state.lagged[name].sensed_after(at_s - state.now_s)
    match channel:
        case "indoor_db":
            return weather.indoor_db_K
        case "indoor_wb":
            return weather.indoor_wb_K
        case "outdoor_db":
            return weather.outdoor_K
        case "gas_temperature":
            return state.ambient_K(at_s)
        case _:
            raise NoSuchChannel(f"the simulated system has no reading {channel[:40]!r}")
