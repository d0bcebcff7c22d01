"""What the air gives up over the indoor coil."""

from __future__ import annotations

from dataclasses import replace

import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.air_capacity import (
    M3_S_PER_CFM,
    W_PER_BTU_PER_H,
    W_PER_TON,
    AirReadings,
    air_capacity,
    capacity_words,
    heat_of,
)
from guide.charging.psychrometrics import air_by_relative_humidity
from guide.charging.refusal import FigureError
from guide.charging.round import Verdict
from guide.charging.wording import from_F

AIR = AirReadings(
    airflow_m3_per_s=1200.0 * M3_S_PER_CFM,
    return_db_K=from_F(80.0),
    return_wb_K=from_F(67.0),
    supply_db_K=from_F(59.0),
    supply_wb_K=from_F(57.0),
    site_pressure_Pa=101325.0,
)
SHARP = {
    "airflow_m3_per_s": 0.03 * AIR.airflow_m3_per_s,
    "return_db_K": 0.1,
    "return_wb_K": 0.1,
    "supply_db_K": 0.1,
    "supply_wb_K": 0.1,
}


def words(
    air: AirReadings,
    outdoor_F: float = 95.0,
    rated_W: float | None = 3 * W_PER_TON,
    verdict: Verdict | None = None,
) -> str:
    return " ".join(
        capacity_words(
            air_capacity(air, SHARP),
            airflow_m3_per_s=air.airflow_m3_per_s,
            rated_W=rated_W,
            return_wb_K=air.return_wb_K,
            outdoor_db_K=from_F(outdoor_F),
            verdict=verdict,
        )
    )


def test_heat_is_flow_times_the_enthalpy_difference() -> None:
    # psychrolib 2.5 (LIBRARY): the same figures from its enthalpies and its volume.
    psychrolib.SetUnitSystem(psychrolib.SI)
    entering, _, _, _, h_in, volume, _ = psychrolib.CalcPsychrometricsFromTWetBulb(
        (80 - 32) / 1.8, (67 - 32) / 1.8, 101325
    )
    leaving, _, _, _, h_out, _, _ = psychrolib.CalcPsychrometricsFromTWetBulb(
        (59 - 32) / 1.8, (57 - 32) / 1.8, 101325
    )
    heat = heat_of(AIR)
    assert heat.total_W == pytest.approx(AIR.airflow_m3_per_s / volume * (h_in - h_out), rel=2e-3)
    assert heat.dries_by == pytest.approx(entering - leaving, rel=2e-3)


def test_standard_air_gives_the_trade_constants() -> None:
    # 1.08 Btu/h a cfm and °F for air of 0.075 lb/ft³ (FOUND, several coil makers' formula pages).
    heat = heat_of(replace(AIR, supply_wb_K=None))
    trade_W = 1.08 * 1200.0 * 21.0 * W_PER_BTU_PER_H
    assert heat.sensible_W == pytest.approx(trade_W, rel=0.02)
    assert heat.total_W is None
    assert heat.latent_W is None


def test_sensible_and_latent_make_the_total() -> None:
    heat = heat_of(AIR)
    assert heat.total_W is not None
    assert heat.latent_W is not None
    assert heat.sensible_W + heat.latent_W == pytest.approx(heat.total_W)


def test_thin_air_carries_less() -> None:
    sea, high = (heat_of(replace(AIR, supply_wb_K=None, site_pressure_Pa=p)) for p in (101325.0, 84307.0))
    assert high.sensible_W / sea.sensible_W == pytest.approx(84307.0 / 101325.0, rel=0.01)


def test_flow_measured_in_the_cold_duct_is_more_air() -> None:
    assert heat_of(replace(AIR, measured_in_supply=True)).sensible_W > heat_of(AIR).sensible_W * 1.03


@given(
    st.floats(min_value=290.0, max_value=306.0),
    st.floats(min_value=0.2, max_value=0.8),
    st.floats(min_value=6.0, max_value=14.0),
    st.floats(min_value=70_000.0, max_value=105_000.0),
)
@settings(max_examples=60, deadline=None)
def test_no_figure_is_surer_than_the_flow(db_K: float, humidity: float, drop_K: float, p_Pa: float) -> None:
    supply = air_by_relative_humidity(db_K - drop_K, 0.9, p_Pa)
    returned = air_by_relative_humidity(db_K, humidity, p_Pa)
    air = AirReadings(0.5, db_K, returned.wet_bulb_K, supply.dry_bulb_K, supply.wet_bulb_K, p_Pa)
    found = air_capacity(air)
    assert found.sensible_limit_W >= 0.0999 * abs(found.heat.sensible_W)
    assert found.total_limit_W is not None
    assert found.heat.total_W is not None
    assert found.total_limit_W >= 0.0999 * abs(found.heat.total_W)


def test_the_uncertainty_names_each_reading_s_part() -> None:
    found = air_capacity(AIR)
    assert max(found.parts_W, key=lambda name: found.parts_W[name]) == "return_wb_K"
    assert found.parts_W["site_pressure_Pa"] == 0.0
    assert found.total_limit_W == pytest.approx(sum(part**2 for part in found.parts_W.values()) ** 0.5)


def test_words_give_heat_airflow_and_share() -> None:
    said = words(AIR)
    assert "36 600 ± " in said
    assert "400 cfm a ton of rated capacity" in said
    assert "102 ± " in said
    assert " is low" not in said


def test_low_heat_beside_a_passed_verdict_sends_to_airflow_and_coils() -> None:
    weak = replace(AIR, supply_db_K=from_F(66.0), supply_wb_K=from_F(61.0))
    assert "charge judged right does not explain it" in words(weak, verdict=Verdict.PASS)
    assert "before the charge" in words(weak, verdict=Verdict.FAIL)
    assert "here it says little" in words(weak, outdoor_F=70.0)


def test_little_air_is_said_before_charge() -> None:
    assert "Less than 350 cfm a ton" in words(replace(AIR, airflow_m3_per_s=950.0 * M3_S_PER_CFM))
    assert "More than 450 cfm a ton" in words(replace(AIR, airflow_m3_per_s=1400.0 * M3_S_PER_CFM))
    assert "of measured capacity" in words(AIR, rated_W=None)


def test_contradictory_air_is_told() -> None:
    assert "no cooling coil does" in words(replace(AIR, supply_db_K=from_F(72.0), supply_wb_K=from_F(70.0)))
    assert "does not cool" in words(replace(AIR, supply_db_K=from_F(90.0), supply_wb_K=from_F(70.0)))
    assert "measure the airflow and the wet bulbs again" in words(
        replace(AIR, supply_db_K=from_F(48.0), supply_wb_K=from_F(47.0))
    )


def test_impossible_readings_are_refused() -> None:
    with pytest.raises(FigureError, match="swapped"):
        heat_of(replace(AIR, supply_wb_K=from_F(60.0)))
    with pytest.raises(FigureError, match="above zero"):
        heat_of(replace(AIR, airflow_m3_per_s=0.0))
    with pytest.raises(FigureError, match="check number and unit"):
        heat_of(replace(AIR, airflow_m3_per_s=1200.0))
    with pytest.raises(FigureError, match="half width"):
        air_capacity(AIR, {"return_db_K": -1.0})
    with pytest.raises(FigureError, match="use one of"):
        air_capacity(AIR, {"measured_in_supply": 1.0})
