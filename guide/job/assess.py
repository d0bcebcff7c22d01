"""One round of the charging loop judged: from readings to the figures and the advice that are logged.

`decide` and the checker call the same function, so that a record's verdicts can be reached again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal

from guide.charging import target_table
from guide.charging.advice import advise
from guide.charging.round import FIELD_OF_CHANNEL, RULES, Appliance, Metering, Round
from guide.job import payloads as p
from guide.job.elapsed import elapsed
from guide.job.state import JobState
from guide.journal.event import Stamp
from guide.procedure.model import Adjust, ChargeMethod
from guide.refrigerant.saturation import Curve

WALK = "walk/3"
"""The rules of the walk. A journal or record without a name for them was worked by the first ones."""
WALKS = frozenset({None, "walk/2", WALK})
"""Every rules of the walk that this program can take decisions by."""
_AT_REST = frozenset({"low_side_standing_pressure", "high_side_standing_pressure"})
_PLACES_K = Decimal("0.0001")
_PLACES_KG = Decimal("0.000001")


def versions(curve: Curve) -> p.Versions:
    """The versions of rules, target table and curve that this program judges with."""
    return p.Versions(
        rules=RULES,
        target_table=target_table.VERSION,
        target_table_sha256=target_table.SHA256,
        curve=f"{curve.designation} {curve.version}",
        curve_sha256=curve.sha256,
        walk=WALK,
    )


def assess(
    appliance: Appliance, earlier: Sequence[p.RoundRead], readings: Iterable[p.ReadingValue],
    *, minutes_since_change: Decimal, net_charged_kg: Decimal, at_rest: Iterable[p.ReadingValue] = (),
) -> p.Assessment:  # fmt: skip
    """What a round means, given the rounds before it at the same step and what was read at rest."""
    rounds = [
        _round(r.readings, r.assessment.minutes_since_change, r.assessment.net_charged_kg) for r in earlier
    ]
    rounds.append(_round(readings, minutes_since_change, net_charged_kg))
    rounds[0] = replace(rounds[0], **_fields(at_rest))
    advice = advise(appliance, rounds)
    meaning = advice.meaning
    by_superheat = appliance.metering is Metering.FIXED_ORIFICE
    tolerance = appliance.superheat_tolerance_K if by_superheat else appliance.subcooling_tolerance_K
    return p.Assessment(
        minutes_since_change=minutes_since_change,
        net_charged_kg=net_charged_kg,
        dew_K=_kelvin(meaning.dew_K),
        bubble_K=_kelvin(meaning.bubble_K),
        superheat_K=_kelvin(meaning.superheat_K),
        superheat_uncertainty_K=_kelvin(meaning.superheat_uncertainty_K),
        subcooling_K=_kelvin(meaning.subcooling_K),
        subcooling_uncertainty_K=_kelvin(meaning.subcooling_uncertainty_K),
        target_superheat_K=_kelvin(meaning.target_superheat_K),
        target_superheat_uncertainty_K=_kelvin(meaning.target_superheat_uncertainty_K),
        target_subcooling_K=_kelvin(meaning.target_subcooling_K),
        tolerance_K=Decimal(repr(tolerance)).quantize(_PLACES_K),
        uncertainty_K=_kelvin(meaning.uncertainty_K),
        verdict=meaning.verdict.value,
        action=advice.action.value,
        amount_kg=advice.amount_kg.quantize(_PLACES_KG),
        suspect=advice.suspect,
        reasons=advice.reasons,
    )


def assess_now(state: JobState, step: str, readings: Sequence[p.ReadingValue], at: Stamp) -> p.Assessment:
    """What readings entered now mean, on the job as it stands."""
    return assess(
        appliance_at(state, step),
        [r.read for r in state.step_rounds(step)],
        readings,
        minutes_since_change=minutes_since_change(state, at),
        net_charged_kg=state.moved_in_loop_kg(),
        at_rest=read_at_rest(state),
    )


def read_at_rest(state: JobState) -> tuple[p.ReadingValue, ...]:
    """The last pressures of this job that were read with the unit at rest, as corrected since."""
    newest = {entry.channel: entry.value for entry in state.entries if entry.channel in _AT_REST}
    return tuple(newest[channel] for channel in sorted(newest))


def appliance_at(state: JobState, step_id: str, curve: Curve | None = None) -> Appliance:
    """The order's unit as one charging step judges it: with the step's tolerance and settling time.

    A checker gives the curve that rides in the record; else the shipped one is used.
    """
    appliance = state.order.appliance(curve)
    proof = state.procedure.step(step_id).proof
    if not isinstance(proof, Adjust):
        return appliance
    if state.order.settle_time is None:
        appliance = replace(appliance, settle_minutes=proof.settle_s / 60)
    if proof.tolerance is None:
        return appliance
    tolerance = float(proof.tolerance.si)
    if proof.method is ChargeMethod.SUPERHEAT:
        return replace(appliance, superheat_tolerance_K=tolerance)
    return replace(appliance, subcooling_tolerance_K=tolerance)


def minutes_since_change(state: JobState, at: Stamp) -> Decimal:
    """Minutes since refrigerant last moved, else since the stabilising run began, else none."""
    since = state.last_change or state.running_since
    if since is None:
        return Decimal(0)
    return Decimal(int(elapsed(since, at).seconds / 6)) / 10


def _round(values: Iterable[p.ReadingValue], minutes: Decimal, net: Decimal) -> Round:
    return Round(net_charged_kg=float(net), minutes_since_change=float(minutes), **_fields(values))


def _fields(values: Iterable[p.ReadingValue]) -> dict[str, float]:
    return {FIELD_OF_CHANNEL[v.channel]: float(v.si) for v in values if v.channel in FIELD_OF_CHANNEL}


def _kelvin(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(repr(value)).quantize(_PLACES_K)
