"""What better instruments would decide, and which way a bare sensor is off."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.charging.coarseness import instrument_reasons, insulate_first, remedy
from guide.charging.contract import answer, read
from guide.charging.meaning import Demand, interpret, weigh
from guide.charging.refusal import FigureError
from guide.charging.round import Accuracy, Appliance, Metering, Round, Verdict
from guide.charging.soundness import unusable
from guide.charging.uncertainty import (
    PA_PER_PSI,
    WARM_BIAS_K,
    Contribution,
    combine,
    limit_of,
    outside_range,
    superheat_uncertainty,
)
from guide.charging.verdict import Bound, judge, judge_limit
from guide.charging.wording import K_PER_F, from_F
from guide.errors import ChargewrightError
from guide.refrigerant.saturation import curve

CURVE = curve("R-410A")
POOR = {
    "suction_pressure_Pa": Accuracy(5.0 * PA_PER_PSI),
    "liquid_pressure_Pa": Accuracy(10.0 * PA_PER_PSI),
    **{
        channel: Accuracy(2.0 * K_PER_F)
        for channel in ("suction_line_K", "liquid_line_K", "indoor_wb_K", "outdoor_db_K")
    },
}
LINE = "suction_line_K"


def unit(metering: Metering = Metering.FIXED_ORIFICE, **stated: object) -> Appliance:
    plain = Appliance(CURVE, "A1", metering, 3.6, 101_325.0, target_subcooling_K=10 * K_PER_F)
    return replace(plain, **stated)  # type: ignore[arg-type]


def at(superheat_F: float, subcooling_F: float = 10.0, **changed: float | None) -> Round:
    """A round at 40 °F dew and 110 °F bubble, 67 °F wet bulb and 95 °F outdoors: the target is 12.0 °F."""
    plain = Round(
        net_charged_kg=0.0,
        minutes_since_change=15.0,
        suction_pressure_Pa=CURVE.dew_pressure_Pa(from_F(40.0)),
        suction_line_K=from_F(40.0 + superheat_F),
        liquid_pressure_Pa=CURVE.bubble_pressure_Pa(from_F(110.0)),
        liquid_line_K=from_F(110.0 - subcooling_F),
        indoor_db_K=from_F(80.0),
        indoor_wb_K=from_F(67.0),
        supply_db_K=from_F(62.0),
        outdoor_db_K=from_F(95.0),
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def demand(gap_F: float, half_F: float, *effects_F: float, reads_high_F: float = 0.0) -> Demand:
    channels = ("indoor_wb_K", "suction_line_K", "outdoor_db_K", "liquid_line_K")
    parts = [
        Contribution(channel, abs(effect) * K_PER_F, effect * K_PER_F)
        for channel, effect in zip(channels, effects_F, strict=False)
    ]
    parts[-1] = replace(parts[-1], reads_high_K=reads_high_F * K_PER_F)
    return Demand("superheat", gap_F * K_PER_F, half_F * K_PER_F, combine(parts))


def with_better(asked: Demand) -> Demand:
    """The demand as it would be with what its remedy asks for."""
    found = remedy(asked)
    assert found is not None
    needed = {each.channel: each.limit for each in found.better}
    parts = [
        replace(
            part,
            effect_K=part.effect_K * needed.get(part.channel, part.limit) / part.limit,
            reads_high_K=0.0 if found.insulate else part.reads_high_K,
        )
        for part in asked.spread.parts
    ]
    return replace(asked, spread=combine(parts), gap_K=0.0 if found.on_target else asked.gap_K)


def test_one_better_reading_decides_where_it_can() -> None:
    # By hand: d = 4 - 1 = 3, others 2² = 4, so the first may keep root(9 - 4) = 2.236, rounded down to 2.2.
    found = remedy(demand(1.0, 4.0, 3.0, 2.0))
    assert found is not None
    assert [(each.channel, round(each.limit / K_PER_F, 6)) for each in found.better] == [("indoor_wb_K", 2.2)]


def test_two_readings_share_what_one_alone_cannot_bring() -> None:
    # By hand: d = 2, and the second alone takes 2.5; each of both may keep 2 / root(2) = 1.414, down to 1.4.
    found = remedy(demand(2.0, 4.0, 3.0, 2.5))
    assert found is not None
    assert [round(each.limit / K_PER_F, 6) for each in found.better] == [1.4, 1.4]


def test_on_the_edge_itself_no_instrument_decides() -> None:
    found = remedy(demand(4.0, 4.0, 1.0, 0.5))
    assert found is not None
    assert found.better == ()


def test_instruments_coarser_than_the_tolerance_are_told_what_would_do_on_the_target() -> None:
    found = remedy(demand(3.0, 3.0, 3.0, 2.0))
    assert found is not None
    assert found.on_target
    assert [round(each.limit / K_PER_F, 6) for each in found.better] == [2.2]


def test_insulating_the_sensor_is_asked_first_when_that_alone_decides() -> None:
    found = remedy(demand(0.0, 4.0, 1.0, 1.0, reads_high_F=5.0))
    assert found is not None
    assert found.insulate
    assert found.better == ()


@given(
    st.floats(-12, 12),
    st.floats(0.5, 6),
    st.lists(st.floats(-5, 5).filter(lambda effect: abs(effect) > 0.01), min_size=2, max_size=4),
    st.sampled_from([0.0, 5.0]),
)
@settings(max_examples=400, deadline=None)
def test_what_is_asked_for_does_decide(gap: float, half: float, effects: list[float], high: float) -> None:
    asked = demand(gap, half, *effects, reads_high_F=high)
    found = remedy(asked)
    if asked.verdict is not Verdict.UNDECIDED:
        assert found is None
        return
    assert found is not None
    if not found.better and not (found.insulate and with_better(asked).verdict is not Verdict.UNDECIDED):
        return
    assert with_better(asked).verdict is not Verdict.UNDECIDED
    assert all(each.limit < each.now for each in found.better)


def test_the_advice_names_the_wet_bulb_and_the_accuracy_it_needs() -> None:
    # Title 24 limits: U = 3.4 °F (CALCULATED, the reference's propagation table); 2.0 °F off the target of
    # 12.0 °F leaves 3.0 °F: root(3.0² - 2.05² - 0.77²) / 1.95 = 1.05, rounded down.
    said = instrument_reasons(unit(), at(14.0))
    assert "an indoor (return air) wet bulb within ± 1.0 °F, 0.56 K (now ± 1.4 °F, 0.76 K)" in said[0]
    assert interpret(unit(), at(14.0)).verdict is Verdict.UNDECIDED
    asked = unit(accuracies={"indoor_wb_K": Accuracy(1.0 * K_PER_F)})
    assert interpret(asked, at(14.0)).verdict is Verdict.PASS


def test_poor_instruments_are_told_that_they_are_coarser_than_the_tolerance() -> None:
    said = instrument_reasons(unit(accuracies=POOR), at(15.0))
    assert said[0].startswith("The instruments are too coarse for this superheat: it may be off by ± 5.0 °F")


def test_a_valve_is_told_about_its_liquid_side() -> None:
    said = instrument_reasons(unit(Metering.THERMOSTATIC_VALVE), at(12.0, 11.5))
    assert len(said) == 1
    assert "a liquid line temperature within ± 0.5 °F" in said[0]


def test_nothing_is_said_when_the_verdict_stands() -> None:
    insulated = {LINE: Accuracy(0.5 * K_PER_F, insulated=True)}
    assert instrument_reasons(unit(accuracies=insulated), at(12.0)) == ()
    assert instrument_reasons(unit(accuracies=insulated), at(35.0)) == ()


def test_instruments_are_not_spoken_of_while_charge_is_to_be_moved_anyway() -> None:
    insulated = {LINE: Accuracy(1.3 * K_PER_F, 0.001, insulated=True)}
    now = at(18.0)
    assert interpret(unit(accuracies=insulated), now).verdict is Verdict.UNDECIDED
    assert instrument_reasons(unit(accuracies=insulated), now) == ()
    # A valve's own range is not met by moving charge: there it is said.
    valve = unit(Metering.THERMOSTATIC_VALVE, accuracies=insulated)
    assert "The superheat stands nearer" in instrument_reasons(valve, at(3.5))[0]


def test_a_sensor_nobody_spoke_of_is_a_caution_where_it_would_change_the_verdict() -> None:
    said = instrument_reasons(unit(), at(12.0))
    assert len(said) == 1
    assert "up to 5.0 °F (2.8 K) too warm, and the verdict would be undecided, not pass" in said[0]


def test_a_bare_sensor_is_to_be_insulated_before_anything_is_added() -> None:
    bare = unit(accuracies={LINE: Accuracy(0.3, insulated=False)})
    said = insulate_first(bare, at(30.0))
    assert said is not None
    assert "up to 5.0 °F (2.8 K) too warm: insulate it over and read again before you add." in said
    assert insulate_first(unit(), at(30.0)) is None
    assert insulate_first(bare, at(30.0, suction_line_K=math.nan)) is None
    assert insulate_first(bare, at(30.0, outdoor_db_K=from_F(60.0))) is None


def test_every_reason_is_a_whole_sentence() -> None:
    for metering in (Metering.FIXED_ORIFICE, Metering.THERMOSTATIC_VALVE):
        for accuracies in ({}, POOR, {LINE: Accuracy(0.3, insulated=False)}):
            for superheat in range(0, 40):
                for said in instrument_reasons(unit(metering, accuracies=accuracies), at(superheat, 12.5)):
                    assert said[0].isupper(), said
                    assert said.endswith("."), said


@given(
    st.sampled_from(["suction_pressure_Pa", LINE, "indoor_wb_K", "outdoor_db_K", "liquid_line_K"]),
    st.one_of(st.none(), st.floats(allow_nan=True, allow_infinity=True)),
)
@settings(max_examples=200, deadline=None)
def test_no_reading_makes_the_reasons_fail(channel: str, value: float | None) -> None:
    instrument_reasons(unit(), replace(at(14.0), **{channel: value}))  # type: ignore[arg-type]


@given(
    st.floats(20, 60),
    st.floats(2, 40),
    st.sampled_from(["R-410A", "R-22", "R-32", "R-134a", "R-407C", "R-454B"]),
)
@settings(max_examples=100, deadline=None)
def test_the_slope_carries_a_limit_as_far_as_the_curve_itself_does(
    dew_F: float, superheat_F: float, refrigerant: str
) -> None:
    shipped = curve(refrigerant)
    pressure_Pa = shipped.dew_pressure_Pa(from_F(dew_F))
    parts = superheat_uncertainty(
        dew_slope_K_per_Pa=shipped.dew_slope_K_per_Pa(pressure_Pa),
        suction_pressure_Pa=pressure_Pa,
        suction_line_K=from_F(dew_F + superheat_F),
        accuracies={},
    ).parts
    moved_K = [
        shipped.dew_temperature_K(pressure_Pa + sign * parts[0].limit) - from_F(dew_F) for sign in (1, -1)
    ]
    # The curve bends: the two sides differ, and the slope lies between them.
    assert moved_K[0] <= abs(parts[0].effect_K) <= -moved_K[1]
    assert abs(parts[0].effect_K) == pytest.approx((moved_K[0] - moved_K[1]) / 2.0, rel=0.02)


def test_a_bare_sensor_leaves_more_room_below_the_superheat_than_above_it() -> None:
    # GUM 4.3.8 (MEMORY): between nothing and b too warm is b/2 ± b/2; 2.5 + root(2.05² + 2.5²) = 5.73.
    bare = {LINE: Accuracy(1.3 * K_PER_F, 0.001, insulated=False)}
    off = superheat_uncertainty(
        dew_slope_K_per_Pa=0.439 * K_PER_F / PA_PER_PSI,
        suction_pressure_Pa=9e5,
        suction_line_K=from_F(52.0),
        accuracies=bare,
        surroundings_K=from_F(95.0),
    )
    assert off.total_K / K_PER_F == pytest.approx(2.05, abs=0.01)
    assert off.below_K / K_PER_F == pytest.approx(5.73, abs=0.02)
    assert off.reads_high_K == WARM_BIAS_K


def test_a_bare_sensor_is_no_warmer_than_the_air_around_it() -> None:
    bare = {LINE: Accuracy(1.0, insulated=False)}

    def bias_F(air_F: float) -> float:
        return (
            superheat_uncertainty(
                dew_slope_K_per_Pa=1e-5,
                suction_pressure_Pa=9e5,
                suction_line_K=from_F(52.0),
                accuracies=bare,
                surroundings_K=from_F(air_F),
            ).reads_high_K
            / K_PER_F
        )

    assert bias_F(55.0) == pytest.approx(3.0)
    assert bias_F(50.0) == 0.0


def test_a_bare_sensor_never_lets_superheat_pass_that_may_be_too_low() -> None:
    fine = {
        **{channel: replace(each, fixed=each.fixed / 10) for channel, each in POOR.items()},
        LINE: Accuracy(0.1),
    }
    bare = {**fine, LINE: Accuracy(0.1, insulated=False)}
    assert interpret(unit(accuracies=fine), at(9.0)).verdict is Verdict.PASS
    assert interpret(unit(accuracies=bare), at(9.0)).verdict is Verdict.UNDECIDED
    # Too low by more than the tolerance already: a warm sensor makes that only worse.
    assert interpret(unit(accuracies=bare), at(5.0)).verdict is Verdict.FAIL
    assert "because the suction-line sensor is not insulated" in " ".join(
        interpret(unit(accuracies=bare), at(9.0)).reasons
    )


@given(st.floats(-20, 20), st.floats(0, 20), st.floats(0, 10), st.floats(0, 10))
def test_undecided_is_exactly_the_guard_band_of_each_side(
    gap: float, tolerance: float, above: float, below: float
) -> None:
    verdict = judge(gap, tolerance, above, below)
    assert (verdict is Verdict.PASS) == (gap + above <= tolerance and gap - below >= -tolerance)
    assert (verdict is Verdict.FAIL) == (gap - below > tolerance or gap + above < -tolerance)


def test_a_one_sided_limit_looks_at_the_side_that_faces_it() -> None:
    assert judge_limit(8.0, Bound.AT_LEAST, 5.0, 9.0, 2.0) is Verdict.PASS
    assert judge_limit(8.0, Bound.AT_LEAST, 5.0, 1.0, 4.0) is Verdict.UNDECIDED
    assert judge_limit(8.0, Bound.AT_MOST, 10.0, 1.0, 9.0) is Verdict.PASS
    with pytest.raises(FigureError, match="half width"):
        judge_limit(8.0, Bound.AT_MOST, 10.0, 1.0, -1.0)


def test_a_coarse_scale_adds_half_of_its_division() -> None:
    # GUM F.2.2.1 (MEMORY): a display moving by δ hides half of δ to each side.
    stated = {LINE: Accuracy(0.3, division=0.8)}
    assert limit_of(LINE, 280.0, stated) == pytest.approx(0.5)
    assert limit_of(LINE, 280.0, {LINE: Accuracy(0.3)}) == 0.3
    with pytest.raises(FigureError, match="half width"):
        limit_of(LINE, 280.0, {LINE: Accuracy(0.3, division=-1.0)})


def test_a_reading_past_its_instrument_is_told_and_not_used() -> None:
    low_range = {"suction_pressure_Pa": Accuracy(1000.0, lowest=101_325.0, highest=790_000.0)}
    appliance, now = unit(accuracies=low_range), at(12.0)
    meaning, demands = weigh(appliance, now)
    assert meaning.superheat_K is None
    assert meaning.verdict is Verdict.UNDECIDED
    assert demands == ()
    assert any(
        "suction pressure lies outside the range of its instrument" in each for each in meaning.reasons
    )
    assert any("suction pressure lies outside the range" in each for each in unusable(appliance, now))
    wide = {"suction_pressure_Pa": Accuracy(1000.0, lowest=101_325.0, highest=3.5e6)}
    assert interpret(unit(accuracies=wide), now).superheat_K is not None


def asked(**instruments: object) -> str:
    """One line of `advise` with these instruments."""
    rounds = [{"net_charged_kg": "0", "minutes_since_change": 15, "suction_pressure_Pa_gauge": "816000"}]
    return json.dumps(
        {
            "refrigerant": "R-410A", "metering": "fixed orifice", "nameplate_charge_kg": "3.6",
            "site_pressure_Pa": "101325", "rounds": rounds, "instruments": instruments,
        }
    )  # fmt: skip


def test_an_instrument_may_be_stated_by_span_range_division_and_insulation() -> None:
    # A gauge of 250 psi, grade B: 3 % of span at its ends (MEMORY, ASME B40.100): ± 7.5 psi.
    psi = PA_PER_PSI
    gauge = {
        "fixed": "0",
        "of_span": "0.03",
        "lowest": "0",
        "highest": f"{250 * psi}",
        "division": f"{5 * psi}",
    }
    sensor = {"fixed": "0.3", "insulated": False}
    appliance, _ = read(asked(suction_pressure_Pa_gauge=gauge, suction_line_K=sensor))
    stated = appliance.accuracies["suction_pressure_Pa"]
    assert stated.fixed == pytest.approx(7.5 * psi)
    assert stated.lowest == 101_325.0
    assert stated.highest == pytest.approx(101_325.0 + 250 * psi)
    limit = limit_of("suction_pressure_Pa", 9e5, appliance.accuracies)
    assert limit == pytest.approx(math.hypot(7.5, 2.5) * psi)
    assert appliance.accuracies[LINE].insulated is False


def test_a_reading_past_its_instrument_stops_the_advice() -> None:
    short = {"fixed": "7000", "lowest": "0", "highest": "700000"}
    said = answer(asked(suction_pressure_Pa_gauge=short))
    assert (said["action"], said["suspect"]) == ("stop", "bad reading")
    assert "outside the range of its instrument" in str(said["reasons"])


@pytest.mark.parametrize(
    ("key", "stated", "words"),
    [
        ("suction_pressure_Pa", {"fixed": "1", "of_span": "0.02"}, "lowest and highest"),
        ("suction_pressure_Pa", {"fixed": "1", "of_span": "2"}, "a share from 0 to 1"),
        ("suction_pressure_Pa", {"fixed": "1", "lowest": "9", "highest": "3"}, "lower figure first"),
        ("liquid_line_K", {"fixed": "1", "insulated": True}, "only the suction line"),
        ("suction_line_K", {"fixed": "1", "division": "-1"}, "half width"),
        ("suction_line_K", {"fixed": "1", "insulated": "no"}, "bool"),
    ],
)
def test_an_instrument_that_makes_no_sense_is_refused(
    key: str, stated: dict[str, object], words: str
) -> None:
    with pytest.raises(ChargewrightError, match=words):
        answer(asked(**{key: stated}))


def test_an_instrument_without_a_range_has_none() -> None:
    assert not outside_range(LINE, 1e6, {})
    assert not outside_range(LINE, 1e6, {LINE: Accuracy(1.0)})
    assert outside_range(LINE, 200.0, {LINE: Accuracy(1.0, lowest=233.0)})


def test_the_verdict_stands_as_in_the_worked_examples_of_jcgm_106() -> None:
    """JCGM 106:2012, 7.3 and 7.4 (MEMORY of three worked examples and their conformance probabilities).

    With a guard band of 1.645 u a value is accepted exactly when its probability is at least 95 %.
    """
    zener = judge_limit(-5.47, Bound.AT_MOST, -5.40, 1.645 * 0.05)  # p = 0.92
    burst = judge_limit(509.7, Bound.AT_LEAST, 490.0, 1.645 * 8.6)  # p = 0.99
    oil = judge(13.6 - 14.4, 1.9, 1.645 * 1.8)  # 12.5 to 16.3, p = 0.66
    assert (zener, burst, oil) == (Verdict.UNDECIDED, Verdict.PASS, Verdict.UNDECIDED)
    for probability, z in ((0.92, 0.07 / 0.05), (0.99, 19.7 / 8.6)):
        assert (1.0 + math.erf(z / math.sqrt(2.0))) / 2.0 == pytest.approx(probability, abs=0.005)
