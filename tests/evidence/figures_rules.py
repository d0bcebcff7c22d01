"""Recovery levels and warming potentials against the published rules."""

from __future__ import annotations

from datetime import date

from guide.charging.recovery_level import PressureClass, recovery_level_Pa
from guide.refrigerant.catalogue import AR6, US_RULE, find
from tests.evidence.figure import Row

INHG_Pa = 3386.389
LB_kg = 0.45359237
OLD, NEW = date(1993, 11, 14), date(1993, 11, 15)
CFR = "40 CFR 82.156(a) table 1 - copy of the rule, regulations reference section 1.4 [S1a]"
# pressure class, full charge [lb], inHg below the standard atmosphere with an old and with a newer machine
LEVELS = (
    (PressureClass.VERY_HIGH, 5, 0, 0),
    (PressureClass.VERY_HIGH, 300, 0, 0),
    (PressureClass.HIGH, 199.9, 0, 0),
    (PressureClass.HIGH, 200, 4, 10),
    (PressureClass.MEDIUM, 199.9, 4, 10),
    (PressureClass.MEDIUM, 200, 4, 15),
)
CONVERTED = "Regulations reference section 1.4 - conversions of table 1"

FACT_SHEET = (
    "Fact sheet on refrigerants (AR6) - issuu.com/shecco/docs/fluorinated_refrigerants_realgwp_and_pfas/2"
)
AR6_GWPS = (("R-32", 771), ("R-134a", 1530), ("R-407C", 1908), ("R-410A", 2255), ("R-454B", 531))
STATUTE = "42 USC 7675(c)(1) exchange values - regulations reference section 2.3 [S15]"
STATUTE_GWPS = (("R-32", 675), ("R-134a", 1430))
BLENDS = "Regulations reference section 3.2 - weighted sums of the components"
BLEND_GWPS = (
    ("R-407C", US_RULE, 1773.9), ("R-410A", US_RULE, 2087.5), ("R-454B", US_RULE, 465.4),
    ("R-407C", "AR5", 1624.2), ("R-410A", "AR5", 1923.5), ("R-454B", "AR5", 466.8),
)  # fmt: skip


def rows() -> list[Row]:
    """Every figure of the rules."""
    return [*_levels(), *_gwps()]


def _levels() -> list[Row]:
    found = []
    for group, pounds, old, new in LEVELS:
        for machine, made, printed in (("before 1993-11-15", OLD, old), ("from 1993-11-15", NEW, new)):
            level_Pa = recovery_level_Pa(group, pounds * LB_kg, made)
            found.append(
                Row(
                    f"Recovery level, {group} with {pounds:g} lb and a machine {machine}",
                    (101_325.0 - level_Pa) / INHG_Pa, float(printed), "inHg vacuum", 0.005, CFR, "FOUND",
                )
            )  # fmt: skip
    low_Pa = recovery_level_Pa(PressureClass.LOW, 50.0, NEW)
    found.append(
        Row(
            "Recovery level, low pressure", low_Pa / 133.322387415, 25.0, "mmHg absolute", 0.005, CFR, "FOUND"
        )
    )
    for pounds, group, kPa in ((200, PressureClass.HIGH, 67.5), (200, PressureClass.MEDIUM, 50.5)):
        level_Pa = recovery_level_Pa(group, pounds * LB_kg, NEW)
        found.append(
            Row(
                f"Recovery level, {group} with {pounds} lb in absolute", level_Pa / 1000, kPa, "kPa", 0.06,
                CONVERTED, "CALCULATED",
            )
        )  # fmt: skip
    return found


def _gwps() -> list[Row]:
    found = [
        Row(
            f"GWP, {name} on {basis}", float(find(name).gwp(basis).value), float(gwp), "CO2 = 1", 0.6, source,
            "FOUND",
        )
        for pairs, basis, source in (
            (AR6_GWPS, AR6, FACT_SHEET),
            (STATUTE_GWPS, US_RULE, STATUTE),
        )
        for name, gwp in pairs
    ]  # fmt: skip
    found += [
        Row(
            f"GWP, {name} on {basis}", float(find(name).gwp(basis).value), gwp, "CO2 = 1", 0.06, BLENDS,
            "CALCULATED",
        )
        for name, basis, gwp in BLEND_GWPS
    ]  # fmt: skip
    return found
