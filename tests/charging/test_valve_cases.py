"""A valve system: subcooling tells the charge, superheat the valve, and one is not mended with the other.

Sources, all read (FOUND in the charging reference, sections 1.1 and 5): Title 24, 2008 Residential
Appendices RA3.2, p. 16: subcooling within 3 °F of the maker's target, evaporator superheat 4 to 25 °F where
the maker gives no range, no charge test below 55 °F outdoors (p. 10). A maker's installation instructions
(DZ13SC, p. 9), the table for valves: subcooling low and superheat high, add; subcooling low and superheat
low, the valve; subcooling high and superheat high, the valve; subcooling high and superheat low, the valve
first and charge after it.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.advice import advise
from guide.charging.applicability import INSTEAD
from guide.charging.meaning import interpret
from guide.charging.round import Accuracy, Action, Advice, Appliance, Metering, Verdict
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.catalogue import find
from guide.refrigerant.saturation import curve
from tests.charging.linear_plant import readings, valve_unit

TARGET_F = 10.0
TOLERANCE_F = 3.0  # FOUND, RA3-2008 p. 16
BAND_F = (4.0, 25.0)  # FOUND, RA3-2008 p. 16
# Two makers' ways to sense a valve; the same rules hold for both.
VALVES = [Metering.THERMOSTATIC_VALVE, Metering.ELECTRONIC_VALVE]
FINE = {
    "suction_pressure_Pa": Accuracy(500.0), "liquid_pressure_Pa": Accuracy(500.0),
    "suction_line_K": Accuracy(0.05), "liquid_line_K": Accuracy(0.05), "indoor_db_K": Accuracy(0.1),
    "supply_db_K": Accuracy(0.1), "indoor_wb_K": Accuracy(0.1), "outdoor_db_K": Accuracy(0.1),
}  # fmt: skip


def advised(unit: Appliance, superheat_F: float, subcooling_F: float, supply_db_F: float = 61.0) -> Advice:
    return advise(
        unit, [readings(superheat_F=superheat_F, subcooling_F=subcooling_F, supply_db_F=supply_db_F)]
    )


@pytest.mark.parametrize("metering", VALVES)
@pytest.mark.parametrize(
    ("superheat_F", "subcooling_F", "action", "suspect"),
    [
        # the maker's table, FOUND
        (30.0, 3.0, Action.ADD, "undercharge"),
        (1.0, 3.0, Action.STOP, None),
        (30.0, 17.0, Action.STOP, "liquid-line restriction"),
        (1.0, 17.0, Action.STOP, None),
        # superheat in its band: subcooling alone decides (all sources)
        (12.0, 3.0, Action.ADD, "undercharge"),
        (12.0, 17.0, Action.RECOVER, "overcharge"),
        (12.0, 10.0, Action.DONE, None),
        # the right subcooling with a superheat outside its band is no charge trouble
        (1.0, 10.0, Action.STOP, None),
        (30.0, 10.0, Action.STOP, "liquid-line restriction"),
    ],
)
def test_the_published_table_for_valves_is_followed(
    metering: Metering, superheat_F: float, subcooling_F: float, action: Action, suspect: str | None
) -> None:
    advice = advised(replace(valve_unit(), metering=metering), superheat_F, subcooling_F)

    assert (advice.action, advice.suspect) == (action, suspect), advice.reasons
    assert (advice.amount_kg > 0) == (action in {Action.ADD, Action.RECOVER})


def test_a_valve_that_feeds_too_much_is_told_in_words_and_gets_no_charge() -> None:
    advice = advised(valve_unit(), superheat_F=1.0, subcooling_F=3.0)

    assert advice.meaning.verdict is Verdict.FAIL
    assert "the valve feeds too much" in advice.reasons[0]
    assert "bulb" in advice.reasons[0]


def test_low_superheat_beside_cold_supply_air_is_airflow_before_it_is_the_valve() -> None:
    """A split more than 3 °F above its target is low airflow (FOUND in the temperature split procedure)."""
    advice = advised(valve_unit(), superheat_F=1.0, subcooling_F=3.0, supply_db_F=57.0)

    assert (advice.action, advice.suspect) == (Action.STOP, "low indoor airflow")


@settings(max_examples=150, deadline=None)
@given(
    superheat_F=st.floats(-2.0, 3.9), subcooling_F=st.floats(0.0, 25.0), supply_db_F=st.floats(50.0, 75.0),
    target_F=st.floats(5.0, 20.0), fine=st.booleans(),
)  # fmt: skip
def test_below_the_valves_band_nothing_is_ever_added(
    superheat_F: float, subcooling_F: float, supply_db_F: float, target_F: float, fine: bool
) -> None:
    unit = replace(valve_unit(), target_subcooling_K=target_F * K_PER_F, accuracies=FINE if fine else {})

    assert advised(unit, superheat_F, subcooling_F, supply_db_F).action is not Action.ADD


@settings(max_examples=150, deadline=None)
@given(
    superheat_F=st.floats(25.1, 38.0), above_F=st.floats(-2.9, 12.0), supply_db_F=st.floats(56.0, 75.0),
)  # fmt: skip
def test_above_the_valves_band_with_enough_subcooling_nothing_moves(
    superheat_F: float, above_F: float, supply_db_F: float
) -> None:
    assert advised(valve_unit(), superheat_F, TARGET_F + above_F, supply_db_F).action is Action.STOP


@pytest.mark.parametrize(
    ("superheat_F", "verdict"),
    [
        (BAND_F[0] - 0.5, Verdict.FAIL),
        (BAND_F[0] + 0.5, Verdict.PASS),
        (BAND_F[1] - 0.5, Verdict.PASS),
        (BAND_F[1] + 0.5, Verdict.FAIL),
    ],
)
def test_without_a_makers_range_superheat_may_lie_between_4_and_25(
    superheat_F: float, verdict: Verdict
) -> None:
    """FOUND, RA3-2008 p. 16; fine instruments, so that the edges show."""
    unit = replace(valve_unit(), accuracies=FINE)

    assert interpret(unit, readings(superheat_F=superheat_F)).verdict is verdict


def test_a_makers_own_range_replaces_it() -> None:
    """7 to 9 °F at the service valve is one maker's range (FOUND, DZ13SC p. 9)."""
    unit = replace(valve_unit(), superheat_range_K=(7.0 * K_PER_F, 9.0 * K_PER_F), accuracies=FINE)

    assert interpret(unit, readings(superheat_F=8.0)).verdict is Verdict.PASS
    assert advised(unit, superheat_F=5.0, subcooling_F=TARGET_F).action is Action.STOP
    assert advised(unit, superheat_F=14.0, subcooling_F=TARGET_F).action is Action.STOP


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_three_degrees_of_subcooling_are_the_tolerance(side: float) -> None:
    """FOUND, RA3-2008 p. 16, installer's band of 3 °F; fine instruments, so that the edge shows."""
    unit = replace(valve_unit(), accuracies=FINE)
    inside = interpret(unit, readings(subcooling_F=TARGET_F + side * (TOLERANCE_F - 0.5)))
    outside = interpret(unit, readings(subcooling_F=TARGET_F + side * (TOLERANCE_F + 0.5)))

    assert (inside.verdict, outside.verdict) == (Verdict.PASS, Verdict.FAIL)
    assert unit.subcooling_tolerance_K == pytest.approx(TOLERANCE_F * K_PER_F)


