"""One tree has one text, and any reader of YAML finds in it what the author wrote."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.procedure.canonical import canonical
from guide.procedure.strict_yaml import Node, YamlRefused, read_yaml

_TEXT = st.text(max_size=12) | st.sampled_from(
    [
        "",
        "no",
        "~",
        "1.10",
        "12:30",
        "- a",
        "a: b",
        "a #b",
        "{a}",
        '"',
        "\\",
        "'",
        "true",
        "<<",
        "&a",
        "*a",
        "!t",
    ]
)
_KEYS = st.text(min_size=1, max_size=8) | st.sampled_from(
    ["id", "on", "NULL", "y", "title24-split", "a b", "<<"]
)
_TREES = st.recursive(
    _TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_KEYS, inner, max_size=4),
    max_leaves=12,
)


def _readable(node: Node) -> bool:
    """Whether the strict reader takes the tree's characters at all, told by its own JSON-like form."""
    try:
        read_yaml(canonical(node), "x")
    except YamlRefused as error:
        return not any(word in error.problem for word in ("invisible", "tab", "a key must be", "UTF-8"))
    return True


@settings(max_examples=300, deadline=None)
@given(_TREES.filter(_readable))
def test_the_strict_reader_gives_back_the_tree(node: Any) -> None:
    assert read_yaml(canonical(node), "x").root == node


@settings(max_examples=200, deadline=None)
@given(_TREES.filter(_readable))
def test_any_reader_finds_text_and_nothing_else(node: Any) -> None:
    assert yaml.safe_load(canonical(node)) == node


def test_a_flag_stands_bare_and_text_that_looks_like_one_does_not() -> None:
    node: Node = {"hold": "true", "ask": "true", "steps": [{"hold": "perhaps"}]}
    assert canonical(node, flags=frozenset({"hold"})) == (
        b'hold: true\nask: "true"\nsteps:\n  - hold: "perhaps"\n'
    )


@pytest.mark.parametrize("node", [{}, [], "", "x", {"a": {}, "b": []}, [[], [{}], [["x"]]]])
def test_small_and_empty_trees_stand_for_themselves(node: Node) -> None:
    assert read_yaml(canonical(node), "x").root == node
