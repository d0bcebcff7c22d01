"""What hands can do at a unit as it stands now, in words, for a list to choose from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from guide.charging.uncertainty import PA_PER_PSI
from guide.rig.acts import Act, Handling
from guide.rig.hookup import CENTRE, DRIER, MACHINE, NITROGEN, PUMP, SENSORS, SIDES, Hookup
from guide.rig.spoken import SENSOR_NAMES, TURNS
from guide.rig.unit_acts import CLEANABLE

REGULATED: Final = (("2 psig", 2.0), ("10 psig", 10.0), ("45 psig", 45.0), ("100 psig", 100.0),
                    ("150 psig", 150.0), ("200 psig", 200.0), ("250 psig", 250.0))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing hands can do now, in words, and the handlings it can be: what is chosen, and what it is."""

    words: str
    choices: tuple[tuple[str, Handling], ...]
    """Words of the choice (empty where the thing has no choices) and the handling."""


def offers(hookup: Hookup, *, cylinders: tuple[str, ...], site_pressure_Pa: float) -> tuple[Offer, ...]:
    """Everything that makes some sense to do now, the unit's own control first. Wise or not is not said."""
    return (
        *_unit(hookup),
        *_hoses(hookup, cylinders),
        *_valves(hookup),
        *_machines(hookup, cylinders, site_pressure_Pa),
        *_rest(hookup),
    )


def _one(words: str, act: Act, at: str = "", amount: float | None = None) -> Offer:
    return Offer(words, (("", Handling(act, at, amount)),))


def _unit(hookup: Hookup) -> Iterator[Offer]:
    if hookup.runs:
        yield _one("Switch the unit off", Act.SWITCH_OFF)
    elif not hookup.locked and not hookup.opened:
        yield _one("Switch the unit on", Act.SWITCH_ON)
    if hookup.locked:
        yield _one("Unlock the disconnect", Act.UNLOCK)
    else:
        yield _one("Open the disconnect and lock it", Act.LOCK)


def _hoses(hookup: Hookup, cylinders: tuple[str, ...]) -> Iterator[Offer]:
    for side in SIDES:
        hose = hookup.hose(side)
        if not hose.joined:
            yield _one(f"Join the {side}-side hose to its port", Act.JOIN, side)
            yield _one(f"Change the core of the {side}-side port with a core tool", Act.MEND, side)
            continue
        yield _one(f"Purge the {side}-side hose with a breath", Act.PURGE, side)
        if hose.shutoff_open:
            yield _one(f"Close the shut-off at the {side}-side port", Act.CLOSE_SHUTOFF, side)
        else:
            yield _one(f"Open the shut-off at the {side}-side port", Act.OPEN_SHUTOFF, side)
        yield _one(f"Take the {side}-side hose off its port", Act.PART, side)
    ends = [each for each in (*cylinders, MACHINE, NITROGEN) if each != hookup.centre.joined]
    yield Offer(
        "Join the charging hose to", tuple((end, Handling(Act.JOIN, end)) for end in ends)
    )  # fmt: skip
    if hookup.centre.joined:
        yield _one("Purge the charging hose with a breath", Act.PURGE, CENTRE)
        yield _one(f"Take the charging hose off {hookup.centre.joined}", Act.PART, CENTRE)
    if hookup.pump_joined:
        yield _one("Take the vacuum pump off", Act.PART, PUMP)
    else:
        yield _one("Join the vacuum pump", Act.JOIN, PUMP)


def _valves(hookup: Hookup) -> Iterator[Offer]:
    for side in SIDES:
        choices = tuple(
            (words, Handling(Act.OPEN_HAND_VALVE, side, amount))
            for words, amount in TURNS
            if abs(amount - hookup.hand(side)) > 0.01
        )
        yield Offer(f"Open the {side}-side hand valve", choices)
        if hookup.hand(side) > 0.0:
            yield _one(f"Close the {side}-side hand valve", Act.CLOSE_HAND_VALVE, side)
        if hookup.hose(side).joined and hookup.hose(side).shutoff_open:
            yield _one(f"Let the circuit blow into the open air on the {side} side", Act.RELEASE, side)


def _machines(hookup: Hookup, cylinders: tuple[str, ...], site_pressure_Pa: float) -> Iterator[Offer]:
    others = [each for each in cylinders if each != hookup.on_scale]
    if others:
        yield Offer(
            "Stand a cylinder on the scale", tuple((each, Handling(Act.STAND, each)) for each in others)
        )
    if hookup.on_scale:
        choices = tuple(
            (words, Handling(Act.OPEN_CYLINDER, "", amount))
            for words, amount in TURNS
            if abs(amount - hookup.cylinder_open) > 0.01
        )
        yield Offer(f"Open the valve of cylinder {hookup.on_scale}", choices)
        if hookup.cylinder_open > 0.0:
            yield _one("Close the cylinder's valve", Act.CLOSE_CYLINDER)
        if hookup.for_liquid:
            yield _one("Turn the cylinder for vapour", Act.TURN_FOR_VAPOUR)
        else:
            yield _one("Turn the cylinder for liquid", Act.TURN_FOR_LIQUID)
    if hookup.pump_joined:
        if hookup.pump_runs:
            yield _one("Stop the vacuum pump", Act.STOP_PUMP)
        else:
            yield _one("Start the vacuum pump", Act.START_PUMP)
    if hookup.centre.joined == MACHINE:
        if hookup.machine_runs:
            yield _one("Stop the recovery machine", Act.STOP_MACHINE)
        else:
            yield _one("Start the recovery machine", Act.START_MACHINE)
    if hookup.centre.joined == NITROGEN:
        yield Offer(
            "Set the nitrogen regulator to",
            (
                *(
                    (words, Handling(Act.SET_REGULATOR, "", site_pressure_Pa + psi * PA_PER_PSI))
                    for words, psi in REGULATED
                ),
                ("shut", Handling(Act.SET_REGULATOR, "", 0.0)),
            ),
        )


def _rest(hookup: Hookup) -> Iterator[Offer]:
    yield _one("Zero the gauges", Act.ZERO)
    loose = [each for each in SENSORS if each not in hookup.clamped]
    if loose:
        yield Offer("Put a sensor in its place", _sensors(loose))
    seated = [each for each in SENSORS if each in hookup.clamped]
    if seated:
        yield Offer("Seat a sensor anew", _sensors(seated))
    yield Offer("Clean", tuple((each, Handling(Act.CLEAN, each)) for each in CLEANABLE))
    yield _one("Look for leaks with detector or bubbles", Act.SMELL_OUT)
    if hookup.opened:
        yield _one("Fit a new filter-drier and close the circuit", Act.MEND, DRIER)
        yield _one("Mend, fit a new drier and close the circuit", Act.MEND)
    else:
        yield _one("Open a joint of the circuit", Act.OPEN_CIRCUIT)
        if hookup.locked:
            yield _one("Open the circuit, mend what leaks and close it with a new drier", Act.MEND)


def _sensors(channels: Sequence[str]) -> tuple[tuple[str, Handling], ...]:
    return tuple((SENSOR_NAMES[each], Handling(Act.CLAMP, each)) for each in channels)
