"""An order that lacks what the work needs, or names a machine that must not be used, is told so in words."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from guide.job.fit import lacking, unsafe_machine
from tests.job.opened import FULL_ORDER, opened_procedure
from tests.job.small import order


def test_a_complete_order_lacks_nothing() -> None:
    assert lacking(order(FULL_ORDER), opened_procedure()) is None
    assert unsafe_machine(order(FULL_ORDER)) is None


@pytest.mark.parametrize(
    ("entry", "line"),
    [
        ("low_side_design_pressure", "  low_side_design_pressure: .*\n"),
        ("line_set", "line_set: .*\n"),
        ("recovery_machine", "recovery_machine: .*\n"),
        ("vacuum_pump", "vacuum_pump: .*\n"),
    ],
)
def test_what_a_procedure_needs_and_the_order_leaves_out_is_named(entry: str, line: str) -> None:
    needing = replace(opened_procedure(), needs_order=(entry,))
    without = order(re.sub(line, "", FULL_ORDER))

    words = lacking(without, needing)

    assert words is not None
    assert f"needs {entry}" in words
    assert f"{entry}: " in words


def test_a_limit_on_a_figure_nobody_wrote_names_the_step() -> None:
    without = order(re.sub("  low_side_design_pressure: .*\n", "", FULL_ORDER))

    words = lacking(without, replace(opened_procedure(), needs_order=()))

    assert words is not None
    assert words.startswith("step T.1 goes by the low side design pressure")


@pytest.mark.parametrize("refrigerant", ["R-32", "R-454B"])
def test_a_flammable_refrigerant_bars_a_machine_that_is_not_made_for_it(refrigerant: str) -> None:
    """ASHRAE 34 class A2L for both, as in the catalogue."""
    text = FULL_ORDER.replace("refrigerant: R-410A", f"refrigerant: {refrigerant}")

    assert "M-1 is not made for" in str(unsafe_machine(order(text)))
    rated = text.replace('2021-05-01", rating: non-flammable', '2021-05-01", rating: flammable')
    assert "P-1 is not made for" in str(unsafe_machine(order(rated)))
    assert unsafe_machine(order(text.replace("rating: non-flammable", "rating: flammable"))) is None


@pytest.mark.parametrize(
    ("refrigerant", "words"),
    [("R-290", "is flammable (A3)"), ("R-405A", "may be flammable (its safety group is not known)")],
)
def test_what_may_burn_bars_it_too(refrigerant: str, words: str) -> None:
    """ASHRAE 34 (MEMORY): propane is of class A3, R-405A was never given a class."""
    text = FULL_ORDER.replace("refrigerant: R-410A", f"refrigerant: {refrigerant}")

    assert words in str(unsafe_machine(order(text)))
    assert unsafe_machine(order(text.replace("rating: non-flammable", "rating: flammable"))) is None


@pytest.mark.parametrize(("relief", "barred"), [("250psig", False), ("251psig", True), ("17barg", False)])
def test_a_regulator_that_relieves_above_the_low_side_is_barred(relief: str, barred: bool) -> None:
    """The order's nameplate says 250 psig on the low side, which is 17.2 bar (CALCULATED)."""
    words = unsafe_machine(order(FULL_ORDER + f"nitrogen_regulator: {{id: N2-1, relief: {relief}}}\n"))

    assert (words is not None) == barred
    if barred:
        assert "N2-1 opens its relief at 251psig, above the low-side design pressure of 250 psig" in str(
            words
        )
