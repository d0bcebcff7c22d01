"""What is easily done wrong, by what a step asks for. Pure words (common practice, no source)."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from guide.procedure.model import Adjust, Choose, Confirm, Reading, Sign, Step, Wait, Weigh

_BY_CHANNEL: Final = MappingProxyType(
    {
        "suction_line": "A probe loose or open to the air reads too warm: clean pipe, strap, insulate.",
        "liquid_line": "A probe in the sun or the condenser's exhaust reads too warm: shade and insulate.",
        "suction_pressure": "A gauge that is not set to zero in open air shifts every dew point it gives.",
        "liquid_pressure": "Read after the fan has run steadily; a cycling fan moves this pressure.",
        "indoor_wb": "A dry or dirty wick reads too high. Wet it with clean water, hold it in moving air.",
        "outdoor_db": "Read in the shade, where air enters the condenser, not in what it blows out.",
        "hose_vacuum": "A gauge at the pump reads lower than the system: read at the far end, pump off.",
        "system_vacuum": "A gauge at the pump reads lower than the system: read at the far end, pump off.",
    }
)


def common_errors(step: Step) -> tuple[str, ...]:
    """What goes wrong at such a step, most telling first."""
    match step.proof:
        case Reading() | Adjust() as proof:
            said = [_BY_CHANNEL[c.channel] for c in proof.channels if c.channel in _BY_CHANNEL]
            rushed = "Readings of different minutes do not belong together: take all within one minute."
            return (rushed, *said) if isinstance(proof, Adjust) else tuple(said) or (rushed,)
        case Wait():
            return ("Ending a hold early hides the slow leak it is there to show.",)
        case Weigh():
            return ("A hose that lies on the cylinder, or wind, shifts the scale: let it hang free.",)
        case Confirm():
            return ("Answer what is seen now, not what was seen last time.",)
        case Choose():
            return ("The nameplate decides, not what such units usually have.",)
        case Sign():
            return ("What is signed is the whole log: read the departures before.",)
