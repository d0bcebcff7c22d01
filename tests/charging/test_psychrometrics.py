"""Wet bulb from other readings of moist air, against a library, real-gas air and printed figures."""

from __future__ import annotations

import itertools

import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.psychrometrics import air_by_dew_point, air_by_relative_humidity, air_by_wet_bulb
from guide.charging.refusal import FigureError
from guide.charging.wet_bulb import wet_bulb_by_dew_point, wet_bulb_by_relative_humidity
from guide.charging.wording import K_PER_F, from_F, to_F

SEA_Pa = 101325.0
# Sea level, 2000, 5000 and 10 000 ft (ASHRAE Fundamentals 2017, chapter 1, equation 3).
PRESSURES_Pa = (101325.0, 94213.0, 84307.0, 69682.0)
DRY_C = (18.0, 21.0, 24.0, 27.0, 30.0, 35.0)
HUMIDITIES = (0.2, 0.4, 0.6, 0.8, 1.0)

dry_bulbs = st.floats(min_value=273.15, max_value=323.15)
pressures = st.floats(min_value=60_000.0, max_value=108_000.0)


@pytest.fixture(autouse=True)
def _si() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("pressure_Pa", PRESSURES_Pa)
def test_wet_bulb_agrees_with_psychrolib_over_a_grid(pressure_Pa: float) -> None:
    # psychrolib 2.5 solves the same equations with its own saturation pressure, to 0.001 K (LIBRARY).
    for celsius, humidity in itertools.product(DRY_C, HUMIDITIES):
        air = air_by_relative_humidity(celsius + 273.15, humidity, pressure_Pa)
        theirs = psychrolib.GetTWetBulbFromRelHum(celsius, humidity, pressure_Pa)
        assert air.wet_bulb_K - 273.15 == pytest.approx(theirs, abs=0.003)
        by_dew = air_by_dew_point(celsius + 273.15, celsius + 273.15 - 6.0, pressure_Pa)
        theirs = psychrolib.GetTWetBulbFromTDewPoint(celsius, celsius - 6.0, pressure_Pa)
        assert by_dew.wet_bulb_K - 273.15 == pytest.approx(theirs, abs=0.003)


@pytest.mark.parametrize("pressure_Pa", PRESSURES_Pa)
def test_enthalpy_and_volume_agree_with_psychrolib(pressure_Pa: float) -> None:
    for celsius, humidity in itertools.product(DRY_C, HUMIDITIES):
        air = air_by_relative_humidity(celsius + 273.15, humidity, pressure_Pa)
        ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure_Pa)
        assert air.humidity_ratio == pytest.approx(ratio, rel=5e-4)
        assert air.enthalpy_J_per_kg == pytest.approx(
            psychrolib.GetMoistAirEnthalpy(celsius, ratio), abs=50.0
        )
        assert air.volume_m3_per_kg == pytest.approx(
            psychrolib.GetMoistAirVolume(celsius, ratio, pressure_Pa), rel=2e-5
        )


@given(dry_bulbs, st.floats(min_value=0.01, max_value=1.0), pressures)
@settings(max_examples=100, deadline=None)
def test_a_wet_bulb_leads_back_to_the_air_it_came_from(db_K: float, humidity: float, p_Pa: float) -> None:
    air = air_by_relative_humidity(db_K, humidity, p_Pa)
    assert air.wet_bulb_K <= db_K
    assert air.relative_humidity == pytest.approx(humidity, abs=1e-9)
    # Where the wick's water turns to ice the two equations part by 0.2 K; nothing is charged there.
    if abs(air.wet_bulb_K - 273.15) > 0.5:
        assert air_by_wet_bulb(db_K, air.wet_bulb_K, p_Pa).humidity_ratio == pytest.approx(
            air.humidity_ratio, abs=1e-9
        )


@given(dry_bulbs, st.floats(min_value=0.05, max_value=0.95), pressures)
@settings(max_examples=100, deadline=None)
def test_damper_air_has_a_higher_wet_bulb(db_K: float, humidity: float, p_Pa: float) -> None:
    drier = air_by_relative_humidity(db_K, humidity - 0.04, p_Pa)
    assert drier.wet_bulb_K < air_by_relative_humidity(db_K, humidity + 0.04, p_Pa).wet_bulb_K


def test_saturated_air_has_its_dry_bulb_as_wet_bulb() -> None:
    assert air_by_relative_humidity(299.0, 1.0, SEA_Pa).wet_bulb_K == pytest.approx(299.0, abs=1e-5)
    assert air_by_dew_point(299.0, 299.0, SEA_Pa).wet_bulb_K == pytest.approx(299.0, abs=1e-5)


