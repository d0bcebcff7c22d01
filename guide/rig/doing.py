"""What a careful technician does with their hands at each step of the shipped procedures.

A step is known by its action ("CLOSE the cylinder valve."), since the steps of common parts bear other
numbers in each procedure. `plan` gives the acts with the waiting in between, `handlings` the acts alone.
What a step moves across the scale is `guide.rig.by_weight`; where hands touch nothing, `guide.rig.by_eye`.

The amounts are PROPOSED: how far a valve is opened, how long a hose is given.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.water_vapor import MICRON_Pa
from guide.job.state import JobState
from guide.procedure.model import Step
from guide.rig.acts import Act, Handling
from guide.rig.by_eye import NOTHING
from guide.rig.by_hand import Centre, Move, Pause, Piece, Place, Until, undone
from guide.rig.hookup import CENTRE, DRIER, MACHINE, NITROGEN, PUMP, Hookup
from guide.rig.tending import told_Pa, wanted_Pa

THROTTLED: Final = 0.1
WIDE: Final = 1.0
HOSES_s: Final = 30
"""How long a hose is given to fill or to empty."""
HOSE_VACUUM_Pa: Final = 300.0 * MICRON_Pa
"""What the hoses are pumped down to before the pump is shut off, well under the 1000 micron asked for."""
VACUUM_Pa: Final = 300.0 * MICRON_Pa
"""What the circuit is pumped down to, where 500 micron are asked for."""
LONGEST_PULL_s: Final = 4 * 3600
FIRST_PULL_s: Final = 3600
"""After this the gauge of a damp circuit has come to a stand."""
FALLING_s: Final = 1200
"""How long the pump stays on for as long as the gauge may still fall a little."""
COMES_TO_s: Final = 300
DRYING_s: Final = 2400
FIRST_VACUUM_Pa: Final = 2000.0 * MICRON_Pa
"""Before a circuit of a burning refrigerant is opened, where 5000 micron are asked for."""
SOUGHT_TEST_Pa: Final = 150.0 * PA_PER_PSI
PURGING_Pa: Final = 30.0 * PA_PER_PSI
A_FEW_PSI_Pa: Final = 3.0 * PA_PER_PSI
CLEAR_OF_LIMIT_Pa: Final = 5.0 * PA_PER_PSI


def plan(step: Step, state: JobState, hookup: Hookup | None = None) -> tuple[Move, ...]:
    """What is done at a step before it is answered, read or begun; empty where the hands have nothing to do.

    With a view of what is connected, without what is so already.

    Raises:
        KeyError: the step's action is in no table: a new step, which has to be put there.
    """
    if step.do in NOTHING:
        return ()
    made = TABLE[step.do]
    return undone(made(Place(step, state, hookup)) if callable(made) else made, hookup)


def handlings(step: Step, state: JobState, hookup: Hookup | None = None) -> tuple[Handling, ...]:
    """The acts of `plan` alone, in their order."""
    return tuple(move for move in plan(step, state, hookup) if isinstance(move, Handling))


# -- single acts and the rows that several steps share -------------------------------------------


def _do(*acts: tuple[Act, str] | Act) -> tuple[Handling, ...]:
    return tuple(Handling(act) if isinstance(act, Act) else Handling(*act) for act in acts)


_SHUT_HANDS: Final = _do((Act.CLOSE_HAND_VALVE, "low"), (Act.CLOSE_HAND_VALVE, "high"))
_OPEN_HANDS: Final = (
    Handling(Act.OPEN_HAND_VALVE, "low", WIDE),
    Handling(Act.OPEN_HAND_VALVE, "high", WIDE),
)
_SHUT_PORTS: Final = _do((Act.CLOSE_SHUTOFF, "low"), (Act.CLOSE_SHUTOFF, "high"))
_OPEN_PORTS: Final = _do((Act.OPEN_SHUTOFF, "low"), (Act.OPEN_SHUTOFF, "high"))
_HOSES_ON: Final = _do((Act.JOIN, "low"), (Act.JOIN, "high"))
_HOSES_OFF: Final = _do((Act.PART, "low"), (Act.PART, "high"))
_LOOK_FOR_LEAKS: Final = _do(Act.SMELL_OUT)
_LET_OUT: Final[tuple[Piece, ...]] = (*_do((Act.RELEASE, "low"), (Act.RELEASE, "high")), Pause(HOSES_s))
_PUMP_ON: Final[tuple[Piece, ...]] = (Handling(Act.JOIN, PUMP), *_OPEN_HANDS, Handling(Act.START_PUMP))
_PUMP_OFF: Final[tuple[Piece, ...]] = (*_SHUT_HANDS, Handling(Act.STOP_PUMP))
_HOSES_PUMPED: Final[tuple[Piece, ...]] = (
    *_PUMP_ON,
    Until("hose_vacuum", 1800, at_most_Pa=HOSE_VACUUM_Pa),
    Handling(Act.STOP_PUMP),
)
_NITROGEN_ON: Final[tuple[Piece, ...]] = (*_PUMP_OFF, Centre(NITROGEN), *_OPEN_HANDS)
_MACHINE_OFF: Final = _do(Act.STOP_MACHINE, Act.CLOSE_CYLINDER)


def _hoses_looked_at(at: Place) -> tuple[Piece, ...]:
    """Liquid of the last job that stands in the charging hose goes into the recovery cylinder."""
    cylinder = at.cylinder(recovery=True)
    if at.hookup is None or not at.hookup.centre.liquid or not cylinder:
        return ()
    return (
        Handling(Act.STAND, cylinder),
        Centre(cylinder),
        Handling(Act.OPEN_CYLINDER, amount=WIDE),
        Pause(4 * HOSES_s),
        Handling(Act.CLOSE_CYLINDER),
    )


def _stand_to_charge(at: Place) -> tuple[Piece, ...]:
    cylinder = at.cylinder(recovery=False)
    return (Handling(Act.STAND, cylinder), Centre(cylinder))


def _turn_for_liquid(at: Place) -> tuple[Piece, ...]:
    return (*_stand_to_charge(at), Handling(Act.TURN_FOR_LIQUID))


def _purge_with_nitrogen(at: Place) -> tuple[Piece, ...]:
    return (
        *_NITROGEN_ON,
        Handling(Act.SET_REGULATOR, amount=at.site_Pa + PURGING_Pa),
        Pause(HOSES_s),
        Handling(Act.SET_REGULATOR, amount=at.site_Pa),
        *_LET_OUT,
    )


def _to_the_air(at: Place) -> tuple[Piece, ...]:
    """From a vacuum up to the pressure of the air, a little beyond and down again."""
    return (
        *_NITROGEN_ON,
        Handling(Act.SET_REGULATOR, amount=at.site_Pa + 1.5 * PA_PER_PSI),
        Until("system_pressure", 600, at_least_Pa=at.site_Pa),
        Handling(Act.SET_REGULATOR, amount=at.site_Pa),
        *_LET_OUT,
    )


def _nitrogen_to_told(at: Place) -> tuple[Piece, ...]:
    """To the pressure that the step's own words name, the regulator closed afterwards."""
    told = told_Pa(at.step, at.order)
    sought = at.site_Pa + PURGING_Pa if told is None else told
    return (
        *_NITROGEN_ON,
        Handling(Act.SET_REGULATOR, amount=sought),
        Until("test_pressure", 600, at_least_Pa=sought - 0.3 * PA_PER_PSI),
        Handling(Act.SET_REGULATOR, amount=at.site_Pa),
    )


