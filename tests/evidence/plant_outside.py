"""Where the model leaves the band of a published figure, and why: one sentence each.

A test holds this list to what the table shows, either way: a row that leaves its band without standing here
fails, and so does one that stands here and came back. Nothing is tuned to make a row disappear.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

_ROOM: Final = (
    "The model's valve keeps its superheat down to about 80 % of the charge, as a published summary has "
    "it, and so feeds the coil a little better there than the units of this source."
)
_LIQUID: Final = (
    "All liquid of so large an overcharge stands in the model's condenser, since it has no accumulator "
    "or header to hold a part, so head pressure and power rise a little more than measured."
)
_APART: Final = (
    "Published fits contradict each other here: capacity falls by the one and rises a little by the "
    "other, as it does in the model."
)
_ORIFICE: Final = (
    "An orifice loses more than the mean of the split systems behind this fit, as other sources found "
    "of orifices."
)
_HOME: Final = (
    "The published loss is three times what the fits give for any kind of unit (3 to 4 % at 85 %), "
    "and the model lies by the fits."
)
_GOSWAMI: Final = (
    "That unit ran best below its nameplate charge, the model's COP is flat there and best at the "
    "right charge or above."
)
_FARZAD: Final = (
    "That short tube showed no answer of its season's ratio to charge at all, the model follows the "
    "other sources, which found a loss."
)
_ESTIMATE: Final = (
    "The estimate is a general one to be replaced by a unit's own figures, and the model answers "
    "charge near the upper ends of the bands drawn up from other sources."
)
_FLAT: Final = (
    "In the model liquid backs up behind what still condenses and takes little of its air, so an "
    "overcharge costs less than in this source, as the correlation for a split heat pump has it."
)
_STEEP: Final = "The answer to charge lies a little beyond a band that was drawn up with R-410A in mind."
_DRY: Final = (
    "Where the coil is dry (50 to 56 °F wet bulb) and from 105 °F outdoors the model lies 2 to 6 °F "
    "off; the table's own tolerance is ± 5 °F."
)
_INDOORS: Final = (
    "The table gives no indoor dry bulb, and superheat on a dry coil moves by 1.5 °F with every "
    "degree of it, so with another rule the same model lies further off."
)
_NODE: Final = (
    "The coil is dry there, so superheat hangs on the indoor dry bulb, which the table does not give."
)
_FITS: Final = (
    "Fans are one figure in the model and coils keep their whole face, while air is taken away in tests "
    "by covering a part of it or by slowing the fan, which the fits leave open."
)
_CHOKED: Final = (
    "The orifice is choked, so a drop before it costs little flow as long as liquid comes; how the "
    "published size carries over to a drop is from memory."
)
_OPENS: Final = (
    "A valve with room to open takes up this restriction whole; measured losses began at once, so "
    "those valves had no such room or the published size means a larger drop."
)
_BACKED: Final = (
    "Liquid backs up before the restriction and takes condenser area, which holds the head pressure "
    "up while flow falls; the model has no receiver to hold it."
)
_STAYS: Final = (
    "Subcooling falls only if liquid leaves the condenser, and the model has no other place where it "
    "could stand."
)
_GAS: Final = (
    "More head pushes more through the orifice, superheat falls and the discharge temperature with "
    "it; the published sign is from memory."
)
_HEAD: Final = (
    "Condensing temperature falls, as the same row says, and at a held superheat the discharge must "
    "cool with it; the row is from memory."
)
_HELD: Final = (
    "A valve holds the flow whatever the head, so nothing moves the evaporating temperature; the row "
    "is from memory and speaks of no metering kind."
)
_SLIGHT: Final = (
    "The valve feeds the coil almost what it did, so the indoor air cools by 0.25 °F less only, which "
    "the dead band counts as nothing."
)
_MATRIX: Final = (
    "The trade matrix contradicts the rule table, which has subcooling falling here, and the model "
    "goes with the rule table."
)

_OUTSIDE: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "Charge, valve, R-410A, 80/67 °F indoors, 95 °F outdoors": {
        _ROOM: ("capacity at 70 %", "capacity at 80 %"),
        _LIQUID: ("power at 130 %", "COP at 130 %"),
    },
    "Charge, valve, R-410A, 80/67 °F indoors, 82 °F outdoors": {
        _ROOM: ("capacity at 80 %", "COP at 80 %"),
    },
    "Charge, valve, R-410A, 75/62.5 °F indoors, 95 °F outdoors": {
        _LIQUID: ("power at 130 %",),
    },
    "Charge, valve, R-410A, 80/67 °F indoors, 105 °F outdoors": {
        _ROOM: ("capacity at 70 %",),
        _LIQUID: ("power at 130 %", "COP at 130 %"),
    },
    "Charge, valve, R-410A, 80/67/95 °F": {
        _ROOM: (
            "capacity at 70 %, packaged units, fit",
            "capacity at 75 %, packaged units, fit",
            "capacity at 80 %, packaged units, fit",
            "capacity at 85 %, packaged units, fit",
        ),
        _APART: ("capacity at 110 %, packaged units, fit",),
    },
    "Charge, fixed orifice, R-410A, 80/67/95 °F": {
        _ORIFICE: ("capacity at 70 %, split systems, fit", "COP at 70 %, split systems, fit"),
        _APART: ("capacity at 110 %, packaged units, fit",),
        _FLAT: (
            "COP at 110 %, packaged units, fit",
            "COP at 120 %, packaged units, fit",
            "COP at 130 %, packaged units, fit",
        ),
    },
    "Charge, single results, valve": {
        _ROOM: ("capacity of R-410A at 75 %, Kim and Braun 2012",),
        _FLAT: ("COP of R-22 at 120 %, Farzad 1990",),
    },
    "Charge, single results, fixed orifice": {
        _HOME: ("COP of R-22 at 85 %, Home Energy",),
        _GOSWAMI: ("COP of R-22 at 90 %, Goswami et al. 2001",),
        _FARZAD: ("COP of R-22 at 80 %, Farzad 1990",),
    },
    "Charge, acceptance bands, valve": {
        _ROOM: (
            "COP of R-32 at 80 %",
            "COP of R-22 at 80 %",
            "capacity of R-407C at 80 %",
            "COP of R-407C at 90 %",
            "COP of R-407C at 80 %",
            "COP of R-407C at 70 %",
            "capacity of R-134a at 80 %",
            "COP of R-134a at 80 %",
            "COP of R-134a at 70 %",
        ),
    },
    "Charge, acceptance bands, fixed orifice": {
        _FLAT: ("COP of R-32 at 120 %",),
    },
    "Answer to charge, fixed orifice": {
        _ESTIMATE: (
            "subcooling less 0.4 of superheat of R-410A for 1 % of charge",
            "subcooling less 0.4 of superheat of R-32 for 1 % of charge",
            "subcooling less 0.4 of superheat of R-454B for 1 % of charge",
            "subcooling less 0.4 of superheat of R-22 for 1 % of charge",
            "subcooling less 0.4 of superheat of R-407C for 1 % of charge",
            "subcooling less 0.4 of superheat of R-134a for 1 % of charge",
        ),
        _STEEP: ("superheat of R-22 for 1 % of charge",),
    },
    "Answer to charge, valve": {
        _ESTIMATE: (
            "subcooling less 0.4 of superheat of R-32 for 1 % of charge",
            "subcooling less 0.4 of superheat of R-22 for 1 % of charge",
        ),
        _STEEP: ("subcooling of R-22 for 1 % of charge",),
    },
    "Superheat at the right charge": {
        _DRY: (
            "within 2 °F, R-410A, warmer where wetter, 118 places",
            "within 2 °F, R-32, warmer where wetter, 118 places",
            "within 2 °F, R-454B, warmer where wetter, 118 places",
            "within 2 °F, R-22, warmer where wetter, 118 places",
            "within 2 °F, R-407C, warmer where wetter, 118 places",
            "within 2 °F, R-134a, warmer where wetter, 118 places",
        ),
    },
    "Superheat at the right charge, other rules indoors": {
        _INDOORS: (
            "within 2 °F, R-410A, about half humidity, 118 places",
            "worst, R-410A, about half humidity, 118 places",
            "within 2 °F, R-410A, always 80 °F, 118 places",
            "within 3 °F, R-410A, always 80 °F, 118 places",
            "root mean square, R-410A, always 80 °F, 118 places",
            "worst, R-410A, always 80 °F, 118 places",
        ),
    },
    "Superheat at the right charge, R-410A, warmer where wetter": {
        _NODE: (
            "55 °F outdoors, 50 °F wet bulb",
            "65 °F outdoors, 54 °F wet bulb",
        ),
    },
    "Outdoor air, fixed orifice": {
        _FITS: (
            "COP at -50 % of the airflow, split systems, fit",
            "COP at -50 % of the airflow, packaged units, fit",
        ),
    },
    "Outdoor air, valve": {
        _FITS: (
            "capacity at -50 % of the airflow, split systems, fit",
            "COP at -50 % of the airflow, split systems, fit",
            "COP at -50 % of the airflow, packaged units, fit",
        ),
    },
    "Restriction, fixed orifice": {
        _CHOKED: (
            "COP at a size of 0.2",
            "capacity at a size of 0.25",
            "COP at a size of 0.25",
        ),
    },
    "Restriction, valve": {
        _OPENS: (
            "capacity at a size of 0.2",
            "COP at a size of 0.2",
            "capacity at a size of 0.25",
            "COP at a size of 0.25",
        ),
    },
    "Signs, fixed orifice": {
        _STAYS: ("outdoor air, 60 %: subcooling",),
        _GAS: ("non-condensables, 1.5 bar: discharge",),
    },
    "Signs, valve": {
        _HEAD: ("undercharge, 90 %: discharge",),
        _BACKED: ("restriction, 6 bar at rated flow: condensing",),
        _OPENS: (
            "restriction, 6 bar at rated flow: condenser air rise",
            "restriction, 6 bar at rated flow: evaporator air drop",
        ),
        _HELD: ("non-condensables, 1.5 bar: evaporating",),
        _SLIGHT: ("outdoor air, 60 %: evaporator air drop",),
    },
    "Signs, fixed orifice, trade matrix": {
        _MATRIX: (
            "indoor air, 60 %: subcooling",
            "compressor valve leak, 20 %: subcooling",
        ),
        _STAYS: ("outdoor air, 75 %: subcooling",),
    },
}

WHY: Final[Mapping[str, str]] = {
    f"{group}: {quantity}": words
    for group, reasons in _OUTSIDE.items()
    for words, quantities in reasons.items()
    for quantity in quantities
}
"""By the key of a row that lies outside: why."""
