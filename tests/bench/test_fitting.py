"""An order that a procedure is not for is told why, what to do instead, and which procedures are for it.

What takes the place of the loop, FOUND in Title 24, 2008 Residential Appendices RA3.2 (p. 10, 15): the charge
is weighed in; makers' charts where a maker gives one (charging reference sections 1.1 and 2).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.bench.fitting import why_not
from guide.job.order import Order, read_order
from guide.procedure import library

TEXT = (Path(__file__).resolve().parents[2] / "jobs" / "practice-valve.yaml").read_text(encoding="utf-8")
INSTEAD = "weigh the charge in, or use the maker's chart"


def order(old: str = "", new: str = "") -> Order:
    assert old in TEXT
    return read_order(TEXT.replace(old, new, 1).encode() if old else TEXT.encode(), "order.yaml")


def test_a_fitting_order_is_not_refused() -> None:
    assert why_not(order(), library.load("charge-valve-subcooling")) is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("receiver: none", "receiver: fitted", INSTEAD),
        ("capacity: fixed", "capacity: varies", INSTEAD),
        ("capacity: fixed", "capacity: unknown", "set the maker's test mode"),
        ("unitary air conditioner in cooling", "heat pump in heating", INSTEAD),
        ("unitary air conditioner in cooling", "refrigeration", INSTEAD),
    ],
)
def test_where_the_loop_does_not_apply_it_says_what_to_do_instead(old: str, new: str, words: str) -> None:
    said = why_not(order(old, new), library.load("charge-valve-subcooling"))

    assert said is not None
    assert words in said
    assert said.isprintable()


def test_the_other_metering_is_sent_to_its_own_procedure() -> None:
    said = why_not(
        order("metering: thermostatic valve", "metering: fixed orifice"),
        library.load("charge-valve-subcooling"),
    )

    assert said is not None
    assert "Procedures for this order: charge-fixed-orifice" in said
    assert INSTEAD not in said


def test_a_receiver_is_left_with_the_weighed_in_charge() -> None:
    said = why_not(order("receiver: none", "receiver: fitted"), library.load("charge-valve-subcooling"))

    assert said is not None
    assert said.endswith("Procedures for this order: open-circuit-weigh-in")


def test_a_faulty_file_in_the_library_does_not_hide_why(monkeypatch: pytest.MonkeyPatch) -> None:
    valve = library.load("charge-valve-subcooling")
    monkeypatch.setattr(library, "list_procedures", lambda: ("absent", "charge-fixed-orifice"))

    said = why_not(order("metering: thermostatic valve", "metering: fixed orifice"), valve)

    assert said is not None
    assert said.endswith("Procedures for this order: charge-fixed-orifice")