def _test_pressure(at: Place) -> tuple[Piece, ...]:
    sought = at.site_Pa + SOUGHT_TEST_Pa
    _, high = wanted_Pa(at.step, "test_pressure", at.order)
    if high is not None:
        sought = min(sought, high - CLEAR_OF_LIMIT_Pa)
    return (
        Handling(Act.SET_REGULATOR, amount=sought),
        Until("test_pressure", 600, at_least_Pa=sought - 0.5 * PA_PER_PSI),
    )


def _regulator_shut(at: Place) -> tuple[Piece, ...]:
    return (Handling(Act.SET_REGULATOR, amount=at.site_Pa),)


def _pull(enough_Pa: float, most_s: int) -> Callable[[Place], tuple[Piece, ...]]:
    """The circuit and the charging hose pumped out together, the cylinder's valve shut."""

    def made(at: Place) -> tuple[Piece, ...]:
        return (
            Handling(Act.CLOSE_CYLINDER),
            Centre(at.cylinder(recovery=False)),
            *_PUMP_ON,
            Until("system_vacuum", most_s, at_most_Pa=enough_Pa),
        )

    return made


def _first_pull(at: Place) -> tuple[Piece, ...]:
    """As long as the gauge falls; where it comes to shows with the pump shut off, water included."""
    return (*_pull(VACUUM_Pa, FIRST_PULL_s)(at), Pause(FALLING_s), *_SHUT_HANDS, Pause(COMES_TO_s))


