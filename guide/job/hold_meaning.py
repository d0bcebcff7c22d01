"""What the values of a hold under way mean before it ends: a circuit under vacuum, or under nitrogen. Pure.

It looks at what was logged at the start and at what a stream brought since. Nothing of it is logged and
nothing of it passes a hold: that is `guide.job.limits.of_hold`, on the values a person enters at the end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

from guide.charging import evacuation, standing_test
from guide.charging.evacuation import Pumping
from guide.charging.pressure_test import Gas, Hold, held
from guide.charging.refusal import FigureError
from guide.charging.standing_test import Ask, Standing
from guide.charging.verdict import Bound
from guide.job.elapsed import elapsed
from guide.job.limits import limit_value
from guide.job.series import VACUUM_CHANNELS, LiveSample
from guide.job.state import JobState, Waiting
from guide.procedure.model import ChangeLimit, Confirm, Drift, Reading, Step, Wait

Heard = Mapping[str, Sequence[LiveSample]]
"""What a stream brought, by channel, oldest first."""

_AIR: Final = ("gas_temperature", "outdoor_db")
"""Channels that tell how cold the circuit is, the better one first."""
_USUAL_AIR_K: Final = 294.26
"""70 °F, where nothing was read (PROPOSED)."""
_PULL_S: Final = 1200.0
"""How far back a pull-down is looked at."""
_FRESH_S: Final = 30.0
"""Values of two channels further apart in time than this belong to no common moment."""


def watched(step: Step | None) -> tuple[str, ...]:
    """The channels that are worth following over time: every vacuum, and what the step reads or holds."""
    proof = step.proof if step is not None else None
    asked = [each.channel for each in proof.channels] if isinstance(proof, Wait | Reading) else []
    return tuple(dict.fromkeys((*asked, *sorted(VACUUM_CHANNELS))))


def vacuum_of(step: Step) -> str | None:
    """The channel in which a step judges a vacuum, if it does."""
    proof = step.proof
    if not isinstance(proof, Wait | Reading):
        return None
    bound = [limit.channel for limit in proof.limits]
    if isinstance(proof, Wait):
        bound += [change.channel for change in proof.changes]
    return next((channel for channel in bound if channel in VACUUM_CHANNELS), None)


def followed_of(step: Step) -> str | None:
    """The channel whose curve a step is about: its vacuum, else the pressure of a closed gas."""
    changes = step.proof.changes if isinstance(step.proof, Wait) else ()
    gas = next((each.channel for each in changes if each.gas_temperature is not None), None)
    return vacuum_of(step) or stage_of(step) or gas


def standing(state: JobState, step: Step, heard: Heard) -> Standing | None:
    """What a hold under vacuum shows so far; None where none runs at this step, or nothing was followed."""
    waiting, proof = state.waiting, step.proof
    channel = vacuum_of(step)
    if waiting is None or waiting.begun.step != step.id or channel is None or not isinstance(proof, Wait):
        return None
    live = _since(waiting, heard.get(channel, ()))
    start = next((float(r.si) for r in state.hold_start() if r.channel == channel), None)
    if start is None or not live:
        return None
    most = [
        float(value.si)
        for limit in proof.limits
        if limit.channel == channel
        and limit.bound is Bound.AT_MOST
        and (value := limit_value(limit, state.order)) is not None
    ]
    rises = [
        float(change.at_most.si)
        for change in proof.changes
        if change.channel == channel and change.drift is Drift.RISE
    ]
    asked = Ask(
        max(1.0, float(waiting.begun.at_least_s)),
        min(most, default=None),
        min(rises, default=None),
        _read_K(state),
    )
    try:
        return standing_test.judge([(0.0, start), *live], asked)
    except FigureError:
        return None


def pumping(state: JobState, step: Step, heard: Heard) -> Pumping | None:
    """What a pull-down at this step shows; None where none is, or nothing was followed.

    A step that reads a vacuum at most so high waits for that one, and so does a question on the way there
    that the gauge answers. A timed hold that reads a vacuum and does not bound it is a stage of several
    evacuations: its target is where the first stages go.
    """
    live, wanted = _pulled_down(state, step, heard)
    if not live or wanted is None:
        return None
    ages = [(elapsed(sample.at, live[-1].at).seconds, sample.si) for sample in live]
    samples = [(-age, si) for age, si in ages if age <= _PULL_S]
    try:
        return evacuation.judge(samples, wanted, coldest_K=_read_K(state) or _USUAL_AIR_K)
    except FigureError:
        return None


def stage_of(step: Step) -> str | None:
    """The channel of a vacuum that a timed hold reads but does not bound, if it does: a stage of several."""
    if not isinstance(step.proof, Wait) or vacuum_of(step) is not None:
        return None
    asked = (each.channel for each in step.proof.channels)
    return next((channel for channel in asked if channel in VACUUM_CHANNELS), None)


def _pulled_down(state: JobState, step: Step, heard: Heard) -> tuple[Sequence[LiveSample], float | None]:
    """The values of the vacuum that a pump draws, and the level that is wanted [Pa]."""
    stage, waiting = stage_of(step), state.waiting
    if stage is not None and waiting is not None and waiting.begun.step == step.id:
        since = [s for s in heard.get(stage, ()) if elapsed(waiting.at, s.at).seconds > 0.0]
        return since, evacuation.FIRST_STAGE_Pa[1]
    read = _reads_next(state, step) if isinstance(step.proof, Confirm) else step
    channel = vacuum_of(read) if read is not None else None
    if read is None or channel is None or not isinstance(read.proof, Reading):
        return (), None
    live = heard.get(channel, ())
    if read is not step and not (live and _newer(state, live[-1])):
        return (), None
    wanted = [
        float(value.si)
        for limit in read.proof.limits
        if limit.channel == channel
        and limit.bound is Bound.AT_MOST
        and (value := limit_value(limit, state.order)) is not None
    ]
    return live, min(wanted, default=None)


def _reads_next(state: JobState, step: Step) -> Step | None:
    """The first step after this one, in its part, that reads a vacuum: what is seen here leads there."""
    for part in state.path():
        if step in part.steps:
            later = part.steps[part.steps.index(step) + 1 :]
            return next((s for s in later if isinstance(s.proof, Reading) and vacuum_of(s)), None)
    return None


def _newer(state: JobState, sample: LiveSample) -> bool:
    """Whether a value came after the last thing that was logged: the gauge is still in the vacuum."""
    return state.last_at is None or elapsed(state.last_at, sample.at).seconds > 0.0


def nitrogen(state: JobState, step: Step, heard: Heard) -> Hold | None:
    """What a hold under nitrogen came to by the newest values; None where none runs or they are not there."""
    waiting, proof = state.waiting, step.proof
    if waiting is None or waiting.begun.step != step.id or not isinstance(proof, Wait):
        return None
    change = next((each for each in proof.changes if each.gas_temperature is not None), None)
    if change is None or change.gas_temperature is None:
        return None
    pressures = _since(waiting, heard.get(change.channel, ()))
    temperatures = _since(waiting, heard.get(change.gas_temperature, ()))
    if not pressures or not temperatures or abs(pressures[-1][0] - temperatures[-1][0]) > _FRESH_S:
        return None
    return _held(state, change, Gas(pressures[-1][1], temperatures[-1][1]), pressures[-1][0])


def _held(state: JobState, change: ChangeLimit, end: Gas, seconds: float) -> Hold | None:
    start = {reading.channel: reading.si for reading in state.hold_start()}
    assert change.gas_temperature is not None
    pressure, temperature = start.get(change.channel), start.get(change.gas_temperature)
    gauge, sensor = map(state.order.instrument_for, (change.channel, change.gas_temperature))
    if pressure is None or temperature is None or gauge is None or sensor is None:
        return None
    try:
        return held(
            Gas(float(pressure), float(temperature)),
            end,
            seconds,
            pressure_accuracy_Pa=float(max(gauge.off(pressure), gauge.off(Decimal(repr(end.pressure_Pa))))),
            temperature_accuracy_K=float(sensor.off(Decimal(repr(end.temperature_K)))),
        )
    except FigureError:
        return None


def _since(waiting: Waiting, live: Sequence[LiveSample]) -> list[tuple[float, float]]:
    """Values of after the hold's start, by the seconds since."""
    found = []
    for sample in live:
        passed = elapsed(waiting.at, sample.at)
        if passed.seconds > 0.0:
            found.append((passed.seconds, sample.si))
    return found


def _read_K(state: JobState) -> float | None:
    """How cold the circuit is [K], by what was read last in this job."""
    for channel in _AIR:
        values = [float(entry.value.si) for entry in state.entries if entry.channel == channel]
        if values:
            return values[-1]
    return None
