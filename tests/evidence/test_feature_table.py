"""The page of features claims nothing without a test that exists, and owns up to what is not there."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = Path(__file__).with_name("feature_table.md")
STATES = {"there", "partly", "not yet"}
LEAST_THERE = 41
"""Rows that are there today; a row that is lost again shows."""
NODE = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    number: int
    feature: str
    state: str
    proof: str
    remark: str

    @property
    def nodes(self) -> list[tuple[str, str]]:
        """File and function of each test named."""
        return NODE.findall(self.proof)


@cache
def rows() -> tuple[Row, ...]:
    found = []
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if re.match(r"\|\s*\d+\s*\|", line):
            number, feature, state, proof, remark = (cell.strip() for cell in line.strip("|").split("|"))
            found.append(Row(int(number), feature, state, proof, remark))
    return tuple(found)


@cache
def functions_of(file: str) -> frozenset[str]:
    """Test functions at the top of a file; one that runs for several values counts by its name."""
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    functions = (node for node in tree.body if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
    return frozenset(function.name for function in functions if function.name.startswith("test_"))


def test_all_fifty_rows_are_answered_in_order() -> None:
    assert [row.number for row in rows()] == list(range(1, 51))
    assert len({row.feature for row in rows()}) == 50
    assert {row.state for row in rows()} <= STATES


@pytest.mark.parametrize("row", rows(), ids=lambda row: str(row.number))
def test_every_test_named_exists_and_nothing_else_stands_as_proof(row: Row) -> None:
    assert NODE.sub("", row.proof).strip() == ""
    for file, name in row.nodes:
        assert (ROOT / file).is_file(), file
        assert name in functions_of(file), f"{file}::{name}"


@pytest.mark.parametrize("row", rows(), ids=lambda row: str(row.number))
def test_what_is_there_is_proven_and_what_is_not_says_why(row: Row) -> None:
    assert bool(row.nodes) == (row.state != "not yet")
    if row.state != "there":
        assert len(row.remark.split()) >= 8, "say what is missing"


def test_the_rows_that_were_there_are_still_there() -> None:
    assert sum(row.state == "there" for row in rows()) >= LEAST_THERE
