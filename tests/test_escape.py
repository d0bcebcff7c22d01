"""Hostile text is harmless in each of the four places it is printed."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.escape import for_cell, for_file_name, for_pdf, for_terminal

HOSTILE = [
    "\x1b[2J\x1b[1;1Hgone",
    "\x1b]0;title\x07",
    "\x9b31mred",
    "bell\x07 back\x08\x08 return\rover",
    "\u202egnp.exe",
    "zero\u200bwidth\ufeff",
    "Z" + "\u0301" * 50,
    "\U000e0041tag",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_a_terminal_line_has_no_control_and_no_hidden_character(text: str) -> None:
    cleaned = for_terminal(text)

    assert not any(unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"} for c in cleaned)
    assert cleaned.count("\u0301") <= 3


@given(st.text())
def test_any_text_makes_one_clean_line(text: str) -> None:
    cleaned = for_terminal(text)

    assert not any(unicodedata.category(c) in {"Cc", "Cf", "Cs", "Cn", "Zl", "Zp"} for c in cleaned)
    assert for_terminal(cleaned) == cleaned


def test_ordinary_words_in_any_script_stay_as_they_are() -> None:
    for text in ("Café Müller", "школа № 3", "港学校", "R-410A – 8 lb 0 oz, 40 °F", "مدرسة"):
        assert for_terminal(text) == unicodedata.normalize("NFC", text)


@pytest.mark.parametrize(
    "text",
    ['<font color="red">', "<img src='file:///etc/passwd'/>", "a & b", "</para><para>", "<a href=x>"],
)
def test_layout_markup_is_literal_in_the_pdf(text: str) -> None:
    assert "<" not in for_pdf(text)
    assert "&" not in for_pdf(text).replace("&lt;", "").replace("&gt;", "").replace("&amp;", "").replace(
        "&quot;", ""
    ).replace("&#x27;", "")


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "\0", "＝", "＋", "－", "＠"])
def test_a_formula_in_a_cell_is_defused(first: str) -> None:
    """CWE-1236 and ASVS 1.2.10: a leading apostrophe."""
    assert for_cell(first + "1+1|cmd").startswith("'")


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd", "/abs", "C:\\win", "a\0b", "con", "NUL.pdf", "trailing...", ".hidden", "",
        "..", "-rf", "\u202egnp.exe", "aux", "com1.txt", "x" * 300, "a/b\\c", "~root", "$(rm)", "`id`",
    ],
)  # fmt: skip
def test_a_file_name_is_rebuilt_from_an_allow_list(name: str) -> None:
    made = for_file_name(name)

    assert made
    assert len(made) <= 81
    assert all(c.isascii() and (c.isalnum() or c in "._-") for c in made)
    assert not made.startswith((".", "-"))
    assert not made.endswith((".", " "))
    assert made.split(".")[0].lower() not in {"con", "nul", "aux", "prn", "com1", "lpt1"}
