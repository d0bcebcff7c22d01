"""Rounds of a unit at 80/67 °F indoors and 95 °F outdoors with one figure or several pushed off."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

from guide.charging.evidence import Evidence, Feature, Sign
from guide.charging.fault_signs import COLUMNS, Trouble, troubles
from guide.charging.meaning import interpret
from guide.charging.observed import gather
from guide.charging.round import Appliance, Metering, Round
from guide.charging.wording import K_PER_F, from_F
from tests.charging.linear_plant import readings, with_channel

DATA = Path(__file__).parent / "data"
SIGNS = {"+": Sign.HIGH, "-": Sign.LOW, "0": Sign.NORMAL}
NAMES = {
    "refrigerant leakage (undercharge)": "undercharge",
    "compressor valve leak": "compressor valve leak",
    "liquid line restriction": "liquid-line restriction",
    "condenser fouling": "dirty condenser",
    "evaporator fouling (low indoor airflow)": "low indoor airflow",
    "overcharge, fixed orifice": "overcharge",
    "non-condensable gas": "non-condensables",
}
# What each column is pushed by, °F, where its sign shows: somewhat more than one band.
PUSH_F = dict(zip(COLUMNS, (8.0, 9.0, 12.0, 6.0, 24.0, 9.0, 5.0), strict=True))


def published() -> list[tuple[str, str, tuple[str, ...]]]:
    """Name of ours, mark, seven signs: the rule table of the reference (FOUND and MEMORY rows)."""
    with (DATA / "fault_signatures_rules.csv").open(encoding="utf-8") as lines:
        rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    return [(NAMES[row[0]], row[-1], tuple(row[1:8])) for row in rows[1:] if row[0] in NAMES]


def trade() -> list[dict[str, str]]:
    """The trade matrix of the reference (FOUND, lower authority)."""
    with (DATA / "fault_signatures_trade.csv").open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def first_sign(cell: str) -> str:
    """The sign of a cell that may say more than one."""
    return cell.strip()[0]


def trouble(metering: Metering, suspect: str) -> Trouble:
    return next(one for one in troubles(metering) if one.suspect == suspect)


def sound(appliance: Appliance) -> tuple[Round, tuple[Evidence, ...]]:
    """A round in which every column of the table is just as usual."""
    plain = replace(
        readings(dew_F=45.0, bubble_F=115.0, supply_db_F=61.7),
        discharge_line_K=from_F(160.0),
        condenser_out_db_K=from_F(113.0),
    )
    found = gather(appliance, [plain], interpret(appliance, plain))
    hot = next(one for one in found if one.feature is Feature.DISCHARGE)
    plain = replace(plain, discharge_line_K=hot.usual)
    return plain, gather(appliance, [plain], interpret(appliance, plain))


def pushed(appliance: Appliance, by_F: dict[Feature, float]) -> Round:
    """The sound round with columns pushed off by °F."""
    plain, _ = sound(appliance)
    curve = appliance.curve

    def by_K(feature: Feature) -> float:
        return by_F.get(feature, 0.0) * K_PER_F

    dew_K = from_F(45.0) + by_K(Feature.EVAPORATING)
    bubble_K = from_F(115.0) + by_K(Feature.CONDENSING)
    assert plain.supply_db_K is not None
    assert plain.discharge_line_K is not None
    assert plain.condenser_out_db_K is not None
    return replace(
        plain,
        suction_pressure_Pa=curve.dew_pressure_Pa(dew_K),
        suction_line_K=dew_K + 12.0 * K_PER_F + by_K(Feature.SUPERHEAT),
        liquid_pressure_Pa=curve.bubble_pressure_Pa(bubble_K),
        liquid_line_K=bubble_K - 10.0 * K_PER_F - by_K(Feature.SUBCOOLING),
        supply_db_K=plain.supply_db_K - by_K(Feature.SPLIT),
        discharge_line_K=plain.discharge_line_K + by_K(Feature.DISCHARGE),
        condenser_out_db_K=plain.condenser_out_db_K + by_K(Feature.CONDENSER_RISE),
    )


def with_signs(appliance: Appliance, signs: tuple[str, ...]) -> Round:
    """A round with the seven signs of a row of the rule table."""
    factor = {"+": 1.0, "-": -1.0, "0": 0.0}
    return pushed(
        appliance,
        {
            column: factor[first_sign(sign)] * PUSH_F[column]
            for column, sign in zip(COLUMNS, signs, strict=True)
        },
    )


_FIELDS = {
    Feature.SUPERHEAT: "suction_line_K",
    Feature.SUBCOOLING: "liquid_line_K",
    Feature.DISCHARGE: "discharge_line_K",
    Feature.CONDENSER_RISE: "condenser_out_db_K",
    Feature.SPLIT: "supply_db_K",
}


def without(now: Round, *features: Feature) -> Round:
    """The same round without the reading that only this feature needs."""
    for feature in features:
        now = with_channel(now, _FIELDS[feature], None)
    return now
