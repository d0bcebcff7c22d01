"""How far a superheat, a subcooling or a target can be off, from the limits of the instruments.

Each channel's limit is carried through the slope by which the figure depends on it; the effects are
added as root of the sum of squares, taking the channels as independent (GUM, JCGM 100, MEMORY). The
result is a limit like those that went in, not a standard deviation.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from guide.charging.refusal import FigureError, finite
from guide.charging.round import Accuracy
from guide.charging.wording import K_PER_F, to_F

PA_PER_PSI = (
    6894.757293168  # exact to 13 digits: 0.45359237 kg · 9.80665 m/s² / (0.0254 m)² (MEMORY, NIST SP 811)
)

# ± (0.1 % of reading + 1.3 °F): FOUND, RA3 2008 p. 11. ± 3.5 psi suction, ± 7.0 psi liquid: FOUND, RA3 2013.
_THERMOMETER = Accuracy(fixed=1.3 * K_PER_F, of_reading=0.001)
TITLE_24: Mapping[str, Accuracy] = {
    "suction_pressure_Pa": Accuracy(fixed=3.5 * PA_PER_PSI),
    "liquid_pressure_Pa": Accuracy(fixed=7.0 * PA_PER_PSI),
    "suction_line_K": _THERMOMETER,
    "liquid_line_K": _THERMOMETER,
    "indoor_db_K": _THERMOMETER,
    "indoor_wb_K": _THERMOMETER,
    "supply_db_K": _THERMOMETER,
    "outdoor_db_K": _THERMOMETER,
}


@dataclass(frozen=True, slots=True)
class Contribution:
    """One channel's part: its limit in its own unit, and what that moves the figure by [K]."""

    channel: str
    limit: float
    effect_K: float


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The total [K] and the parts it was made of."""

    total_K: float
    parts: tuple[Contribution, ...]

    @property
    def largest(self) -> Contribution | None:
        """The part that weighs most; None when there is none."""
        return max(self.parts, key=lambda part: abs(part.effect_K), default=None)


def limit_of(channel: str, reading: float, accuracies: Mapping[str, Accuracy]) -> float:
    """Return the limit of error of one reading in the channel's SI unit.

    `accuracies` holds what is known of the instruments; a channel it does not name has the Title 24
    limit. The part "of reading" counts from the reading in °F for a temperature.

    Raises:
        FigureError: for a channel nobody knows, a reading that is not finite, or a negative limit.
    """
    accuracy = accuracies.get(channel) or TITLE_24.get(channel)
    if accuracy is None:
        raise FigureError(f"no channel is called {channel!r}: use one of {', '.join(TITLE_24)}")
    finite(channel, reading)
    if finite(channel, accuracy.fixed) < 0.0 or finite(channel, accuracy.of_reading) < 0.0:
        raise FigureError(f"the accuracy of {channel} can't be negative: give the half width")
    size = abs(to_F(reading)) * K_PER_F if channel.endswith("_K") else abs(reading)
    return accuracy.fixed + accuracy.of_reading * size


def combine(parts: Iterable[Contribution]) -> Uncertainty:
    """Add independent parts as root of the sum of squares."""
    kept = tuple(parts)
    return Uncertainty(math.hypot(*(part.effect_K for part in kept)), kept)


def superheat_uncertainty(
    *,
    dew_slope_K_per_Pa: float,
    suction_pressure_Pa: float,
    suction_line_K: float,
    accuracies: Mapping[str, Accuracy],
) -> Uncertainty:
    """Return the uncertainty of superheat [K]; the pressure acts through the dew slope.

    Raises:
        FigureError: as `limit_of`.
    """
    return _saturation_figure(
        ("suction_pressure_Pa", suction_pressure_Pa),
        dew_slope_K_per_Pa,
        ("suction_line_K", suction_line_K),
        accuracies,
    )


def subcooling_uncertainty(
    *,
    bubble_slope_K_per_Pa: float,
    liquid_pressure_Pa: float,
    liquid_line_K: float,
    accuracies: Mapping[str, Accuracy],
) -> Uncertainty:
    """Return the uncertainty of subcooling [K]; the pressure acts through the bubble slope.

    Raises:
        FigureError: as `limit_of`.
    """
    return _saturation_figure(
        ("liquid_pressure_Pa", liquid_pressure_Pa),
        bubble_slope_K_per_Pa,
        ("liquid_line_K", liquid_line_K),
        accuracies,
    )


def target_uncertainty(
    *,
    slope_per_wb: float,
    slope_per_db: float,
    indoor_wb_K: float,
    outdoor_db_K: float,
    accuracies: Mapping[str, Accuracy],
) -> Uncertainty:
    """Return the uncertainty of a target superheat [K] that comes from the two air readings.

    Raises:
        FigureError: as `limit_of`.
    """
    wb = limit_of("indoor_wb_K", indoor_wb_K, accuracies)
    db = limit_of("outdoor_db_K", outdoor_db_K, accuracies)
    return combine(
        (
            Contribution("indoor_wb_K", wb, slope_per_wb * wb),
            Contribution("outdoor_db_K", db, slope_per_db * db),
        )
    )


def _saturation_figure(
    pressure: tuple[str, float],
    slope_K_per_Pa: float,
    line: tuple[str, float],
    accuracies: Mapping[str, Accuracy],
) -> Uncertainty:
    pressure_limit = limit_of(*pressure, accuracies)
    line_limit = limit_of(*line, accuracies)
    return combine(
        (
            Contribution(pressure[0], pressure_limit, finite("slope", slope_K_per_Pa) * pressure_limit),
            Contribution(line[0], line_limit, line_limit),
        )
    )
