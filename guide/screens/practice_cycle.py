"""After a run: the cycle the unit was left with, beside that of a sound one with its right charge."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING

from guide.charging.cycle import Cycle, cycle
from guide.charging.round import Round
from guide.refrigerant.thermal import COVERED, Thermal, thermal
from guide.screens.chart import Picture, chart
from guide.screens.cycle_picture import cycle_picture
from guide.screens.filling import Filling
from guide.screens.form_page import FormPage, FormView, form_lines
from guide.screens.paint import Lines
from guide.screens.small import LEAST_HEIGHT, LEAST_WIDTH, too_small

if TYPE_CHECKING:
    from guide.rig.cycles import Corners, Cycles


def cycles_picture(cycles: Cycles, *, american: bool) -> Picture | None:
    """Both cycles in one diagram; None where it would not run, or there are no tables for it."""
    if cycles.now is None or cycles.refrigerant not in COVERED:
        return None
    table = thermal(cycles.refrigerant)
    is_now = _through(table, cycles.now)
    right = None if cycles.right is None else _through(table, cycles.right)
    if is_now is None:
        return None
    return cycle_picture(
        table, is_now, right, american=american, of="as you left it", beside="sound, right charge, same air"
    )


def _through(table: Thermal, at: Corners) -> Cycle | None:
    return cycle(
        table,
        Round(
            net_charged_kg=0.0, minutes_since_change=0.0, suction_pressure_Pa=at.suction_Pa,
            suction_line_K=at.suction_line_K, liquid_pressure_Pa=at.liquid_Pa, liquid_line_K=at.liquid_line_K,
            discharge_line_K=at.discharge_K,
        ),
    )  # fmt: skip


class CyclePage(FormPage):
    """The diagram, with one way on."""

    def __init__(self, picture: Picture, onward: Callable[[], Awaitable[None]]) -> None:
        super().__init__()
        self._picture = picture
        self._onward = onward

    def form(self) -> FormView:
        """The heading and the key; the picture comes between."""
        return FormView(
            "LOOK BACK: the cycle", Filling(), said=self.said,
            nature=self.chargewright.nature, keys=(("Enter", "on to your run beside the model run"),),
        )  # fmt: skip

    def lines(self, width: int, height: int) -> Lines:
        """The picture in the room between heading and keys."""
        if width < LEAST_WIDTH or height < LEAST_HEIGHT:
            return too_small(width, height)
        frame = form_lines(self.form(), width, height)
        shown = chart(self._picture, width, height - 4)
        return (*frame[:2], *shown, *frame[2 + len(shown) :])

    async def pressed(self, key: str, _character: str | None) -> None:
        """On, by Enter; there is nothing to go back to."""
        if key == "enter":
            self.chargewright.follow(self._onward(), leaving=True)
