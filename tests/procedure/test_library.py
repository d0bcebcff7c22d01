"""The shipped procedures are found wherever the program is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from guide.procedure import library
from guide.procedure.faults import ProcedureError
from guide.procedure.reader import check_file


def test_every_shipped_procedure_is_listed_loads_and_has_no_fault() -> None:
    assert "charge-fixed-orifice" in library.list_procedures()
    for procedure_id in library.list_procedures():
        assert library.load(procedure_id).id == procedure_id
        assert check_file(library.path_of(procedure_id)) == []


@pytest.mark.parametrize(
    "name", ["absent", "../secret", "", "charge-fixed-orifice.yaml", "A", "a\x1b[2J", "*"]
)
def test_a_strange_name_is_refused_naming_those_there_are(name: str) -> None:
    with pytest.raises(ProcedureError, match="charge-fixed-orifice") as raised:
        library.load(name)
    assert str(raised.value).isprintable()


SHIPPED = library.load("charge-fixed-orifice")


def test_a_job_with_the_librarys_own_text_hears_of_no_newer_one() -> None:
    for procedure_id in library.list_procedures():
        assert library.newer_revision(library.load(procedure_id)) is None


@pytest.mark.parametrize(
    ("kept", "shipped", "newer"),
    [("1", "2", True), ("2", "1", False), ("9", "10", True), ("2", "2.1", True), ("2.A", "2.B", True),
     ("2b", "2", False), ("A", "1", True)],
)  # fmt: skip
def test_a_later_revision_in_the_library_is_told(
    monkeypatch: pytest.MonkeyPatch, kept: str, shipped: str, newer: bool
) -> None:
    monkeypatch.setattr(library, "load", lambda _: replace(SHIPPED, revision=shipped, sha256="0"))
    words = library.newer_revision(replace(SHIPPED, revision=kept))
    assert bool(words) == newer
    if words:
        assert f"revision {shipped} of charge-fixed-orifice" in words
        assert f"this job keeps revision {kept}" in words


def test_another_text_under_the_same_revision_is_told() -> None:
    words = library.newer_revision(replace(SHIPPED, sha256="0" * 64))
    assert words is not None
    assert "reads otherwise" in words


def test_a_job_outlives_a_procedure_that_is_shipped_no_more() -> None:
    assert library.newer_revision(replace(SHIPPED, id="gone")) is None


def test_an_installed_program_finds_its_procedures_and_their_common_parts(tmp_path: Path) -> None:
    """Laid out as the wheel is: the package, and what the build includes from beside it."""
    root = Path(__file__).parents[2]
    build = tomllib.loads((root / "pyproject.toml").read_text())["tool"]["hatch"]["build"]["targets"]["wheel"]
    (package,) = build["packages"]
    shutil.copytree(root / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    for here, there in build["force-include"].items():
        shutil.copytree(root / here, tmp_path / there)
    code = (
        "from guide.procedure import library\n"
        "print(library.folder())\n"
        "print(*(library.load(name).sha256 for name in library.list_procedures()))"
    )
    said = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True, text=True, check=True,
    ).stdout.splitlines()  # fmt: skip
    assert said == [
        str(tmp_path / "guide" / "_procedures"),
        " ".join(library.load(name).sha256 for name in library.list_procedures()),
    ]
