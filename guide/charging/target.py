"""Target superheat for a fixed orifice: by table, by rule of thumb, and one against the other.

Which table, and why. Two were at hand: a maker's table that was read (FOUND), in whole degrees on a
grid of 5 °F by 2 °F, and the 1 °F by 1 °F, 0.1 °F grid of the California rule, which is from memory
(MEMORY) but cross-checked: all 115 places common to both agree within 1.0 °F (rms 0.39 °F, and
rounding the maker's figures alone gives 0.29 °F), a second maker's table within 1.5 °F, and two
cubics reproduce all 1054 places within 0.19 °F. The fine grid is used here, because

- the tolerance (± 5 °F), the instrument limits and the dash rule of this program come from the same
  rule, so value and limits belong together;
- the uncertainty needs the table's slopes, and differences of whole degrees over 2 °F are wrong by
  up to 0.5 per degree;
- its edge of validity is known to 1 °F. With the coarse grid every cell that touches a dash has to
  be refused, up to 5 °F of outdoor temperature; where the two differ (three places) the fine grid
  is the stricter one.

Between places the table is read bilinearly. A cell of which one needed corner is a dash is refused:
nothing is extrapolated. The figures are good to about ± 0.5 °F (CALCULATED from the comparison).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from guide.charging import target_table
from guide.charging.refusal import finite
from guide.charging.wording import K_PER_F, difference, temperature, to_F

LOWEST_TARGET_F = 5.0  # FOUND, RA3 2008 p. 15; two makers' tables
REMEASURE_ABOVE_F = 3.0  # PROPOSED: rule and table further apart than this ask for a second measurement
_SAME_F = 1e-6  # what a unit conversion may leave beside a whole degree
_ON_AN_EDGE_F = 0.054  # a reading written in kelvin to a hundredth must not lose the edge it stands on


class Method(StrEnum):
    """Where a target comes from."""

    TABLE = "table"
    RULE = "rule"
    GIVEN = "given"
    MAKER = "maker's table"


@dataclass(frozen=True, slots=True)
class Target:
    """A target superheat [K], or the reasons why there is none; slopes in K per K."""

    value_K: float | None
    valid: bool
    method: Method
    reasons: tuple[str, ...]
    slope_per_wb: float
    slope_per_db: float
    version: str


def target_by_table(indoor_wb_K: float, outdoor_db_K: float) -> Target:
    """Return the target superheat of the table for return air wet bulb and outdoor dry bulb [K].

    The slopes are central differences over 1 °F to each side, one-sided at an edge.

    Raises:
        FigureError: when a temperature is not finite.
    """
    wb_F, db_F = _fahrenheit(indoor_wb_K, outdoor_db_K)
    value_F = _bilinear(wb_F, db_F)
    if value_F is None:
        wb_F, db_F = _snap(wb_F, _ON_AN_EDGE_F), _snap(db_F, _ON_AN_EDGE_F)
        value_F = _bilinear(wb_F, db_F)
    if value_F is None:
        reasons = _outside(wb_F, db_F, indoor_wb_K, outdoor_db_K) or (_dash(indoor_wb_K, outdoor_db_K),)
        return _none(Method.TABLE, reasons, target_table.VERSION)
    said = (
        f"Target superheat {difference(value_F * K_PER_F)} from the table for {temperature(indoor_wb_K)} "
        f"wet bulb indoors and {temperature(outdoor_db_K)} outdoors."
    )
    return Target(
        value_K=value_F * K_PER_F,
        valid=True,
        method=Method.TABLE,
        reasons=(said,),
        slope_per_wb=_slope(value_F, _bilinear(wb_F - 1, db_F), _bilinear(wb_F + 1, db_F)),
        slope_per_db=_slope(value_F, _bilinear(wb_F, db_F - 1), _bilinear(wb_F, db_F + 1)),
        version=target_table.VERSION,
    )


def target_by_rule(indoor_wb_K: float, outdoor_db_K: float) -> Target:
    """Return the rule of thumb (3 · wet bulb - 80 - outdoor dry bulb) / 2, all in °F, as K.

    The rule: FOUND in a trade teaching article ("Target Superheat", June 2020), no primary source.
    No range is published for it; it is held to the table's range (PROPOSED), and below 5 °F it is
    not valid (same article). It is a cross-check: on the hot dry side it gives a target where the
    table has none, and it lies up to 6.5 °F low where it is hot and humid (CALCULATED).

    Raises:
        FigureError: when a temperature is not finite.
    """
    wb_F, db_F = (_snap(value_F, _ON_AN_EDGE_F) for value_F in _fahrenheit(indoor_wb_K, outdoor_db_K))
    value_F = (3.0 * wb_F - 80.0 - db_F) / 2.0
    reasons = _outside(wb_F, db_F, indoor_wb_K, outdoor_db_K)
    if not reasons and value_F < LOWEST_TARGET_F - _SAME_F:
        reasons = (_dash(indoor_wb_K, outdoor_db_K),)
    if reasons:
        return _none(Method.RULE, reasons, "rule/1")
    said = [
        f"Target superheat {difference(value_F * K_PER_F)} by the rule of thumb "
        "(3 × wet bulb - 80 - outdoor dry bulb) / 2 in °F, which only comes close to a table."
    ]
    if _bilinear(wb_F, db_F) is None:
        said.append("The table has no target here; don't charge to this figure, weigh the charge in.")
    return Target(
        value_K=value_F * K_PER_F,
        valid=True,
        method=Method.RULE,
        reasons=tuple(said),
        slope_per_wb=1.5,
        slope_per_db=-0.5,
        version="rule/1",
    )


def target_as_given(value_K: float) -> Target:
    """Return the maker's own target superheat [K], which carries no measurement uncertainty.

    Raises:
        FigureError: when the figure is not finite.
    """
    if finite("target superheat", value_K) < LOWEST_TARGET_F * K_PER_F - 1e-9:
        reason = (
            f"The given target superheat, {difference(value_K)}, is below 5 °F (2.8 K): "
            "liquid could reach the compressor. Weigh the charge in, or use the maker's chart."
        )
        return _none(Method.GIVEN, (reason,), "given")
    said = f"Target superheat {difference(value_K)} as given by the maker."
    return Target(
        value_K=value_K,
        valid=True,
        method=Method.GIVEN,
        reasons=(said,),
        slope_per_wb=0.0,
        slope_per_db=0.0,
        version="given",
    )


def cross_check(table: Target, rule: Target) -> tuple[str, ...]:
    """Return what is to be said when table and rule of thumb disagree; empty when they agree.

    More than 3 °F apart is a reason to measure again, never a reason to use the rule (PROPOSED).
    """
    if table.value_K is None or rule.value_K is None:
        return ()
    apart_K = rule.value_K - table.value_K
    if abs(apart_K) <= REMEASURE_ABOVE_F * K_PER_F:
        return ()
    side = "above" if apart_K > 0 else "below"
    return (
        f"The rule of thumb lies {difference(abs(apart_K))} {side} the table: measure the indoor wet bulb "
        "and the outdoor temperature again; the table counts.",
    )


def _none(method: Method, reasons: tuple[str, ...], version: str) -> Target:
    return Target(
        value_K=None,
        valid=False,
        method=method,
        reasons=reasons,
        slope_per_wb=0.0,
        slope_per_db=0.0,
        version=version,
    )


def _fahrenheit(indoor_wb_K: float, outdoor_db_K: float) -> tuple[float, float]:
    wb_F = to_F(finite("indoor wet bulb", indoor_wb_K))
    db_F = to_F(finite("outdoor dry bulb", outdoor_db_K))
    return _snap(wb_F), _snap(db_F)


def _snap(value_F: float, within_F: float = _SAME_F) -> float:
    whole = round(value_F)
    return float(whole) if abs(value_F - whole) < within_F else value_F


def _bilinear(wb_F: float, db_F: float) -> float | None:
    first_wb, last_wb = target_table.FIRST_WB_F, target_table.LAST_WB_F
    first_db, last_db = target_table.FIRST_DB_F, target_table.LAST_DB_F
    if not (first_wb <= wb_F <= last_wb and first_db <= db_F <= last_db):
        return None
    rows = target_table.rows()
    column, row = math.floor(wb_F) - first_wb, math.floor(db_F) - first_db
    right, down = wb_F - math.floor(wb_F), db_F - math.floor(db_F)
    total = 0.0
    for step_row, row_weight in ((0, 1.0 - down), (1, down)):
        for step_column, column_weight in ((0, 1.0 - right), (1, right)):
            weight = row_weight * column_weight
            if weight == 0.0:
                continue
            corner = rows[row + step_row][column + step_column]
            if corner is None:
                return None
            total += weight * corner
    return total


def _slope(here_F: float, before_F: float | None, after_F: float | None) -> float:
    if before_F is not None and after_F is not None:
        return (after_F - before_F) / 2.0
    if after_F is not None:
        return after_F - here_F
    if before_F is not None:
        return here_F - before_F
    return 0.0


def _outside(wb_F: float, db_F: float, wb_K: float, db_K: float) -> tuple[str, ...]:
    what = "weigh the charge in, or use the maker's chart"
    said = []
    if db_F < target_table.FIRST_DB_F:
        said.append(
            f"Outdoors it is {temperature(db_K)}; target superheat starts at 55 °F (285.9 K): {what}."
        )
    if db_F > target_table.LAST_DB_F:
        said.append(f"Outdoors it is {temperature(db_K)}; target superheat ends at 115 °F (319.3 K): {what}.")
    if wb_F < target_table.FIRST_WB_F:
        said.append(
            f"The indoor wet bulb is {temperature(wb_K)}; target superheat starts at 50 °F (283.2 K): {what}."
        )
    if wb_F > target_table.LAST_WB_F:
        said.append(
            f"The indoor wet bulb is {temperature(wb_K)}; target superheat ends at 76 °F (297.6 K): {what}."
        )
    return tuple(said)


def _dash(wb_K: float, db_K: float) -> str:
    return (
        f"At {temperature(wb_K)} wet bulb indoors and {temperature(db_K)} outdoors the target superheat is "
        "below 5 °F (2.8 K), so liquid could reach the compressor: don't charge by superheat. Weigh the "
        "charge in, use the maker's chart, or come back when it is cooler outdoors or more humid indoors."
    )
