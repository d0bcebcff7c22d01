"""A curve that rides in a record comes from a stranger: it is sound or it is refused."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.refrigerant.catalogue import all_refrigerants
from guide.refrigerant.curve_file import BadCurve, content_sha256, read_curve
from guide.refrigerant.saturation import curve

SHIPPED = curve("R-454B").source
KEYS = ("breaks", "series")


def changed(change: Callable[[dict[str, Any]], object], *, rehash: bool = True) -> bytes:
    content = json.loads(SHIPPED)
    change(content)
    if rehash:
        content["sha256"] = content_sha256(content)
    return json.dumps(content).encode()


@pytest.mark.parametrize("designation", [r.designation for r in all_refrigerants()])
def test_the_bytes_a_curve_carries_read_back_as_the_same_curve(designation: str) -> None:
    shipped = curve(designation)
    assert read_curve(shipped.source) == shipped
    assert shipped.library.startswith("CoolProp ")
    assert shipped.sha256 == content_sha256(json.loads(shipped.source))


def test_the_hash_does_not_depend_on_blanks_or_order() -> None:
    content = json.loads(SHIPPED)
    reordered = dict(reversed(content.items()))
    assert read_curve(json.dumps(reordered).encode()).sha256 == curve("R-454B").sha256


def test_one_changed_digit_is_noticed() -> None:
    def nudge(content: dict[str, Any]) -> None:
        series = content["dew"]["temperature_K_of_ln_pressure"]["series"]
        series[0][0] = str(float(series[0][0]) + 1e-6)

    with pytest.raises(BadCurve, match="hash"):
        read_curve(changed(nudge, rehash=False))


def swap_sides(content: dict[str, Any]) -> None:
    content["bubble"], content["dew"] = content["dew"], content["bubble"]


def falling(content: dict[str, Any]) -> None:
    piece = content["dew"]["temperature_K_of_ln_pressure"]
    piece["series"] = [[row[0], str(-float(row[1])), *row[2:]] for row in piece["series"]]


def contradicting(content: dict[str, Any]) -> None:
    for row in content["dew"]["ln_pressure_of_temperature_K"]["series"]:
        row[0] = str(float(row[0]) + 0.01)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (swap_sides, "below"),
        (falling, "rise"),
        (contradicting, "contradict"),
        (lambda c: c.update(format="other"), "format"),
        (lambda c: c.update(estimated="yes"), "estimated"),
        (lambda c: c.update(extra="1"), "exactly"),
        (lambda c: c.pop("dew"), "exactly"),
        (lambda c: c.update(designation=""), "text"),
        (lambda c: c.update(designation="R\x1b[0m"), "text"),
        (lambda c: c.update(lowest_pressure_Pa=100), "number"),
        (lambda c: c.update(lowest_pressure_Pa="nan"), "number"),
        (lambda c: c.update(lowest_pressure_Pa="1e99"), "large"),
        (lambda c: c.update(lowest_pressure_Pa="100000.0"), "span"),
        (lambda c: c.update(critical_pressure_Pa="100000.0"), "rising"),
        (lambda c: c["dew"].update(bridged_Pa=[["5", "4"]]), "bridged"),
        (lambda c: c["dew"]["ln_pressure_of_temperature_K"]["breaks"].reverse(), "rise"),
        (lambda c: c["dew"]["ln_pressure_of_temperature_K"]["breaks"].pop(), "fit"),
        (lambda c: c["dew"]["ln_pressure_of_temperature_K"].update(series=[]), "fit"),
        (lambda c: c["dew"]["ln_pressure_of_temperature_K"].update(series=[["1"] * 99]), "at most"),
    ],
)
def test_an_unsound_curve_with_a_right_hash_is_refused(
    change: Callable[[dict[str, Any]], object], word: str
) -> None:
    with pytest.raises(BadCurve, match=word):
        read_curve(changed(change))


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff",
        b"[]",
        b"null",
        b'{"a":1,"a":1}',
        b"[" * 50_000,
        b" " * 200_000,
        b"9" * 5000,
        SHIPPED + b"x",
    ],
)
def test_bytes_that_are_no_curve_are_refused(data: bytes) -> None:
    with pytest.raises(BadCurve):
        read_curve(data)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(SHIPPED) - 1), st.integers(0, 255))
def test_no_changed_byte_passes_with_other_numbers(position: int, byte: int) -> None:
    data = SHIPPED[:position] + bytes([byte]) + SHIPPED[position + 1 :]
    try:
        read = read_curve(data)
    except BadCurve:
        return
    assert json.loads(data) == json.loads(SHIPPED)
    assert read.sha256 == curve("R-454B").sha256
