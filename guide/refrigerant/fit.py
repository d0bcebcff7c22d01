"""Makes the shipped saturation curves: `python -m guide.refrigerant.fit FOLDER [DESIGNATION...]`.

Needs the property library CoolProp; the program itself does not load it for a saturation lookup. The same
library version gives the same files.

Pure and pseudo-pure fluids solve everywhere. Mixtures do not: CoolProp 8.0.0 fails in patches, mostly towards
the critical point, or meets another root there (FOUND by running it). The curve is then followed upward from
a pressure that solves, each solution being the guess for the next; the patches are written into the file as
bridged, and the curve is called estimated. So is one whose mixture takes a pair of components by the mixing
rule (`models.py`), or whose printed boiling point contradicts the model (`refrigerants.csv`).
"""

import json
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from guide.refrigerant.curve import DOUBT_WORDS, RULE_WORDS
from guide.refrigerant.curve_file import FORMAT, content_sha256
from guide.refrigerant.followed import FitError, Side
from guide.refrigerant.models import Model, NoModel, library_state, models
from guide.refrigerant.piecewise import Piecewise, chebyshev_coefficients, chebyshev_nodes

VERSION: Final = "1"
DEGREE: Final = 8

_NARROWEST: Final = 0.02
_COLDEST_CRITICAL_POINT_K: Final = 200.0
_START: Final = 1e-5
_ASTRAY: Final = 10.0
_MOST_ASTRAY: Final = 0.02


@dataclass(frozen=True, slots=True)
class _Care:
    """How finely a curve is made: tolerances, grid for the patches, margin in its steps, digits written."""

    tolerance_K: float
    tolerance_ln: float
    grid: int
    margin: int
    digits: int
    indent: int | None


_FINE: Final = _Care(1e-5, 1e-9, 6000, 16, 15, 1)
# The files of the many stay a third as large; 1e-4 K is far below what any gauge shows.
_USUAL: Final = _Care(1e-4, 1e-7, 600, 2, 12, None)


def critical_pressure_Pa(model: Model) -> float:
    """Critical pressure [Pa] as the library has it; of several points found, the stable one.

    Where the library finds none, the highest pressure of its phase envelope, which is at least as high.

    Raises:
        FitError: it has none of these.
    """
    state: Any = library_state(model)
    try:
        return float(state.p_critical())
    except ValueError:  # a mixture with several solutions of the critical conditions, or none
        pass
    try:
        points = state.all_critical_points()
        return float(
            next(point.p for point in points if point.stable and point.T > _COLDEST_CRITICAL_POINT_K)
        )
    except (ValueError, StopIteration):
        pass
    try:
        state.build_phase_envelope("none")
        return float(max(state.get_phase_envelope_data().p))
    except ValueError as error:
        raise FitError(f"{model.designation}: the library has no critical point") from error


def fit_pieces(function: Callable[[float], float], low: float, high: float, tolerance: float) -> Piecewise:
    """A piecewise Chebyshev series of a function on [low, high], halved until all are within tolerance.

    Raises:
        FitError: the function is too rough.
    """
    edges, series = [low], []
    for start, end, coefficients in _pieces(function, low, high, tolerance):
        edges.append(end)
        series.append(coefficients)
        if start != edges[-2]:
            raise FitError(f"pieces do not join at {start}")
    return Piecewise.of(edges, series)


def _pieces(
    function: Callable[[float], float], low: float, high: float, tolerance: float
) -> Iterator[tuple[float, float, tuple[float, ...]]]:
    coefficients = chebyshev_coefficients([function(x) for x in chebyshev_nodes(low, high, DEGREE)])
    trial = Piecewise.of((low, high), (coefficients,))
    checks = [low + (high - low) * (k + 0.5) / 16 for k in range(16)]
    if all(abs(trial(x) - function(x)) < tolerance for x in checks):
        yield low, high, coefficients
        return
    if high - low < _NARROWEST:
        raise FitError(f"no smooth curve between {low} and {high}")
    middle = (low + high) / 2
    yield from _pieces(function, low, middle, tolerance)
    yield from _pieces(function, middle, high, tolerance)


def fit(model: Model) -> dict[str, object]:
    """The content of a curve file for one model.

    Raises:
        FitError: the library gives no curve that can be shipped.
        NoModel: the library can't compute it.
    """
    critical = critical_pressure_Pa(model)
    for top_share in model.top_shares[:-1]:
        try:
            return _fit(model, critical, top_share)
        except FitError:
            continue
    return _fit(model, critical, model.top_shares[-1])


