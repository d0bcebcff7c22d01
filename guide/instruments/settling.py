"""Whether a reading has come to rest: its spread over a window stays below a limit. Pure.

Limits and window are PROPOSED: about the scatter of a field instrument at rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from guide.units import Kind

WINDOW_S: Final = 30.0
SPREAD: Final = {Kind.TEMPERATURE: 0.6, Kind.PRESSURE: 10_000.0, Kind.MASS: 0.010}
"""Largest spread that counts as rest [K, Pa, kg]; for a pressure below 5 kPa a tenth of it, else this."""
_VACUUM_Pa: Final = 5_000.0


def settled_s(history: Sequence[tuple[float, float]], kind: Kind) -> float:
    """How long the newest values have stayed within the limit [s], counted back from the last one.

    `history` holds (time [s], SI value), oldest first; a gap longer than the window ends the count.
    """
    if not history or kind not in SPREAD:
        return 0.0
    last_s, last = history[-1]
    limit = 0.1 * last if kind is Kind.PRESSURE and last < _VACUUM_Pa else SPREAD[kind]
    low = high = last
    since = last_s
    for at_s, value in reversed(history):
        if since - at_s > WINDOW_S:
            break
        low, high = min(low, value), max(high, value)
        if high - low > limit:
            break
        since = at_s
    return last_s - since
