"""Makes the shipped tables of heat and density: `python -m guide.refrigerant.thermal_fit FOLDER [NAME...]`.

Needs the property library CoolProp; the program itself does not load it for these figures. The same library
version gives the same files.

A table has one row for each of a number of pressures, evenly spaced in their logarithm. A row holds what the
saturated liquid and vapour have there, and how temperature, density and entropy leave them when heat is
added to the vapour or taken from the liquid: a polynomial of the fourth degree through five Chebyshev points.
Between rows the reader lays a cubic spline (`thermal.py`).

Saturation temperatures come from `followed.py`, which bridges the patches where the library fails; everything
else is asked for by pressure and temperature with the phase imposed, which never needs its phase search.
R-454B: the library's search for the critical point finds two and raises, so it is given (MEMORY).
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from guide.refrigerant.catalogue import find
from guide.refrigerant.followed import Side
from guide.refrigerant.listing import listed
from guide.refrigerant.models import Model, library_state, model_of
from guide.refrigerant.thermal import COVERED
from guide.refrigerant.thermal_file import (
    FORMAT,
    HEAT_SCALE,
    MOST_SUPERHEAT_K,
    POWERS,
    SATURATED,
    content_sha256,
)

CELLS: Final = 96
"""Rows of a table less one (PROPOSED; `tests/refrigerant/test_thermal.py` holds what comes of it)."""
LOWEST_Pa: Final = 50_000.0
"""Below any pressure at which a unit goes on running (PROPOSED)."""
_TOP_SHARE: Final = 0.94
"""How near the critical pressure the tables go (PROPOSED)."""
_GIVEN_CRITICAL: Final = {"R-454B": (5.27e6, 351.3)}  # MEMORY
_GIVEN_TOP_SHARE: Final = {"R-454B": 0.90}  # the library can't be followed further (FOUND by running it)
_COLDEST_LIQUID_K: Final = 225.0
_LEAST_SUBCOOLING_K: Final = 12.0


def fit(model: Model) -> dict[str, object]:
    """The content of a thermal table for one model.

    Raises:
        FitError: the library's saturation curve can't be followed.
    """
    from CoolProp.CoolProp import iphase_gas, iphase_liquid

    critical_Pa, critical_K = _critical(model)
    highest = critical_Pa * _GIVEN_TOP_SHARE.get(model.designation, _TOP_SHARE)
    sides = Side(model, 0), Side(model, 1)
    liquid, vapour = library_state(model), library_state(model)
    liquid.specify_phase(iphase_liquid)
    vapour.specify_phase(iphase_gas)
    rows = []
    for k in range(CELLS + 1):
        pressure = LOWEST_Pa * (highest / LOWEST_Pa) ** (k / CELLS)
        bubble_K, dew_K = (side.temperature_K(pressure) for side in sides)
        coldest_K = min(_COLDEST_LIQUID_K, bubble_K - _LEAST_SUBCOOLING_K)
        h_l, d_l, s_l = _at(liquid, pressure, bubble_K)
        h_v, d_v, s_v = _at(vapour, pressure, dew_K)
        rows.append(
            [
                *(bubble_K, dew_K, h_l, h_v, math.log(d_l), math.log(d_v), s_l, s_v),
                *_leaving(liquid, pressure, bubble_K, coldest_K),
                *_leaving(vapour, pressure, dew_K, dew_K + MOST_SUPERHEAT_K),
            ]
        )
    content: dict[str, object] = {
        "format": FORMAT,
        "designation": model.designation,
        "generator": f"guide.refrigerant.thermal_fit, CoolProp {metadata.version('CoolProp')}, {model.words}",
        "critical_Pa": critical_Pa,
        "critical_K": critical_K,
        "lowest_Pa": LOWEST_Pa,
        "highest_Pa": float(f"{highest:.12g}"),
        "columns": [*SATURATED, *(f"{of} {power}" for of in _LEAVING for power in range(POWERS))],
        "rows": [[float(f"{figure:.10g}") for figure in row] for row in rows],
    }
    return {**content, "sha256": content_sha256(content)}


_LEAVING: Final = tuple(
    f"{phase} {of}" for phase in ("liquid", "vapour") for of in ("temperature", "ln density", "entropy")
)


def _critical(model: Model) -> tuple[float, float]:
    if model.designation in _GIVEN_CRITICAL:
        return _GIVEN_CRITICAL[model.designation]
    state = library_state(model)
    return float(state.p_critical()), float(state.T_critical())


def _at(state: Any, pressure_Pa: float, temperature_K: float) -> tuple[float, float, float]:
    from CoolProp.CoolProp import PT_INPUTS

    state.update(PT_INPUTS, pressure_Pa, temperature_K)
    return float(state.hmass()), float(state.rhomass()), float(state.smass())


def _leaving(state: Any, pressure_Pa: float, saturated_K: float, furthest_K: float) -> list[float]:
    """Coefficients of (figure - saturated figure) / heat in powers of heat / HEAT_SCALE, three figures."""
    h0, d0, s0 = _at(state, pressure_Pa, saturated_K)
    heats, gains = [], []
    for k in range(POWERS):
        share = 0.5 * (1.0 - math.cos(math.pi * (k + 0.5) / POWERS))
        temperature_K = saturated_K + (furthest_K - saturated_K) * share
        h, d, s = _at(state, pressure_Pa, temperature_K)
        heat = h - h0
        heats.append(heat / HEAT_SCALE)
        gains.append(((temperature_K - saturated_K) / heat, math.log(d / d0) / heat, (s - s0) / heat))
    return [figure for one in zip(*gains, strict=True) for figure in through(heats, one)]


def through(places: Sequence[float], values: Sequence[float]) -> list[float]:
    """Coefficients, lowest power first, of the polynomial through points (Newton's divided differences)."""
    divided = list(values)
    count = len(places)
    for order in range(1, count):
        for k in range(count - 1, order - 1, -1):
            divided[k] = (divided[k] - divided[k - 1]) / (places[k] - places[k - order])
    powers = [0.0] * count
    for k in range(count - 1, -1, -1):
        powers = [
            (powers[j - 1] if j else 0.0) - places[k] * powers[j] + (divided[k] if j == 0 else 0.0)
            for j in range(count)
        ]
    return powers


def write_tables(folder: Path, designations: Sequence[str], tell: Callable[[str], object]) -> None:
    """Write the table of each refrigerant into a folder, and tell a line about each."""
    folder.mkdir(parents=True, exist_ok=True)
    entries = {entry.designation: entry for entry in listed()}
    for designation in designations:
        content = fit(model_of(entries[find(designation).designation]))
        text = json.dumps(content, sort_keys=True, separators=(",", ":")).replace("],[", "],\n[")
        (folder / f"{designation}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
        tell(f"{designation}: {len(text) + 1} bytes\n")


if __name__ == "__main__":
    write_tables(Path(sys.argv[1]), sys.argv[2:] or COVERED, sys.stdout.write)
