"""A technician at work on one small job, on a real journal in a fresh folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.job.small import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """One technician, one open job."""
    made = Desk(tmp_path)
    yield made
    made.bench.close()
