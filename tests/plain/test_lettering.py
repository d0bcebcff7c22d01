"""What is given to a terminal: its letters, and nothing it would obey."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.plain.lettering import printable, takes_utf8


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80))
def test_without_utf8_only_printable_ascii_is_left(text: str) -> None:
    said = printable(text, utf8=False)

    assert said.isascii()
    assert said.isprintable()


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80))
def test_with_utf8_no_control_character_is_left(text: str) -> None:
    assert not any(
        ord(c) < 32 or 0x7F <= ord(c) < 0xA0 or 0x202A <= ord(c) <= 0x202E for c in printable(text, utf8=True)
    )


def test_signs_of_the_trade_become_words() -> None:
    assert printable("14.1 ± 2.1 °F …", utf8=False) == "14.1 +/- 2.1 deg F ..."


@pytest.mark.parametrize(
    ("encoding", "environment", "takes"),
    [
        ("utf-8", {"LANG": "en_US.UTF-8"}, True),
        ("utf-8", {"LANG": "C.UTF-8"}, True),
        ("utf-8", {"LANG": "C", "LC_CTYPE": "C.UTF-8"}, False),
        ("utf-8", {"LC_ALL": "C", "LANG": "en_US.UTF-8"}, False),
        ("utf-8", {"LANG": "de_DE.UTF-8", "LC_CTYPE": "C.UTF-8"}, True),
        ("utf-8", {}, False),
        ("iso8859-1", {"LANG": "en_US.UTF-8"}, False),
        (None, {"LANG": "en_US.UTF-8"}, False),
    ],
)
def test_the_locale_says_what_the_terminal_takes(
    encoding: str | None, environment: dict[str, str], takes: bool
) -> None:
    assert takes_utf8(encoding, environment) is takes
