"""The strict reader takes plain mappings, lists and text, and refuses everything else, quickly."""

from __future__ import annotations

import time

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.strict_yaml import (
    DEEPEST_NESTING,
    LARGEST_FILE_BYTES,
    Mark,
    YamlRefused,
    read_yaml,
)

BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{chr(98 + n)}: &{chr(98 + n)} [{', '.join([f'*{chr(97 + n)}'] * 9)}]\n" for n in range(9)
)

HOSTILE = {
    "alias bomb": BOMB.encode(),
    "alias": b"a: &x 1\nb: *x\n",
    "alias to nothing": b"a: *nowhere\n",
    "anchor": b"a: &x 1\n",
    "merge key": b"a:\n  <<: {b: c}\n",
    "tag": b"a: !!python/object/apply:os.system [id]\n",
    "string tag": b"a: !!str 1\n",
    "bare tag": b"a: ! 1\n",
    "tagged mapping": b"a: !!map {b: c}\n",
    "tag directive": b"%TAG ! tag:x,2000:\n---\na: b\n",
    "version directive": b"%YAML 1.1\n---\na: b\n",
    "two documents": b"a: b\n---\nc: d\n",
    "duplicate key": b"a: b\nc: d\na: e\n",
    "duplicate key in another spelling": b'a: b\n"a": c\n',
    "list as key": b"? [a, b]\n: c\n",
    "mapping as key": b"? {a: b}\n: c\n",
    "no value": b"a:\n",
    "no item": b"a:\n  -\n",
    "empty": b"",
    "comment only": b"# nothing\n",
    "deep lists": b"[" * 10_000,
    "deep mappings": b"{a: " * 10_000,
    "deep blocks": b"".join(b" " * n + b"a:\n" for n in range(200)),
    "deep dashes": b"- " * 1_900 + b"x",
    "question marks": b"? " * 1_900 + b"x",
    "ten megabytes": b"a: b # " + b"x" * 10_000_000,
    "long line": b"a: " + b"x" * 5_000,
    "many values": b"- a\n" * 60_000,
    "many keys": b"".join(b"k%d: a\n" % n for n in range(40_000)),
    "NUL": b"a: b\x00c\n",
    "escape character": b"a: \x1b[31mred\n",
    "escaped escape character": b'a: "\\x1b[31mred"\n',
    "escaped NUL": b'a: "\\0"\n',
    "escaped bidi": b'a: "\\u202e"\n',
    "escaped surrogate": b'a: "\\ud800"\n',
    "tab": b"a:\tb\n",
    "carriage return alone": b"a: b\rc: d\n",
    "next line": "a: b\u0085c\n".encode(),
    "line separator": "a: b\u2028c\n".encode(),
    "bidi override": "a: b\u202ec\n".encode(),
    "bidi isolate": "a: \u2066b\n".encode(),
    "zero width space": "a\u200bb: c\n".encode(),
    "BOM inside": "a: \ufeffb\n".encode(),
    "Latin-1": b"a: caf\xe9\n",
    "UTF-16": "a: b\n".encode("utf-16"),
    "UTF-32": "a: b\n".encode("utf-32"),
    "lone surrogate": b"a: \xed\xa0\x80\n",
    "overlong": b"a: \xc0\xaf\n",
    "unfinished quote": b'a: "b\n',
    "unfinished list": b"a: [b\n",
    "bad indentation": b"a:\n  b: c\n d: e\n",
    "colon": b"a: b: c\n",
    "percent": b"%\n",
    "backtick": b"a: `b`\n",
    "long key": b"k" * 200 + b": a\n",
    "long text": b"a: >\n" + b"  word word word word\n" * 1_000,
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_input_is_refused_quickly_with_its_place(data: bytes) -> None:
    begun = time.perf_counter()
    with pytest.raises(YamlRefused, match=r"^bad\.yaml:[0-9]+:[0-9]+: .+") as refused:
        read_yaml(data, "bad.yaml")
    assert time.perf_counter() - begun < 1.0
    assert str(refused.value).isprintable()
    assert len(str(refused.value)) < 500


def test_every_scalar_stays_text() -> None:
    document = read_yaml(
        b'a: no\nb: 1.10\nc: 12:30\nd: 2026-11-25\ne: ~\nf: ""\ng: [0x1F, null, .nan]\n', "x"
    )
    assert document.root == {
        "a": "no",
        "b": "1.10",
        "c": "12:30",
        "d": "2026-11-25",
        "e": "~",
        "f": "",
        "g": ["0x1F", "null", ".nan"],
    }


def test_places_are_told_by_line_and_column() -> None:
    document = read_yaml(b"a: b\nlist:\n  - x\n  - key: y\n", "x")
    assert document.at(("a",)) == Mark(1, 1)
    assert document.at(("list", 1, "key")) == Mark(4, 5)
    assert document.at(("list", 1, "absent", 3)) == Mark(4, 5)
    assert document.at(("absent",)) == Mark(1, 1)


def test_a_duplicate_key_names_both_lines() -> None:
    with pytest.raises(YamlRefused, match=r"^x:3:1: key 'a' stands twice, first in line 1; keep one"):
        read_yaml(b"a: b\nc: d\na: e\n", "x")


def test_a_duplicate_key_is_allowed_in_another_mapping() -> None:
    assert read_yaml(b"- a: b\n- a: c\n", "x").root == [{"a": "b"}, {"a": "c"}]


def test_windows_line_ends_and_a_leading_byte_order_mark_are_read() -> None:
    assert read_yaml(b"\xef\xbb\xbfa: b\r\nc: d\r\n", "x").root == {"a": "b", "c": "d"}


def test_letters_of_other_languages_are_read() -> None:
    assert read_yaml("a: Zwölf °F, 冷媒\n".encode(), "x").root == {"a": "Zwölf °F, 冷媒"}


def test_nesting_is_read_up_to_its_limit() -> None:
    deep = DEEPEST_NESTING
    read_yaml(b"[" * deep + b"x" + b"]" * deep, "x")
    with pytest.raises(YamlRefused, match="deep"):
        read_yaml(b"[" * (deep + 1) + b"x" + b"]" * (deep + 1), "x")


def test_size_is_read_up_to_its_limit() -> None:
    line = b"# " + b"x" * 97 + b"\n"
    body = b"a: b\n" + line * ((LARGEST_FILE_BYTES - 5) // 100)
    padded = body + b"#" * (LARGEST_FILE_BYTES - len(body))
    assert len(padded) == LARGEST_FILE_BYTES
    assert read_yaml(padded, "x").root == {"a": "b"}
    with pytest.raises(YamlRefused, match="bytes"):
        read_yaml(padded + b"#", "x")


def test_a_hostile_file_name_reaches_no_terminal() -> None:
    with pytest.raises(YamlRefused) as refused:
        read_yaml(b"", "a\x1b[2J\u202eb")
    assert str(refused.value).isprintable()


def _read_or_refuse(data: bytes) -> None:
    try:
        read_yaml(data, "x")
    except YamlRefused as refused:
        said = str(refused)
    else:
        said = "x: read"
    assert said.startswith("x:")
    assert said.isprintable()


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    _read_or_refuse(data)


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="ab:-?[]{}#&*!|>'\"%@`,~ \n\\u20e0", max_size=80))
def test_any_yaml_like_text_is_read_or_refused(text: str) -> None:
    _read_or_refuse(text.encode())


_WORDS = st.text(alphabet="abc xyz.:-#'\"éü9", min_size=1, max_size=20).filter(lambda t: t.strip() == t)
_TREES = st.recursive(
    _WORDS,
    lambda inner: (
        st.lists(inner, min_size=1, max_size=4) | st.dictionaries(_WORDS, inner, min_size=1, max_size=4)
    ),
    max_leaves=20,
)


@settings(max_examples=150, deadline=None)
@given(_TREES)
def test_what_a_writer_quotes_comes_back(tree: object) -> None:
    text = yaml.dump(tree, Dumper=_NoAliases, default_style='"', allow_unicode=True, width=3_000)
    assert read_yaml(text.encode(), "x").root == tree


class _NoAliases(yaml.SafeDumper):
    def ignore_aliases(self, data: object) -> bool:
        return True
