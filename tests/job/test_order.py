"""An order is checked once, and every refusal names the line and what would do."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.errors import ChargewrightError
from guide.job.assess import assess
from guide.job.order import read_order
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
