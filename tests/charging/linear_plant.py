"""A pretend system whose superheat and subcooling answer charge along straight lines."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from functools import cache

from guide.charging.round import Advice, Appliance, Metering, Round
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.saturation import Curve, curve


@cache
def r410a() -> Curve:
    return curve("R-410A")


def readings(
    *,
    superheat_F: float = 12.0,
    subcooling_F: float = 10.0,
    dew_F: float = 40.0,
    bubble_F: float = 110.0,
    indoor_db_F: float = 80.0,
    indoor_wb_F: float = 67.0,
    supply_db_F: float = 61.0,
    outdoor_db_F: float = 95.0,
    net_charged_kg: float = 0.0,
    minutes: float = 15.0,
) -> Round:
    return Round(
        net_charged_kg=net_charged_kg,
        minutes_since_change=minutes,
        suction_pressure_Pa=r410a().dew_pressure_Pa(from_F(dew_F)),
        suction_line_K=from_F(dew_F + superheat_F),
        liquid_pressure_Pa=r410a().bubble_pressure_Pa(from_F(bubble_F)),
        liquid_line_K=from_F(bubble_F - subcooling_F),
        indoor_db_K=from_F(indoor_db_F),
        indoor_wb_K=from_F(indoor_wb_F),
        supply_db_K=from_F(supply_db_F),
        outdoor_db_K=from_F(outdoor_db_F),
    )


def with_channel(before: Round, channel: str, value: float | None) -> Round:
    """The same round with one channel read differently."""
    return Round(**{**asdict(before), channel: value})


def orifice_unit() -> Appliance:
    return Appliance(
        curve=r410a(),
        safety_group="A1",
        metering=Metering.FIXED_ORIFICE,
        nameplate_charge_kg=3.2,
        site_pressure_Pa=101325.0,
    )


def valve_unit() -> Appliance:
    return replace(orifice_unit(), metering=Metering.THERMOSTATIC_VALVE, target_subcooling_K=10.0 * K_PER_F)


@dataclass(frozen=True)
class LinearPlant:
    """Slopes in °F per 1 % of charge; `error_percent` is how far the charge is off, net of what moved."""

    appliance: Appliance
    superheat_per_percent_F: float
    subcooling_per_percent_F: float

    def read(self, error_percent: float, net_charged_kg: float) -> Round:
        return readings(
            superheat_F=max(0.0, 12.0 - self.superheat_per_percent_F * error_percent),
            subcooling_F=max(0.0, 10.0 + self.subcooling_per_percent_F * error_percent),
            net_charged_kg=net_charged_kg,
        )


def moved_kg(advice: Advice) -> float:
    """The amount with its sign, into the system above zero."""
    return float(advice.amount_kg) * (1.0 if advice.action.value == "add" else -1.0)
