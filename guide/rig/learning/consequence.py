"""What a grave error would have done to a real unit, why, and where to go back to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.rig.happenings import Happening, Kind
from guide.rig.learning.run import Run

START: Final = "Stop. On a real unit this would have"


@dataclass(frozen=True, slots=True)
class Consequence:
    """`headline` is a whole sentence beginning with `START`; `why` the cause; `instead` the better way."""

    headline: str
    why: str
    instead: str


@dataclass(frozen=True, slots=True)
class Rewind:
    """Where the run went wrong: the event, its simulated time [s], the step that stood in front."""

    seq: int
    at_s: float
    step: str | None
    words: str


# Common knowledge of the trade, no source; the hazards are those the procedures warn of.
_ENDS: Final[Mapping[Kind, tuple[str, str, str]]] = MappingProxyType(
    {
        Kind.LIQUID_TO_COMPRESSOR: (
            "broken the compressor: liquid does not compress, and it washes the oil out of the bearings.",
            "Liquid came down the suction line faster than the coil and the shell could boil it off.",
            "Let liquid into the low side throttled, a little at a time, whether it comes from a cylinder or "
            "stands in a hose, and watch superheat; stop before it comes to nothing.",
        ),
        Kind.RAN_IN_VACUUM: (
            "burned out the compressor: in a vacuum its windings arc at the terminals, and no vapour cools "
            "them.",
            "The unit was started while the circuit was empty.",
            "Keep the disconnect locked until refrigerant has broken the vacuum and stands at a pressure.",
        ),
        Kind.RAN_WITH_NITROGEN: (
            "burst the circuit or wrecked the compressor: nitrogen does not condense, so pressure climbs "
            "until something gives.",
            "The unit was started while nitrogen stood in the circuit.",
            "Release the nitrogen and evacuate before anything is charged or started.",
        ),
        Kind.OVER_DESIGN_PRESSURE: (
            "burst a coil or a joint: the circuit went beyond the pressure it is built for.",
            "The regulator was set, or the charge filled, beyond the design pressure on the nameplate.",
            "Set the regulator below the low-side design pressure, and have a relief in the line that "
            "opens there.",
        ),
        Kind.CYLINDER_OVERFILLED: (
            "made a bomb of the cylinder: filled with liquid, it bursts when it warms.",
            "More went in than 80 % of its volume.",
            "Reckon the gross weight to stop at before you begin, mark it on the cylinder and stop there.",
        ),
        Kind.OPENED_UNDER_PRESSURE: (
            "blown liquid and oil into your face: it freezes skin and blinds eyes.",
            "The circuit was opened while it held pressure.",
            "Recover to the level asked for, see that it stays there, and bring the circuit to the pressure "
            "of the air first.",
        ),
        Kind.WORKED_LIVE: (
            "put your hands on line voltage: it kills.",
            "A panel or the circuit was opened with the power on.",
            "Switch off, lock and tag the disconnect, prove the tester, test every conductor, prove the "
            "tester again.",
        ),
        Kind.PARTED_UNDER_PRESSURE: (
            "sprayed liquid over your hand and let the charge out: it freezes skin and blinds eyes.",
            "The hose was taken off its port with the shut-off open.",
            "Shut the shut-off at the port, draw the hose down into the running unit, then take it off.",
        ),
        Kind.WRONG_REFRIGERANT: (
            "spoiled the whole charge: a mixture fits no table, can't be reclaimed, and may burn where "
            "nobody expects it.",
            "A cylinder of another refrigerant was opened to the circuit.",
            "Read the cylinder's label against the nameplate before its hose is joined.",
        ),
    }
)


def consequence(happening: Happening) -> Consequence:
    """What a grave happening would have meant.

    Raises:
        KeyError: it is not grave.
    """
    would, why, instead = _ENDS[happening.kind]
    return Consequence(f"{START} {would}", why, instead)


def rewind(run: Run, happening: Happening) -> Rewind:
    """The event that led to a happening: what to do otherwise, and where in the procedure."""
    cause = run.cause(happening.at_s)
    step = getattr(cause.payload, "step", None)
    if step is None:
        earlier = [getattr(each.payload, "step", None) for each in run.told if each.seq <= cause.seq]
        step = next((each for each in reversed(earlier) if each is not None), None)
    where = f" at step {step}" if step else ""
    minutes = cause.at_s / 60
    return Rewind(cause.seq, cause.at_s, step, f"Go back to minute {minutes:.0f}{where}: event {cause.seq}.")
