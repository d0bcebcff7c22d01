"""Writes the table of liquid densities from the property library: `python -m guide.refrigerant.density_fit`.

For every pure refrigerant and ASHRAE 34 blend that the library has: density of the liquid at its bubble
point, at nominal composition. Where a pair of components has no fitted interaction, the library's
Lorentz-Berthelot rule stands in and the row says "estimated". Where the bubble point does not solve at one
temperature, the liquid is taken at a pressure drawn from the neighbours' and the row says "bridged": liquid
is stiff, so that the pressure matters little.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from guide.refrigerant.liquid_density import NODES_C

PURE: Final = {
    "R-11": "R11", "R-12": "R12", "R-13": "R13", "R-22": "R22", "R-23": "R23", "R-32": "R32",
    "R-113": "R113", "R-114": "R114", "R-115": "R115", "R-123": "R123", "R-124": "R124", "R-125": "R125",
    "R-134a": "R134a", "R-141b": "R141b", "R-142b": "R142b", "R-143a": "R143a", "R-152a": "R152A",
    "R-161": "R161", "R-218": "R218", "R-227ea": "R227EA", "R-236ea": "R236EA", "R-236fa": "R236FA",
    "R-245fa": "R245fa", "R-290": "n-Propane", "R-600": "n-Butane", "R-600a": "IsoButane",
    "R-601": "n-Pentane", "R-601a": "Isopentane", "R-717": "Ammonia", "R-1233zd(E)": "R1233zd(E)",
    "R-1234yf": "R1234yf", "R-1234ze(E)": "R1234ze(E)", "R-1270": "Propylene",
    "R-1336mzz(E)": "R1336mzz(E)", "R-1336mzz(Z)": "R1336mzz(Z)", "RE170": "DimethylEther",
}  # fmt: skip
"""Designation of each pure refrigerant and the library's name of it."""

_PAIR: Final = re.compile(r"binary pair \[([0-9-]+),([0-9-]+)\]")
_PRESSED: Final = 1.002
_LEAST: Final = 200.0
_MARGIN_K: Final = 8.0


def rows() -> Iterator[tuple[str, str, list[float | None]]]:
    """Designation, model words and density [kg/m3] at each node, None above the critical point."""
    from CoolProp.CoolProp import get_global_param_string

    for designation, name in PURE.items():
        state, _ = _state(name)
        if state is None:
            continue
        densities, bridged = _densities(state)
        yield designation, "pure fluid bridged" if bridged else "pure fluid", densities
    mixtures = {m for m in get_global_param_string("predefined_mixtures").split(",") if m.endswith(".mix")}
    for name in sorted(m for m in mixtures if re.fullmatch(r"R[0-9]{3}[A-Z]?\.mix", m)):
        state, estimated = _state(name)
        if state is None:
            continue
        densities, bridged = _densities(state)
        words = " ".join(["mixture", *["estimated"] * estimated, *["bridged"] * bridged])
        if densities[NODES_C.index(25)] is not None:
            yield f"R-{name[1:-4]}", words, densities


_ruled: Final[set[frozenset[str]]] = set()
"""Pairs (CAS numbers) that the mixing rule stands in for; the library keeps a rule until it ends."""


def _state(name: str) -> tuple[Any, bool]:
    from CoolProp.CoolProp import AbstractState, apply_simple_mixing_rule, get_fluid_param_string

    while True:
        try:
            state: Any = AbstractState("HEOS", name)
        except ValueError as error:
            pair = _PAIR.search(str(error))
            if pair is None:  # a component that the library lacks
                return None, False
            apply_simple_mixing_rule(pair[1], pair[2], "Lorentz-Berthelot")
            _ruled.add(frozenset((pair[1], pair[2])))
            continue
        numbers = {get_fluid_param_string(part, "CAS") for part in state.fluid_names()}
        return state, any(pair <= numbers for pair in _ruled)


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
