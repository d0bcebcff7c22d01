"""Certification against the work: 40 CFR 82.161 as the regulations reference has it (FOUND, S13 and S72)."""

from __future__ import annotations

import pytest

from guide.job.certification import Certification, against_work, stated, wanted
from guide.job.exceptions import departures
from guide.job.order import Order, read_order
from tests.job.small import ORDER

REAL = ORDER.replace("nature: practice", "nature: real")


def _order(text: str = REAL) -> Order:
    return read_order(text.encode(), "order.yaml")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("608 Universal", {Certification.UNIVERSAL}),
        ("EPA 608 Type II", {Certification.TYPE_II}),
        ("type-2", {Certification.TYPE_II}),
        ("Type I and Type III", {Certification.TYPE_I, Certification.TYPE_III}),
        ("EU certificate, category I", {Certification.EUROPEAN}),
        ("EU certificate A2", {Certification.EUROPEAN}),
        ("none needed here", {Certification.NONE}),
        ("", {Certification.NONE}),
        ("apprentice", {Certification.OTHER}),
        ("northern guild", {Certification.OTHER}),
    ],
)
def test_a_certification_is_read_from_what_was_typed(typed: str, meant: set[Certification]) -> None:
    assert stated(typed) == meant


@pytest.mark.parametrize("covered", ["608 Universal", "EPA 608 Type II", "EU certificate A1"])
def test_a_roof_unit_is_covered_by_type_two_universal_and_a_european_certificate(covered: str) -> None:
    assert against_work(_order(), covered) == ()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("Type I", "certified for type I"),
        ("Type III", "certified for type III"),
        ("none needed here", "no certification is stated"),
        ("apprentice", "“apprentice” can't be judged"),
    ],
)
def test_another_certification_is_told_in_words(typed: str, words: str) -> None:
    (said,) = against_work(_order(), typed)
    assert words in said
    assert "type II or Universal" in said


def test_a_small_appliance_asks_for_type_one_only_up_to_five_pounds() -> None:
    small = REAL.replace("unitary air conditioner in cooling", "small appliance")
    assert wanted(_order(small)) is Certification.TYPE_II, "8 lb is no small appliance"
    assert wanted(_order(small.replace("8 lb 0 oz", "4 lb 8 oz"))) is Certification.TYPE_I
    assert against_work(_order(small.replace("8 lb 0 oz", "4 lb 8 oz")), "Type II") != ()


def test_practice_is_not_judged() -> None:
    assert against_work(_order(ORDER), "none") == ()


def test_no_departure_without_events() -> None:
    assert departures(_order(), ()) == ()
