"""Uncertainty propagation against the reference table and the published instrument limits."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from guide.charging.refusal import FigureError
from guide.charging.round import Accuracy
from guide.charging.uncertainty import (
    PA_PER_PSI,
    combine,
    limit_of,
    subcooling_uncertainty,
    superheat_uncertainty,
    target_uncertainty,
)
from guide.charging.wording import K_PER_F, from_F
from guide.errors import ChargewrightError
from guide.refrigerant.saturation import curve

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    lines = [line for line in (DATA / name).read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def same(suction_psi: float, liquid_psi: float, temperature_F: float) -> dict[str, Accuracy]:
    thermometers = ("suction_line_K", "liquid_line_K", "indoor_wb_K", "outdoor_db_K")
    return {
        "suction_pressure_Pa": Accuracy(suction_psi * PA_PER_PSI),
        "liquid_pressure_Pa": Accuracy(liquid_psi * PA_PER_PSI),
        **{channel: Accuracy(temperature_F * K_PER_F) for channel in thermometers},
    }


SETS = {"Title": {}, "good": same(1.0, 2.0, 0.5), "analog": same(5.0, 10.0, 2.0)}


def slope_K_per_Pa(refrigerant: str, side: str, temperature_F: int) -> float:
    for row in table("saturation_slope.csv"):
        if (row["refrigerant"], row["curve"], int(row["T_F"])) == (refrigerant, side, temperature_F):
            return float(row["F_per_psi"]) * K_PER_F / PA_PER_PSI
    raise AssertionError((refrigerant, side, temperature_F))


@pytest.mark.parametrize(
    "row", table("superheat_uncertainty_propagation.csv"), ids=lambda row: row["refrigerant"]
)
def test_the_reference_table_of_uncertainties_is_reproduced(row: dict[str, str]) -> None:
    # CALCULATED in the reference; the Title 24 limits in it are FOUND (RA3 2008 p. 11, RA3 2013).
    accuracies = next(stated for name, stated in SETS.items() if row["instrument_set"].startswith(name))
    superheat = superheat_uncertainty(
        dew_slope_K_per_Pa=slope_K_per_Pa(row["refrigerant"], "dew", 40),
        suction_pressure_Pa=9e5,
        suction_line_K=from_F(52),
        accuracies=accuracies,
    )
    subcooling = subcooling_uncertainty(
        bubble_slope_K_per_Pa=slope_K_per_Pa(row["refrigerant"], "bubble", 110),
        liquid_pressure_Pa=2.6e6,
        liquid_line_K=from_F(100),
        accuracies=accuracies,
    )
    target = target_uncertainty(
        slope_per_wb=1.95,
        slope_per_db=-0.55,
        indoor_wb_K=from_F(67),
        outdoor_db_K=from_F(95),
        accuracies=accuracies,
    )
    gap = combine((*superheat.parts, *target.parts))
    printed = ("u_superheat_F", "u_subcooling_F", "u_target_superheat_F", "u_actual_minus_target_F")
    for name, ours in zip(printed, (superheat, subcooling, target, gap), strict=True):
        assert ours.total_K / K_PER_F == pytest.approx(float(row[name]), abs=0.011), name


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-22", "R-32", "R-134a", "R-407C"])
def test_the_shipped_curves_have_the_slopes_the_reference_used(refrigerant: str) -> None:
    shipped = curve(refrigerant)
    plain = refrigerant.replace("-", "")
    dew = shipped.dew_slope_K_per_Pa(shipped.dew_pressure_Pa(from_F(40)))
    bubble = shipped.bubble_slope_K_per_Pa(shipped.bubble_pressure_Pa(from_F(110)))
    assert dew == pytest.approx(slope_K_per_Pa(plain, "dew", 40), rel=0.01)
    assert bubble == pytest.approx(slope_K_per_Pa(plain, "bubble", 110), rel=0.01)


def test_the_default_limits_are_those_of_title_24() -> None:
    # FOUND: RA3 2008 p. 11 (0.1 % of reading + 1.3 °F), RA3 2013 (3.5 psi and 7.0 psi).
    assert limit_of("suction_line_K", from_F(50), {}) == pytest.approx(1.35 * K_PER_F)
    assert limit_of("outdoor_db_K", from_F(95), {}) == pytest.approx(1.395 * K_PER_F)
    assert limit_of("suction_pressure_Pa", 9e5, {}) == pytest.approx(3.5 * 6894.757, rel=1e-6)
    assert limit_of("liquid_pressure_Pa", 2.6e6, {}) == pytest.approx(7.0 * 6894.757, rel=1e-6)


def test_the_wet_bulb_is_the_largest_part_at_the_rating_weather() -> None:
    superheat = superheat_uncertainty(
        dew_slope_K_per_Pa=slope_K_per_Pa("R410A", "dew", 40),
        suction_pressure_Pa=9e5,
        suction_line_K=from_F(52),
        accuracies={},
    )
    target = target_uncertainty(
        slope_per_wb=1.95, slope_per_db=-0.55, indoor_wb_K=from_F(67), outdoor_db_K=from_F(95), accuracies={}
    )
    largest = combine((*superheat.parts, *target.parts)).largest
    assert largest is not None
    assert largest.channel == "indoor_wb_K"


def test_an_unknown_channel_and_a_negative_limit_are_refused_in_words() -> None:
    with pytest.raises(FigureError, match="no channel is called"):
        limit_of("barometer", 1.0, {})
    with pytest.raises(ChargewrightError, match="half width"):
        limit_of("suction_line_K", 280.0, {"suction_line_K": Accuracy(-1.0)})
    assert combine(()).total_K == 0.0
    assert combine(()).largest is None
