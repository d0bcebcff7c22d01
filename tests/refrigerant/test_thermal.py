"""Heat, density and entropy from the shipped tables, held against the property library over the range."""

import math
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.refrigerant.followed import Side
from guide.refrigerant.listing import listed
from guide.refrigerant.models import Model, library_state, model_of
from guide.refrigerant.saturation import curve
from guide.refrigerant.thermal import COVERED, NoThermal, Thermal, spline, thermal
from guide.refrigerant.thermal_file import read_table
from guide.refrigerant.thermal_fit import through

CLOSE_BELOW = 0.7  # of the critical pressure
shares = st.floats(0.0, 1.0)
every = pytest.mark.parametrize("designation", COVERED)


@cache
def model(designation: str) -> Model:
    return model_of(next(entry for entry in listed() if entry.designation == designation))


@cache
def sides(designation: str) -> tuple[Side, Side]:
    return Side(model(designation), 0), Side(model(designation), 1)


@cache
def phases(designation: str) -> tuple[Any, Any]:
    from CoolProp.CoolProp import iphase_gas, iphase_liquid

    liquid, vapour = library_state(model(designation)), library_state(model(designation))
    liquid.specify_phase(iphase_liquid)
    vapour.specify_phase(iphase_gas)
    return liquid, vapour


def at(state: Any, pressure_Pa: float, temperature_K: float) -> tuple[float, float, float]:
    from CoolProp.CoolProp import PT_INPUTS

    state.update(PT_INPUTS, pressure_Pa, temperature_K)
    return state.hmass(), state.rhomass(), state.smass()


def pressures(table: Thermal, count: int = 37) -> list[float]:
    """Pressures that fall between the rows of the table, from end to end."""
    ratio = table.highest_Pa / table.lowest_Pa
    return [table.lowest_Pa * ratio ** ((k + 0.37) / count) for k in range(count)]


@every
def test_saturated_states_are_the_librarys(designation: str) -> None:
    table = thermal(designation)
    for pressure in pressures(table):
        bubble_K, dew_K = (side.temperature_K(pressure) for side in sides(designation))
        liquid, vapour = phases(designation)
        h_l, d_l, s_l = at(liquid, pressure, bubble_K)
        h_v, d_v, s_v = at(vapour, pressure, dew_K)
        assert table.bubble_K(pressure) == pytest.approx(bubble_K, abs=0.01)
        assert table.dew_K(pressure) == pytest.approx(dew_K, abs=0.01)
        assert table.liquid_enthalpy(pressure) == pytest.approx(h_l, abs=300.0)
        assert table.vapour_enthalpy(pressure) == pytest.approx(h_v, abs=300.0)
        assert table.liquid_density(pressure) == pytest.approx(d_l, rel=0.003)
        assert table.vapour_density(pressure) == pytest.approx(d_v, rel=0.003)
        assert table.liquid_entropy(pressure, table.liquid_enthalpy(pressure)) == pytest.approx(s_l, abs=1.0)
        assert table.vapour_entropy(pressure, table.vapour_enthalpy(pressure)) == pytest.approx(s_v, abs=1.0)


@every
def test_superheated_vapour_is_the_librarys(designation: str) -> None:
    table = thermal(designation)
    for pressure in pressures(table):
        for superheat_K in (0.5, 3.0, 9.0, 25.0, 50.0, 80.0, 110.0):
            temperature_K = table.dew_K(pressure) + superheat_K
            h, d, s = at(phases(designation)[1], pressure, temperature_K)
            assert table.vapour_K(pressure, h) == pytest.approx(temperature_K, abs=0.06)
            assert 1.0 / table.vapour_volume(pressure, h) == pytest.approx(d, rel=0.001)
            assert table.vapour_entropy(pressure, h) == pytest.approx(s, abs=0.05)
            assert table.vapour_enthalpy_at(pressure, temperature_K) == pytest.approx(h, abs=200.0)


@every
def test_subcooled_liquid_is_the_librarys_with_its_pressure(designation: str) -> None:
    table = thermal(designation)
    for pressure in pressures(table):
        close = pressure < CLOSE_BELOW * table.critical_Pa
        for subcooling_K in (0.3, 2.0, 6.0, 12.0, 25.0, 50.0):
            temperature_K = table.bubble_K(pressure) - subcooling_K
            if temperature_K < min(225.0, table.bubble_K(pressure) - 12.0):
                continue
            h, d, s = at(phases(designation)[0], pressure, temperature_K)
            assert table.subcooled_K(pressure, h) == pytest.approx(temperature_K, abs=0.05 if close else 0.2)
            assert table.subcooled_density(pressure, h) == pytest.approx(d, rel=0.001 if close else 0.005)
            assert table.liquid_entropy(pressure, h) == pytest.approx(s, abs=0.05)
            assert table.subcooled_enthalpy_at(pressure, temperature_K) == pytest.approx(
                h, abs=60.0 if close else 400.0
            )


@every
def test_saturation_agrees_with_the_curves_that_readings_are_judged_by(designation: str) -> None:
    table, other = thermal(designation), curve(designation)
    for pressure in pressures(table):
        if other.lowest_pressure_Pa <= pressure <= other.highest_pressure_Pa:
            assert table.bubble_K(pressure) == pytest.approx(other.bubble_temperature_K(pressure), abs=0.01)
            assert table.dew_K(pressure) == pytest.approx(other.dew_temperature_K(pressure), abs=0.01)


