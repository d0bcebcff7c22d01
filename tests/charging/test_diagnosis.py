"""What the readings say about each trouble, against published sign tables."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from guide.charging.compression import EXPONENTS, discharge_K
from guide.charging.diagnosis import diagnose, suspect_now
from guide.charging.evidence import Feature
from guide.charging.fault_signs import COLUMNS
from guide.charging.meaning import interpret
from guide.charging.round import Appliance, Metering, Round, Verdict
from guide.charging.signature import SUSPECTS, Finding
from guide.charging.trouble_words import TESTS, expected_sign
from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.wording import K_PER_F, from_F, to_F
from guide.refrigerant.saturation import curve
from tests.charging.linear_plant import orifice_unit, r410a, readings, valve_unit
from tests.charging.troubled_rounds import (
    SIGNS,
    first_sign,
    published,
    pushed,
    sound,
    trade,
    trouble,
    with_signs,
    without,
)

ROWS = published()
FOUND = [row for row in ROWS if row[1] == "FOUND"]
READ_ALONE = [
    Feature.SUPERHEAT, Feature.SUBCOOLING, Feature.DISCHARGE, Feature.CONDENSER_RISE, Feature.SPLIT
]  # fmt: skip


def suspected(unit: Appliance, *rounds: Round) -> Finding | None:
    return suspect_now(unit, rounds, interpret(unit, rounds[-1]))


def ranked(unit: Appliance, *rounds: Round) -> list[str]:
    return [one.suspect for one in diagnose(unit, rounds).suspects]


@pytest.mark.parametrize(("name", "mark", "signs"), ROWS, ids=[row[0] for row in ROWS])
def test_what_an_orifice_trouble_pushes_has_the_signs_of_the_rule_table(
    name: str, mark: str, signs: tuple[str, ...]
) -> None:
    """Rossi and Braun, FOUND in a Purdue report on rooftop units, p. 213; two rows MEMORY."""
    for column, sign in zip(COLUMNS, signs, strict=True):
        ours = expected_sign(trouble(Metering.FIXED_ORIFICE, name), column, orifice=True)
        if mark == "FOUND" and column is Feature.SUBCOOLING and name == "low indoor airflow":
            continue  # the trade matrix says the opposite (FOUND): it is left to lie either way
        assert ours is SIGNS[first_sign(sign)], (name, column)


@pytest.mark.parametrize(
    ("condition", "name"),
    [
        ("low charge", "undercharge"),
        ("overcharge", "overcharge"),
        ("low indoor airflow", "low indoor airflow"),
        ("mild low outdoor airflow", "dirty condenser"),
        ("mild restriction, factory charge", "liquid-line restriction"),
        ("weak compressor valves", "compressor valve leak"),
    ],
)
def test_superheat_and_pressures_follow_the_trade_matrix_too(condition: str, name: str) -> None:
    """FOUND, a trade forum's matrix, lower authority."""
    row = next(row for row in trade() if row["condition"] == condition)
    for column, feature in (
        ("superheat", Feature.SUPERHEAT),
        ("suction_pressure", Feature.EVAPORATING),
        ("head_pressure", Feature.CONDENSING),
    ):
        ours = expected_sign(trouble(Metering.FIXED_ORIFICE, name), feature, orifice=True)
        assert ours.value in row[column], (condition, column)


@pytest.mark.parametrize(("name", "mark", "signs"), FOUND, ids=[row[0] for row in FOUND])
def test_a_round_with_the_published_signs_names_its_trouble(
    name: str, mark: str, signs: tuple[str, ...]
) -> None:
    unit = orifice_unit()
    now = with_signs(unit, signs)
    seen = {one.feature: one.sign for one in diagnose(unit, [now]).evidence}
    assert [seen[column] for column in COLUMNS] == [SIGNS[sign] for sign in signs]
    diagnosis = diagnose(unit, [now])
    assert diagnosis.suspects[0].suspect == name
    assert diagnosis.suspects[0].weight > 0.75
    assert len(diagnosis.suspects[0].speaks_for) >= 3
    found = suspected(unit, now)
    if name == "undercharge":
        assert found is None
    else:
        assert found is not None
        assert found.suspect == name


