from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.journal import tree
from guide.journal.event import FIRST_JOB_PREV, BadEvent, Event, Stamp, frozen_copy
from tests.journal.making import STAMP
from tests.journal.test_canonical import names, values

FIRST = Event(1, "0" * 32, 0, "J-0001", 0, FIRST_JOB_PREV, STAMP, "jo", "opened", {"number": 1})


def test_the_bytes_hold_exactly_the_agreed_members() -> None:
    assert FIRST.to_bytes() == (
        b'{"body":{"number":1},"boot":"0123456789abcdef","by":"jo","job":"J-0001","job_prev":"'
        + b"0" * 64
        + b'",'
        b'"job_seq":0,"kind":"opened","local_offset":"+01:00","log":"'
        + b"0"
        * 32
        + b'","mono_ns":"1234567890",'
        b'"seq":0,"utc":"2026-11-25T10:42:07.123456Z","v":1}'
    )
    assert FIRST.leaf_hash == tree.leaf_hash(FIRST.to_bytes()).hex()


@given(st.dictionaries(names, values, max_size=5), st.integers(0, 10**19))
@settings(max_examples=100, deadline=None)
def test_an_event_comes_back_from_its_bytes(body: dict[str, Any], mono_ns: int) -> None:
    event = replace(FIRST, body=body, stamp=replace(STAMP, mono_ns=mono_ns))
    assert Event.from_bytes(event.to_bytes()) == event


@pytest.mark.parametrize(
    ("field", "bad"),
    [
        ("v", 2),
        ("v", True),
        ("log", "x"),
        ("seq", -1),
        ("seq", "0"),
        ("job", ""),
        ("job", "../J"),
        ("job", "J\n"),
        ("job_seq", 1),
        ("job_prev", "0" * 63),
        ("job_prev", "A" * 64),
        ("job_prev", "a" * 64),
        ("by", "Jo Example"),
        ("kind", "Opened"),
        ("kind", ""),
        ("body", []),
        ("body", None),
        ("utc", "2026-02-30T10:42:07.123456Z"),
        ("utc", "2026-11-25T10:42:07Z"),
        ("utc", "2026-11-25T10:42:07.123456+00:00"),
        ("local_offset", "1:00"),
        ("local_offset", "+25:00"),
        ("mono_ns", 5),
        ("mono_ns", "-5"),
        ("mono_ns", "05"),
        ("boot", "a b"),
    ],
)
def test_a_field_out_of_its_form_is_refused_by_name(field: str, bad: object) -> None:
    members = json.loads(FIRST.to_bytes())
    members[field] = bad
    with pytest.raises(BadEvent, match=field):
        Event.from_bytes(json.dumps(members, sort_keys=True, separators=(",", ":")).encode())


@pytest.mark.parametrize("change", [lambda m: m.pop("by"), lambda m: m.update(extra=1)])
def test_a_member_missing_or_too_many_is_refused(change: Any) -> None:
    members = json.loads(FIRST.to_bytes())
    change(members)
    with pytest.raises(BadEvent, match="exactly"):
        Event.from_bytes(json.dumps(members, sort_keys=True, separators=(",", ":")).encode())


@pytest.mark.parametrize("data", [b"[]", b"1", b"", b"{}", FIRST.to_bytes() + b" ", FIRST.to_bytes()[:-1]])
def test_other_bytes_are_refused(data: bytes) -> None:
    with pytest.raises(BadEvent):
        Event.from_bytes(data)


@given(st.integers(0, len(FIRST.to_bytes()) - 1), st.integers(1, 255))
@settings(max_examples=200, deadline=None)
def test_a_flipped_byte_is_refused_or_gives_another_hash(at: int, flip: int) -> None:
    data = bytearray(FIRST.to_bytes())
    data[at] ^= flip
    try:
        event = Event.from_bytes(bytes(data))
    except BadEvent:
        return
    assert event.leaf_hash != FIRST.leaf_hash


def test_a_body_with_a_float_is_refused_with_the_remedy() -> None:
    with pytest.raises(BadEvent, match="decimal string"):
        replace(FIRST, body={"mass_kg": 1.5}).to_bytes()  # type: ignore[dict-item]  # the mistake under test


def test_an_oversized_event_is_refused() -> None:
    with pytest.raises(BadEvent, match="limit"):
        replace(FIRST, body={"t": "x" * 2_000_000}).to_bytes()


def test_a_frozen_copy_does_not_follow_the_original() -> None:
    inner = [1]
    body = frozen_copy({"a": inner})
    inner.append(2)
    assert body == {"a": [1]}


def test_a_stamp_is_checked_when_made() -> None:
    with pytest.raises(BadEvent, match="utc"):
        Stamp("yesterday", "+01:00", 0, "b")
