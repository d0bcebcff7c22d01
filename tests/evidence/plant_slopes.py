"""How superheat and subcooling of the model answer one percent of charge, near the right one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from guide.rig.plant import Metering
from tests.evidence.plant_charge import KIND
from tests.evidence.plant_model import ORIFICE, SIX, VALVE, Asked, ask, subcooling_F, superheat_F
from tests.evidence.plant_row import Compared, Mark

_DRAWN_UP: Final = "bands drawn up from Li and Braun's charge estimate and field practice"
_ESTIMATE: Final = "Li and Braun 2009, charge estimate from superheat and subcooling"
_BANDS: Final = (
    (ORIFICE, "superheat", -1.5, -0.5),
    (ORIFICE, "subcooling", 0.1, 0.5),
    (VALVE, "superheat", -0.2, 0.2),
    (VALVE, "subcooling", 0.4, 0.8),
)


def rows() -> Iterator[Compared]:
    """Slopes of all six refrigerants, and the published estimate."""
    for refrigerant in SIX:
        for metering, quantity, low, high in _BANDS:
            yield Compared(
                f"Answer to charge, {KIND[metering]}",
                f"{quantity} of {refrigerant} for 1 % of charge",
                slope_F(refrigerant, metering, quantity),
                None,
                low,
                high,
                "°F",
                "as drawn up before the model",
                _DRAWN_UP,
                "PROPOSED",
            )
        yield from _estimate(refrigerant)


def slope_F(refrigerant: str, metering: Metering, quantity: str) -> float:
    """Change of superheat or subcooling for 1 % of charge, from 2 % short to 2 % over."""
    figure = superheat_F if quantity == "superheat" else subcooling_F
    short, over = (figure(ask(refrigerant, metering, Asked(charge))) for charge in (0.98, 1.02))
    return (over - short) / 4.0


def _estimate(refrigerant: str) -> Iterator[Compared]:
    """Charge error = ((SC - SC_r) - (SH - SH_r) / 2.5) / k, k = SC_r / (0.25 x 0.73)."""
    mark: Mark = "MEMORY"
    for metering in (ORIFICE, VALVE):
        per_percent = slope_F(refrigerant, metering, "subcooling")
        per_percent -= slope_F(refrigerant, metering, "superheat") / 2.5
        rated_F = subcooling_F(ask(refrigerant, metering))
        measured = rated_F / (0.25 * 0.73) / 100.0
        yield Compared(
            f"Answer to charge, {KIND[metering]}",
            f"subcooling less 0.4 of superheat of {refrigerant} for 1 % of charge",
            per_percent,
            measured,
            0.6 * measured,
            1.4 * measured,
            "°F",
            "± 40 %, a general estimate for all units",
            _ESTIMATE,
            mark,
        )
