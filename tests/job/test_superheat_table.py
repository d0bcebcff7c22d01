"""An order may carry the maker's own table of target superheat."""

from __future__ import annotations

import pytest

from guide.charging.wording import K_PER_F, from_F
from guide.errors import ChargewrightError
from tests.job.small import ORDER, order

UNIT = "  capacity: fixed\n"
TABLE = """\
  target_superheat_table:
    source: chart inside the unit's cover
    wet_bulb: 60F 64F 70F
    superheat:
      65F:  21dF 25dF 33dF
      85F:  – 11dF 22dF
      100F: "- - 15dF"
"""


def with_table(table: str) -> str:
    assert UNIT in ORDER
    return ORDER.replace(UNIT, UNIT + table)


def test_a_table_is_read_and_goes_with_the_appliance() -> None:
    unit = order(with_table(TABLE)).appliance()
    assert unit.target_table is not None
    target = unit.target_table.target(from_F(67.0), from_F(65.0))
    assert target.value_K == pytest.approx(29.0 * K_PER_F)
    assert "chart inside the unit's cover" in target.reasons[0]
    assert not unit.target_table.target(from_F(62.0), from_F(85.0)).valid


def test_without_a_stated_least_the_table_s_first_row_is_the_maker_s_least_outdoor_temperature() -> None:
    assert order(with_table(TABLE)).appliance().outdoor_minimum_K == pytest.approx(from_F(65.0), abs=1e-4)
    stated = order(with_table(TABLE + "  outdoor_minimum: 70F\n"))
    assert stated.appliance().outdoor_minimum_K == pytest.approx(from_F(70.0), abs=1e-4)
    assert order(ORDER).appliance().outdoor_minimum_K is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("60F 64F 70F", "60 64F 70F", "write 60"),
        ("65F:  21dF", "65:  21dF", "no unit"),
        ("11dF", "11F", "11F"),
        ("21dF 25dF 33dF", "21dF 25dF", "has 2 figures for 3"),
        ("85F:", "65.0F:", "two rows"),
        ("85F:", "60F:", "must rise"),
        ("22dF", "220dF", "check the unit"),
        ("    source: chart inside the unit's cover\n", "", "source: is missing"),
        ("    wet_bulb", "    colour: green\n    wet_bulb", "not an entry"),
        ("  target_superheat_table", "  target_superheat: 12dF\n  target_superheat_table", "keep the one"),
    ],
)
def test_a_table_that_cannot_be_used_is_named_with_its_line(old: str, new: str, words: str) -> None:
    assert old in TABLE
    with pytest.raises(ChargewrightError) as caught:
        order(with_table(TABLE.replace(old, new)))
    message = str(caught.value)
    assert message.startswith("order.yaml:")
    assert words in message
    assert "\n" not in message


def test_a_valve_takes_no_table_of_superheat() -> None:
    valve = with_table(TABLE).replace("metering: fixed orifice", "metering: thermostatic valve")
    with pytest.raises(ChargewrightError, match="target subcooling"):
        order(valve)
