"""Chebyshev pieces: exact on polynomials, continuous where they meet."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.refrigerant.fit import fit_pieces
from guide.refrigerant.followed import FitError
from guide.refrigerant.piecewise import Piecewise, chebyshev_coefficients, chebyshev_nodes

COEFFICIENTS = st.lists(st.floats(-10, 10), min_size=1, max_size=9)


def polynomial(powers: list[float], x: float) -> float:
    return math.fsum(factor * x**power for power, factor in enumerate(powers))


@settings(max_examples=200, deadline=None)
@given(COEFFICIENTS, st.floats(-1, 1))
def test_a_polynomial_is_reproduced_with_its_slope(powers: list[float], share: float) -> None:
    low, high = 0.5, 2.0
    series = chebyshev_coefficients([polynomial(powers, x) for x in chebyshev_nodes(low, high, 8)])
    fitted = Piecewise.of((low, high), (series,))
    x = (low + high) / 2 + share * (high - low) / 2
    slope = math.fsum(k * factor * x ** (k - 1) for k, factor in enumerate(powers) if k)
    assert fitted(x) == pytest.approx(polynomial(powers, x), rel=1e-9, abs=1e-8)
    assert fitted.slope(x) == pytest.approx(slope, rel=1e-8, abs=1e-6)


def test_pieces_meet_without_a_step() -> None:
    fitted = fit_pieces(math.exp, 0.0, 8.0, 1e-7)
    assert len(fitted.series) > 1
    for edge in fitted.breaks[1:-1]:
        assert fitted(math.nextafter(edge, 0)) == pytest.approx(fitted(edge), rel=1e-12)


def test_a_function_with_a_step_is_refused() -> None:
    with pytest.raises(FitError, match="smooth"):
        fit_pieces(lambda x: math.copysign(1, x - 0.3), 0.0, 1.0, 1e-6)
