"""Makes the shipped saturation curves: `python -m guide.refrigerant.fit [FOLDER]`.

Needs the property library CoolProp; the program itself does not load it for a saturation lookup. The same
library version gives the same files.

Pure fluids and the pseudo-pure R-407C and R-410A solve everywhere. The mixture R-454B does not: CoolProp
8.0.0 fails in patches from about 33 bar up (FOUND by running it). There the curve is followed upward from a
pressure that solves, each solution being the guess for the next; the patches are written into the file as
bridged.
"""

import json
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from guide.errors import ChargewrightError
from guide.refrigerant.curve_file import FORMAT, content_sha256
from guide.refrigerant.piecewise import Piecewise, chebyshev_coefficients, chebyshev_nodes

VERSION: Final = "1"
LOWEST_TEMPERATURE_K: Final = 233.15
DEGREE: Final = 8
TOLERANCE_K: Final = 1e-5
TOLERANCE_LN: Final = 1e-9

_FOLLOW_FROM_Pa: Final = 1.2e6
_FOLLOW_STEP: Final = 1.004
_PATCH_GRID: Final = 6000
_PATCH_MARGIN: Final = 16
_NARROWEST: Final = 0.02


class FitError(ChargewrightError):
    """The property library did not give a curve that can be shipped."""


@dataclass(frozen=True, slots=True)
class Model:
    """What the library calls a refrigerant, and how far up its curve is taken."""

    designation: str
    library_name: str
    words: str
    top_share: float  # of the critical pressure
    estimated: bool = False


MODELS: Final = (
    Model("R-22", "R22", "pure fluid R22", 0.95),
    Model("R-32", "R32", "pure fluid R32", 0.95),
    Model("R-134a", "R134a", "pure fluid R134a", 0.95),
    Model("R-407C", "R407C", "pseudo-pure fluid R407C", 0.95),
    Model("R-410A", "R410A", "pseudo-pure fluid R410A", 0.95),
    Model("R-454B", "R454B.mix", "mixture R454B.mix, bridged", 0.92, estimated=True),
)


class Side:
    """Saturation temperatures of one model on one side, quality 0 (bubble) or 1 (dew), from the library."""

    def __init__(self, library_name: str, quality: int) -> None:
        from CoolProp.CoolProp import AbstractState

        self._state: Any = AbstractState("HEOS", library_name)
        self._quality = quality
        self._guesses: list[tuple[float, Any]] = []

    def solved(self, pressure_Pa: float) -> float | None:
        """Temperature [K] straight from the library, None where it fails."""
        from CoolProp.CoolProp import PQ_INPUTS

        try:
            self._state.update(PQ_INPUTS, pressure_Pa, self._quality)
        except ValueError:  # the library's one error for whatever does not solve
            return None
        return float(self._state.T())

    def temperature_K(self, pressure_Pa: float) -> float:
        """Temperature [K], followed from below where the library fails by itself.

        Raises:
            FitError: not even then.
        """
        straight = self.solved(pressure_Pa)
        if straight is not None:
            return straight
        from CoolProp.CoolProp import PQ_INPUTS

        start = min(_FOLLOW_FROM_Pa, pressure_Pa)
        if not self._guesses:
            if self.solved(start) is None:
                raise FitError(f"no solution at {start} Pa to follow the curve from")
            self._guesses.append((start, self._guess()))
        while True:
            reached, guess = next(pair for pair in reversed(self._guesses) if pair[0] <= pressure_Pa)
            step = min(reached * _FOLLOW_STEP, pressure_Pa)
            guess.p = step
            try:
                self._state.update_with_guesses(PQ_INPUTS, step, self._quality, guess)
            except ValueError as error:
                raise FitError(f"the curve can't be followed beyond {reached} Pa") from error
            if step == pressure_Pa:
                return float(self._state.T())
            self._guesses.append((step, self._guess()))

    def temperature_K_of_ln(self, ln_pressure: float) -> float:
        """Temperature [K] at ln(pressure/Pa); see `temperature_K`."""
        return self.temperature_K(math.exp(ln_pressure))

    def pressure_Pa(self, temperature_K: float) -> float:
        """Pressure [Pa] at a temperature [K], at the cold end where every model solves."""
        from CoolProp.CoolProp import QT_INPUTS

        self._state.update(QT_INPUTS, self._quality, temperature_K)
        return float(self._state.p())

    def _guess(self) -> Any:
        from CoolProp.CoolProp import PyGuessesStructure, iDmolar

        guess = PyGuessesStructure()
        guess.T, guess.p = self._state.T(), self._state.p()
        guess.x, guess.y = self._state.mole_fractions_liquid(), self._state.mole_fractions_vapor()
        guess.rhomolar_liq = self._state.saturated_liquid_keyed_output(iDmolar)
        guess.rhomolar_vap = self._state.saturated_vapor_keyed_output(iDmolar)
        return guess


