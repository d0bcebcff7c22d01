"""The maker's own table of target superheat, in the place of the built-in one.

Read bilinearly between its places; a cell of which one needed corner is a dash is refused, and nothing is
extrapolated. A figure below 5 °F is not charged to, whoever prints it (FOUND, see `target`).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from guide.charging.refusal import FigureError, finite
from guide.charging.target import LOWEST_TARGET_F, Method, Target
from guide.charging.wording import K_PER_F, difference, temperature

MOST_PLACES = 60
"""Wet bulbs or outdoor temperatures of a table; printed ones have up to 27 and 16 (PROPOSED)."""
_HIGHEST_K = 60.0 * K_PER_F  # printed tables end at 45 °F; more is another column or unit (PROPOSED)
_ON_AN_EDGE_K = 0.03  # a reading written in kelvin to a hundredth must not lose the edge it stands on
_STEP_K = K_PER_F
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class MakerTable:
    """Target superheat [K] by outdoor dry bulb (rows) and indoor wet bulb (columns) [K]; None is a dash.

    `source` is where it is printed, in the words of whoever copied it.

    Raises:
        FigureError: places that do not rise, a row of another length, or figures no such table has.
    """

    source: str
    indoor_wb_K: tuple[float, ...]
    outdoor_db_K: tuple[float, ...]
    target_K: tuple[tuple[float | None, ...], ...]

    def __post_init__(self) -> None:
        """Refuse what is no such table."""
        _rising("wet bulbs", self.indoor_wb_K)
        _rising("outdoor temperatures", self.outdoor_db_K)
        if len(self.target_K) != len(self.outdoor_db_K):
            raise FigureError("the table needs one row for each outdoor temperature: count them")
        for db_K, row in zip(self.outdoor_db_K, self.target_K, strict=True):
            _check_row(db_K, row, len(self.indoor_wb_K))
        for above, below, db_K in zip(self.target_K, self.target_K[1:], self.outdoor_db_K[1:], strict=False):
            for upper, lower in zip(above, below, strict=True):
                if upper is not None and lower is not None and lower > upper + _HAIR:
                    raise FigureError(
                        f"the target rises from the row before to that of {temperature(db_K)} outdoors, "
                        "and it falls as it gets warmer: check what was copied"
                    )
        if all(cell is None for row in self.target_K for cell in row):
            raise FigureError("the table holds nothing but dashes: copy its figures")

    def target(self, indoor_wb_K: float, outdoor_db_K: float) -> Target:
        """Return the target superheat for return air wet bulb and outdoor dry bulb [K].

        The slopes are central differences over 1 °F to each side, one-sided at an edge.

        Raises:
            FigureError: when a temperature is not finite.
        """
        wb_K, db_K = finite("indoor wet bulb", indoor_wb_K), finite("outdoor dry bulb", outdoor_db_K)
        value_K = self._read(wb_K, db_K)
        if value_K is None:
            wb_K, db_K = _to_edge(wb_K, self.indoor_wb_K), _to_edge(db_K, self.outdoor_db_K)
            value_K = self._read(wb_K, db_K)
        if value_K is None or value_K < LOWEST_TARGET_F * K_PER_F - 1e-6:
            return Target(
                value_K=None,
                valid=False,
                method=Method.MAKER,
                reasons=self._against(indoor_wb_K, outdoor_db_K, value_K),
                slope_per_wb=0.0,
                slope_per_db=0.0,
                version=self.source,
            )
        said = (
            f"Target superheat {difference(value_K)} from the maker's table ({self.source}) for "
            f"{temperature(indoor_wb_K)} wet bulb indoors and {temperature(outdoor_db_K)} outdoors."
        )
        return Target(
            value_K=value_K,
            valid=True,
            method=Method.MAKER,
            reasons=(said,),
            slope_per_wb=_slope(value_K, self._read(wb_K - _STEP_K, db_K), self._read(wb_K + _STEP_K, db_K)),
            slope_per_db=_slope(value_K, self._read(wb_K, db_K - _STEP_K), self._read(wb_K, db_K + _STEP_K)),
            version=self.source,
        )

    def _read(self, wb_K: float, db_K: float) -> float | None:
        column, row = _between(wb_K, self.indoor_wb_K), _between(db_K, self.outdoor_db_K)
        if column is None or row is None:
            return None
        total = 0.0
        for step_row, row_weight in ((0, 1.0 - row[1]), (1, row[1])):
            for step_column, column_weight in ((0, 1.0 - column[1]), (1, column[1])):
                weight = row_weight * column_weight
                if weight == 0.0:
                    continue
                corner = self.target_K[row[0] + step_row][column[0] + step_column]
                if corner is None:
                    return None
                total += weight * corner
        return total

    def _against(self, wb_K: float, db_K: float, value_K: float | None) -> tuple[str, ...]:
        what = "weigh the charge in, or use the maker's chart"
        said = []
        for words, reading_K, places_K in (
            ("Outdoors it is", db_K, self.outdoor_db_K),
            ("The indoor wet bulb is", wb_K, self.indoor_wb_K),
        ):
            side, end_K = ("starts", places_K[0]) if reading_K < places_K[0] else ("ends", places_K[-1])
            if _between(_to_edge(reading_K, places_K), places_K) is None:
                said.append(
                    f"{words} {temperature(reading_K)}; the maker's table ({self.source}) {side} at "
                    f"{temperature(end_K)}: {what}."
                )
        if said:
            return tuple(said)
        where = f"At {temperature(wb_K)} wet bulb indoors and {temperature(db_K)} outdoors"
        if value_K is not None:
            return (
                f"{where} the maker's table ({self.source}) gives {difference(value_K)}, below 5 °F (2.8 K), "
                f"so liquid could reach the compressor: don't charge by superheat; {what}.",
            )
        return (f"{where} the maker's table ({self.source}) has a dash: don't charge by superheat; {what}.",)


def _rising(what: str, places_K: Sequence[float]) -> None:
    if not 2 <= len(places_K) <= MOST_PLACES:
        raise FigureError(f"the table needs 2 to {MOST_PLACES} {what}, not {len(places_K)}")
    for place_K in places_K:
        if not 250.0 <= finite(what, place_K) <= 330.0:
            raise FigureError(f"{temperature(place_K)} is none of a table's {what}: check the unit")
    if any(after <= before for before, after in pairwise(places_K)):
        raise FigureError(f"the {what} of the table must rise: write them from cold to warm")


def _check_row(db_K: float, row: Sequence[float | None], columns: int) -> None:
    where = f"the row of {temperature(db_K)} outdoors"
    if len(row) != columns:
        raise FigureError(
            f"{where} has {len(row)} figures for {columns} wet bulbs: write a dash where none is"
        )
    figures = [cell for cell in row if cell is not None]
    for cell in figures:
        if not 0.0 <= finite("target superheat", cell) <= _HIGHEST_K:
            raise FigureError(f"{where}: {difference(cell)} is no target superheat: check the unit")
    if any(after < before - _HAIR for before, after in pairwise(figures)):
        raise FigureError(f"{where} falls, and the target rises with the wet bulb: check what was copied")


def _between(value_K: float, places_K: Sequence[float]) -> tuple[int, float] | None:
    """The place below and the share of the way to the next; None outside."""
    if not places_K[0] - _HAIR <= value_K <= places_K[-1] + _HAIR:
        return None
    below = min(max(bisect_right(places_K, value_K) - 1, 0), len(places_K) - 2)
    share = (value_K - places_K[below]) / (places_K[below + 1] - places_K[below])
    near = round(share)
    return below, float(near) if math.isclose(share, near, abs_tol=1e-6) else share


def _to_edge(value_K: float, places_K: Sequence[float]) -> float:
    nearest = min(places_K, key=lambda place: abs(place - value_K))
    return nearest if abs(nearest - value_K) <= _ON_AN_EDGE_K else value_K


def _slope(here_K: float, before_K: float | None, after_K: float | None) -> float:
    if before_K is not None and after_K is not None:
        return (after_K - before_K) / (2.0 * _STEP_K)
    if after_K is not None:
        return (after_K - here_K) / _STEP_K
    if before_K is not None:
        return (here_K - before_K) / _STEP_K
    return 0.0