def test_altitude_lowers_the_wet_bulb_of_the_same_humidity() -> None:
    low, high = (
        to_F(air_by_relative_humidity(from_F(80.0), 0.5, p_Pa).wet_bulb_K) for p_Pa in (101325.0, 84307.0)
    )
    theirs = [psychrolib.GetTWetBulbFromRelHum(240 / 9, 0.5, p_Pa) for p_Pa in (101325.0, 84307.0)]
    assert low - high == pytest.approx((theirs[0] - theirs[1]) * 1.8, abs=0.005)
    assert low - high == pytest.approx(0.78, abs=0.02)


def test_three_points_of_humidity_are_worth_nearly_a_degree_of_wet_bulb() -> None:
    # Charging reference section 8: ± 3 % at 80 °F and 50 % gives ± 0.9 °F (CALCULATED).
    found = wet_bulb_by_relative_humidity(from_F(80.0), 0.5, SEA_Pa, dry_bulb_limit_K=0.0)
    assert found.limit_K / K_PER_F == pytest.approx(0.9, abs=0.05)
    assert to_F(found.value_K) == pytest.approx(66.7, abs=0.05)


def test_the_uncertainty_is_the_root_of_both_squares() -> None:
    found = wet_bulb_by_relative_humidity(from_F(80.0), 0.5, SEA_Pa, dry_bulb_limit_K=0.5)
    assert found.limit_K**2 == pytest.approx(found.from_dry_bulb_K**2 + found.from_moisture_K**2)
    warmer, at = (psychrolib.GetTWetBulbFromRelHum(c, 0.5, SEA_Pa) for c in (240 / 9 + 0.5, 240 / 9))
    assert found.from_dry_bulb_K == pytest.approx(warmer - at, abs=0.003)


def test_near_saturation_the_uncertainty_is_that_of_the_side_that_is_left() -> None:
    found = wet_bulb_by_relative_humidity(from_F(75.0), 1.0, SEA_Pa, dry_bulb_limit_K=0.0)
    assert 0.2 < found.limit_K < 0.6
    assert wet_bulb_by_dew_point(from_F(75.0), from_F(75.0), SEA_Pa).from_moisture_K > 0.3


def test_words_tell_what_the_wet_bulb_came_from() -> None:
    said = wet_bulb_by_relative_humidity(from_F(80.0), 0.5, 84307.0).said
    assert said == (
        "The indoor wet bulb 65.9 °F (292.0 K) ± 1.5 °F (0.8 K) is worked out from 80.0 °F (299.8 K) dry "
        "bulb and 50 ± 3 % relative humidity at 84.3 kPa."
    )
    assert (
        "a dew point of 60.0 °F (288.7 K) ± 1.8 °F (1.0 K)"
        in wet_bulb_by_dew_point(from_F(80.0), from_F(60.0), SEA_Pa).said
    )


@pytest.mark.parametrize(
    ("dry_K", "moisture", "pressure_Pa", "words"),
    [
        (299.0, 1.01, SEA_Pa, "between 0 % and 100 %"),
        (299.0, -0.01, SEA_Pa, "between 0 % and 100 %"),
        (299.0, float("nan"), SEA_Pa, "measure it again"),
        (float("inf"), 0.5, SEA_Pa, "measure it again"),
        (80.0, 0.5, SEA_Pa, "The dry bulb of air must lie"),
        (299.0, 0.5, 14.7, "give the altitude"),
    ],
)
def test_air_that_no_site_has_is_refused(
    dry_K: float, moisture: float, pressure_Pa: float, words: str
) -> None:
    with pytest.raises(FigureError, match=words):
        wet_bulb_by_relative_humidity(dry_K, moisture, pressure_Pa)


def test_a_dew_point_or_wet_bulb_above_the_dry_bulb_is_refused() -> None:
    with pytest.raises(FigureError, match="swapped"):
        wet_bulb_by_dew_point(295.0, 296.0, SEA_Pa)
    with pytest.raises(FigureError, match="swapped"):
        air_by_wet_bulb(295.0, 295.5, SEA_Pa)
    with pytest.raises(FigureError, match="lower than in dry air"):
        air_by_wet_bulb(300.0, 278.0, SEA_Pa)
    with pytest.raises(FigureError, match="half width"):
        wet_bulb_by_relative_humidity(299.0, 0.5, SEA_Pa, humidity_limit=-0.01)
