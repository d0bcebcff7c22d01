"""What one round of readings says: superheat, subcooling, target, verdict, each with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from guide.charging import uncertainty as spread
from guide.charging.round import Appliance, Meaning, Metering, Round, Verdict
from guide.charging.superheat import subcooling_K, superheat_K
from guide.charging.target import Target, cross_check, target_as_given, target_by_rule, target_by_table
from guide.charging.verdict import Bound, all_of, judge, judge_limit
from guide.charging.wording import K_PER_F, difference
from guide.errors import ChargewrightError

CHANNEL_WORDS = {
    "suction_pressure_Pa": "suction pressure",
    "suction_line_K": "suction line temperature",
    "liquid_pressure_Pa": "liquid pressure",
    "liquid_line_K": "liquid line temperature",
    "indoor_db_K": "indoor (return air) dry bulb",
    "indoor_wb_K": "indoor (return air) wet bulb",
    "supply_db_K": "supply air dry bulb",
    "outdoor_db_K": "outdoor dry bulb",
}


@dataclass(frozen=True, slots=True)
class Demand:
    """One thing the verdict asks: a figure no further than `half_K` from the middle of what is wanted.

    `gap_K` is how far it stands above that middle; both [K], with the figure's uncertainty. `by_charge`
    says that charge is moved while it stands outside.
    """

    figure: str
    gap_K: float
    half_K: float
    spread: spread.Uncertainty
    by_charge: bool = True

    @property
    def verdict(self) -> Verdict:
        """Where it stands, its uncertainty considered."""
        return judge(self.gap_K, self.half_K, self.spread.total_K, self.spread.below_K)


# Under it a suction line counts as wet whatever the target (PROPOSED; makers want 5 °F at the port, FOUND).
LEAST_SUPERHEAT_K = 2.0 * K_PER_F
_HUGE = 1e9  # far above any pressure [Pa] or temperature [K] met here, far below where arithmetic overflows


@dataclass(slots=True)
class _Figures:
    """What is gathered while one round is read."""

    dew_K: float | None = None
    bubble_K: float | None = None
    superheat_K: float | None = None
    superheat_spread: spread.Uncertainty | None = None
    subcooling_K: float | None = None
    subcooling_spread: spread.Uncertainty | None = None
    demands: list[Demand] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)


def interpret(appliance: Appliance, round: Round) -> Meaning:
    """Return the meaning of one round; a figure whose readings are missing or unusable is None.

    The verdict is on superheat against target for a fixed orifice; for a valve on subcooling against
    the maker's target and superheat within its range. It is undecided when a figure is missing.

    A reading outside its instrument's range is told and not used.

    Raises:
        FigureError: when an accuracy of the appliance can't be used.
    """
    return weigh(appliance, round)[0]


def weigh(appliance: Appliance, round: Round) -> tuple[Meaning, tuple[Demand, ...]]:
    """Return the meaning of one round and the demands its verdict was put together from.

    Raises:
        FigureError: when an accuracy of the appliance can't be used.
    """
    round, figures = within_ranges(appliance, round), _Figures(reasons=list(beyond_range(appliance, round)))
    _suction(appliance, round, figures)
    _liquid(appliance, round, figures)
    fixed = appliance.metering is Metering.FIXED_ORIFICE
    target = target_of(appliance, round) if fixed else None
    target_spread: spread.Uncertainty | None = None
    if target is not None:
        figures.reasons.extend(target.reasons)
        target_spread = _target_spread(appliance, round, target)
    total: spread.Uncertainty | None = None
    verdict = Verdict.UNDECIDED
    if not fixed:
        total, verdict = _valve(appliance, figures)
    elif target is not None and target.value_K is not None and target_spread is not None:
        total, verdict = _orifice(appliance, figures, target.value_K, target_spread)
    _instruments(appliance, figures)
    meaning = Meaning(
        dew_K=figures.dew_K,
        bubble_K=figures.bubble_K,
        superheat_K=figures.superheat_K,
        superheat_uncertainty_K=_widest(figures.superheat_spread),
        subcooling_K=figures.subcooling_K,
        subcooling_uncertainty_K=_widest(figures.subcooling_spread),
        target_superheat_K=target.value_K if target is not None else None,
        target_superheat_uncertainty_K=_widest(target_spread),
        target_subcooling_K=appliance.target_subcooling_K,
        verdict=verdict,
        uncertainty_K=_widest(total),
        reasons=tuple(figures.reasons),
    )
    return meaning, tuple(figures.demands)


def target_of(appliance: Appliance, round: Round) -> Target | None:
    """Return the target superheat of a fixed orifice: the maker's when given, else that of a table.

    The maker's own table stands in the place of the built-in one.

    None when a reading the table needs is missing or not a number. Never raises for a reading.
    """
    if appliance.target_superheat_K is not None:
        return target_as_given(appliance.target_superheat_K)
    wb, db = usable(round.indoor_wb_K), usable(round.outdoor_db_K)
    if wb is None or db is None:
        return None
    own = appliance.target_table
    table = target_by_table(wb, db) if own is None else own.target(wb, db)
    disagreement = cross_check(table, target_by_rule(wb, db))
    if not disagreement:
        return table
    return Target(
        table.value_K,
        table.valid,
        table.method,
        (*table.reasons, *disagreement),
        table.slope_per_wb,
        table.slope_per_db,
        table.version,
    )


def usable(reading: float | None) -> float | None:
    """Return a reading that a calculation can hold, else None; what is likely is judged elsewhere."""
    return reading if reading is not None and math.isfinite(reading) and abs(reading) <= _HUGE else None


def beyond_range(appliance: Appliance, now: Round) -> tuple[str, ...]:
    """Return which readings lie outside their instrument's range, in words; empty when none does."""
    return tuple(
        f"The {words} lies outside the range of its instrument: it can't be trusted; read it with another."
        for channel, words in CHANNEL_WORDS.items()
        if _is_beyond(appliance, channel, getattr(now, channel))
    )