def _last_pull(at: Place) -> tuple[Piece, ...]:
    """A circuit that was damp is pumped for longer: the gauge is low long before the oil is dry."""
    pulled = _pull(VACUUM_Pa, LONGEST_PULL_s)(at)
    return (*pulled, Pause(DRYING_s)) if at.state.facts.get("drying") == "triple" else pulled


def _charging_hose_on(at: Place) -> tuple[Piece, ...]:
    cylinder = at.cylinder(recovery=False)
    return (Handling(Act.STAND, cylinder), Centre(cylinder), *_OPEN_HANDS)


def _shut_cylinder(at: Place) -> tuple[Piece, ...]:
    """Shut, and what stands in its hose let into the running unit, little by little."""
    if at.state.aborted:
        return _do(Act.CLOSE_CYLINDER)
    return (
        Handling(Act.CLOSE_CYLINDER),
        Handling(Act.OPEN_HAND_VALVE, "low", THROTTLED),
        Pause(4 * HOSES_s),
        Handling(Act.CLOSE_HAND_VALVE, "low"),
    )


def _lock_seen(at: Place) -> tuple[Piece, ...]:
    return () if at.state.aborted else _do(Act.LOCK)


def _to_wait(at: Place) -> tuple[Piece, ...]:
    """A few psig of dry nitrogen where the circuit holds no refrigerant any more."""
    emptied = at.state.recovered_kg() > 0 and at.state.net_charged_kg() < 0
    if not emptied:
        return ()
    return (
        *_NITROGEN_ON,
        Handling(Act.SET_REGULATOR, amount=at.site_Pa + A_FEW_PSI_Pa),
        Pause(HOSES_s),
        *_regulator_shut(at),
    )


