"""How far a superheat, a subcooling or a target can be off, from the limits of the instruments.

Each channel's limit is carried through the slope by which the figure depends on it; the effects are
added as root of the sum of squares, taking the channels as independent (GUM, JCGM 100, MEMORY). The
result is a limit like those that went in, not a standard deviation.

One effect has a direction: a pipe sensor that is not insulated reads too warm on a cold pipe (FOUND,
trade articles on pipe sensors, about 5 °F). It is not corrected, since nobody knows how large it is on
this pipe; it widens the side on which the truth then lies, see `Uncertainty.below_K`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from guide.charging.refusal import FigureError, finite
from guide.charging.round import Accuracy
from guide.charging.wording import K_PER_F, to_F

PA_PER_PSI = (
    6894.757293168  # exact to 13 digits: 0.45359237 kg · 9.80665 m/s² / (0.0254 m)² (MEMORY, NIST SP 811)
)

WARM_BIAS_K = 5.0 * K_PER_F
"""How much too warm a suction-line sensor reads that is not insulated: FOUND ("about 5 °F is typical"; up
to 15 °F for a pocket thermometer strapped on). That it is taken as anything from nothing to this is
PROPOSED."""

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
    """One channel's part: its limit in its own unit, and what that moves the figure by [K].

    `reads_high_K` is by how much more the figure may stand too high, and never too low.
    """

    channel: str
    limit: float
    effect_K: float
    reads_high_K: float = 0.0


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The total of what may go either way [K], and the parts it was made of."""

    total_K: float
    parts: tuple[Contribution, ...]

    @property
    def largest(self) -> Contribution | None:
        """The part that weighs most; None when there is none."""
        return max(self.parts, key=lambda part: abs(part.effect_K), default=None)

    @property
    def reads_high_K(self) -> float:
        """By how much the figure may stand too high beside that, and never too low [K]."""
        return sum(part.reads_high_K for part in self.parts)

    @property
    def below_K(self) -> float:
        """How far the truth may lie below the figure [K]; above it, it may lie `total_K`.

        An error anywhere between nothing and b has b/2 as its best estimate and half width (GUM 4.3.8,
        bounds that are not symmetric, MEMORY): below the figure lies b/2 + root(total² + (b/2)²). Above
        it nothing is taken off, since the error may be nothing (PROPOSED).
        """
        half_K = self.reads_high_K / 2.0
        return half_K + math.hypot(self.total_K, half_K)


def limit_of(channel: str, reading: float, accuracies: Mapping[str, Accuracy]) -> float:
    """Return the limit of error of one reading in the channel's SI unit.

    `accuracies` holds what is known of the instruments; a channel it does not name has the Title 24
    limit. The part "of reading" counts from the reading in °F for a temperature, from the absolute
    pressure for a pressure (a little more than from the gauge pressure). A display or scale that moves
    by a division hides up to half of it (GUM F.2.2.1, MEMORY), independent of the stated limit.

    Raises:
        FigureError: for a channel nobody knows, a reading that is not finite, or a negative limit.
    """
    accuracy = accuracies.get(channel) or TITLE_24.get(channel)
    if accuracy is None:
        raise FigureError(f"no channel is called {channel!r}: use one of {', '.join(TITLE_24)}")
    finite(channel, reading)
    if any(finite(channel, part) < 0.0 for part in (accuracy.fixed, accuracy.of_reading, accuracy.division)):
        raise FigureError(f"the accuracy of {channel} can't be negative: give the half width")
    size = abs(to_F(reading)) * K_PER_F if channel.endswith("_K") else abs(reading)
    stated = accuracy.fixed + accuracy.of_reading * size
    return math.hypot(stated, accuracy.division / 2.0) if accuracy.division else stated


def outside_range(channel: str, reading: float, accuracies: Mapping[str, Accuracy]) -> bool:
    """Say whether a reading lies outside what its instrument can show; False where no range is stated."""
    accuracy = accuracies.get(channel)
    if accuracy is None:
        return False
    low, high = accuracy.lowest, accuracy.highest
    return (low is not None and reading < low) or (high is not None and reading > high)


def warm_bias_K(
    suction_line_K: float, surroundings_K: float | None, accuracies: Mapping[str, Accuracy]
) -> float:
    """Return by how much the suction-line sensor may read too warm [K]: nothing unless it is said to be bare.

    Never more than the air around it is warmer than it reads, where that is known.
    """
    stated = accuracies.get("suction_line_K")
    if stated is None or stated.insulated is not False:
        return 0.0
    return most_warm_bias_K(suction_line_K, surroundings_K)


def most_warm_bias_K(suction_line_K: float, surroundings_K: float | None) -> float:
    """Return by how much a bare suction-line sensor may read too warm [K] in this air."""
    if surroundings_K is None:
        return WARM_BIAS_K
    return min(WARM_BIAS_K, max(0.0, surroundings_K - suction_line_K))


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
    surroundings_K: float | None = None,
) -> Uncertainty:
    """Return the uncertainty of superheat [K]; the pressure acts through the dew slope.

    `surroundings_K` is the air around the suction line, outdoor air as a rule; it bounds what a sensor
    that is not insulated reads too warm.

    Raises:
        FigureError: as `limit_of`.
    """
    both_ways = _saturation_figure(
        ("suction_pressure_Pa", suction_pressure_Pa),
        dew_slope_K_per_Pa,
        ("suction_line_K", suction_line_K),
        accuracies,
    )
    pressure, line = both_ways.parts
    bias_K = warm_bias_K(suction_line_K, surroundings_K, accuracies)
    return combine((pressure, replace(line, reads_high_K=bias_K)))


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
