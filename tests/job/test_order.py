"""An order is checked once, and every refusal names the line and what would do."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.errors import ChargewrightError
from guide.job.assess import assess
from guide.job.order import read_order
from guide.procedure.model import OrderFigure
from tests.job.small import ORDER, a_round, order


def test_an_order_gives_quantities_in_si_and_keeps_what_was_typed() -> None:
    """NIST SP 811: 1 lb = 0.453 592 37 kg exactly (from memory)."""
    read = order()

    assert read.nameplate_charge.si == Decimal("3.62873896")
    assert read.nameplate_charge.typed == "8 lb 0 oz"
    assert read.facts()["safety group"] == "A1"


def test_site_pressure_follows_the_standard_atmosphere() -> None:
    """ISO 2533 / ICAO standard atmosphere: 84 556 Pa at 1500 m (table value, from memory)."""
    read = order(ORDER.replace("altitude: 120 ft", "altitude: 1500 m"))

    assert abs(float(read.site_pressure_Pa) - 84_556) < 5


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("nameplate_charge: 8 lb 0 oz", "nameplate_charge: 8", "write 8lb"),
        ("nameplate_charge: 8 lb 0 oz", "nameplate_charge: 3,2 kg", "3.2"),
        ("nameplate_charge: 8 lb 0 oz", "nameplate_charge: 900 kg", "outside"),
        ("refrigerant: R-410A\n  nameplate", "refrigerant: R-41OA\n  nameplate", "R-410A"),
        ("altitude: 120 ft, ", "altitude: 120 ft, pressure: 29.9 inHga, ", "either altitude or pressure"),
        ("altitude: 120 ft, ", "pressure: 29.9 inHg, ", "inHga"),
        ("altitude: 120 ft, ", "", "either altitude or pressure"),
        ("  receiver: none\n", "", "receiver: is missing"),
        ("receiver: none", "receiver: perhaps", "none"),
        ("capacity: fixed", "capacity: fixed\n  colour: green", "not an entry of an order"),
        ("id: R-3", "id: N-14", "one name"),
        ("division: 0.25 oz", "division: 0 oz", "above zero"),
        ("nature: practice", "nature: pretend", "practice"),
    ],
)
def test_what_cannot_be_used_is_named_with_its_line(old: str, new: str, words: str) -> None:
    assert old in ORDER

    with pytest.raises(ChargewrightError) as caught:
        order(ORDER.replace(old, new))

    message = str(caught.value)
    assert message.startswith("order.yaml:")
    assert words in message
    assert "\n" not in message


@given(st.binary(max_size=400))
def test_any_bytes_are_an_order_or_a_one_line_refusal(data: bytes) -> None:
    with pytest.raises(ChargewrightError) as caught:
        read_order(data, "order.yaml")

    assert "\n" not in str(caught.value)


@given(st.sampled_from(ORDER.splitlines()), st.text(max_size=30))
def test_a_mangled_line_never_leaves_a_traceback(line: str, text: str) -> None:
    key = line.split(":", maxsplit=1)[0]
    mangled = ORDER.replace(line, f"{key}: {text}")
    message = ""
    try:
        read_order(mangled.encode("utf-8", "surrogatepass"), "order.yaml")
    except ChargewrightError as error:
        message = str(error)

    assert "\n" not in message


def test_a_stated_instrument_narrows_the_uncertainty_of_what_it_reads() -> None:
    """Superheat of R-410A at 40 °F with ±1 psi and ±0.5 °F: 0.7 °F (CALCULATED in the uncertainty table)."""
    instruments = """\
instruments:
  - {id: G-1, channels: [suction_pressure], accuracy: 1 psi}
  - {id: T-1, channels: [suction_line], accuracy: 0.5 dF}
