"""Brings the three misfits of a round to nothing: a damped Newton's method.

The slopes are measured once and then carried on by Broyden's rule while steps keep paying; else they are
measured anew, from the other side when the last were of no use (the misfits have kinks where a zone of a
coil is born). A step may let the misfit grow within its last three. (MEMORY: any text on nonlinear
equations; which of these cures are needed was found by running.)
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log
from typing import Final

from guide.rig.plant.cycle import Cycle, Given, cycle
from guide.rig.plant.design import Design, Vector

Matrix = tuple[Vector, Vector, Vector]

CLOSE: Final = 2e-6
NEAR_ENOUGH: Final = 1e-5
_STEP: Final = 1e-5
_LIMITS: Final = (0.25, 0.15, 0.25)
_CEILING: Final = 0.94
_LEAST_Pa: Final = 60_000.0
_LEAST_RISE: Final = 0.02
_MOST_ROUNDS: Final = 30
_PAYS: Final = 0.5
_SHRINK: Final = (1.0, 0.4, 0.15, 0.05)


@dataclass(frozen=True, slots=True)
class Found:
    """The best unknowns of a search with their round, its largest misfit, and slopes to go on with."""

    unknowns: Vector
    round_: Cycle
    jacobian: Matrix | None
    worst: float


def search(design: Design, now: Given, start: Vector, slopes: Matrix | None) -> Found:
    """Search from a start; slopes from a solution near by save measuring them."""
    unknowns = _within(design, start)
    round_ = cycle(design, now, unknowns)
    worst = _worst(round_.misfit)
    side, fresh = 1.0, slopes is None
    jacobian = slopes or _slopes(design, now, unknowns, round_.misfit, side)
    best = Found(unknowns, round_, jacobian, worst)
    last = [worst]
    for _ in range(_MOST_ROUNDS):
        if worst < CLOSE:
            break
        step = _newton(jacobian, round_.misfit)
        often = len(_SHRINK) if fresh else 1
        moved = step and _moved(design, now, unknowns, step, allowed=max(last[-3:]), often=often)
        if not moved:
            if fresh:
                if side < -1.5:
                    break
                side = -1.0 if side > 0.0 else -2.0
            jacobian, fresh = _slopes(design, now, unknowns, round_.misfit, side), True
            continue
        there, tried = moved
        after = _worst(tried.misfit)
        if after < _PAYS * worst:
            jacobian, fresh = _broyden(jacobian, unknowns, there, round_.misfit, tried.misfit), False
        else:
            jacobian, fresh = _slopes(design, now, there, tried.misfit, side), True
        unknowns, round_, worst = there, tried, after
        last.append(worst)
        if worst < best.worst:
            best = Found(unknowns, round_, jacobian, worst)
    return best


def _moved(
    design: Design, now: Given, start: Vector, step: Vector, *, allowed: float, often: int
) -> tuple[Vector, Cycle] | None:
    """Where a step leads that keeps the misfit below what is allowed, shortened as often as need be."""
    over = max(abs(size) / limit for size, limit in zip(step, _LIMITS, strict=True))
    whole = 1.0 / over if over > 1.0 else 1.0
    a, b, c = start
    for shrink in _SHRINK[:often]:
        k = whole * shrink
        there = _within(design, (a + k * step[0], b + k * step[1], c + k * step[2]))
        tried = cycle(design, now, there)
        if _worst(tried.misfit) < allowed * (1.0 - 0.1 * shrink):
            return there, tried
    return None


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


def _broyden(jacobian: Matrix, start: Vector, there: Vector, before: Vector, after: Vector) -> Matrix:
    """Slopes put right by what a step did."""
    u, v, w = there[0] - start[0], there[1] - start[1], there[2] - start[2]
    length = u * u + v * v + w * w
    if length == 0.0:
        return jacobian
    rows = []
    for (a, b, c), old, new in zip(jacobian, before, after, strict=True):
        off = (new - old - a * u - b * v - c * w) / length
        rows.append((a + off * u, b + off * v, c + off * w))
    return rows[0], rows[1], rows[2]