@every
@given(share=shares)
def test_dew_is_not_below_bubble_and_all_rise_with_pressure(designation: str, share: float) -> None:
    table = thermal(designation)
    low = table.lowest_Pa * (0.99 * table.highest_Pa / table.lowest_Pa) ** share
    here, above = table.saturated(low), table.saturated(low * 1.01)
    assert here.dew_K >= here.bubble_K - 0.02  # R-410A's two ancillary curves cross by a few millikelvin
    assert above.bubble_K > here.bubble_K
    assert above.dew_K > here.dew_K
    assert above.liquid_enthalpy > here.liquid_enthalpy
    assert above.liquid_density < here.liquid_density
    assert above.vapour_density > here.vapour_density


@every
@given(share=shares, superheat_K=st.floats(0.0, 100.0), subcooling_K=st.floats(0.0, 40.0))
def test_there_and_back_is_where_it_began(
    designation: str, share: float, superheat_K: float, subcooling_K: float
) -> None:
    table = thermal(designation)
    pressure = 2.5e5 * (0.9 * table.critical_Pa / 2.5e5) ** share
    hot, cold = table.dew_K(pressure) + superheat_K, table.bubble_K(pressure) - subcooling_K
    assert table.vapour_K(pressure, table.vapour_enthalpy_at(pressure, hot)) == pytest.approx(hot, abs=1e-5)
    assert table.subcooled_K(pressure, table.subcooled_enthalpy_at(pressure, cold)) == pytest.approx(
        cold, abs=1e-5
    )
    assert table.bubble_Pa(table.bubble_K(pressure)) == pytest.approx(pressure, rel=1e-9)
    assert table.dew_Pa(table.dew_K(pressure)) == pytest.approx(pressure, rel=1e-9)


@every
@given(share=shares)
def test_heat_added_makes_vapour_hotter_lighter_and_of_more_entropy(designation: str, share: float) -> None:
    table = thermal(designation)
    pressure = table.lowest_Pa * (table.highest_Pa / table.lowest_Pa) ** share
    dew = table.vapour_enthalpy(pressure)
    states = [
        (table.vapour_K(pressure, h), table.vapour_volume(pressure, h), table.vapour_entropy(pressure, h))
        for h in (dew, dew + 5e3, dew + 2e4, dew + 5e4, dew + 9e4)
    ]
    for fewer, more in pairwise(states):
        assert all(a < b for a, b in zip(fewer, more, strict=True))


@pytest.mark.parametrize("designation", ["R-32", "R-22", "R-134a"])
@given(share=st.floats(0.05, 0.9))
def test_a_pure_fluid_boils_with_heat_over_temperature_as_its_entropy(designation: str, share: float) -> None:
    table = thermal(designation)
    pressure = table.lowest_Pa * (table.highest_Pa / table.lowest_Pa) ** share
    both = table.saturated(pressure)
    entropy = table.vapour_entropy(pressure, both.vapour_enthalpy) - table.liquid_entropy(
        pressure, both.liquid_enthalpy
    )
    heat = both.vapour_enthalpy - both.liquid_enthalpy
    assert entropy == pytest.approx(heat / both.dew_K, rel=2e-4)


def test_a_pressure_outside_the_table_is_taken_as_its_end() -> None:
    table = thermal("R-410A")
    assert table.dew_K(1.0) == table.dew_K(table.lowest_Pa)
    assert table.bubble_K(9e7) == pytest.approx(table.bubble_K(table.highest_Pa))


@every
def test_vapour_hotter_than_any_in_use_goes_on_getting_hotter(designation: str) -> None:
    table = thermal(designation)
    for pressure in (3e5, 1e6, 0.6 * table.critical_Pa):
        dew = table.vapour_enthalpy(pressure)
        hot = [table.vapour_K(pressure, dew + 1e4 * k) for k in range(60)]
        assert all(a < b for a, b in pairwise(hot))
        assert hot[-1] < 1500.0


def test_a_refrigerant_without_table_is_refused_by_name() -> None:
    with pytest.raises(NoThermal, match="R-404A"):
        thermal("R-404A")


@settings(max_examples=60)
@given(at=st.integers(0, 50_000), byte=st.integers(0, 255))
def test_a_table_with_a_changed_byte_is_refused_or_the_same(at: int, byte: int) -> None:
    data = bytearray((resources.files("guide.refrigerant") / "thermal_tables" / "R-32.json").read_bytes())
    before = read_table(bytes(data), "R-32")
    data[at] = byte
    try:
        after = read_table(bytes(data), "R-32")
    except NoThermal:
        return
    assert after == before


def test_a_spline_goes_through_a_cubic_exactly() -> None:
    cells = spline([float(k**3 - 4 * k**2 + k) for k in range(7)])
    for k, (a, b, c, e) in enumerate(cells):
        x = k + 0.3
        assert a + 0.3 * (b + 0.3 * (c + 0.3 * e)) == pytest.approx(x**3 - 4 * x**2 + x)


def test_a_polynomial_through_points_has_their_coefficients() -> None:
    places = [0.1, 0.5, 0.9, 1.4]
    assert through(places, [3 - x + 2 * x**3 for x in places]) == pytest.approx([3, -1, 0, 2], abs=1e-9)
    assert math.isfinite(sum(through(places, places)))
