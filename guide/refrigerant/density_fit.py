"""Writes the table of liquid densities from the property library: `python -m guide.refrigerant.density_fit`.

For every refrigerant of the catalogue that the library has: density of the liquid at its bubble point, at
nominal composition, blends as mixtures even where the library has one equation for them too. Where a pair of
components has no fitted interaction, the library's simple rule stands in (`models.py`) and the row says
"estimated". Where the bubble point does not solve at one temperature, the liquid is taken at a pressure drawn
from the neighbours' and the row says "bridged": liquid is stiff, so that the pressure matters little.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from dataclasses import replace
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from guide.refrigerant.liquid_density import NODES_C
from guide.refrigerant.models import Model, library_state, models, pairs_by_rule

_PRESSED: Final = 1.002
_LEAST: Final = 200.0
_MARGIN_K: Final = 8.0
_FEWEST: Final = 4


def rows() -> Iterator[tuple[str, str, list[float | None]]]:
    """Designation, model words and density [kg/m3] at each node, None where there is no liquid."""
    for model in sorted(map(_as_mixture, models()), key=lambda each: each.designation):
        state = library_state(model)
        densities, bridged = _densities(state)
        if None in densities[:_FEWEST]:
            continue
        words = ["mixture" if model.is_mixture else "pure fluid"]
        words += ["estimated"] * (pairs_by_rule(state) > 0) + ["bridged"] * bridged
        yield model.designation, " ".join(words), densities


def _as_mixture(model: Model) -> Model:
    return replace(model, library_name=f"{model.library_name}.mix") if "pseudo" in model.words else model


def _densities(state: Any) -> tuple[list[float | None], bool]:
    solved: dict[int, tuple[float, float]] = {}
    for celsius in range(-10, 71):
        point = _solved(state, celsius)
        if point is not None:
            solved[celsius] = point
    found: list[float | None] = []
    bridged = False
    for celsius in NODES_C:
        density = solved[celsius][1] if celsius in solved else _bridge(state, solved, celsius)
        if density is None or None in found:  # beyond the first gap nothing is trusted
            found.append(None)
            continue
        bridged = bridged or celsius not in solved
        found.append(density)
    return found, bridged


def _solved(state: Any, celsius: int) -> tuple[float, float] | None:
    """Pressure [Pa] and liquid density [kg/m3] at a bubble point; None where the library fails by itself."""
    from CoolProp.CoolProp import QT_INPUTS

    try:
        state.update(QT_INPUTS, 0, 273.15 + celsius)
    except ValueError:
        return None
    return (float(state.p()), float(state.rhomass())) if state.rhomass() > _LEAST else None


def _bridge(state: Any, solved: dict[int, tuple[float, float]], celsius: int) -> float | None:
    from CoolProp.CoolProp import PT_INPUTS, AbstractState, iphase_liquid

    near = sorted((c for c in solved if abs(c - celsius) <= _MARGIN_K), key=lambda c: abs(c - celsius))[:2]
    if len(near) < 2 or celsius < min(solved):
        return None
    one, two = sorted(near)
    at = [1 / (273.15 + c) for c in (one, two, celsius)]
    logs = [math.log(solved[c][0]) for c in (one, two)]
    pressure = math.exp(logs[0] + (logs[1] - logs[0]) * (at[2] - at[0]) / (at[1] - at[0])) * _PRESSED
    fresh: Any = AbstractState("HEOS", "&".join(state.fluid_names()))
    fresh.set_mole_fractions(state.get_mole_fractions())
    fresh.specify_phase(iphase_liquid)
    try:
        fresh.update(PT_INPUTS, pressure, 273.15 + celsius)
    except ValueError:
        return None
    density = float(fresh.rhomass())
    # between neighbours it lies between theirs; beyond the last it is a little less
    ends = sorted(solved[c][1] for c in (one, two))
    slope = (solved[two][1] - solved[one][1]) / (two - one)
    straight = solved[one][1] + slope * (celsius - one)
    return density if density > _LEAST and abs(density - straight) < 0.05 * ends[1] else None


def text() -> str:
    """The whole table as it is shipped."""
    lines = [
        "# Density [kg/m3] of liquid at its bubble point, nominal composition, at temperatures [C].",
        f"# CoolProp {metadata.version('CoolProp')}, guide.refrigerant.density_fit; empty: no liquid there.",
        "designation,model," + ",".join(str(node) for node in NODES_C),
    ]
    for designation, words, densities in rows():
        figures = ",".join("" if d is None else f"{d:.2f}" for d in densities)
        lines.append(f"{designation},{words},{figures}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("liquid_density.csv")
    target.write_text(text(), encoding="utf-8", newline="\n")
