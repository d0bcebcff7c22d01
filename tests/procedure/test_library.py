"""The shipped procedures are found wherever the program is installed."""

from __future__ import annotations

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