@pytest.mark.parametrize("missing", [*combinations(READ_ALONE, 1), *combinations(READ_ALONE, 2)])
@pytest.mark.parametrize(("name", "mark", "signs"), FOUND, ids=[row[0] for row in FOUND])
def test_with_readings_missing_the_trouble_stays_among_the_first_two_or_is_asked_for(
    name: str, mark: str, signs: tuple[str, ...], missing: tuple[Feature, ...]
) -> None:
    unit = orifice_unit()
    diagnosis = diagnose(unit, [without(with_signs(unit, signs), *missing)])
    assert name in [one.suspect for one in diagnosis.suspects[:2]]
    if diagnosis.suspects[0].suspect != name:
        assert diagnosis.to_read
        assert any(name in words for words in diagnosis.to_read)


@pytest.mark.parametrize("unit", [orifice_unit(), valve_unit()], ids=["orifice", "valve"])
@pytest.mark.parametrize("percent", [-30.0, -20.0, -12.0, 12.0, 20.0, 30.0])
def test_a_wrong_charge_is_named_as_that_and_may_be_moved(unit: Appliance, percent: float) -> None:
    """Slopes in the middle of the reference's PROPOSED bands, section 6.4."""
    orifice = unit.metering is Metering.FIXED_ORIFICE
    short = min(0.0, percent)
    now = pushed(
        unit,
        {
            Feature.SUPERHEAT: max(-12.0, -1.0 * percent) if orifice else -1.2 * min(0.0, percent + 20.0),
            Feature.SUBCOOLING: max(-10.0, (0.3 if orifice else 0.6) * percent),
            Feature.CONDENSING: 0.25 * percent,
            Feature.EVAPORATING: (0.2 if orifice else 0.05) * percent,
            Feature.SPLIT: 0.1 * short,
        },
    )
    now = replace(now, discharge_line_K=None, condenser_out_db_K=None)
    diagnosis = diagnose(unit, [now])
    wanted, other = ("undercharge", "overcharge") if percent < 0.0 else ("overcharge", "undercharge")
    assert diagnosis.suspects[0].suspect == wanted
    assert diagnosis.weight(other) < 0.02
    assert suspected(unit, now) is None


@pytest.mark.parametrize("unit", [orifice_unit(), valve_unit()], ids=["orifice", "valve"])
def test_a_sound_system_is_called_sound(unit: Appliance) -> None:
    now, _ = sound(unit)
    diagnosis = diagnose(unit, [now])
    assert diagnosis.nothing_wrong > 0.75
    assert all(one.verdict is not Verdict.FAIL for one in diagnosis.preconditions)
    assert suspected(unit, now) is None


def at_rest(now: Round, *, saturation_F: float, low_off_psi: float = 0.0) -> Round:
    standing_Pa = r410a().bubble_pressure_Pa(from_F(saturation_F))
    return replace(
        now, standing_high_Pa=standing_Pa, standing_low_Pa=standing_Pa + low_off_psi * PA_PER_PSI,
        standing_ambient_K=from_F(95.0),
    )  # fmt: skip


@pytest.mark.parametrize("unit", [orifice_unit(), valve_unit()], ids=["orifice", "valve"])
def test_a_pressure_at_rest_above_saturation_is_another_gas_even_when_the_charge_looks_right(
    unit: Appliance,
) -> None:
    """Non-condensables: condensing against saturation with the compressor off (FOUND, Purdue report)."""
    found = suspected(unit, at_rest(readings(), saturation_F=105.0))
    assert found is not None
    assert found.suspect == "non-condensables"
    assert "105.0 °F" in found.reason
    for saturation_F in (79.0, 88.0, 95.0, 97.0):  # anywhere between both coils, and a sunny one
        assert suspected(unit, at_rest(readings(), saturation_F=saturation_F)) is None