def _fit(model: Model, critical: float, top_share: float) -> dict[str, object]:
    care = _FINE if model.fine else _USUAL
    sides = {"bubble": Side(model, 0), "dew": Side(model, 1)}
    low, high = sides["dew"].pressure_Pa(model.lowest_temperature_K), critical * top_share
    # The library's two ways between pressure and temperature may disagree by a millikelvin at low pressures.
    while any(side.temperature_K(low) > model.lowest_temperature_K + _START for side in sides.values()):
        low *= 0.999
    grid = [low * (high / low) ** (k / (care.grid - 1)) for k in range(care.grid)]
    branches: dict[str, dict[str, object]] = {}
    worst = 0.0
    bridged = False
    for name, side in sides.items():
        forward = _rounded(
            fit_pieces(side.temperature_K_of_ln, math.log(low), math.log(high), care.tolerance_K), care
        )
        back = _rounded(_inverse(forward, care), care)
        solved = _without_astray(grid, [side.solved(p) for p in grid], forward, care)
        worst = max(
            worst,
            *(abs(forward(math.log(p)) - t) for p, t in zip(grid, solved, strict=True) if t is not None),
        )
        patches = _patches(grid, solved, care.margin)
        bridged = bridged or bool(patches)
        branches[name] = {
            "temperature_K_of_ln_pressure": _file_form(forward, care),
            "ln_pressure_of_temperature_K": _file_form(back, care),
            "bridged_Pa": [[_text(a, care), _text(b, care)] for a, b in patches],
        }
    ruled = sides["dew"].pairs_by_rule
    content: dict[str, object] = {
        "format": FORMAT,
        "designation": model.designation,
        "version": VERSION,
        "generator": {
            "program": "guide.refrigerant.fit",
            "library": f"CoolProp {metadata.version('CoolProp')}",
            "model": f"{model.words}, {ruled} {RULE_WORDS}" if ruled else model.words,
        },
        "estimated": bridged or ruled > 0 or DOUBT_WORDS in model.words,
        "lowest_pressure_Pa": _text(low, care),
        "highest_pressure_Pa": _text(high, care),
        "critical_pressure_Pa": _text(critical, care),
        "largest_error_K": f"{worst:.1e}",
        **branches,
    }
    return {**content, "sha256": content_sha256(content)}


def _inverse(forward: Piecewise, care: _Care) -> Piecewise:
    """ln pressure as a function of temperature, so that both ways agree far better than either is known."""
    low, high = forward.breaks[0], forward.breaks[-1]

    def ln_pressure(temperature_K: float) -> float:
        x = low + (high - low) * (temperature_K - forward(low)) / (forward(high) - forward(low))
        for _ in range(50):
            step = (forward(x) - temperature_K) / forward.slope(x)
            x = min(max(x - step, low), high)
            if abs(step) < 1e-14:
                break
        return x

    return fit_pieces(ln_pressure, forward(low), forward(high), care.tolerance_ln)


def _without_astray(
    grid: list[float], solved: list[float | None], forward: Piecewise, care: _Care
) -> list[float | None]:
    """The solutions without the few that leave the smooth curve: there the library met another root.

    Raises:
        FitError: they are not few, so nobody knows which is the curve.
    """
    kept = [
        t if t is not None and abs(forward(math.log(p)) - t) < _ASTRAY * care.tolerance_K else None
        for p, t in zip(grid, solved, strict=True)
    ]
    if solved.count(None) + _MOST_ASTRAY * len(grid) < kept.count(None):
        raise FitError("the library's solutions do not lie on one smooth curve")
    return kept


def _patches(grid: list[float], solved: list[float | None], margin: int) -> list[tuple[float, float]]:
    """Pressure intervals around each failure; with ragged edges, so they reach 1 % further."""
    patches: list[tuple[float, float]] = []
    for index, temperature in enumerate(solved):
        if temperature is None:
            low, high = grid[max(index - margin, 0)], grid[min(index + margin, len(grid) - 1)]
            if patches and low <= patches[-1][1]:
                low = patches.pop()[0]
            patches.append((low, high))
    return patches


def _text(number: float, care: _Care) -> str:
    return repr(float(f"{number:.{care.digits}g}"))


def _rounded(function: Piecewise, care: _Care) -> Piecewise:
    return Piecewise.of(
        [float(_text(edge, care)) for edge in function.breaks],
        [[float(_text(coefficient, care)) for coefficient in row] for row in function.series],
    )


def _file_form(function: Piecewise, care: _Care) -> dict[str, object]:
    return {
        "breaks": [_text(edge, care) for edge in function.breaks],
        "series": [[_text(coefficient, care) for coefficient in row] for row in function.series],
    }


def write_curves(folder: Path, wanted: Sequence[Model]) -> Iterator[str]:
    """Write the curve file of each model into a folder; a line about each as it is done or fails."""
    folder.mkdir(parents=True, exist_ok=True)
    for model in wanted:
        try:
            content = fit(model)
        except (FitError, NoModel) as error:
            yield f"{model.designation}: FAILED: {error}\n"
            continue
        indent = (_FINE if model.fine else _USUAL).indent
        separators = None if indent else (",", ":")
        text = json.dumps(content, indent=indent, separators=separators, sort_keys=True, ensure_ascii=False)
        (folder / f"{model.designation}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
        yield (
            f"{model.designation}: largest error {content['largest_error_K']} K, {len(text) + 1} bytes"
            f"{', estimated' if content['estimated'] else ''}\n"
        )


def _main(folder: str, *designations: str) -> None:
    for model in models():
        if not designations or model.designation in designations:
            for line in write_curves(Path(folder), [model]):
                sys.stdout.write(line)
                sys.stdout.flush()


if __name__ == "__main__":
    _main(*sys.argv[1:])
