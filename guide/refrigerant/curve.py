"""A pair of saturation curves, bubble and dew, and what can be asked of it."""

import math
from dataclasses import dataclass
from typing import Final

from guide.errors import ChargewrightError
from guide.refrigerant.piecewise import Piecewise

ESTIMATE_MAY_BE_OFF_K: Final = 4.0
"""How far a curve may be off whose mixture takes pairs of components by a mixing rule, or is doubted [K].

CALCULATED: the bubble and dew points at one atmosphere of the blends concerned differ by up to 4.0 K from
those printed with ASHRAE 34 (these from MEMORY), in the root mean square by 1.7 K.
"""

RULE_WORDS: Final = "pairs by mixing rule"
"""How a curve file's model text says that pairs of components have no measured interaction."""
DOUBT_WORDS: Final = "doubted"
"""How it says that a printed boiling point contradicts the mixture model."""

# So that an end of the range given in another unit, and rounded there, is still inside.
_SLACK: Final = 1e-7


class OutOfRange(ChargewrightError):
    """A pressure or temperature that the curve does not cover."""


@dataclass(frozen=True, slots=True)
class Branch:
    """The bubble or the dew side: temperature [K] over ln(pressure/Pa), and the way back."""

    temperature_K_of_ln_pressure: Piecewise
    ln_pressure_of_temperature_K: Piecewise
    bridged_Pa: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """Saturation of one refrigerant; pressures absolute [Pa], temperatures [K].

    `version` and `sha256` (of the canonical content) name the curve in a verdict; `source` is the file.
    `estimated` says that the library's mixture model was bridged where it does not solve by itself, or that
    a mixing rule stands in for pairs of its components; `why_estimated` tells which.
    `lowest_temperature_K` and `highest_temperature_K` bound the temperatures at which both sides answer.
    """

    designation: str
    version: str
    sha256: str
    estimated: bool
    source: bytes
    library: str
    model: str
    lowest_pressure_Pa: float
    highest_pressure_Pa: float
    critical_pressure_Pa: float
    lowest_temperature_K: float
    highest_temperature_K: float
    bubble: Branch
    dew: Branch

    @property
    def may_be_off_K(self) -> float:
        """How far its temperatures may be off [K], whatever the instruments; nothing where data made it."""
        loose = RULE_WORDS in self.model or DOUBT_WORDS in self.model
        return ESTIMATE_MAY_BE_OFF_K if loose else 0.0

    @property
    def why_estimated(self) -> str:
        """Why the curve is called estimated, and what that means; empty where it is not."""
        if not self.estimated:
            return ""
        off = f"{self.may_be_off_K:.0f} K ({self.may_be_off_K * 1.8:.0f} °F)"
        advice = f"temperatures may be off by {off}, go by the supplier's table where there is one"
        if RULE_WORDS in self.model:
            return f"a mixing rule stands in for pairs of its components; {advice}"
        if DOUBT_WORDS in self.model:
            return f"a printed boiling point contradicts the mixture model; {advice}"
        bridged = (*self.bubble.bridged_Pa, *self.dew.bridged_Pa)
        start_Pa = min((low for low, _ in bridged), default=self.lowest_pressure_Pa)
        return (
            "the mixture model was bridged where it does not solve, "
            f"from {start_Pa / 1e5:.0f} bar absolute up"
        )

    def estimated_at(self, side: Branch, pressure_Pa: float) -> bool:
        """Whether one side, `bubble` or `dew`, is an estimate at this very absolute pressure [Pa]."""
        return self.may_be_off_K > 0 or any(low <= pressure_Pa <= high for low, high in side.bridged_Pa)

    def dew_temperature_K(self, pressure_Pa: float) -> float:
        """Temperature of the last liquid [K] at an absolute pressure [Pa].

        Raises:
            OutOfRange: pressure not covered.
        """
        return self.dew.temperature_K_of_ln_pressure(self._ln(pressure_Pa))

    def bubble_temperature_K(self, pressure_Pa: float) -> float:
        """Temperature of the first vapour [K] at an absolute pressure [Pa].

        Raises:
            OutOfRange: pressure not covered.
        """
        return self.bubble.temperature_K_of_ln_pressure(self._ln(pressure_Pa))

    def dew_pressure_Pa(self, temperature_K: float) -> float:
        """Absolute pressure [Pa] at which vapour of this temperature [K] begins to condense.

        Raises:
            OutOfRange: temperature not covered.
        """
        return self._pressure_Pa(self.dew, "dew", temperature_K)

    def bubble_pressure_Pa(self, temperature_K: float) -> float:
        """Absolute pressure [Pa] at which liquid of this temperature [K] begins to boil.

        Raises:
            OutOfRange: temperature not covered.
        """
        return self._pressure_Pa(self.bubble, "bubble", temperature_K)

    def dew_slope_K_per_Pa(self, pressure_Pa: float) -> float:
        """How the dew temperature moves with pressure, dT/dp [K/Pa], at an absolute pressure [Pa].

        Raises:
            OutOfRange: pressure not covered.
        """
        return self.dew.temperature_K_of_ln_pressure.slope(self._ln(pressure_Pa)) / pressure_Pa

    def bubble_slope_K_per_Pa(self, pressure_Pa: float) -> float:
        """How the bubble temperature moves with pressure, dT/dp [K/Pa], at an absolute pressure [Pa].

        Raises:
            OutOfRange: pressure not covered.
        """
        return self.bubble.temperature_K_of_ln_pressure.slope(self._ln(pressure_Pa)) / pressure_Pa

    def glide_K(self, pressure_Pa: float) -> float:
        """Dew temperature minus bubble temperature [K] at one absolute pressure [Pa].

        Raises:
            OutOfRange: pressure not covered.
        """
        return self.dew_temperature_K(pressure_Pa) - self.bubble_temperature_K(pressure_Pa)

    def _ln(self, pressure_Pa: float) -> float:
        if (
            not self.lowest_pressure_Pa * (1 - _SLACK)
            <= pressure_Pa
            <= self.highest_pressure_Pa * (1 + _SLACK)
        ):
            raise OutOfRange(
                f"{self.designation}: {pressure_Pa / 1000:.5g} kPa absolute is outside the curve, "
                f"{self.lowest_pressure_Pa / 1000:.1f} to {self.highest_pressure_Pa / 1000:.1f} kPa; "
                "check the reading and its unit"
            )
        return math.log(pressure_Pa)

    def _pressure_Pa(self, branch: Branch, side: str, temperature_K: float) -> float:
        function = branch.ln_pressure_of_temperature_K
        low, high = function.breaks[0], function.breaks[-1]
        if not low * (1 - _SLACK) <= temperature_K <= high * (1 + _SLACK):
            raise OutOfRange(
                f"{self.designation}: {side} at {temperature_K - 273.15:.5g} °C is outside the curve, "
                f"{low - 273.15:.1f} to {high - 273.15:.1f} °C; check the reading and its unit"
            )
        return math.exp(function(temperature_K))
