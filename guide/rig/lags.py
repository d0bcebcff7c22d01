"""How fast things follow at a unit: closed forms, so that the pieces in which time passes do not matter. SI.

Figures are PROPOSED (pressures one to three minutes, charge five to ten, as in the notes on the model) except
where a maker's waiting time bounds them: 15 min after a change of charge everything has settled (published
waiting times are 5 to 15 min).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

PRESSURE_S: Final = 60.0
LINE_S: Final = 60.0
DISCHARGE_S: Final = 120.0
AIR_S: Final = 60.0
PIPE_SENSOR_S: Final = 20.0
AIR_SENSOR_S: Final = 15.0
CHARGE_S: Final = 200.0
"""How fast refrigerant spreads to where it belongs in the running unit."""
CHARGE_AT_REST_S: Final = 60.0
EVENING_ORIFICE_S: Final = 60.0
EVENING_VALVE_S: Final = 150.0
"""How fast high and low side come together at rest, through an orifice and past a closed valve."""
EVEN_S: Final = 10.0
"""How fast the pressure follows what is let in or out once both sides are one."""
COOLING_OFF_S: Final = 300.0

PROCESS_S: Final = {
    "suction_Pa": PRESSURE_S, "liquid_Pa": PRESSURE_S, "suction_line_K": LINE_S, "liquid_line_K": LINE_S,
    "discharge_K": DISCHARGE_S, "supply_db_K": AIR_S,
}  # fmt: skip
SENSOR_S: Final = {
    "suction_line_K": PIPE_SENSOR_S, "liquid_line_K": PIPE_SENSOR_S, "discharge_K": PIPE_SENSOR_S,
    "supply_db_K": AIR_SENSOR_S,
}  # fmt: skip
NAMES: Final = tuple(PROCESS_S)


@dataclass(slots=True)
class Lagged:
    """One quantity that follows `aim`, and the sensor that follows it."""

    value: float
    sensed: float
    aim: float
    process_s: float
    sensor_s: float

    def value_after(self, seconds: float) -> float:
        """The quantity itself, `seconds` after it was last brought up to date."""
        return self.aim + (self.value - self.aim) * math.exp(-seconds / self.process_s)

    def sensed_after(self, seconds: float) -> float:
        """What its sensor shows then: x' = (aim - x)/T, y' = (x - y)/S, solved."""
        if self.sensor_s <= 0.0:
            return self.value_after(seconds)
        process, sensor = self.process_s, self.sensor_s
        if abs(process - sensor) < 1e-3:
            process = sensor + 1e-3
        slow, fast = math.exp(-seconds / process), math.exp(-seconds / sensor)
        shared = (self.value - self.aim) * process / (process - sensor)
        return self.aim + shared * (slow - fast) + (self.sensed - self.aim) * fast

    def advance(self, seconds: float) -> None:
        """Bring it up to date."""
        self.sensed, self.value = self.sensed_after(seconds), self.value_after(seconds)
