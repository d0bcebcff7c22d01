"""Saturation temperatures from the property library, followed from below where it does not solve itself."""

import math
from typing import Any, Final

from guide.errors import ChargewrightError
from guide.refrigerant.models import Model, library_state, pairs_by_rule

_FOLLOW_FROM_Pa: Final = 1.2e6
_FOLLOW_STEP: Final = 1.004
_SEEK_STEP: Final = 0.97
_LARGEST_JUMP_K: Final = 1.0
_LEAST_DENSITY_RATIO: Final = 1.02


class FitError(ChargewrightError):
    """The property library did not give a curve that can be shipped."""


class Side:
    """Saturation temperatures of one model on one side, quality 0 (bubble) or 1 (dew), from the library."""

    def __init__(self, model: Model, quality: int) -> None:
        self._state: Any = library_state(model)
        self._mixture = model.is_mixture
        self._quality = quality
        self._guesses: list[tuple[float, Any]] = []

    def solved(self, pressure_Pa: float) -> float | None:
        """Temperature [K] straight from the library, None where it fails."""
        from CoolProp.CoolProp import PQ_INPUTS

        try:
            self._state.update(PQ_INPUTS, pressure_Pa, self._quality)
        except ValueError:  # the library's one error for whatever does not solve
            return None
        if self._mixture and self._is_one_phase():
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

        if not self._guesses or self._guesses[0][0] > pressure_Pa:
            start = min(_FOLLOW_FROM_Pa, pressure_Pa)
            while self.solved(start) is None:
                start *= _SEEK_STEP
                if start < _FOLLOW_FROM_Pa / 100:
                    raise FitError(f"no solution below {pressure_Pa} Pa to follow the curve from")
            self._guesses.insert(0, (start, self._guess()))
        while True:
            reached, guess = next(pair for pair in reversed(self._guesses) if pair[0] <= pressure_Pa)
            step = min(reached * _FOLLOW_STEP, pressure_Pa)
            guess.p = step
            try:
                self._state.update_with_guesses(PQ_INPUTS, step, self._quality, guess)
            except ValueError as error:
                raise FitError(f"the curve can't be followed beyond {reached} Pa") from error
            if self._is_one_phase() or abs(self._state.T() - guess.T) > _LARGEST_JUMP_K:
                raise FitError(f"the curve is lost beyond {reached} Pa")
            if step == pressure_Pa:
                return float(self._state.T())
            self._guesses.append((step, self._guess()))
            self._guesses.sort(key=lambda pair: pair[0])

    def temperature_K_of_ln(self, ln_pressure: float) -> float:
        """Temperature [K] at ln(pressure/Pa); see `temperature_K`."""
        return self.temperature_K(math.exp(ln_pressure))

    def pressure_Pa(self, temperature_K: float) -> float:
        """Pressure [Pa] at a temperature [K], at the cold end where every model solves."""
        from CoolProp.CoolProp import QT_INPUTS

        self._state.update(QT_INPUTS, self._quality, temperature_K)
        return float(self._state.p())

    @property
    def pairs_by_rule(self) -> int:
        """How many pairs of components the mixing rule gave."""
        return pairs_by_rule(self._state) if self._mixture else 0

    def _is_one_phase(self) -> bool:
        """Whether liquid and vapour have become the same: a root without meaning."""
        from CoolProp.CoolProp import iDmolar

        liquid = self._state.saturated_liquid_keyed_output(iDmolar)
        return bool(liquid < _LEAST_DENSITY_RATIO * self._state.saturated_vapor_keyed_output(iDmolar))

    def _guess(self) -> Any:
        from CoolProp.CoolProp import PyGuessesStructure, iDmolar

        guess = PyGuessesStructure()
        guess.T, guess.p = self._state.T(), self._state.p()
        guess.x, guess.y = self._state.mole_fractions_liquid(), self._state.mole_fractions_vapor()
        guess.rhomolar_liq = self._state.saturated_liquid_keyed_output(iDmolar)
        guess.rhomolar_vap = self._state.saturated_vapor_keyed_output(iDmolar)
        return guess
