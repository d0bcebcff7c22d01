"""A demonstration from inside the program: the shipped order, a simulated system, a fresh folder."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from guide.rig.rehearsal import Rehearsal


def begin(folder: Path) -> Rehearsal:
    """A rehearsal under the data folder, ready to be played.

    Raises:
        ChargewrightError: the folder can't be made, or the installation carries no demonstration.
    """
    from guide.rig.orders import demonstration_order
    from guide.rig.rehearsal import fresh_folder, prepare

    return prepare(demonstration_order(), fresh_folder(folder / "demo", datetime.now(UTC)))
