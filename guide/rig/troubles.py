"""What graded faults do to a simulated system: to the plant, the circuit, the ports and the instruments. SI.

A grade of 0 is nothing at all, 1 the strongest that makes a call-out; how much that is, is PROPOSED for each,
inside what the published fault experiments span (airflow to -50 %, fouling to -60 %, a fifth to a third of
the flow leaking).
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.water_vapor import MICRON_Pa
from guide.errors import ChargewrightError
from guide.procedure.channels import CHANNELS
from guide.refrigerant import catalogue
from guide.rig.circuit import Trouble
from guide.rig.faults import Fault, Graded
from guide.rig.plant.expansion_valve import RESERVE
from guide.units import Kind

AIRFLOW_LOST: Final = 0.5
CONDENSER_LOST: Final = 0.6
RESTRICTION_Pa: Final = 10e5
GAS_Pa: Final = 3e5
VALVE_LEAK: Final = 0.3
RATED_OPENING: Final = 1.0 / RESERVE
"""How far a valve stands open at the right charge: who sticks there shows nothing until the air changes."""
STUCK_OPEN: Final = 1.0
STUCK_CLOSED: Final = 0.35
"""Where a grade of 1 holds it (PROPOSED): in between, it always passes more, or less, than it should."""
DAMP_Pa: Final = 4000.0 * MICRON_Pa
NITROGEN_LEAK_Pa_per_s: Final = 2.0 * PA_PER_PSI / 60.0
"""2 psi a minute."""
VACUUM_LEAK_Pa_per_s: Final = 150.0 * MICRON_Pa / 60.0
LEAK_kg_per_s: Final = 2.0e-5
"""About an ounce in 24 minutes while refrigerant presses."""
CORE_kg_per_s: Final = 1.0e-5
AIR_SHARE: Final = 0.5
"""How much of the air's temperature a sensor shows that lies beside its pipe."""
GAUGE_OFF_Pa: Final = 5.0 * PA_PER_PSI
INTERRUPTIONS: Final = (
    "The customer stands at the unit and wants to know what it will cost.",
    "The phone rings: the office wants the wattmeter back before noon.",
    "A shower of rain: everything that is not waterproof has to go under cover.",
    "A neighbour asks to have a car moved that blocks the drive.",
)
SETTINGS: Final = ("R-22", "R-407C", "R-410A", "R-32")


def _none() -> Mapping[str, float]:
    return MappingProxyType({})


class BadFault(ChargewrightError):
    """A fault, its grade or its place that can't be."""


@dataclass(frozen=True, slots=True)
class Interruption:
    """Somebody or something takes the person away from the work, `at_s` after its opening."""

    at_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Troubles:
    """All that is wrong, as figures. Fractions of the rated flow or area unless a unit is named."""

    indoor_air: float = 1.0
    fouling: float = 1.0
    restriction_Pa: float = 0.0
    gas_Pa: float = 0.0
    """Partial pressure of air on the running high side at the start."""
    valve_leak: float = 0.0
    valve_stuck: float | None = None
    circuit: Trouble = field(default_factory=Trouble)
    leak_kg_per_s: float = 0.0
    cores_kg_per_s: Mapping[str, float] = field(default_factory=_none)
    """By side: what a port loses whose cap is off."""
    probes: Mapping[str, float] = field(default_factory=_none)
    """By channel: how much of the air the sensor shows."""
    gauges_Pa: Mapping[str, float] = field(default_factory=_none)
    """By side: how far the gauge is off zero."""
    set_for: str = ""
    liquid_hose: bool = False
    interruption: Interruption | None = None


def troubles(  # noqa: PLR0912 - one branch a fault
    faults: Iterable[Graded], *, designation: str, seed: int, valve: bool = True
) -> Troubles:
    """What the faults of a scenario do; what is left to chance follows the seed.

    Raises:
        BadFault: a grade outside 0 to 1, a place the fault can't have, or an orifice that can't stick.
    """
    named: dict[str, object] = {}
    cores: dict[str, float] = {}
    probes: dict[str, float] = {}
    gauges: dict[str, float] = {}
    damp_Pa = leak = 0.0
    for graded in faults:
        chance = random.Random(f"{seed}/{graded.fault}/{graded.where}")  # noqa: S311 - practice, no secret
        grade = graded.grade
        if not 0.0 <= grade <= 1.0:
            raise BadFault(f"{graded.fault.value}: a grade lies between 0 and 1, not {grade:g}")
        if grade == 0.0:
            continue
        match graded.fault:
            case Fault.LOW_INDOOR_AIRFLOW:
                named["indoor_air"] = 1.0 - AIRFLOW_LOST * grade
            case Fault.DIRTY_CONDENSER:
                named["fouling"] = 1.0 - CONDENSER_LOST * grade
            case Fault.RESTRICTION:
                named["restriction_Pa"] = RESTRICTION_Pa * grade
            case Fault.NON_CONDENSABLES:
                named["gas_Pa"] = GAS_Pa * grade
            case Fault.COMPRESSOR_LEAK:
                named["valve_leak"] = VALVE_LEAK * grade
            case Fault.STUCK_VALVE:
                if not valve:
                    raise BadFault("a fixed orifice has no valve that could stick; take a unit with a valve")
                stuck = _place(graded, ("closed", "open"))
                end = STUCK_OPEN if stuck == "open" else STUCK_CLOSED
                named["valve_stuck"] = RATED_OPENING + (end - RATED_OPENING) * grade
            case Fault.WET:
                damp_Pa = DAMP_Pa * grade
            case Fault.LEAK:
                leak = grade
            case Fault.LEAKING_CORE:
                cores[_place(graded, ("low", "high"))] = CORE_kg_per_s * grade
            case Fault.PROBE_OFF:
                channels = tuple(name for name, c in CHANNELS.items() if c.kind is Kind.TEMPERATURE)
                probes[_place(graded, ("suction_line", *channels))] = AIR_SHARE * grade
            case Fault.GAUGE_OFF:
                side = _place(graded, ("low", "high"))
                gauges[side] = GAUGE_OFF_Pa * grade * chance.choice((-1.0, 1.0))
            case Fault.WRONG_SETTING:
                named["set_for"] = _setting(graded, designation, chance)
            case Fault.LIQUID_HOSE:
                named["liquid_hose"] = grade > 0.0
            case Fault.INTERRUPTION:
                named["interruption"] = Interruption(
                    float(chance.randrange(900, 2700)), chance.choice(INTERRUPTIONS)
                )
    return Troubles(
        **named,  # type: ignore[arg-type]
        circuit=Trouble(NITROGEN_LEAK_Pa_per_s * leak, VACUUM_LEAK_Pa_per_s * leak, damp_Pa),
        leak_kg_per_s=LEAK_kg_per_s * leak,
        cores_kg_per_s=MappingProxyType(cores),
        probes=MappingProxyType(probes),
        gauges_Pa=MappingProxyType(gauges),
    )


def _place(graded: Graded, places: tuple[str, ...]) -> str:
    where = graded.where or places[0]
    if where not in places:
        raise BadFault(f"{graded.fault.value}: no place {where[:40]!r}; one of {', '.join(places)}")
    return where


def _setting(graded: Graded, designation: str, chance: random.Random) -> str:
    if not graded.where:
        return chance.choice([other for other in SETTINGS if other != designation])
    try:
        return catalogue.find(graded.where).designation
    except catalogue.UnknownRefrigerant as error:
        raise BadFault(f"{graded.fault.value}: {error}") from error