Made = tuple[Piece, ...] | Callable[[Place], tuple[Piece, ...]]
_SAFE: Final[dict[str, Made]] = {
    "SWITCH the unit off at its control.": _do(Act.SWITCH_OFF),
    "LOCK the disconnect of the unit open.": _do(Act.LOCK),
    "LOOK at your lock on the disconnect.": _lock_seen,
    "LOOK at your lock once more.": _do(Act.LOCK),
    "UNLOCK the disconnect.": _do(Act.UNLOCK),
}
_CONNECT: Final[dict[str, Made]] = {
    "LOOK at the hose set and its ends.": _hoses_looked_at,
    "ZERO the gauges in the open air.": _do(Act.ZERO),
    "STAND the cylinder on the scale, its hose hanging free.": _stand_to_charge,
    "CONNECT the hoses to suction and liquid port.": _HOSES_ON,
    "EVACUATE the hoses with the port and cylinder valves shut.": _HOSES_PUMPED,
    "PURGE each hose with a breath of vapour.": _do(
        (Act.PURGE, "low"), (Act.PURGE, "high"), (Act.PURGE, CENTRE)
    ),
    "CLOSE both hand valves of the manifold.": _SHUT_HANDS,
    "OPEN the shut-offs at both ports slowly.": _OPEN_PORTS,
    "TEST the hose joints for leaks.": _LOOK_FOR_LEAKS,
    "CLAMP the pipe sensors on suction and liquid line near the service valves.": _do(
        (Act.CLAMP, "suction_line"), (Act.CLAMP, "liquid_line")
    ),
    "HANG the air sensors in their places.": _do(
        (Act.CLAMP, "outdoor_db"), (Act.CLAMP, "indoor_db"), (Act.CLAMP, "indoor_wb"),
        (Act.CLAMP, "supply_db"),
    ),
}  # fmt: skip
_RUNNING: Final[dict[str, Made]] = {
    "START the unit in cooling.": _do(Act.SWITCH_ON),
    "START the unit for the rest of the charge.": _do(Act.SWITCH_ON),
    "TURN the cylinder so that liquid stands at its valve.": _turn_for_liquid,
    "CLOSE the cylinder valve.": _shut_cylinder,
    "SHUT the shut-off at the liquid port.": _do((Act.CLOSE_SHUTOFF, "high")),
    "OPEN both hand valves of the manifold slowly, low side before high side.": (
        Handling(Act.OPEN_HAND_VALVE, "low", THROTTLED),
        Pause(HOSES_s),
        Handling(Act.OPEN_HAND_VALVE, "high", THROTTLED),
        Pause(4 * HOSES_s),
    ),
    "SHUT the shut-off at the suction port.": _do((Act.CLOSE_SHUTOFF, "low")),
    "DISCONNECT both hoses at the ports.": _HOSES_OFF,
    "TEST both ports for leaks before they are capped.": _LOOK_FOR_LEAKS,
    "TEST every joint for leaks under refrigerant.": _LOOK_FOR_LEAKS,
}
_EMPTYING: Final[dict[str, Made]] = {
    "STAND the recovery cylinder on the scale, its hose hanging free.": lambda at: (
        Handling(Act.STAND, at.cylinder(recovery=True)),
    ),
    "CONNECT ports, manifold, machine and cylinder.": (*_HOSES_ON, Centre(MACHINE)),
    "EVACUATE the hoses with port and cylinder valves shut.": _HOSES_PUMPED,
    "OPEN every valve that keeps refrigerant shut in.": _OPEN_PORTS,
    "KEEP the machine shut off for five minutes.": _MACHINE_OFF,
    "KEEP the machine shut off for five minutes, the leak shut off.": _MACHINE_OFF,
    "CLOSE the valve of the recovery cylinder.": _do(Act.CLOSE_CYLINDER),
    "DISCONNECT the recovery machine from the manifold.": (*_SHUT_HANDS, *_do((Act.PART, CENTRE))),
    "CONNECT regulator, relief valve and hose to the manifold.": (Centre(NITROGEN),),
    "PURGE the circuit with nitrogen into the open air.": _purge_with_nitrogen,
    "EVACUATE the circuit with the rated pump.": _pull(FIRST_VACUUM_Pa, FIRST_PULL_s),
    "PURGE the circuit again with nitrogen.": _purge_with_nitrogen,
    "BRING the circuit to the pressure of the air with nitrogen.": _to_the_air,
    "OPEN one port to the air.": _LET_OUT,
    "OPEN the circuit cold, with pipe cutter or wrench.": _do(Act.OPEN_CIRCUIT),
    "FIT a new filter-drier.": _do((Act.MEND, DRIER)),
}
_TESTING: Final[dict[str, Made]] = {
    "CONNECT the nitrogen hose to both sides of the circuit.": _NITROGEN_ON,
    "CLAMP a pipe sensor for the gas temperature.": _do((Act.CLAMP, "gas_temperature")),
    "PRESSURIZE the circuit to 45 psig for three minutes.": _nitrogen_to_told,
    "PRESSURIZE the circuit slowly to the test pressure.": _test_pressure,
    "SHUT the nitrogen off from the circuit.": _regulator_shut,
    "TEST every joint with bubble solution.": _LOOK_FOR_LEAKS,
    "RELEASE the nitrogen slowly into the open air.": _LET_OUT,
    "CONNECT the pump to both sides of the circuit.": _do((Act.JOIN, PUMP)),
    "CONNECT the charging hose with the cylinder's valve shut.": _charging_hose_on,
    "EVACUATE the circuit for as long as the gauge falls.": _first_pull,
    "BREAK the vacuum with dry nitrogen to 2 psig.": _nitrogen_to_told,
    "RELEASE the nitrogen into the open air.": _LET_OUT,
    "EVACUATE the circuit a second time for fifteen minutes.": _pull(VACUUM_Pa, 0),
    "BREAK the vacuum again with dry nitrogen to 2 psig.": _nitrogen_to_told,
    "RELEASE the second nitrogen into the open air.": _LET_OUT,
    "EVACUATE the circuit to 500 micron or lower.": _last_pull,
    "SHUT the valve between circuit and pump.": _PUMP_OFF,
}
_BREAKING_OFF: Final[dict[str, Made]] = {
    "DECIDE how the unit is left.": _do(Act.SWITCH_OFF),
    "SHUT the shut-offs at both ports.": _SHUT_PORTS,
    "SECURE hoses and cylinder.": _HOSES_OFF,
    "TEST ports and joints for leaks.": _LOOK_FOR_LEAKS,
    "CLOSE the valve of every cylinder.": lambda at: (Handling(Act.CLOSE_CYLINDER), *_regulator_shut(at)),
    "SHUT every valve at the ports.": _SHUT_PORTS,
    "BRING the circuit to a state that can wait.": _to_wait,
    "SECURE hoses, machines and cylinders.": (*_do(Act.STOP_PUMP, Act.STOP_MACHINE), *_HOSES_OFF),
}
TABLE: Final[Mapping[str, Made]] = MappingProxyType(
    _SAFE | _CONNECT | _RUNNING | _EMPTYING | _TESTING | _BREAKING_OFF
)
"""By a step's action, what the hands do there: fixed, or made from the step and the job."""
