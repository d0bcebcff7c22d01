"""Somebody at a simulated unit, for tests: does one act after the other and lets time pass between."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from guide.job.order import Order, read_order
from guide.rig.acts import Act, Handling
from guide.rig.faults import Graded
from guide.rig.happenings import Happening, Kind
from guide.rig.rig import Rig
from guide.rig.scenario import Scenario, Weather, scenario_for

JOBS = Path(__file__).resolve().parents[2] / "jobs"
ORIFICE = "practice-opening.yaml"
VALVE = "practice-valve.yaml"
SITE_Pa = 101_325.0
PSI_Pa = 6894.757293168
MICRON_Pa = 0.133322387415
SUMMER = Weather(299.2611, 292.5944, 306.4833)
"""79 °F with 67 °F wet bulb indoors, 92 °F outdoors."""
CHARGING_SENSORS = ("suction_line", "liquid_line", "indoor_db", "indoor_wb", "supply_db", "outdoor_db")


@lru_cache(maxsize=8)
def order(name: str = ORIFICE) -> Order:
    path = JOBS / name
    return read_order(path.read_bytes(), str(path))


def scenario(
    *faults: Graded, name: str = ORIFICE, fraction: float = 0.9, seed: int = 1, weather: Weather = SUMMER
) -> Scenario:
    return scenario_for(order(name), seed=seed, start_fraction=fraction, faults=faults, weather=weather)


class Person:
    """`new` holds what the last act, and the time after it, brought about."""

    def __init__(self, made: Scenario | Rig | None = None) -> None:
        self.rig = made if isinstance(made, Rig) else Rig(made or scenario())
        self.cylinder = self.rig.scenario.cylinders[0].id
        self.recovers = self.rig.scenario.cylinders[1].id
        self.new: tuple[Happening, ...] = ()

    def do(
        self, act: Act, at: str = "", amount: float | None = None, wait: float = 10.0
    ) -> tuple[Happening, ...]:
        before = len(self.rig.happenings)
        self.rig.do(Handling(act, at, amount))
        self.rig.pass_time(wait)
        self.new = self.rig.happenings[before:]
        return self.new

    def kinds(self) -> set[Kind]:
        return {each.kind for each in self.rig.happenings}

    def of(self, kind: Kind) -> list[Happening]:
        return [each for each in self.rig.happenings if each.kind is kind]

    def hoses_on(self) -> None:
        """All three hoses joined and evacuated, hand valves shut, shut-offs at the ports still closed."""
        self.do(Act.STAND, self.cylinder)
        for at in (self.cylinder, "low", "high", "vacuum pump"):
            self.do(Act.JOIN, at)
        self.do(Act.OPEN_HAND_VALVE, "low")
        self.do(Act.OPEN_HAND_VALVE, "high")
        self.do(Act.START_PUMP, wait=120.0)
        self.do(Act.CLOSE_HAND_VALVE, "low")
        self.do(Act.CLOSE_HAND_VALVE, "high")
        self.do(Act.STOP_PUMP)

    def connect(self) -> None:
        """Hoses on without air, ports open, sensors in their places."""
        self.hoses_on()
        self.do(Act.OPEN_SHUTOFF, "low", wait=60.0)
        self.do(Act.OPEN_SHUTOFF, "high", wait=60.0)
        for channel in CHARGING_SENSORS:
            self.do(Act.CLAMP, channel)

    def run(self, minutes: float = 15.0) -> None:
        self.do(Act.SWITCH_ON, wait=60.0 * minutes)

    def feed(self, seconds: float, opening: float = 0.1) -> None:
        """Liquid through the throttled low-side hand valve, then the charging hose left to drain."""
        self.do(Act.TURN_FOR_LIQUID, wait=0.0)
        self.do(Act.OPEN_CYLINDER, wait=0.0)
        self.do(Act.OPEN_HAND_VALVE, "low", opening, wait=seconds)
        self.do(Act.CLOSE_CYLINDER, wait=60.0)
        self.do(Act.CLOSE_HAND_VALVE, "low", wait=0.0)

    def superheat_F(self) -> float:
        """As a person reckons it from the gauge and the sensor, scatter and all."""
        from guide.refrigerant.saturation import curve

        pressure = self.rig.read("suction_pressure")
        dew_K = curve(self.rig.scenario.designation).dew_temperature_K(pressure)
        return (self.rig.read("suction_line") - dew_K) * 1.8

    def subcooling_F(self) -> float:
        from guide.refrigerant.saturation import curve

        pressure = self.rig.read("liquid_pressure")
        bubble_K = curve(self.rig.scenario.designation).bubble_temperature_K(pressure)
        return (bubble_K - self.rig.read("liquid_line")) * 1.8
