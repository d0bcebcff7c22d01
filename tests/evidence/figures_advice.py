"""How a system's answer is learned and a step bounded, against a batch solution and published slopes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import NormalDist

from guide.charging import increment
from guide.charging.increment import Aim
from guide.charging.response import (
    WEATHER_K,
    HOSE_STATE_kg,
    Response,
    Sample,
    estimate,
    expected_slope_K_per_kg,
    repeat_variance,
)
from guide.charging.round import Appliance
from guide.charging.wording import K_PER_F, KG_PER_OZ, from_F
from guide.refrigerant.liquid_density import liquid_density
from guide.refrigerant.saturation import curve
from tests.charging.linear_plant import orifice_unit, valve_unit
from tests.evidence.figure import Row

NUMPY = "numpy linalg - all rounds at once, weighted least squares over start, slope, bends and weather"
NORMAL = "Python statistics.NormalDist - the standard normal distribution"
CORRELATION = "Li and Braun 2009, virtual charge sensor - charging reference 6.4: 0.55 °F a percent at 10 °F"
PROTOTYPE = "Charge-inventory prototype of a 3-ton split - rig notes sections 3 and 7, slopes a percent"
HOSE = "Charging reference section 5 - hose of 60 in full of R-410A liquid at 80 °F"
INCH_m = 0.0254
BEND = 0.04  # of the expected slope, for each percent moved: the advice's own assumption, PROPOSED

# Charge moved [% of nameplate] and the figure read then [°F], answered as charge should be.
HISTORIES: dict[str, tuple[Appliance, tuple[tuple[float, float], ...]]] = {
    "orifice, two rounds": (orifice_unit(), ((0.0, 13.0), (2.0, 11.2))),
    "orifice, four rounds": (orifice_unit(), ((0.0, 22.0), (2.0, 20.4), (7.0, 15.1), (12.0, 9.0))),
    "orifice, back and forth": (orifice_unit(), ((0.0, -9.0), (-2.0, -6.8), (-5.0, -3.0), (-4.0, -4.2))),
    "valve, three rounds": (valve_unit(), ((0.0, 8.0), (2.0, 6.9), (7.0, 4.2))),
    "valve, one round twice": (valve_unit(), ((0.0, -7.0), (-2.0, -5.9), (-2.0, -6.1), (-5.0, -4.0))),
}


def samples(unit: Appliance, history: Sequence[tuple[float, float]]) -> list[Sample]:
    per_percent_kg = unit.nameplate_charge_kg / 100.0
    return [
        Sample(percent * per_percent_kg, figure_F * K_PER_F, uncertainty_K=3.0 * K_PER_F)
        for percent, figure_F in history
    ]


def in_one_go(unit: Appliance, rounds: Sequence[Sample]) -> tuple[float, float, float, float]:
    """Wanting, slope and their standard deviations from all rounds at once, in K and K/kg."""
    import numpy as np

    expected, spread = expected_slope_K_per_kg(unit)
    moves = [b.net_charged_kg - a.net_charged_kg for a, b in pairwise(rounds)]
    steps = len(moves)
    # Unknown: first wanting, first slope, then for every step the bend, and weather with hose.
    unknowns = 2 + 2 * steps
    lines: list[list[float]] = []
    known: list[float] = []

    def line(coefficients: dict[int, float], value: float, sd: float) -> None:
        lines.append([coefficients.get(i, 0.0) / sd for i in range(unknowns)])
        known.append(value / sd)

    def wanting(step: int) -> dict[int, float]:
        at = {0: 1.0, 1: -sum(moves[:step])}
        for k in range(step):
            at[2 + k] = -sum(moves[k:step])
            at[2 + steps + k] = 1.0
        return at

    line({1: 1.0}, expected, spread)
    for k, moved_kg in enumerate(moves):
        percent = 100.0 * abs(moved_kg) / unit.nameplate_charge_kg
        line({2 + k: 1.0}, 0.0, max(1e-9, BEND * expected * percent))
        hose = expected * HOSE_STATE_kg if moved_kg else 0.0
        line({2 + steps + k: 1.0}, 0.0, math.hypot(WEATHER_K, hose))
    for k, read in enumerate(rounds):
        line(wanting(k), read.wanting_K, math.sqrt(repeat_variance(read)))
    matrix, right = np.array(lines), np.array(known)
    covariance = np.linalg.inv(matrix.T @ matrix)
    best = covariance @ (matrix.T @ right)
    now = np.array([wanting(steps).get(i, 0.0) for i in range(unknowns)])
    slope = np.array([0.0, 1.0] + [1.0] * steps + [0.0] * steps)
    return (
        float(now @ best),
        float(slope @ best),
        math.sqrt(float(now @ covariance @ now)),
        math.sqrt(float(slope @ covariance @ slope)),
    )


def _learned() -> list[Row]:
    found = []
    for name, (unit, history) in HISTORIES.items():
        rounds = samples(unit, history)
        ours = estimate(unit, rounds)
        wanting_K, slope, wanting_sd_K, slope_sd = in_one_go(unit, rounds)
        per_percent = unit.nameplate_charge_kg / 100.0 / K_PER_F
        sd_K = math.sqrt(ours.wanting_variance)
        for what, mine, theirs, to, unit_of in (
            ("figure", ours.wanting_K, wanting_K, 1 / K_PER_F, "°F"),
            ("deviation of the figure", sd_K, wanting_sd_K, 1 / K_PER_F, "°F"),
            ("answer", ours.slope_K_per_kg, slope, per_percent, "°F a percent"),
            ("deviation of the answer", ours.slope_sd_K_per_kg, slope_sd, per_percent, "°F a percent"),
        ):
            found.append(
                Row(
                    f"Answer learned, {what}, {name}",
                    mine * to,
                    theirs * to,
                    unit_of,
                    1e-4,
                    NUMPY,
                    "LIBRARY",
                )
            )
    return found


def _bounded() -> list[Row]:
    found = []
    for sds, chance in ((increment._OVERSHOOT_SDS, 0.025), (increment._FLOODING_SDS, 0.001)):
        found.append(
            Row(
                f"Step bound, standard deviations for a chance of {chance:.1%}",
                sds,
                NormalDist().inv_cdf(1.0 - chance),
                "sd",
                0.001,
                NORMAL,
                "LIBRARY",
            )
        )
    response = Response(4.0, 30.0, 0.09, -0.6, 25.0, 20.0, 0.2)
    for moved_kg in (0.15, 0.2, 0.3):
        mean_K, variance = response.after(moved_kg)
        bounds = Aim(tolerance_K=2.5, constant_sd_K=0.5)
        outside = NormalDist(mean_K, math.sqrt(variance + 0.25)).cdf(-2.5)
        found.append(
            Row(
                f"Step bound, chance to overshoot after {1000 * moved_kg:g} g",
                100.0 * increment.overshoot_chance(response, bounds, moved_kg),
                100.0 * outside,
                "%",
                1e-6,
                NORMAL,
                "LIBRARY",
            )
        )
    return found


def _expected() -> list[Row]:
    """The tolerance is 1.5 standard deviations of what is expected: one outside system lies in the band."""
    found = []
    for unit, figure, refrigerant, outside_F, source, mark in (
        (valve_unit(), "subcooling", "R-410A", 0.55, CORRELATION, "MEMORY"),
        (orifice_unit(), "superheat", "R-410A", 1.30, PROTOTYPE, "CALCULATED"),
        (valve_unit(), "subcooling", "R-410A", 0.74, PROTOTYPE, "CALCULATED"),
        (orifice_unit(), "superheat", "R-407C", 1.12, PROTOTYPE, "CALCULATED"),
        (valve_unit(), "subcooling", "R-407C", 0.53, PROTOTYPE, "CALCULATED"),
    ):
        mean, sd = expected_slope_K_per_kg(replace(unit, curve=curve(refrigerant)))
        per_percent = unit.nameplate_charge_kg / 100.0 / K_PER_F
        found.append(
            Row(
                f"Answer expected, {figure} of {refrigerant} for 1 % of charge",
                mean * per_percent,
                outside_F,
                "°F",
                1.5 * sd * per_percent,
                source,
                "MEMORY" if mark == "MEMORY" else "CALCULATED",
            )
        )
    return found


def _hoses() -> list[Row]:
    density = liquid_density("R-410A").at(from_F(80.0))
    found = []
    for bore, kept_kg, outside_oz in (
        ("3/16", increment.HOSE_ERROR_kg, 1.0),
        ("1/4", increment.HOSE_FULL_kg, 1.8),
    ):
        over, under = bore.split("/")
        area_m2 = math.pi / 4.0 * (int(over) / int(under) * INCH_m) ** 2
        found += [
            Row(
                f"Hose full of liquid, {bore} in bore",
                kept_kg / KG_PER_OZ, outside_oz, "oz", 0.05, HOSE, "CALCULATED",
            ),
            Row(
                f"Hose full of liquid, {bore} in bore by liquid density",
                area_m2 * 60.0 * INCH_m * density / KG_PER_OZ, outside_oz, "oz", 0.06, HOSE, "CALCULATED",
            ),
        ]  # fmt: skip
    return found


def rows() -> list[Row]:
    """Every figure of the advice that something outside says too."""
    return [*_learned(), *_bounded(), *_expected(), *_hoses()]
