"""What one round of readings is taken to mean."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import pytest

from guide.charging.meaning import CHANNEL_WORDS, interpret
from guide.charging.round import Accuracy, Verdict
from guide.charging.wording import K_PER_F
from tests.charging.linear_plant import orifice_unit, readings, valve_unit, with_channel


def test_an_orifice_is_judged_by_superheat_against_the_table() -> None:
    meaning = interpret(orifice_unit(), readings(superheat_F=14.1))
    assert meaning.superheat_K == pytest.approx(14.1 * K_PER_F, abs=1e-3)
    assert meaning.target_superheat_K == pytest.approx(12.0 * K_PER_F)
    assert meaning.verdict is Verdict.UNDECIDED
    # CALCULATED in the reference, R-410A at the Title 24 limits: 2.1, 2.0, 2.8, 3.5 °F.
    assert meaning.superheat_uncertainty_K == pytest.approx(2.05 * K_PER_F, abs=0.01)
    assert meaning.subcooling_uncertainty_K == pytest.approx(1.97 * K_PER_F, abs=0.01)
    assert meaning.target_superheat_uncertainty_K == pytest.approx(2.77 * K_PER_F, abs=0.01)
    assert meaning.uncertainty_K == pytest.approx(3.45 * K_PER_F, abs=0.01)


def test_a_valve_is_judged_by_subcooling_and_by_superheat_within_its_range() -> None:
    unit = valve_unit()
    assert interpret(unit, readings()).verdict is Verdict.PASS
    assert interpret(unit, readings(subcooling_F=12.0)).verdict is Verdict.UNDECIDED
    assert interpret(unit, readings(subcooling_F=16.0)).verdict is Verdict.FAIL
    assert interpret(unit, readings(superheat_F=5.0)).verdict is Verdict.UNDECIDED
    assert interpret(unit, readings(superheat_F=1.0)).verdict is Verdict.FAIL
    assert interpret(unit, readings(superheat_F=28.0)).verdict is Verdict.FAIL


def test_a_target_from_the_maker_carries_no_uncertainty_of_its_own() -> None:
    meaning = interpret(
        replace(orifice_unit(), target_superheat_K=10.0 * K_PER_F), readings(superheat_F=10.0)
    )
    assert meaning.target_superheat_uncertainty_K == 0.0
    assert meaning.uncertainty_K == meaning.superheat_uncertainty_K
    assert meaning.verdict is Verdict.PASS


@pytest.mark.parametrize("channel", CHANNEL_WORDS)
@pytest.mark.parametrize("value", [None, math.nan, math.inf, 1e308, -1e308])
def test_a_reading_missing_or_absurd_leaves_its_figures_open(channel: str, value: float | None) -> None:
    for unit in (orifice_unit(), valve_unit()):
        meaning = interpret(unit, with_channel(readings(), channel, value))
        for field in fields(meaning):
            figure = getattr(meaning, field.name)
            assert not isinstance(figure, float) or math.isfinite(figure), field.name
    needed = interpret(orifice_unit(), replace(readings(), suction_line_K=value))
    assert (needed.superheat_K, needed.verdict) == (None, Verdict.UNDECIDED)


def test_default_instrument_limits_are_named_in_the_reasons() -> None:
    assert any("Title 24" in reason for reason in interpret(orifice_unit(), readings()).reasons)
    stated = {channel: Accuracy(0.2) for channel in CHANNEL_WORDS}
    told = interpret(replace(orifice_unit(), accuracies=stated), readings())
    assert not any("Title 24" in reason for reason in told.reasons)
    some = interpret(replace(orifice_unit(), accuracies={"suction_line_K": Accuracy(0.2)}), readings())
    assert any("Title 24" in reason and "suction pressure" in reason for reason in some.reasons)
