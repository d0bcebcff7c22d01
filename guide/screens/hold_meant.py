"""A hold under way in words: the headline first, then what follows from it. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from guide.charging.evacuation import PullDown, Pumping
from guide.charging.pressure_test import Hold
from guide.charging.standing_test import Doubt, Finding, Standing, Water
from guide.job.elapsed import in_words
from guide.job.hold_meaning import Heard, nitrogen, pumping, stage_of, standing, vacuum_of
from guide.job.state import JobState
from guide.procedure.model import Step, Wait
from guide.record.figures import Figures
from guide.units import UnitError, from_si, is_gauge, show, usual_digits

_WATER: Final = MappingProxyType(
    {
        Water.LIQUID: "That is the pressure of liquid water: warm that part and pump on, or let it out.",
        Water.ICE: "That is the pressure of ice: break with dry nitrogen, warm the circuit, pump again.",
        Water.DAMP: "Moisture, or refrigerant out of the oil: break with dry nitrogen, pump again.",
    }
)
_PULL: Final = MappingProxyType(
    {
        PullDown.WATER: "HELD UP BY WATER",
        PullDown.ICE: "HELD UP, by ice or wet oil",
        PullDown.STALLED: "HELD UP, not by water",
    }
)
_THEN: Final = MappingProxyType(
    {
        PullDown.WATER: "Liquid water boils there. Warm that part, pump on with the gas ballast open.",
        PullDown.ICE: "Break with dry nitrogen, warm the circuit, then pump again.",
        PullDown.STALLED: "Look for a leak, a shut valve, a core in place, old pump oil.",
    }
)


def meant(state: JobState, step: Step | None, heard: Heard) -> tuple[str, ...]:
    """What a vacuum or a nitrogen hold at this step says so far; nothing where no stream tells of it."""
    if step is None or not heard:
        return ()
    unit = _unit(state, step)
    if (found := standing(state, step, heard)) is not None:
        return tuple(_standing(found, unit))
    if (pulled := pumping(state, step, heard)) is not None:
        return tuple(_pumping(pulled, unit, stage=stage_of(step) is not None))
    if (pressed := nitrogen(state, step, heard)) is not None:
        return tuple(_nitrogen(state, step, pressed))
    return ()


def _standing(found: Standing, unit: str) -> Iterator[str]:
    now = _level(found.newest_Pa, unit)
    fit = found.fit
    match found.finding:
        case Finding.TIGHT if fit is not None and found.left_s:
            end = fit.at(found.asked.hold_s)
            off = _number(max(end.high - end.best, end.best - end.low), unit)
            yield f"DRY AND TIGHT SO FAR: {now}, at its end {_level(end.best, unit)} give or take {off}."
            yield f"{in_words(found.left_s)} are left, and it is not passed before."
        case Finding.TIGHT:
            yield f"DRY AND TIGHT: {now} after {in_words(found.elapsed_s)}."
        case Finding.WET if fit is not None:
            also = " It may leak as well." if found.leak_open else ""
            yield f"WET: levels off near {_level(fit.level_Pa.best, unit)}.{also}"
            if found.water is not None:
                yield _WATER[found.water]
        case Finding.LEAKING if fit is not None:
            low, best, high = (
                _number(60.0 * rate, unit)
                for rate in (fit.leak_Pa_per_s.low, fit.leak_Pa_per_s.best, fit.leak_Pa_per_s.high)
            )
            wet = " Wet as well." if found.water is not None else ""
            yield f"LEAKING: climbs by {best} {_named(unit)} a minute ({low} to {high}).{wet}"
            litre = f"{10.0 * found.leak_Pa_m3_per_s():.2g} mbar L/s a litre of circuit"
            soon = f" It passes what is allowed in {in_words(found.over_in_s)}." if found.over_in_s else ""
            yield f"A leak of {litre}.{soon} Break with dry nitrogen, redo the pressure test."
        case _:
            yield f"NOT YET KNOWN, {now}: {_DOUBT[found.doubt]}."
    if found.over:
        yield f"It stands above the {_level(found.bound_Pa, unit)} allowed: it may end as not held."
    if found.longer_s:
        yield f"Let it stand for {in_words(found.longer_s)} more before you judge it."


_DOUBT: Final = MappingProxyType(
    {
        Doubt.NONE: "watch on",
        Doubt.FEW: "too few values so far",
        Doubt.SHORT: "the pressure still evens out",
        Doubt.FALLING: "it falls; is the pump shut off, the gauge clean?",
        Doubt.ALIKE: "leak and moisture look alike so far",
    }
)


def _pumping(found: Pumping, unit: str, *, stage: bool) -> Iterator[str]:
    now, target = _level(found.pressure_Pa, unit), _level(found.target_Pa, unit)
    match found.finding:
        case PullDown.REACHED:
            yield f"LOW ENOUGH{' for a sweep with nitrogen' if stage else ''}: {now}."
            if stage:
                yield "Dry nitrogen carries air and vapour out with it, but no liquid water."
        case PullDown.FALLING:
            left = f", {target} in about {in_words(found.left_s)}" if found.left_s is not None else ""
            yield f"STILL FALLING: {now}, {100.0 * found.falls_per_min:.0f} % a minute{left}."
            if found.freezing:
                yield "Water that is left freezes at this pressure: it shows when the pump is shut off."
        case PullDown.UNKNOWN:
            return
        case _:
            water = ""
            if found.dry_above_K is not None and found.finding is not PullDown.STALLED:
                kelvin = found.dry_above_K
                water = f", as water at {show(kelvin, _degrees(unit), digits=0)} would"
            yield f"{_PULL[found.finding]}: it stays at {now}{water}."
            yield _THEN[found.finding]


def _nitrogen(state: JobState, step: Step, found: Hold) -> Iterator[str]:
    assert isinstance(step.proof, Wait)
    change = next(each for each in step.proof.changes if each.gas_temperature is not None)
    unit = next(r.unit for r in state.hold_start() if r.channel == change.channel)
    figures = Figures.of(state.order)

    def pressure(si: float) -> str:
        return show(si, unit, digits=1, site_pressure_Pa=state.order.site_pressure_Pa)

    moved = figures.change(Decimal(repr(found.change_Pa)), unit)
    off = figures.change(Decimal(repr(found.uncertainty_Pa)), unit, signed=False)
    now = pressure(found.expected_Pa + found.change_Pa)
    yield f"Now {now}, {pressure(found.expected_Pa)} expected at this temperature: {moved} ± {off}."
    rate = f"{10.0 * found.smallest_leak_Pa_m3_per_s():.2g} mbar L/s a litre of circuit"
    yield f"A smaller fall than {off} would not show: by now a leak of {rate}."


def _unit(state: JobState, step: Step) -> str:
    """The unit a vacuum is said in: as read at the start or asked for, absolute."""
    channel = vacuum_of(step) or stage_of(step)
    asked = getattr(step.proof, "channels", ())
    unit = next((each.unit for each in asked if each.channel == channel), "micron")
    if state.waiting is not None:
        unit = next((r.unit for r in state.waiting.begun.readings if r.channel == channel), unit)
    try:
        return "micron" if is_gauge(unit) else unit
    except UnitError:
        return "micron"


def _level(si: float, unit: str) -> str:
    return show(si, unit, digits=usual_digits(unit))


def _number(si: float, unit: str) -> str:
    """A difference, in the unit of a vacuum: all of them begin at nothing."""
    value = float(from_si(si, unit))
    return f"{value:.{max(0, usual_digits(unit)) if value >= 10 else usual_digits(unit) + 1}f}"


def _named(unit: str) -> str:
    """A unit without the word that it is absolute: for differences and rates."""
    return {"Paa": "Pa", "mbara": "mbar"}.get(unit, unit)


def _degrees(unit: str) -> str:
    return "F" if unit in {"micron", "inHga", "psia"} else "C"