def within_ranges(appliance: Appliance, now: Round) -> Round:
    """Return the round without the readings that lie outside their instrument's range."""
    for channel in CHANNEL_WORDS:
        if _is_beyond(appliance, channel, getattr(now, channel)):
            now = replace(now, **{channel: None})  # type: ignore[arg-type]  # a channel may be None
    return now


def _is_beyond(appliance: Appliance, channel: str, reading: float | None) -> bool:
    value = usable(reading)
    return value is not None and spread.outside_range(channel, value, appliance.accuracies)


def _suction(appliance: Appliance, now: Round, figures: _Figures) -> None:
    pressure = usable(now.suction_pressure_Pa)
    line = usable(now.suction_line_K)
    if pressure is None:
        return
    try:
        figures.dew_K = appliance.curve.dew_temperature_K(pressure)
        slope = appliance.curve.dew_slope_K_per_Pa(pressure)
        if line is not None:
            figures.superheat_K = superheat_K(
                appliance.curve, suction_pressure_Pa=pressure, suction_line_K=line
            )
    except ChargewrightError as error:
        figures.reasons.append(f"The suction pressure can't be used: {error}.")
        return
    if appliance.curve.estimated_at(appliance.curve.dew, pressure):
        figures.reasons.append(f"The dew point is estimated: {appliance.curve.why_estimated}.")
    if line is not None:
        figures.superheat_spread = spread.superheat_uncertainty(
            dew_slope_K_per_Pa=slope,
            suction_pressure_Pa=pressure,
            suction_line_K=line,
            accuracies=appliance.accuracies,
            surroundings_K=usable(now.outdoor_db_K),
        )


def _liquid(appliance: Appliance, now: Round, figures: _Figures) -> None:
    pressure = usable(now.liquid_pressure_Pa)
    line = usable(now.liquid_line_K)
    if pressure is None:
        return
    try:
        figures.bubble_K = appliance.curve.bubble_temperature_K(pressure)
        slope = appliance.curve.bubble_slope_K_per_Pa(pressure)
        if line is not None:
            figures.subcooling_K = subcooling_K(
                appliance.curve, liquid_pressure_Pa=pressure, liquid_line_K=line
            )
    except ChargewrightError as error:
        figures.reasons.append(f"The liquid pressure can't be used: {error}.")
        return
    if appliance.curve.estimated_at(appliance.curve.bubble, pressure):
        figures.reasons.append(f"The bubble point is estimated: {appliance.curve.why_estimated}.")
    if line is not None:
        figures.subcooling_spread = spread.subcooling_uncertainty(
            bubble_slope_K_per_Pa=slope,
            liquid_pressure_Pa=pressure,
            liquid_line_K=line,
            accuracies=appliance.accuracies,
        )


def _target_spread(appliance: Appliance, now: Round, target: Target) -> spread.Uncertainty | None:
    if target.value_K is None:
        return None
    wb, db = usable(now.indoor_wb_K), usable(now.outdoor_db_K)
    if appliance.target_superheat_K is not None or wb is None or db is None:
        return spread.combine(())
    return spread.target_uncertainty(
        slope_per_wb=target.slope_per_wb,
        slope_per_db=target.slope_per_db,
        indoor_wb_K=wb,
        outdoor_db_K=db,
        accuracies=appliance.accuracies,
    )