def critical_pressure_Pa(library_name: str) -> float:
    """Critical pressure [Pa] as the library has it; of several points found, the stable one."""
    from CoolProp.CoolProp import AbstractState

    state: Any = AbstractState("HEOS", library_name)
    try:
        return float(state.p_critical())
    except ValueError:  # a mixture with several solutions of the critical conditions
        return float(next(point.p for point in state.all_critical_points() if point.stable))


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
    """
    sides = {"bubble": Side(model.library_name, 0), "dew": Side(model.library_name, 1)}
    critical = critical_pressure_Pa(model.library_name)
    low, high = sides["dew"].pressure_Pa(LOWEST_TEMPERATURE_K), critical * model.top_share
    grid = [low * (high / low) ** (k / (_PATCH_GRID - 1)) for k in range(_PATCH_GRID)]
    branches: dict[str, dict[str, object]] = {}
    worst = 0.0
    for name, side in sides.items():
        forward = _rounded(fit_pieces(side.temperature_K_of_ln, math.log(low), math.log(high), TOLERANCE_K))
        back = _rounded(_inverse(forward))
        solved = [side.solved(p) for p in grid]
        worst = max(
            worst,
            *(abs(forward(math.log(p)) - t) for p, t in zip(grid, solved, strict=True) if t is not None),
        )
        branches[name] = {
            "temperature_K_of_ln_pressure": _file_form(forward),
            "ln_pressure_of_temperature_K": _file_form(back),
            "bridged_Pa": [[_text(a), _text(b)] for a, b in _patches(grid, solved)],
        }
    content: dict[str, object] = {
        "format": FORMAT,
        "designation": model.designation,
        "version": VERSION,
        "generator": {
            "program": "guide.refrigerant.fit",
            "library": f"CoolProp {metadata.version('CoolProp')}",
            "model": model.words,
        },
        "estimated": model.estimated,
        "lowest_pressure_Pa": _text(low),
        "highest_pressure_Pa": _text(high),
        "critical_pressure_Pa": _text(critical),
        "largest_error_K": f"{worst:.1e}",
        **branches,
    }
    return {**content, "sha256": content_sha256(content)}


def _inverse(forward: Piecewise) -> Piecewise:
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

    return fit_pieces(ln_pressure, forward(low), forward(high), TOLERANCE_LN)


def _patches(grid: list[float], solved: list[float | None]) -> list[tuple[float, float]]:
    """Pressure intervals around each failure; with ragged edges, so they reach 1 % further."""
    patches: list[tuple[float, float]] = []
    for index, temperature in enumerate(solved):
        if temperature is None:
            low, high = grid[max(index - _PATCH_MARGIN, 0)], grid[min(index + _PATCH_MARGIN, len(grid) - 1)]
            if patches and low <= patches[-1][1]:
                low = patches.pop()[0]
            patches.append((low, high))
    return patches


def _text(number: float) -> str:
    return repr(float(f"{number:.15g}"))


def _rounded(function: Piecewise) -> Piecewise:
    return Piecewise.of(
        [float(_text(edge)) for edge in function.breaks],
        [[float(_text(coefficient)) for coefficient in row] for row in function.series],
    )


def _file_form(function: Piecewise) -> dict[str, object]:
    return {
        "breaks": [_text(edge) for edge in function.breaks],
        "series": [[_text(coefficient) for coefficient in row] for row in function.series],
    }


def write_curves(folder: Path, models: Sequence[Model] = MODELS) -> Iterator[str]:
    """Write the curve file of each model into a folder; a line about each as it is done.

    Raises:
        FitError: the library gives no curve that can be shipped.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for model in models:
        content = fit(model)
        text = json.dumps(content, indent=1, sort_keys=True, ensure_ascii=False) + "\n"
        (folder / f"{model.designation}.json").write_text(text, encoding="utf-8", newline="\n")
        yield f"{model.designation}: largest error {content['largest_error_K']} K, {len(text)} bytes\n"


if __name__ == "__main__":
    sys.stdout.writelines(
        write_curves(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "curves")
    )
