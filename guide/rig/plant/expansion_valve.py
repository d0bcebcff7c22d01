"""Valves that hold superheat: a thermostatic one by spring and bulb, an electronic one by its motor.

Both open over a band of superheat at the coil's outlet, from a small closed flow to fully open; the
electronic one over a much narrower band and not below a least opening (PROPOSED: what a thermostatic valve
is set to and how wide it works is common practice, no source; 35 % more than the rated flow when fully open
puts the end of its reach near 80 % of charge, where published tests have it).

The port is an orifice: liquid that flashes in it chokes it, and vapour that comes with the liquid takes its
room (FOUND, abstract: "Pressure drop and flashing mechanisms in refrigerant expansion devices", which treats
short tubes and thermostatic valves alike; that the law of `orifice.py`, measured on short tubes, holds for
a port is PROPOSED). So such a valve passes the less the less subcooled its liquid comes.
"""

from __future__ import annotations

from typing import Final

RESERVE: Final = 1.35
"""Fully open, such a valve passes this times the rated flow."""
THERMOSTATIC_BAND_K: Final = 4.2
ELECTRONIC_BAND_K: Final = 2.0
THERMOSTATIC_LEAST: Final = 0.01
ELECTRONIC_LEAST: Final = 0.08


def opening(superheat_K: float, closed_K: float, band_K: float, least: float) -> float:
    """How far (least to 1) the valve stands open at a superheat; closed at `closed_K`, smooth at the ends."""
    share = (superheat_K - closed_K) / band_K
    if share <= 0.0:
        return least
    if share >= 1.0:
        return 1.0
    return least + (1.0 - least) * share * share * (3.0 - 2.0 * share)


def closed_superheat_K(superheat_K: float, wanted: float, band_K: float, least: float) -> float:
    """The superheat at which the valve must close so that it stands at a wanted opening at another."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if opening(middle * band_K, 0.0, band_K, least) < wanted:
            low = middle
        else:
            high = middle
    return superheat_K - low * band_K
