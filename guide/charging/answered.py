"""What the increments made so far say of the readings: a probe that reads the air answers charge too little.

Only on a fixed orifice, whose superheat answers charge; a valve holds its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from guide.charging.evidence import Evidence, Feature
from guide.charging.round import Appliance, Meaning, Metering, Round
from guide.charging.settled_rounds import sample_of, settled_samples
from guide.charging.silence import answer_seen, answer_spread

_BAND_IN_SDS = 1.5  # the published ends of the answer, as in `response.py` (PROPOSED)


def answer_evidence(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> tuple[Evidence, ...]:
    """Return how the system answered the moves since the last change of direction; empty before any.

    Raises:
        FigureError: when an accuracy of the appliance can't be used; never for a reading.
    """
    if appliance.metering is not Metering.FIXED_ORIFICE or len(rounds) < 2:
        return ()
    now = sample_of(appliance, rounds[-1], meaning)
    if now is None:
        return ()
    seen = answer_seen(appliance, (*settled_samples(appliance, rounds[:-1]), now))
    if seen is None:
        return ()
    share, limit = seen
    spread = answer_spread(appliance)
    return (
        Evidence(
            Feature.ANSWER,
            share,
            low=1.0,
            high=1.0,
            band=_BAND_IN_SDS * spread,
            uncertainty=limit,
            sentence=f"Superheat answered the last changes by {max(0.0, share):.0%} of what is usual",
            usual=1.0,
            spread=spread,
            floor=0.0,
        ),
    )