def test_the_newest_pressure_at_rest_counts_for_later_rounds() -> None:
    unit = orifice_unit()
    rounds = [
        at_rest(readings(), saturation_F=105.0),
        readings(superheat_F=25.0, subcooling_F=6.0, net_charged_kg=0.06),
    ]
    found = suspected(unit, *rounds)
    assert found is not None
    assert found.suspect == "non-condensables"


def test_gas_and_too_much_refrigerant_are_told_apart_by_the_pressure_at_rest() -> None:
    unit = orifice_unit()
    now = pushed(
        unit, {Feature.SUPERHEAT: -8.0, Feature.SUBCOOLING: 6.0, Feature.CONDENSING: 7.0,
               Feature.EVAPORATING: 2.0}
    )  # fmt: skip
    now = replace(now, discharge_line_K=None, condenser_out_db_K=None)
    unread = diagnose(unit, [now])
    assert {one.suspect for one in unread.suspects[:2]} == {"overcharge", "non-condensables"}
    assert any("machine at rest" in words for words in unread.to_read)
    assert ranked(unit, at_rest(now, saturation_F=95.0))[0] == "overcharge"
    assert ranked(unit, at_rest(now, saturation_F=107.0))[0] == "non-condensables"


def test_measured_airflow_below_300_of_400_cfm_a_ton_is_low_airflow() -> None:
    """FOUND, RA3 2008 p. 16."""
    for share, expected in ((0.7, "low indoor airflow"), (0.8, None), (1.0, None)):
        found = suspected(orifice_unit(), replace(readings(), indoor_airflow_share=share))
        assert (found.suspect if found else None) == expected


def test_a_gauge_that_is_not_zeroed_shows_when_the_machine_rests() -> None:
    unit = orifice_unit()
    off_F = 9.0  # 20 psi at the suction side
    now = pushed(unit, {Feature.EVAPORATING: off_F, Feature.SUPERHEAT: -off_F})
    first = diagnose(unit, [at_rest(now, saturation_F=90.0, low_off_psi=20.0)]).suspects[0]
    assert first.suspect == "bad reading"
    assert "low-side gauge reads too high" in first.test


def test_a_clamp_that_reads_the_air_is_a_bad_reading_and_nothing_is_added() -> None:
    unit = orifice_unit()
    now = replace(readings(dew_F=45.0, bubble_F=115.0, supply_db_F=61.7), suction_line_K=from_F(94.0))
    found = suspected(unit, now)
    assert found is not None
    assert found.suspect == "bad reading"
    assert "clamp" in found.reason


def test_a_restriction_on_a_valve_system_needs_no_discharge_line() -> None:
    """A maker's valve matrix, FOUND: subcooling high and superheat high, the restriction side."""
    unit = valve_unit()
    now = pushed(
        unit, {Feature.SUPERHEAT: 14.0, Feature.SUBCOOLING: 5.0, Feature.EVAPORATING: -9.0,
               Feature.SPLIT: -4.0}
    )  # fmt: skip
    found = suspected(unit, replace(now, discharge_line_K=None, condenser_out_db_K=None))
    assert found is not None
    assert found.suspect == "liquid-line restriction"


def test_every_suspect_is_weighed_with_whole_sentences_and_a_test() -> None:
    diagnosis = diagnose(orifice_unit(), [with_signs(orifice_unit(), FOUND[3][2])])
    assert {one.suspect for one in diagnosis.suspects} == set(SUSPECTS) == set(TESTS)
    assert sum(one.weight for one in diagnosis.suspects) + diagnosis.nothing_wrong == pytest.approx(1.0)
    for one in diagnosis.suspects:
        assert one.test.endswith(".")
        assert not any("would have it" in words for words in one.speaks_for)
        assert all("would have it" in words for words in one.speaks_against)
        for words in (*one.speaks_for, *one.speaks_against):
            assert words[0].isupper()
            assert words.endswith(".")
            assert any(figure.isdigit() for figure in words) or "outdoor air" in words


