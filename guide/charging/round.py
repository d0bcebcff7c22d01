"""The values that go into a charging decision and the decision that comes out."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from guide.charging.target_maker import MakerTable
from guide.refrigerant.saturation import Curve

RULES = "charging rules 2"
"""Which rules give the verdicts and the advice; a change that can alter an answer takes a new name."""


class Metering(StrEnum):
    """What feeds the evaporator."""

    FIXED_ORIFICE = "fixed orifice"
    THERMOSTATIC_VALVE = "thermostatic valve"
    ELECTRONIC_VALVE = "electronic valve"


class Action(StrEnum):
    """What to do with the charge now."""

    ADD = "add"
    RECOVER = "recover"
    WAIT = "wait"
    DONE = "done"
    STOP = "stop"


class Verdict(StrEnum):
    """Where a value stands against its tolerance, its uncertainty considered (JCGM 106 guard band)."""

    PASS = "pass"  # noqa: S105 - a verdict, no password
    FAIL = "fail"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Round:
    """One set of readings after one change of charge; a channel that was not read is None.

    Pressures are absolute [Pa], temperatures [K], refrigerant [kg] net into the system since the
    first round, time [min] since the last change of charge, else since the compressor started.
    """

    net_charged_kg: float
    minutes_since_change: float
    suction_pressure_Pa: float | None = None
    suction_line_K: float | None = None
    liquid_pressure_Pa: float | None = None
    liquid_line_K: float | None = None
    indoor_db_K: float | None = None
    indoor_wb_K: float | None = None
    supply_db_K: float | None = None
    outdoor_db_K: float | None = None
    # What only the diagnosis looks at; the advice asks for none of it.
    discharge_line_K: float | None = None
    condenser_out_db_K: float | None = None  # the air that leaves the condenser
    standing_low_Pa: float | None = None  # both sides with the machine at rest
    standing_high_Pa: float | None = None
    standing_ambient_K: float | None = None  # outdoor air at that time; else `outdoor_db_K` is taken
    indoor_airflow_share: float | None = None  # measured, of what the maker asks for (else 400 cfm a ton)


FIELD_OF_CHANNEL = {
    "suction_pressure": "suction_pressure_Pa",
    "suction_line": "suction_line_K",
    "liquid_pressure": "liquid_pressure_Pa",
    "liquid_line": "liquid_line_K",
    "indoor_db": "indoor_db_K",
    "indoor_wb": "indoor_wb_K",
    "supply_db": "supply_db_K",
    "outdoor_db": "outdoor_db_K",
    "compressor_discharge_line": "discharge_line_K",
    "low_side_standing_pressure": "standing_low_Pa",
    "high_side_standing_pressure": "standing_high_Pa",
}
"""Which field of a round a measuring channel fills."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """An instrument's stated limit: ± (`fixed` + `of_reading` · |reading|), in the channel's SI unit.

    For a temperature the reading is taken in °F, as Title 24 RA3 states its 0.1 % of reading. A part
    "of span" is a fixed one. `division` is what its display or scale moves by. Readings below `lowest`
    or above `highest` [K, Pa absolute] are outside the instrument's range. `insulated` says whether a
    pipe sensor is insulated over; None where nobody said.
    """

    fixed: float
    of_reading: float = 0.0
    division: float = 0.0
    lowest: float | None = None
    highest: float | None = None
    insulated: bool | None = None


@dataclass(frozen=True, slots=True)
class Appliance:
    """The unit whose charge is judged, as far as the judgement needs it."""

    curve: Curve
    safety_group: str
    metering: Metering
    nameplate_charge_kg: float
    site_pressure_Pa: float
    target_subcooling_K: float | None = None
    target_superheat_K: float | None = None
    superheat_tolerance_K: float = 5 / 1.8
    subcooling_tolerance_K: float = 3 / 1.8
    superheat_range_K: tuple[float, float] = (4 / 1.8, 25 / 1.8)
    application: str = "unitary air conditioner in cooling"
    receiver: str = "none"
    capacity_fixed: bool | None = True
    outdoor_minimum_K: float | None = None
    indoor_range_K: tuple[float, float] | None = None
    settle_minutes: float = 15.0
    scale_division_kg: float = 0.00708738  # 0.25 oz; from memory, a usual charging scale
    accuracies: dict[str, Accuracy] = field(default_factory=dict)  # by field of a round; else Title 24 limits
    target_table: MakerTable | None = None  # instead of the built-in one; `target_superheat_K` goes before it


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one round of readings says, each figure None where a reading is missing [K]."""

    dew_K: float | None
    bubble_K: float | None
    superheat_K: float | None
    superheat_uncertainty_K: float | None
    subcooling_K: float | None
    subcooling_uncertainty_K: float | None
    target_superheat_K: float | None
    target_superheat_uncertainty_K: float | None
    target_subcooling_K: float | None
    verdict: Verdict
    uncertainty_K: float | None  # of (actual - target), the figure the verdict used
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do now. `amount_kg` is "0" when nothing moves; `suspect` is None or one named trouble."""

    action: Action
    amount_kg: Decimal
    meaning: Meaning
    suspect: str | None
    reasons: tuple[str, ...]
