"""What holds whatever the readings, and how seldom a sound system is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.diagnosis import diagnose, suspect_now
from guide.charging.evidence import Feature
from guide.charging.meaning import interpret
from guide.charging.round import Accuracy, Appliance, Metering, Round
from guide.charging.signature import SUSPECTS, full_subcooling_K, split_excess_K
from guide.charging.soundness import another_refrigerant, contradictions, demand_usable
from guide.charging.wording import from_F
from guide.refrigerant.saturation import curve
from tests.charging.linear_plant import orifice_unit, readings, valve_unit
from tests.charging.plants.draw import draw
from tests.charging.plants.running import Running
from tests.charging.test_advice_bounds import any_round, likely_round
from tests.charging.troubled_rounds import pushed

absurd = st.one_of(
    st.none(), st.floats(), st.sampled_from([math.nan, 5e-324, 1e308, -1.0, 0.0, 300.0, 2.5e6])
)
resting = st.builds(
    Round,
    net_charged_kg=st.just(0.0),
    minutes_since_change=st.just(15.0),
    suction_pressure_Pa=absurd,
    liquid_pressure_Pa=absurd,
    indoor_db_K=absurd,
    outdoor_db_K=absurd,
    discharge_line_K=absurd,
    condenser_out_db_K=absurd,
    standing_low_Pa=absurd,
    standing_high_Pa=absurd,
    standing_ambient_K=absurd,
    indoor_airflow_share=absurd,
)
units = st.sampled_from([orifice_unit(), valve_unit()])
rounds = st.lists(st.one_of(any_round, likely_round, resting), min_size=0, max_size=3)


@settings(deadline=None, max_examples=250)
@given(units, rounds)
def test_no_reading_breaks_the_weighing(unit: Appliance, rounds: list[Round]) -> None:
    diagnosis = diagnose(unit, rounds)
    assert {one.suspect for one in diagnosis.suspects} == set(SUSPECTS)
    weights = [one.weight for one in diagnosis.suspects]
    assert weights == sorted(weights, reverse=True)
    assert sum(weights) + diagnosis.nothing_wrong == pytest.approx(1.0)
    assert diagnosis == diagnose(unit, list(rounds))


@settings(deadline=None, max_examples=300)
@given(units, likely_round)
def test_what_stops_has_a_name_or_words_and_high_superheat_on_a_full_line_always_stops(
    unit: Appliance, now: Round
) -> None:
    meaning = interpret(unit, now)
    found = suspect_now(unit, [now], meaning)
    if found is not None:
        assert found.suspect is None or found.suspect in SUSPECTS
        assert found.reason.endswith(".")
    if meaning.superheat_K is None or meaning.subcooling_K is None:
        return
    full = meaning.subcooling_K >= full_subcooling_K(unit)
    if unit.metering is Metering.FIXED_ORIFICE:
        target = meaning.target_superheat_K
        if target is None:
            return
        high = meaning.superheat_K > target + unit.superheat_tolerance_K
        low = meaning.superheat_K < target - unit.superheat_tolerance_K
    else:
        high = meaning.superheat_K > unit.superheat_range_K[1]
        low = meaning.superheat_K < unit.superheat_range_K[0] and meaning.subcooling_K > full_subcooling_K(
            unit
        )
        full = full and meaning.subcooling_K <= full_subcooling_K(unit) + unit.subcooling_tolerance_K
    if high and full:
        assert found is not None
    excess = split_excess_K(unit, now)
    if low and excess is not None and excess[0] > 0.0:
        assert found is not None


@pytest.mark.parametrize("orifice", [True, False])
def test_at_most_three_in_a_hundred_systems_with_only_their_charge_wrong_are_refused(orifice: bool) -> None:
    """Plants drawn from the published bands, each with its own seed, charge -35 to +35 %."""
    refused = looked_at = 0
    for seed in range(900):
        plant = draw(40_000_000 + seed)
        if plant.orifice is not orifice:
            continue
        now = Running(plant).read()
        looked_at += 1
        refused += suspect_now(plant.appliance, [now], interpret(plant.appliance, now)) is not None
    assert looked_at > 300
    assert refused <= 0.03 * looked_at


def crossed(now: Round) -> Round:
    return Round(**{
        **{name: getattr(now, name) for name in now.__slots__},
        "suction_line_K": now.liquid_line_K, "liquid_line_K": now.suction_line_K,
    })  # fmt: skip


@pytest.mark.parametrize("unit", [orifice_unit(), valve_unit()], ids=["orifice", "valve"])
@pytest.mark.parametrize("settled", [True, False])
def test_crossed_line_sensors_are_seen(unit: Appliance, settled: bool) -> None:
    now = crossed(readings())
    said = contradictions(unit, now, interpret(unit, now), settled=settled)
    assert any("which sensor is on which line" in words for words in said)
    right = readings()
    assert contradictions(unit, right, interpret(unit, right), settled=settled) == ()


def test_a_clamp_on_the_hot_line_is_seen() -> None:
    unit = orifice_unit()
    now = readings(superheat_F=115.0)
    assert any(
        "clamp sits on the suction line" in words
        for words in contradictions(unit, now, interpret(unit, now), settled=False)
    )


def test_pressures_of_another_refrigerant_are_named_beside_what_can_not_be() -> None:
    unit = orifice_unit()
    other = curve("R-22")
    now = readings()
    now = Round(**{
        **{name: getattr(now, name) for name in now.__slots__},
        "suction_pressure_Pa": other.dew_pressure_Pa(from_F(40.0)),
        "liquid_pressure_Pa": other.bubble_pressure_Pa(from_F(110.0)),
    })  # fmt: skip
    assert another_refrigerant(unit, now) == "R-22"
    said = contradictions(unit, now, interpret(unit, now), settled=True)
    assert any("R-22" in words for words in said)
    assert another_refrigerant(unit, Round(0.0, 0.0)) is None


def test_instruments_of_the_further_channels_may_be_stated() -> None:
    unit = orifice_unit()
    stated = {"discharge_line_K": Accuracy(0.5), "standing_high_Pa": Accuracy(3000.0)}
    demand_usable(Appliance(**{
        **{name: getattr(unit, name) for name in unit.__slots__}, "accuracies": stated
    }))  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(st.floats(0.0, 1.0))
def test_the_weight_of_a_restriction_grows_with_its_signs(share: float) -> None:

    unit = orifice_unit()
    signs = {Feature.SUPERHEAT: 18.0, Feature.SUBCOOLING: 6.0, Feature.EVAPORATING: -9.0, Feature.SPLIT: -4.0}
    part = diagnose(unit, [pushed(unit, {key: share * by for key, by in signs.items()})])
    whole = diagnose(unit, [pushed(unit, signs)])
    name = "liquid-line restriction"
    assert part.weight(name) <= whole.weight(name) + 0.02