@pytest.mark.parametrize("metering", VALVES)
def test_a_valve_without_a_makers_target_is_not_charged_by_the_loop(metering: Metering) -> None:
    unit = replace(valve_unit(), metering=metering, target_subcooling_K=None)
    advice = advise(unit, [readings(subcooling_F=3.0)])

    assert advice.action is Action.STOP
    assert INSTEAD in advice.reasons[0]


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        (replace(valve_unit(), receiver="fitted"), "receiver hides the charge"),
        (replace(valve_unit(), capacity_fixed=False), "maker's test mode"),
        (replace(valve_unit(), capacity_fixed=None), "maker's test mode"),
        (replace(valve_unit(), safety_group="A3"), "by weight only"),
    ],
)
def test_where_subcooling_says_nothing_it_says_what_to_do_instead(unit: Appliance, words: str) -> None:
    advice = advise(unit, [readings(subcooling_F=3.0)])

    assert advice.action is Action.STOP
    assert advice.amount_kg == 0
    assert words in advice.reasons[0]


def test_below_55_outdoors_the_charge_is_weighed_in_unless_the_maker_says_otherwise() -> None:
    """FOUND, RA3-2008 p. 10."""
    cold = readings(subcooling_F=3.0, outdoor_db_F=50.0, bubble_F=75.0)

    assert INSTEAD in advise(valve_unit(), [cold]).reasons[0]
    maker = replace(valve_unit(), outdoor_minimum_K=from_F(45.0))
    assert advise(maker, [cold]).action is Action.ADD


@pytest.mark.parametrize("refrigerant", ["R-32", "R-454B", "R-407C"])
def test_with_glide_subcooling_counts_from_bubble_and_superheat_from_dew(refrigerant: str) -> None:
    """Standard practice for blends with glide (MEMORY, charging reference section 5)."""
    fluid = curve(refrigerant)
    unit = replace(valve_unit(), curve=fluid, safety_group=find(refrigerant).safety_group)
    now = replace(
        readings(),
        suction_pressure_Pa=fluid.dew_pressure_Pa(from_F(40.0)), suction_line_K=from_F(52.0),
        liquid_pressure_Pa=fluid.bubble_pressure_Pa(from_F(110.0)), liquid_line_K=from_F(100.0),
    )  # fmt: skip

    meaning = interpret(unit, now)

    assert meaning.superheat_K == pytest.approx(12.0 * K_PER_F, abs=0.02)
    assert meaning.subcooling_K == pytest.approx(10.0 * K_PER_F, abs=0.02)
    assert advise(unit, [now]).action is Action.DONE
