"""The shipped table of liquid densities against the library it was made with and against outside figures."""

from __future__ import annotations

from itertools import pairwise

import pytest

from guide.refrigerant import catalogue
from guide.refrigerant.liquid_density import NoDensity, known, liquid_density

AT_77F_K, AT_131F_K = 298.15, 328.15

# Figures of the cylinder reference (COMPUTED there at 77 °F, bubble point, nominal composition).
AT_77F = {
    "R-22": 1190.7, "R-32": 961.0, "R-134a": 1206.7, "R-404A": 1044.1, "R-407A": 1145.1, "R-407C": 1137.5,
    "R-407F": 1116.9, "R-410A": 1058.6, "R-417A": 1151.9, "R-422D": 1143.5, "R-448A": 1097.5,
    "R-449A": 1097.4, "R-452A": 1123.5, "R-452B": 994.8, "R-454A": 1023.7, "R-454B": 986.2,
    "R-454C": 1045.0, "R-507A": 1047.9, "R-513A": 1134.3, "R-1234yf": 1091.7, "R-1234ze(E)": 1163.1,
    "R-290": 492.4, "R-600a": 550.7,
}  # fmt: skip


@pytest.mark.parametrize(("designation", "density"), AT_77F.items())
def test_the_table_gives_the_figures_that_cylinders_are_filled_by(designation: str, density: float) -> None:
    assert liquid_density(designation).at(AT_77F_K) == pytest.approx(density, abs=0.1)


@pytest.mark.parametrize("designation", ["R-22", "R-32", "R-410A", "R-454B", "R-407C", "R-290"])
def test_between_its_nodes_it_follows_the_library_within_a_thousandth(designation: str) -> None:
    from CoolProp.CoolProp import QT_INPUTS, AbstractState

    mixed = designation in {"R-410A", "R-407C", "R-454B"}
    bare = designation.replace("-", "")
    name = f"{bare}.mix" if mixed else {"R290": "n-Propane"}.get(bare, bare)
    state = AbstractState("HEOS", name)
    row = liquid_density(designation)
    for celsius in (-7.5, 3.0, 12.5, 22.5, 33.0, 41.0, 47.5):
        state.update(QT_INPUTS, 0, 273.15 + celsius)
        assert row.at(273.15 + celsius) == pytest.approx(state.rhomass(), rel=1e-3)


def test_the_shipped_table_is_what_the_build_writes() -> None:
    from guide.refrigerant import density_fit

    fresh = density_fit.text().splitlines()
    for line in fresh[3:]:
        designation, words, *figures = line.split(",")
        row = liquid_density(designation)
        assert (row.estimated, row.bridged) == ("estimated" in words, "bridged" in words)
        assert row.densities == pytest.approx([float(f) for f in figures if f], abs=0.02), designation
    assert len(fresh) - 3 == len(known())


def test_every_refrigerant_of_the_catalogue_that_has_a_row_is_lighter_when_warmer() -> None:
    for designation in known():
        row = liquid_density(designation)
        assert len(row.densities) >= 4
        assert all(warm < cold for cold, warm in pairwise(row.densities)), designation
        assert 300 < row.densities[0] < 2300


def test_the_catalogue_s_refrigerants_for_air_conditioning_all_have_one() -> None:
    for name in ("R-22", "R-32", "R-134a", "R-407C", "R-410A", "R-454B"):
        assert liquid_density(catalogue.find(name).designation).at(AT_131F_K) > 700


def test_what_is_not_known_is_refused() -> None:
    with pytest.raises(NoDensity, match="label"):
        liquid_density("R-999Z")
    with pytest.raises(NoDensity, match="only from -10"):
        liquid_density("R-410A").at(273.15 + 70)
    with pytest.raises(NoDensity, match="only from -10"):
        liquid_density("R-13").at(273.15 + 55)


def test_what_a_mixing_rule_stands_behind_says_so() -> None:
    assert liquid_density("R-438A").estimated
    assert not liquid_density("R-410A").estimated
