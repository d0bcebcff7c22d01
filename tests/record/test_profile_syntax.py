"""The strict reader and the one spelling of the writer."""

from contextlib import suppress
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import read_object as pypdf_read_object

from guide.record.pdf_revisions import read_revisions
from guide.record.pdf_syntax import (
    Name,
    PdfSyntaxError,
    Real,
    Reference,
    Value,
    read_object,
    read_text_string,
    read_value,
    text_string,
    write_object,
    write_value,
)
from tests.record.signed_files import countersigned, pages

names = st.text(st.characters(min_codepoint=1, max_codepoint=255), max_size=12)
plain: st.SearchStrategy[Value] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**9), 10**9),
    st.decimals(-9999, 9999, places=3).map(lambda number: Real(f"{number:.3f}")),
    names.map(Name),
    st.binary(max_size=20),
    st.integers(1, 99_999).map(Reference),
)
values: st.SearchStrategy[Value] = st.recursive(
    plain,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4).map(list), st.dictionaries(names, inner, max_size=4).map(dict)
    ),
    max_leaves=12,
)


@settings(max_examples=300, deadline=None)
@given(values)
def test_what_is_written_is_read_back(value: Value) -> None:
    spelt = write_value(value)
    assert read_value(spelt, 0) == (value, len(spelt))
    assert write_value(read_value(spelt, 0)[0]) == spelt


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=30))
def test_another_reader_reads_the_same_string(value: bytes) -> None:
    read = pypdf_read_object(BytesIO(write_value(value) + b" "), None)
    assert getattr(read, "original_bytes", None) == value


@settings(max_examples=400, deadline=None)
@given(st.binary(max_size=60))
def test_foreign_bytes_are_read_or_refused_and_nothing_else_is_raised(noise: bytes) -> None:
    for read in (lambda data: read_value(data, 0), lambda data: read_object(b"1 0 obj\n" + data, 0)):
        with suppress(PdfSyntaxError):
            read(noise)


@pytest.mark.parametrize(
    ("spelt", "value"),
    [
        (b"(a\\(b\\)\\\\c (nested) \\101\\n)", b"a(b)\\c (nested) A\n"),
        (b"(two\\\nlines)", b"twolines"),
        (b"<4 1 4>", b"A@"),
        (b"/A#20B", Name("A B")),
        (b"[1 0 R 2 -3.5]", [Reference(1), 2, Real("-3.5")]),
        (b"<</A<</B[]>>/C null>>", {"A": {"B": []}, "C": None}),
        (b"% note\n true", True),
    ],
)
def test_the_standards_spellings_are_read(spelt: bytes, value: Value) -> None:
    assert read_value(spelt, 0)[0] == value


@pytest.mark.parametrize(
    "spelt",
    [
        b"",
        b"<</A 1 /A 2>>",
        b"(open",
        b"[1 2",
        b"<</A>>",
        b"<41",
        b"truely",
        b"[" * 40 + b"]" * 40,
        b"9" * 30,
        b"/A#00",
    ],
)
def test_what_is_ambiguous_or_unfinished_is_refused(spelt: bytes) -> None:
    with pytest.raises(PdfSyntaxError):
        read_value(spelt, 0)


@pytest.mark.parametrize(
    "spelt",
    [
        b"1 0 obj\n<</Length 9>>\nstream\nabc\nendstream\nendobj\n",
        b"1 0 obj\n<</Length 2>>\nstream\nabc\nendstream\nendobj\n",
        b"1 0 obj\n<</Length true>>\nstream\na\nendstream\nendobj\n",
        b"1 0 obj\n<<>>\nstream\nabc\nendstream\nendobj\n",
        b"1 0 obj\n7 8 endobj\n",
        b"1 1 obj\n7\nendobj\n",
    ],
)
def test_an_object_that_is_not_what_it_says_is_refused(spelt: bytes) -> None:
    with pytest.raises(PdfSyntaxError):
        read_object(spelt, 0)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=60))
def test_a_stream_comes_back_whatever_it_holds(stream: bytes) -> None:
    found = read_object(write_object(7, {"Kind": Name("Test")}, stream), 0)
    assert (found.number, found.stream) == (7, stream)


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_text_comes_back_in_every_script(text: str) -> None:
    assert read_text_string(text_string(text)) == text


def test_text_in_another_spelling_is_refused() -> None:
    for spelt in (b"\xfe\xff\x00A", b"\xe9", b"\xfe\xff\x00", None):
        with pytest.raises(PdfSyntaxError):
            read_text_string(spelt)


def test_the_revisions_cover_the_file_without_a_gap() -> None:
    record = countersigned()
    revisions = read_revisions(record)
    assert len(revisions) == 4
    assert [each.start for each in revisions] == [0, *(each.end for each in revisions[:-1])]
    assert revisions[-1].end == len(record)


def test_another_reader_finds_the_same_pages_in_every_revision() -> None:
    record = countersigned()
    for revision in read_revisions(record):
        text = PdfReader(BytesIO(record[: revision.end])).pages[0].extract_text()
        assert "charged 0.17 kg" in text


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"startxref\n", b"startxrex\n"),
        (b"xref\n0", b"xrex\n0"),
        (b" 00000 n", b" 00001 n"),
        (b"trailer", b"trailes"),
        (b"%PDF-1", b"%PDF-7"),
    ],
)
def test_a_damaged_chain_is_refused(old: bytes, new: bytes) -> None:
    with pytest.raises(PdfSyntaxError):
        read_revisions(pages().replace(old, new, 1))


def test_a_chain_that_runs_in_a_circle_is_refused() -> None:
    base = pages()
    at = read_revisions(base)[0].table_at
    with pytest.raises(PdfSyntaxError, match="points at no earlier revision"):
        read_revisions(base.replace(b"/Size", b"/Prev %d /Size" % at))