def test_what_must_be_in_order_comes_airflow_first_and_charge_last() -> None:
    """PROPOSED order of the reference, section 7: airflow, condenser, pressure at rest, restriction."""
    unit = orifice_unit()
    names = [one.name for one in diagnose(unit, [readings()]).preconditions]
    assert names == ["airflow", "condenser", "no air in it", "liquid line free"]
    bare = replace(readings(), supply_db_K=None)
    first = diagnose(unit, [bare]).first_to_check
    assert first is not None
    assert (first.name, first.verdict) == ("airflow", Verdict.UNDECIDED)
    choked = readings(supply_db_F=54.0, bubble_F=140.0)
    first = diagnose(unit, [choked]).first_to_check
    assert first is not None
    assert (first.name, first.verdict) == ("airflow", Verdict.FAIL)
    dirty = readings(supply_db_F=61.7, bubble_F=140.0)
    first = diagnose(unit, [dirty]).first_to_check
    assert first is not None
    assert (first.name, first.verdict) == ("condenser", Verdict.FAIL)


def test_no_rounds_say_nothing() -> None:
    diagnosis = diagnose(orifice_unit(), [])
    assert diagnosis.evidence == ()
    assert diagnosis.nothing_wrong > max(one.weight for one in diagnosis.suspects)
    meaning = interpret(orifice_unit(), Round(0.0, 0.0))
    assert suspect_now(orifice_unit(), [], meaning) is None


@pytest.mark.parametrize(
    ("refrigerant", "discharge_F"), [("R-410A", 170), ("R-32", 201), ("R-454B", 179), ("R-407C", 165)]
)
def test_the_usual_discharge_line_is_near_the_prototypes(refrigerant: str, discharge_F: float) -> None:
    """CALCULATED with the plant prototype of the reference (its notes, section 7)."""
    pressures_psig = {"R-410A": (125, 377), "R-32": (128, 387), "R-454B": (114, 347), "R-407C": (74, 253)}
    low, high = (psig + 14.696 for psig in pressures_psig[refrigerant])
    dew_K = curve(refrigerant).dew_temperature_K(low * PA_PER_PSI)
    ours_K = discharge_K(refrigerant, suction_K=dew_K + 12.0 * K_PER_F, pressure_ratio=high / low)
    assert to_F(ours_K) == pytest.approx(discharge_F, abs=8.0)


@pytest.mark.parametrize("refrigerant", EXPONENTS)
def test_discharge_exponents_are_those_of_the_property_library(refrigerant: str) -> None:
    """CoolProp 8, 45 °F saturated suction, 12 °F superheat, 115 °F condensing, 70 % efficiency, 7 % loss."""
    from CoolProp.CoolProp import PropsSI

    name = {"R-410A": "R410A.mix", "R-454B": "R454B.mix", "R-407C": "R407C.mix"}.get(
        refrigerant, refrigerant.replace("-", "")
    )
    low_Pa = PropsSI("P", "T", from_F(45.0), "Q", 1, name)
    high_Pa = PropsSI("P", "T", from_F(115.0), "Q", 0, name)
    suction_K = from_F(57.0)
    enthalpy = PropsSI("H", "T", suction_K, "P", low_Pa, name)
    entropy = PropsSI("S", "T", suction_K, "P", low_Pa, name)
    work = (PropsSI("H", "S", entropy, "P", high_Pa, name) - enthalpy) / 0.70 * 0.93
    expected_K = PropsSI("T", "H", enthalpy + work, "P", high_Pa, name)
    ours_K = discharge_K(refrigerant, suction_K=suction_K, pressure_ratio=high_Pa / low_Pa)
    assert ours_K == pytest.approx(expected_K, abs=0.5)
