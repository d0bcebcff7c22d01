"""The file form of a table of heat and density, shipped with the program: JSON with a hash of its content."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from guide.errors import ChargewrightError

FORMAT: Final = "chargewright-thermal-1"
SATURATED: Final = (
    "bubble K", "dew K", "liquid J/kg", "vapour J/kg",
    "ln liquid kg/m3", "ln vapour kg/m3", "liquid J/kg K", "vapour J/kg K",
)  # fmt: skip
POWERS: Final = 5
HEAT_SCALE: Final = 1e5
"""Heat that leaves saturation is counted in these [J/kg] in the polynomials."""
MOST_SUPERHEAT_K: Final = 120.0
"""How far above the dew point the polynomials of vapour were made for."""
COLUMNS: Final = len(SATURATED) + 6 * POWERS

_FEWEST_ROWS: Final = 4
_MOST_ROWS: Final = 2000


class NoThermal(ChargewrightError):
    """No heat and density are known of a refrigerant, or its shipped table is damaged."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows at pressures evenly spaced in their logarithm from the lowest to the highest [Pa absolute]."""

    designation: str
    critical_Pa: float
    critical_K: float
    lowest_Pa: float
    highest_Pa: float
    rows: tuple[tuple[float, ...], ...]


def content_sha256(content: Mapping[str, object]) -> str:
    """SHA-256 (lower-case hex) of a table's content without its own `sha256`."""
    bare = {key: value for key, value in content.items() if key != "sha256"}
    return hashlib.sha256(json.dumps(bare, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def read_table(data: bytes, designation: str) -> Table:
    """Read a shipped table.

    Raises:
        NoThermal: it is damaged, or another refrigerant's.
    """
    damaged = NoThermal(f"table of {designation}: damaged; install the program again")
    try:
        content = json.loads(data)
        if content["format"] != FORMAT or content["designation"] != designation:
            raise damaged
        if content_sha256(content) != content["sha256"]:
            raise damaged
        rows = tuple(tuple(float(figure) for figure in row) for row in content["rows"])
        ends = [float(content[name]) for name in ("critical_Pa", "critical_K", "lowest_Pa", "highest_Pa")]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise damaged from error
    sound = (
        _FEWEST_ROWS <= len(rows) <= _MOST_ROWS
        and all(len(row) == COLUMNS and all(map(math.isfinite, row)) for row in rows)
        and 0.0 < ends[2] < ends[3] < ends[0] < math.inf
    )
    if not sound:
        raise damaged
    return Table(designation, ends[0], ends[1], ends[2], ends[3], rows)