def _orifice(
    appliance: Appliance, figures: _Figures, target_K: float, target_spread: spread.Uncertainty
) -> tuple[spread.Uncertainty | None, Verdict]:
    if figures.superheat_K is None or figures.superheat_spread is None:
        return None, Verdict.UNDECIDED
    total = spread.combine((*figures.superheat_spread.parts, *target_spread.parts))
    gap_K = figures.superheat_K - target_K
    demand = Demand("superheat", gap_K, appliance.superheat_tolerance_K, total)
    figures.demands.append(demand)
    figures.reasons.append(
        f"Superheat is {difference(figures.superheat_K)}, "
        f"{_gap(gap_K, appliance.superheat_tolerance_K, total)}: {demand.verdict}."
    )
    # near a low target the tolerance reaches down to none at all, and none is never right
    dry = judge_limit(
        figures.superheat_K, Bound.AT_LEAST, LEAST_SUPERHEAT_K, figures.superheat_spread.total_K
    )
    if demand.verdict is Verdict.PASS and dry is not Verdict.PASS:
        figures.reasons.append(
            "So little superheat may be none within the uncertainty: liquid may be reaching the compressor."
        )
        return total, dry
    return total, demand.verdict


def _valve(appliance: Appliance, figures: _Figures) -> tuple[spread.Uncertainty | None, Verdict]:
    verdicts: list[Verdict] = []
    total: spread.Uncertainty | None = None
    target = appliance.target_subcooling_K
    if figures.subcooling_K is not None and figures.subcooling_spread is not None and target is not None:
        total = figures.subcooling_spread
        gap_K = figures.subcooling_K - target
        figures.demands.append(Demand("subcooling", gap_K, appliance.subcooling_tolerance_K, total))
        verdicts.append(figures.demands[-1].verdict)
        figures.reasons.append(
            f"Subcooling is {difference(figures.subcooling_K)}, "
            f"{_gap(gap_K, appliance.subcooling_tolerance_K, total)}: {verdicts[-1]}."
        )
    else:
        verdicts.append(Verdict.UNDECIDED)
    if figures.superheat_K is not None and figures.superheat_spread is not None:
        low_K, high_K = appliance.superheat_range_K
        middle_K, half_K = (low_K + high_K) / 2.0, (high_K - low_K) / 2.0
        range_demand = Demand(
            "superheat", figures.superheat_K - middle_K, half_K, figures.superheat_spread, by_charge=False
        )
        figures.demands.append(range_demand)
        verdicts.append(_within(figures.superheat_K, (low_K, high_K), figures.superheat_spread))
        off = _plus_minus(figures.superheat_spread)
        figures.reasons.append(
            f"Superheat {difference(figures.superheat_K)} {off}, the valve's range is "
            f"{difference(low_K)} to {difference(high_K)}: {verdicts[-1]}."
        )
    else:
        verdicts.append(Verdict.UNDECIDED)
    return total, all_of(verdicts)


def _gap(gap_K: float, tolerance_K: float, total: spread.Uncertainty) -> str:
    side = "above" if gap_K >= 0 else "below"
    largest = total.largest
    most = f", most of it from the {CHANNEL_WORDS[largest.channel]}" if largest is not None else ""
    return (
        f"{difference(abs(gap_K))} {side} target; tolerance ± {difference(tolerance_K)}, "
        f"uncertainty {_plus_minus(total)}{most}"
    )


def _plus_minus(spread_of: spread.Uncertainty) -> str:
    if not spread_of.reads_high_K:
        return f"± {difference(spread_of.total_K)}"
    return (
        f"+ {difference(spread_of.total_K)} - {difference(spread_of.below_K)}, because the suction-line "
        "sensor is not insulated"
    )


def _within(value_K: float, between_K: tuple[float, float], off: spread.Uncertainty) -> Verdict:
    low_K, high_K = between_K
    return all_of(
        (
            judge_limit(value_K, Bound.AT_LEAST, low_K, off.total_K, off.below_K),
            judge_limit(value_K, Bound.AT_MOST, high_K, off.total_K, off.below_K),
        )
    )


def _instruments(appliance: Appliance, figures: _Figures) -> None:
    if figures.superheat_spread is None and figures.subcooling_spread is None:
        return
    unstated = [words for channel, words in CHANNEL_WORDS.items() if channel not in appliance.accuracies]
    if len(unstated) == len(CHANNEL_WORDS):
        figures.reasons.append(
            "Instrument accuracies are not stated; the Title 24 limits were taken for all of them."
        )
    elif unstated:
        figures.reasons.append(f"The Title 24 limits were taken as the accuracy of: {', '.join(unstated)}.")


def _widest(figure: spread.Uncertainty | None) -> float | None:
    return figure.below_K if figure is not None else None