"""
    better = order(ORDER + instruments).appliance()
    rounds = assess(
        better, [], a_round(), minutes_since_change=Decimal(15), net_charged_kg=Decimal(0)
    ).superheat_uncertainty_K
    plain = assess(
        order().appliance(), [], a_round(), minutes_since_change=Decimal(15), net_charged_kg=Decimal(0)
    ).superheat_uncertainty_K

    assert rounds is not None
    assert plain is not None
    assert abs(float(rounds) * 1.8 - 0.67) < 0.05
    assert abs(float(plain) * 1.8 - 2.05) < 0.05


GEAR = """\
line_set: {length: 40ft, covered: 15ft, adder: 0.6oz/ft}
recovery_machine: {id: M-1, made: "2021-05-01", rating: flammable, calibration_due: "2026-11-01"}
vacuum_pump: {id: P-1, rating: non-flammable}
detector: {id: D-1, calibration_due: "2027-01-01"}
nitrogen_regulator: {id: N2-1, relief: 450psig}
"""


def test_machines_and_line_set_become_facts() -> None:
    facts = order(ORDER + GEAR).facts()

    assert facts["recovery machine rating"] == "flammable"
    assert facts["vacuum pump rating"] == "non-flammable"
    assert facts["line set"] == "named"
    assert order().facts()["recovery machine rating"] == "unknown"
    assert order().facts()["line set"] == "none named"
    assert order().facts()["target subcooling"] == "none named"


def test_the_charge_to_weigh_in_counts_the_line_set() -> None:
    """8 lb 0 oz and (40 - 15) ft at 0.6 oz/ft, a maker's usual adder for 3/8 in: 8 lb 15 oz (CALCULATED)."""
    named = order(ORDER + GEAR).figure(OrderFigure.WEIGH_IN_CHARGE)
    bare = order().figure(OrderFigure.WEIGH_IN_CHARGE)

    assert named is not None
    assert abs(named.si - Decimal("4.05398180")) < Decimal("1e-6")
    assert named.typed == "8 lb 15.00 oz"
    assert bare == order().nameplate_charge


@pytest.mark.parametrize(
    ("refrigerant", "made", "level_Pa"),
    [("R-410A", "2021-05-01", 101_325), ("R-134a", "2021-05-01", 101_325 - 10 * 3386.389),
     ("R-134a", "1993-11-14", 101_325 - 4 * 3386.389)],
)  # fmt: skip
def test_the_recovery_level_follows_the_machine_and_the_refrigerant(
    refrigerant: str, made: str, level_Pa: float
) -> None:
    """40 CFR 82.156(a), Table 1, as copied in the regulations reference 1.4 (FOUND)."""
    text = ORDER.replace("refrigerant: R-410A", f"refrigerant: {refrigerant}", 1)
    level = order(text + GEAR.replace("2021-05-01", made)).figure(OrderFigure.RECOVERY_LEVEL)

    assert level is not None
    assert float(level.si) == pytest.approx(level_Pa, abs=0.01)
    assert order().figure(OrderFigure.RECOVERY_LEVEL) is None


def test_whatever_is_calibrated_is_past_due_the_day_after() -> None:
    read = order(ORDER + GEAR)

    assert read.past_due(date(2026, 11, 1)) == ()
    assert read.past_due(date(2026, 11, 25)) == (("recovery machine M-1", date(2026, 11, 1)),)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("0.6oz/ft", "0.6oz", "write 0.6oz/ft"),
        ("0.6oz/ft", "0.6oz/lb", "length"),
        ("0.6oz/ft", "-9oz/ft", "not negative"),
        ("covered: 15ft", "covered: 600m", "check the unit"),
        ("40ft, covered: 15ft, adder: 0.6oz", "0ft, covered: 150ft, adder: 2oz", "check charge and line set"),
        ("adder: 0.6oz", "adder: 0.6kg", "check length and adder"),
        ("2021-05-01", "1821-05-01", "check its plate"),
        ("rating: flammable", "rating: yes", "flammable"),
        ("450psig", "450", "psig"),
        ("450psig", "2psia", "above the atmosphere"),
    ],
)  # fmt: skip
def test_gear_that_cannot_be_used_is_named_with_its_line(old: str, new: str, words: str) -> None:
    assert old in GEAR

    with pytest.raises(ChargewrightError) as caught:
        order(ORDER + GEAR.replace(old, new))

    assert str(caught.value).startswith("order.yaml:")
    assert words in str(caught.value)


def test_a_valve_keeps_its_makers_superheat_range_or_else_the_general_one() -> None:
    """4 to 25 °F without a maker's range, FOUND in Title 24, 2008 Residential Appendices RA3.2, p. 16."""
    unit = "  capacity: fixed\n"
    own = order(
        ORDER.replace(unit, f"{unit}  superheat_minimum: 7dF\n  superheat_maximum: 9dF\n")
    ).appliance()
    general = order().appliance()

    assert [round(end * 1.8, 3) for end in own.superheat_range_K] == [7, 9]
    assert [round(end * 1.8, 3) for end in general.superheat_range_K] == [4, 25]


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("superheat_minimum: 7dF", "give minimum and maximum"),
        ("superheat_maximum: 7dF", "give minimum and maximum"),
        ("superheat_minimum: 9dF\n  superheat_maximum: 7dF", "not below the maximum"),
    ],
)
def test_half_a_superheat_range_is_refused(entry: str, words: str) -> None:
    unit = "  capacity: fixed\n"
    with pytest.raises(ChargewrightError, match=words):
        order(ORDER.replace(unit, f"{unit}  {entry}\n"))
