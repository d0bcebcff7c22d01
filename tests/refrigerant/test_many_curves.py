"""Every shipped curve: one for each refrigerant, close to the library, honest about itself."""

import json
from importlib import resources
from typing import Any

import pytest

from guide.refrigerant import fit
from guide.refrigerant.catalogue import all_refrigerants
from guide.refrigerant.curve import DOUBT_WORDS, RULE_WORDS
from guide.refrigerant.listing import components, listed
from guide.refrigerant.models import Model, NoModel, library_state, model_of, models, pairs_by_rule
from guide.refrigerant.saturation import curve

DESIGNATIONS = [r.designation for r in all_refrigerants()]
POINTS = 7


@pytest.fixture(scope="module")
def library() -> Any:
    return pytest.importorskip("CoolProp.CoolProp")


@pytest.fixture(scope="module")
def all_models(library: Any) -> dict[str, Model]:
    return {model.designation: model for model in models()}


def test_every_refrigerant_has_its_curve_and_every_curve_its_refrigerant() -> None:
    folder = resources.files("guide.refrigerant") / "curves"
    assert sorted(file.name for file in folder.iterdir()) == sorted(f"{name}.json" for name in DESIGNATIONS)
    assert len(DESIGNATIONS) > 180


def test_all_curves_together_stay_small() -> None:
    sizes = [len(curve(name).source) for name in DESIGNATIONS]
    assert max(sizes) < 11_000
    assert sum(sizes) < 900_000


def worst_K(model: Model, library: Any, points: int) -> float:
    read, state = curve(model.designation), library_state(model)
    worst, solved, lost = 0.0, 0, 0
    for quality, side in ((0, read.bubble), (1, read.dew)):
        lookup = read.dew_temperature_K if quality else read.bubble_temperature_K
        for k in range(points):
            ratio = read.highest_pressure_Pa / read.lowest_pressure_Pa
            pressure = min(read.lowest_pressure_Pa * ratio ** (k / (points - 1)), read.highest_pressure_Pa)
            if any(low <= pressure <= high for low, high in side.bridged_Pa):
                continue
            try:
                state.update(library.PQ_INPUTS, pressure, quality)
            except ValueError:  # a single pressure between those that the builder tried
                lost += 1
                continue
            worst, solved = max(worst, abs(lookup(pressure) - state.T())), solved + 1
    assert solved >= points
    assert lost <= points / 50
    return worst


def test_each_curve_is_within_a_thousandth_kelvin_of_the_library(
    all_models: dict[str, Model], library: Any
) -> None:
    off = {name: worst_K(all_models[name], library, POINTS) for name in DESIGNATIONS}
    assert {name: value for name, value in off.items() if value > 0.001} == {}


@pytest.mark.exhaustive
@pytest.mark.parametrize("designation", DESIGNATIONS)
def test_each_curve_is_within_a_thousandth_kelvin_along_its_whole_length(
    designation: str, all_models: dict[str, Model], library: Any
) -> None:
    assert worst_K(all_models[designation], library, 301) < 0.001


@pytest.mark.exhaustive
@pytest.mark.parametrize("designation", DESIGNATIONS)
def test_the_builder_gives_each_shipped_curve_again(designation: str, all_models: dict[str, Model]) -> None:
    assert fit.fit(all_models[designation])["sha256"] == curve(designation).sha256


def test_a_curve_is_estimated_for_a_reason_and_says_it() -> None:
    doubted = {entry.designation for entry in listed() if entry.doubted}
    for name in DESIGNATIONS:
        read = curve(name)
        bridged = bool(read.bubble.bridged_Pa or read.dew.bridged_Pa)
        by_rule = RULE_WORDS in read.model
        assert (DOUBT_WORDS in read.model) == (name in doubted)
        assert read.estimated == (bridged or by_rule or name in doubted)
        assert bool(read.why_estimated) == read.estimated
        assert bool(read.may_be_off_K) == (by_rule or name in doubted)
        if read.may_be_off_K:
            assert "4 K (7 °F)" in read.why_estimated
    assert all(not curve(name).estimated for name in components() if name in DESIGNATIONS)


def test_the_words_tell_a_mixing_rule_a_doubt_and_a_bridge_apart() -> None:
    assert "mixing rule" in curve("R-401A").why_estimated
    assert "contradicts" in curve("R-431A").why_estimated
    assert "bridged where it does not solve, from 3" in curve("R-454B").why_estimated
    assert curve("R-404A").why_estimated == ""


def test_the_pairs_by_rule_are_those_the_library_lacks(all_models: dict[str, Model], library: Any) -> None:
    # the library names the origin of each pair; what it was given in this process by the rule has no paper
    for name in ("R-401A", "R-402A", "R-414A", "R-438A", "R-407A", "R-448A", "R-513B"):
        state = library_state(all_models[name])
        count = pairs_by_rule(state)
        said = curve(name).model
        assert (f"{count} {RULE_WORDS}" in said) if count else (RULE_WORDS not in said)


@pytest.mark.parametrize("entry", [e for e in listed() if e.refused], ids=lambda e: e.designation)
def test_what_is_refused_has_no_model(entry: Any) -> None:
    with pytest.raises(NoModel, match=r"R-"):
        model_of(entry)


def test_compositions_are_those_the_library_carries(all_models: dict[str, Model], library: Any) -> None:
    # LIBRARY: mole fractions of the predefined mixtures, taken to mass by the library's molar masses. The
    # list behind them (FOUND [S25]) is the same ASHRAE page.
    compared = 0
    for entry in listed():
        model = all_models.get(entry.designation)
        if model is None or not model.library_name.endswith(".mix"):
            continue
        state = library_state(model)
        names, moles = state.fluid_names(), state.get_mole_fractions()
        masses = [mole * library.PropsSI("M", name) for mole, name in zip(moles, names, strict=True)]
        carried = {name: mass / sum(masses) for name, mass in zip(names, masses, strict=True)}
        ours = {
            components()[part.designation].library_name: float(part.mass_fraction)
            for part in entry.composition
        }
        assert carried == pytest.approx(ours, abs=2e-5), entry.designation
        compared += 1
    assert compared > 120


def test_a_curve_file_holds_nothing_but_text() -> None:
    content = json.loads(curve("R-401A").source)
    assert isinstance(content["dew"]["ln_pressure_of_temperature_K"]["breaks"][0], str)
