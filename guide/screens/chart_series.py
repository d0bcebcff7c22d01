"""From a job's series to pictures: units, words, and the numbers that stand beside. Pure."""

from __future__ import annotations

from guide.job.series import ChargingPath, Sample, Trace, drawing_unit
from guide.screens import say
from guide.screens.chart import Curve, Picture
from guide.units import UnitError, from_si, show, usual_digits

_KG_AN_OUNCE = 0.45359237 / 16


def charging_picture(path: ChargingPath, *, american: bool) -> Picture:
    """Superheat and subcooling against net refrigerant moved, the band around the newest target shaded."""
    factor, degree = (1.8, "°F") if american else (1.0, "K")
    mass, unit, digits = (1 / _KG_AN_OUNCE, "oz", 1) if american else (1.0, "kg", 3)

    def figure(value: float | None) -> str:
        return "-" if value is None else f"{value * factor:.1f}"

    superheat = tuple(
        (p.net_kg * mass, p.superheat_K * factor) for p in path.points if p.superheat_K is not None
    )
    subcooling = tuple(
        (p.net_kg * mass, p.subcooling_K * factor) for p in path.points if p.subcooling_K is not None
    )
    last = path.points[-1]
    target = f"target {path.judged} {figure(last.target_K)} ± {path.tolerance_K * factor:.1f} {degree} ░"
    band = None
    if last.target_K is not None:
        band = (
            (last.target_K - path.tolerance_K) * factor,
            (last.target_K + path.tolerance_K) * factor,
        )
    head = f"● superheat {figure(last.superheat_K)}   ○ subcooling {figure(last.subcooling_K)} {degree}"
    moved = f"round {last.number}, {last.net_kg * mass:+.{digits}f} {unit} net"
    return Picture(
        heads=(f"{head}   {moved}", target),
        short=f"● suph {figure(last.superheat_K)} ○ subc {figure(last.subcooling_K)} {degree} ░ target",
        x_label=f"net into the system [{unit}]",
        y_label=degree,
        curves=(Curve(subcooling, "○"), Curve(superheat, "●")),
        band=band,
        rows_head=f"{'round':>5} {unit:>7} {'superh':>7} {'subcool':>7}",
        rows=tuple(
            f"{p.number:>5} {p.net_kg * mass:>+7.{digits}f} {figure(p.superheat_K):>7} "
            f"{figure(p.subcooling_K):>7}"
            for p in path.points
        ),
        least_x=4.0 if american else 0.1,
        least_y=4.0 if american else 2.0,
    )


def trace_picture(trace: Trace, *, site_pressure_Pa: float, unit: str | None = None) -> Picture:
    """One channel against time: logged values as marks, a stream's as a line; vacuum logarithmic.

    `unit` draws in another unit than the readings were written in.

    Raises:
        UnitError: the unit does not fit the channel, or is unknown.
    """
    unit = unit or drawing_unit(trace)
    span = max((sample.seconds for sample in (*trace.logged, *trace.live)), default=0.0)
    per, time_unit = (3600.0, "h") if span > 3 * 3600 else (60.0, "min")

    def value(si: float) -> float:
        return float(from_si(si, unit, site_pressure_Pa=site_pressure_Pa))

    def words(si: float) -> str:
        try:
            return show(si, unit, digits=usual_digits(unit), site_pressure_Pa=site_pressure_Pa)
        except UnitError:
            return f"{si:.6g}"

    def points(samples: tuple[Sample, ...]) -> tuple[tuple[float, float], ...]:
        return tuple((sample.seconds / per, value(sample.si)) for sample in samples)

    merged = tuple(sorted((*trace.logged, *trace.live), key=lambda sample: sample.seconds))
    newest = merged[-1]
    limits = "; ".join(f"{bound.bound} {words(bound.si)}" for bound in trace.bounds)
    notes = [f"╌ limit: {limits}"] if limits else []
    notes.append(f"time from {say.clock(trace.began)}")
    if not trace.vouched:
        notes.append("a restart lies between: only the wall clock tells the time")
    return Picture(
        heads=(
            f"{trace.label}: {words(newest.si)} at {newest.seconds / per:.1f} {time_unit}",
            *notes,
        ),
        short=f"● {words(newest.si)}, {newest.seconds / per:.1f} {time_unit}, {trace.label}",
        x_label=time_unit,
        y_label=unit,
        curves=(Curve(points(merged), ""), Curve(points(trace.logged), "●", joined=False)),
        levels=tuple(value(bound.si) for bound in trace.bounds),
        log=trace.vacuum,
        rows_head=f"{time_unit:>6} value",
        rows=tuple(
            f"{sample.seconds / per:>6.1f} {words(sample.si)}{' ' + sample.phase if sample.phase else ''}"
            for sample in trace.logged
        ),
    )
