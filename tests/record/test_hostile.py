"""Whatever a person types, the record shows it and nothing else happens."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.record.verify import verify_record
from guide.record.write import export
from tests.record.build import ORDER, Bench1, play, set_up, words_of


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Bench1]:
    made = set_up(tmp_path / "bench")
    yield made
    made.bench.close()


HOSTILE = {
    "markup": "<b>bold</b> & <font color=red>red</font>",
    "direction": "abc\u202edef\u2066ghi",
    "control": "line\x1b[31mred\x07",
    "east": "中文名 and Ключ and Łódź and שלום",
    "long": "W" * 3000,
    "combining": "a" + "\u0301" * 500,
    "formula": '=HYPERLINK("http://example.invalid")',
    "operators": ") Tj ET (",
    "emoji": "\U0001f9ca\U0001f525",
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_text_is_shown_and_harms_nothing(desk: Bench1, kind: str, tmp_path: Path) -> None:
    work = desk.new()
    work.do(c.Note(work.keep(HOSTILE[kind])))
    work.do(c.Skip("1.1", work.keep(HOSTILE[kind])))
    play(desk, work)
    issued = desk.sign_off(work)
    record = issued.pdf.read_bytes()
    assert verify_record(record).intact
    said = words_of(record)
    assert not set(said) & set("\u202e\u2066\x1b\x07")
    if kind == "markup":
        assert "<b>bold</b> & <font color=red>red</font>" in said
    if kind == "east":
        assert "[U+4E2D][U+6587][U+540D] and Ключ and Łódź" in said
    if kind == "formula":
        out = export(desk.bench.journal, work.state, to=tmp_path / "out", records=desk.bench.records)
        assert out.notes == ()
        for path in (tmp_path / "out" / "tables").iterdir():
            for row in csv.reader(io.StringIO(path.read_bytes().decode(), newline="")):
                assert not any(cell[:1] in "=@\t" and cell for cell in row), path


def test_an_order_of_hostile_words_makes_a_record_all_the_same(desk: Bench1) -> None:
    text = ORDER.replace("Harbour School, roof unit 3", '"<a href=x>roof</a> \\u4e2d ) Tj"')
    work = desk.new(text.replace("name: Harbour School,", 'name: "=cmd|<para>",'))
    play(desk, work)
    issued = desk.sign_off(work)
    assert verify_record(issued.pdf.read_bytes()).intact
    assert "=cmd|<para>" in words_of(issued.pdf.read_bytes(), 0)
