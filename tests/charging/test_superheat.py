"""Superheat and subcooling against published saturation figures."""

from __future__ import annotations

import math

import pytest

from guide.charging.refusal import FigureError
from guide.charging.superheat import subcooling_K, superheat_K
from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.saturation import OutOfRange, curve

SITE_Pa = 101325.0


@pytest.mark.parametrize(
    ("refrigerant", "psig", "dew_F"),
    # CALCULATED with an independent property library, reference data/saturation_slope.csv; 0.05 psi rounding.
    [
        ("R-410A", 118.4, 40.0),
        ("R-22", 68.6, 40.0),
        ("R-32", 121.0, 40.0),
        ("R-134a", 35.0, 40.0),
        ("R-407C", 63.2, 40.0),
    ],
)
def test_superheat_counts_from_the_dew_point(refrigerant: str, psig: float, dew_F: float) -> None:
    found = superheat_K(
        curve(refrigerant),
        suction_pressure_Pa=psig * PA_PER_PSI + SITE_Pa,
        suction_line_K=from_F(dew_F + 12.0),
    )
    assert found / K_PER_F == pytest.approx(12.0, abs=0.1)


@pytest.mark.parametrize(
    ("refrigerant", "psig", "bubble_F"),
    [
        ("R-410A", 366.5, 110.0),
        ("R-22", 226.4, 110.0),
        ("R-32", 374.9, 110.0),
        ("R-134a", 146.4, 110.0),
        ("R-407C", 260.2, 110.0),
    ],
)
def test_subcooling_counts_from_the_bubble_point(refrigerant: str, psig: float, bubble_F: float) -> None:
    found = subcooling_K(
        curve(refrigerant),
        liquid_pressure_Pa=psig * PA_PER_PSI + SITE_Pa,
        liquid_line_K=from_F(bubble_F - 10.0),
    )
    assert found / K_PER_F == pytest.approx(10.0, abs=0.1)


def test_a_suction_line_colder_than_saturation_gives_a_negative_superheat() -> None:
    r410a = curve("R-410A")
    pressure = r410a.dew_pressure_Pa(from_F(40.0))
    assert superheat_K(r410a, suction_pressure_Pa=pressure, suction_line_K=from_F(38.0)) < 0.0


def test_what_no_curve_can_answer_is_refused_in_words() -> None:
    r410a = curve("R-410A")
    with pytest.raises(FigureError, match="suction pressure"):
        superheat_K(r410a, suction_pressure_Pa=math.nan, suction_line_K=280.0)
    with pytest.raises(FigureError, match="liquid line"):
        subcooling_K(r410a, liquid_pressure_Pa=2.6e6, liquid_line_K=math.inf)
    with pytest.raises(OutOfRange):
        superheat_K(r410a, suction_pressure_Pa=1e9, suction_line_K=280.0)
