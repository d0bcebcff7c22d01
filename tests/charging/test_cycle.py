"""The cycle through what was read, held against the property library and against the readings themselves."""

from __future__ import annotations

from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI

from guide.charging.cycle import cycle, wanted_cycle
from guide.charging.meaning import interpret
from guide.charging.round import Appliance, Metering, Round
from guide.refrigerant.saturation import curve
from guide.refrigerant.thermal import COVERED, thermal
from tests.charging.linear_plant import with_channel

SUCTION_Pa, LIQUID_Pa = 917_665.0, 2_528_280.0


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


READ = Round(
    net_charged_kg=0.0,
    minutes_since_change=15.0,
    suction_pressure_Pa=SUCTION_Pa,
    suction_line_K=kelvin(64.0),
    liquid_pressure_Pa=LIQUID_Pa,
    liquid_line_K=kelvin(97.0),
    discharge_line_K=kelvin(175.0),
    indoor_db_K=kelvin(80.0),
    indoor_wb_K=kelvin(67.0),
    outdoor_db_K=kelvin(95.0),
)
UNIT = Appliance(
    curve=curve("R-410A"),
    safety_group="A1",
    metering=Metering.FIXED_ORIFICE,
    nameplate_charge_kg=3.2,
    site_pressure_Pa=101_325.0,
)


@pytest.mark.parametrize("name", ["R-410A", "R-32", "R-134a"])
def test_differences_of_enthalpy_are_those_of_the_property_library(name: str) -> None:
    # LIBRARY: CoolProp 8; the zero of enthalpy is a convention, differences are not
    table = thermal(name)
    fluid = name.replace("-", "")
    bubble_K = table.bubble_K(LIQUID_Pa)
    low_Pa = table.lowest_Pa * 3.0
    suction_K, liquid_K, discharge_K = table.dew_K(low_Pa) + 8.0, bubble_K - 5.0, bubble_K + 30.0
    read = replace(
        READ,
        suction_pressure_Pa=low_Pa,
        suction_line_K=suction_K,
        liquid_line_K=liquid_K,
        discharge_line_K=discharge_K,
    )
    found = cycle(table, read)
    assert found is not None
    suction = PropsSI("H", "T", suction_K, "P", low_Pa, fluid)
    discharge = PropsSI("H", "T", discharge_K, "P", LIQUID_Pa, fluid)
    liquid = PropsSI("H", "T", liquid_K, "P", LIQUID_Pa, fluid)
    assert found.discharge.enthalpy - found.suction.enthalpy == pytest.approx(discharge - suction, abs=900)
    assert found.suction.enthalpy - found.liquid.enthalpy == pytest.approx(suction - liquid, abs=900)


@pytest.mark.parametrize("name", COVERED)
def test_the_metering_device_keeps_enthalpy_and_each_side_its_pressure(name: str) -> None:
    table = thermal(name)
    read = replace(
        READ,
        liquid_line_K=table.bubble_K(LIQUID_Pa) - 4.0,
        suction_line_K=table.dew_K(SUCTION_Pa) + 7.0,
        discharge_line_K=None,
    )
    found = cycle(table, read)
    assert found is not None
    assert found.mixture.enthalpy == found.liquid.enthalpy
    assert {found.suction.pressure_Pa, found.mixture.pressure_Pa} == {SUCTION_Pa}
    assert {found.discharge.pressure_Pa, found.liquid.pressure_Pa} == {LIQUID_Pa}
    assert found.liquid.enthalpy < found.suction.enthalpy < found.discharge.enthalpy
    assert not found.discharge_read


def test_too_much_superheat_lies_right_of_where_the_target_would_have_it() -> None:
    table = thermal("R-410A")
    now, wanted = cycle(table, READ), wanted_cycle(table, READ, interpret(UNIT, READ))
    assert now is not None
    assert wanted is not None
    assert now.suction.enthalpy > wanted.suction.enthalpy
    assert now.liquid.enthalpy == pytest.approx(wanted.liquid.enthalpy)
    assert now.discharge_read


def test_a_wet_suction_line_counts_as_saturated_vapour() -> None:
    table = thermal("R-410A")
    wet = cycle(table, replace(READ, suction_line_K=table.dew_K(SUCTION_Pa) - 3.0))
    assert wet is not None
    assert wet.suction.enthalpy == pytest.approx(table.vapour_enthalpy(SUCTION_Pa), abs=200)


@pytest.mark.parametrize(
    "missing", ["suction_pressure_Pa", "suction_line_K", "liquid_pressure_Pa", "liquid_line_K"]
)
def test_without_one_of_the_four_readings_there_is_no_cycle(missing: str) -> None:
    assert cycle(thermal("R-410A"), with_channel(READ, missing, None)) is None


@pytest.mark.parametrize(("low", "high"), [(LIQUID_Pa, SUCTION_Pa), (1.0, LIQUID_Pa), (SUCTION_Pa, 9e7)])
def test_pressures_that_no_cycle_has_are_not_drawn(low: float, high: float) -> None:
    swapped = replace(READ, suction_pressure_Pa=low, liquid_pressure_Pa=high)
    assert cycle(thermal("R-410A"), swapped) is None


def test_without_a_target_nothing_is_said_of_where_it_should_be() -> None:
    unknown = replace(READ, indoor_wb_K=None)
    assert wanted_cycle(thermal("R-410A"), unknown, interpret(UNIT, unknown)) is None
