"""Finds the steady running of a plant: three misfits to nothing by a damped Newton's method.

The slopes are measured once and then carried on by Broyden's rule while steps keep paying; else measured anew,
from the other side when the last were of no use (the misfits have kinks where a zone of a coil is born). A
line search may let the misfit grow over its last three. If nothing helps, the conditions are approached from
the rated ones in steps. (MEMORY: any text on nonlinear equations; which cures are needed was found by running.)
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import exp, log
from typing import Final

from guide.errors import ChargewrightError
from guide.rig.plant.conditions import Conditions
from guide.rig.plant.cycle import Cycle, Given, cycle, given
from guide.rig.plant.design import Design, Vector
from guide.rig.plant.state import SteadyState, state_of

Matrix = tuple[Vector, Vector, Vector]

CLOSE: Final = 2e-6
NEAR_ENOUGH: Final = 1e-5
_STEP: Final = 1e-5
_LIMITS: Final = (0.25, 0.15, 0.25)
_CEILING: Final = 0.94
_LEAST_Pa: Final = 60_000.0
_LEAST_RISE: Final = 0.02
_MOST_ROUNDS: Final = 60
_STAGES: Final = (4, 12, 30)
_PAYS: Final = 0.5
_SHRINK: Final = (1.0, 0.4, 0.15, 0.05)
_MOST_QUALITY: Final = 0.9


class Cause(StrEnum):
    """Why a plant does not run steadily."""

    HIGH_PRESSURE = "high pressure"
    LOW_PRESSURE = "low pressure"
    NO_LIQUID = "no liquid"
    NO_BALANCE = "no balance"


class NoSteadyState(ChargewrightError):
    """The plant can't run steadily so: `cause` for rules, `reason` in words."""

    def __init__(self, cause: Cause, reason: str) -> None:
        super().__init__(reason)
        self.cause: Final = cause
        self.reason: Final = reason


@dataclass(frozen=True, slots=True)
class _Found:
    unknowns: Vector
    round_: Cycle
    jacobian: Matrix
    worst: float


def steady_state(design: Design, conditions: Conditions, near: SteadyState | None = None) -> SteadyState:
    """How a plant runs in some conditions; `near` is a state it ran in shortly before, to begin from.

    Raises:
        NoSteadyState: it trips, or no liquid gets through, or the charge is too small to run.
        BadConditions: no air has this dry and wet bulb.
    """
    now = given(design, conditions)
    if near is not None:
        found = _search(design, now, near.unknowns, near.jacobian)
        if found.worst > CLOSE:
            found = _search(design, now, _guess(design, conditions), None)
    else:
        found = _search(design, now, _guess(design, conditions), None)
    for stages in _STAGES:
        if found.worst <= NEAR_ENOUGH:
            break
        found = _approach(design, conditions, stages) or found
    _must_run(design, found)
    return state_of(design, now, found.round_, found.unknowns, found.jacobian)


def _approach(design: Design, conditions: Conditions, stages: int) -> _Found | None:
    start = design.rated_conditions
    unknowns, jacobian = design.rated_unknowns, None
    found = None
    for stage in range(1, stages + 1):
        there = start.between(conditions, stage / stages)
        found = _search(design, given(design, there), unknowns, jacobian)
        if found.worst > 1e-2:
            return found
        unknowns, jacobian = found.unknowns, found.jacobian
    return found


def _guess(design: Design, conditions: Conditions) -> Vector:
    """Saturation temperatures moved from the rated ones by the weather and the charge (PROPOSED shares)."""
    fluid, start = design.fluid, design.rated_conditions
    charge = min(max(conditions.charge_kg / design.right_charge_kg, 0.5), 1.5) - 1.0
    condensing_K = fluid.dew_K(exp(design.rated_unknowns[1])) + 0.9 * (conditions.outdoor_K - start.outdoor_K)
    condensing_K += 4.0 * charge + 8.0 * (1.0 - min(conditions.outdoor_air * conditions.fouling, 1.0))
    evaporating_K = design.rated.evaporating_K + 0.6 * (conditions.indoor_wb_K - start.indoor_wb_K)
    evaporating_K += 0.15 * (conditions.outdoor_K - start.outdoor_K) + 12.0 * min(charge, 0.0)
    evaporating_K -= 10.0 * (1.0 - min(conditions.indoor_air, 1.0))
    condensing_K = min(condensing_K, fluid.critical_K - 12.0)
    suction_Pa = fluid.dew_Pa(evaporating_K)
    condensing_Pa = max(fluid.dew_Pa(condensing_K), 1.25 * suction_Pa)
    superheat = 6000.0 - 60_000.0 * charge
    return (
        log(suction_Pa),
        log(condensing_Pa),
        (fluid.vapour_enthalpy(suction_Pa) + max(superheat, 0.0)) * 1e-5,
    )


def _within(design: Design, unknowns: Vector) -> Vector:
    ceiling = log(min(_CEILING * design.fluid.critical_Pa, design.fluid.highest_Pa))
    first = min(max(unknowns[0], log(_LEAST_Pa)), ceiling - 0.2)
    second = min(max(unknowns[1], first + _LEAST_RISE), ceiling)
    suction_Pa = exp(first)
    liquid = design.fluid.liquid_enthalpy(suction_Pa) * 1e-5
    vapour = design.fluid.vapour_enthalpy(suction_Pa) * 1e-5
    third = min(max(unknowns[2], liquid + 0.25 * (vapour - liquid)), vapour + 0.6)
    return first, second, third


def _worst(misfit: Vector) -> float:
    return max(abs(misfit[0]), abs(misfit[1]), abs(misfit[2]))


def _slopes(design: Design, now: Given, unknowns: Vector, misfit: Vector, side: float) -> Matrix:
    a, b, c = unknowns
    step = _STEP * side
    r0, r1, r2 = misfit
    p0, p1, p2 = cycle(design, now, (a + step, b, c)).misfit
    q0, q1, q2 = cycle(design, now, (a, b + step, c)).misfit
    s0, s1, s2 = cycle(design, now, (a, b, c + step)).misfit
    k = 1.0 / step
    return (
        ((p0 - r0) * k, (q0 - r0) * k, (s0 - r0) * k),
        ((p1 - r1) * k, (q1 - r1) * k, (s1 - r1) * k),
        ((p2 - r2) * k, (q2 - r2) * k, (s2 - r2) * k),
    )


def _newton(jacobian: Matrix, misfit: Vector) -> Vector | None:
    """The step that would bring a straight misfit to nothing (Cramer's rule)."""
    (a, b, c), (d, e, f), (g, h, i) = jacobian
    ei_fh, di_fg, dh_eg = e * i - f * h, d * i - f * g, d * h - e * g
    det = a * ei_fh - b * di_fg + c * dh_eg
    if not (det > 1e-14 or det < -1e-14):
        return None
    r, s, t = misfit
    k = -1.0 / det
    return (
        k * (r * ei_fh - b * (s * i - f * t) + c * (s * h - e * t)),
        k * (a * (s * i - f * t) - r * di_fg + c * (d * t - s * g)),
        k * (a * (e * t - s * h) - b * (d * t - s * g) + r * dh_eg),
    )


def _broyden(jacobian: Matrix, step: Vector, before: Vector, after: Vector) -> Matrix:
    u, v, w = step
    k = 1.0 / (u * u + v * v + w * w)
    rows = []
    for (a, b, c), old, new in zip(jacobian, before, after, strict=True):
        off = (new - old - a * u - b * v - c * w) * k
        rows.append((a + off * u, b + off * v, c + off * w))
    return rows[0], rows[1], rows[2]


def _search(design: Design, now: Given, start: Vector, slopes: Matrix | None) -> _Found:
    unknowns = _within(design, start)
    round_ = cycle(design, now, unknowns)
    worst = _worst(round_.misfit)
    side = 1.0
    fresh = slopes is None
    jacobian = slopes or _slopes(design, now, unknowns, round_.misfit, side)
    best = _Found(unknowns, round_, jacobian, worst)
    last = [worst]
    for _ in range(_MOST_ROUNDS):
        if worst < CLOSE:
            break
        step = _newton(jacobian, round_.misfit)
        if step is not None:
            over = max(abs(size) / limit for size, limit in zip(step, _LIMITS, strict=True))
            if over > 1.0:
                step = (step[0] / over, step[1] / over, step[2] / over)
        allowed = max(last[-3:])
        paid = False
        for shrink in _SHRINK if step is not None else ():
            assert step is not None
            there = _within(
                design,
                (
                    unknowns[0] + shrink * step[0],
                    unknowns[1] + shrink * step[1],
                    unknowns[2] + shrink * step[2],
                ),
            )
            tried = cycle(design, now, there)
            after = _worst(tried.misfit)
            if after < allowed * (1.0 - 0.1 * shrink):
                paid = True
                break
            if not fresh:
                break
        if not paid:
            if fresh:
                if side < -1.5:
                    break
                side = -1.0 if side > 0.0 else -2.0
            jacobian, fresh = _slopes(design, now, unknowns, round_.misfit, side), True
            continue
        moved = (there[0] - unknowns[0], there[1] - unknowns[1], there[2] - unknowns[2])
        good = after < _PAYS * worst
        if good and moved != (0.0, 0.0, 0.0):
            jacobian, fresh = _broyden(jacobian, moved, round_.misfit, tried.misfit), False
        unknowns, round_, worst = there, tried, after
        last.append(worst)
        if not good:
            jacobian, fresh = _slopes(design, now, unknowns, round_.misfit, side), True
        if worst < best.worst:
            best = _Found(unknowns, round_, jacobian, worst)
    return best


def _must_run(design: Design, found: _Found) -> None:
    """Refuse a state that a plant would not stay in."""
    rated, round_ = design.rated, found.round_
    ceiling = min(_CEILING * design.fluid.critical_Pa, design.fluid.highest_Pa)
    if found.worst > NEAR_ENOUGH:
        if round_.condensing_Pa > 0.97 * ceiling:
            raise NoSteadyState(Cause.HIGH_PRESSURE, _over(rated.high_switch_Pa))
        if round_.starved or round_.suction_Pa < 1.1 * _LEAST_Pa:
            raise NoSteadyState(Cause.LOW_PRESSURE, _under(rated.low_switch_Pa))
        raise NoSteadyState(Cause.NO_BALANCE, "no steady running was found for this")
    if round_.discharge_Pa > rated.high_switch_Pa:
        raise NoSteadyState(Cause.HIGH_PRESSURE, _over(rated.high_switch_Pa))
    if round_.suction_Pa < rated.low_switch_Pa:
        raise NoSteadyState(Cause.LOW_PRESSURE, _under(rated.low_switch_Pa))
    if round_.starved or round_.condensation.quality > _MOST_QUALITY:
        raise NoSteadyState(
            Cause.NO_LIQUID, "no liquid reaches the expansion device: the charge is too small to run"
        )


def _over(switch_Pa: float) -> str:
    return f"over the high-pressure switch, which opens at {switch_Pa / 1e5:.1f} bar absolute"


def _under(switch_Pa: float) -> str:
    return f"under the low-pressure switch, which opens at {switch_Pa / 1e5:.1f} bar absolute"
