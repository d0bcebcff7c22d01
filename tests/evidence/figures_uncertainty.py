"""Limits of instruments, what they make of a figure, and what better ones would decide."""

from __future__ import annotations

import csv
import math
from pathlib import Path

from guide.charging.coarseness import remedy
from guide.charging.meaning import Demand
from guide.charging.round import Accuracy, Verdict
from guide.charging.target import target_by_table
from guide.charging.uncertainty import (
    PA_PER_PSI,
    Contribution,
    Uncertainty,
    combine,
    limit_of,
    subcooling_uncertainty,
    superheat_uncertainty,
    target_uncertainty,
)
from guide.charging.verdict import Bound, judge_limit
from guide.charging.wording import K_PER_F, from_F
from guide.refrigerant.saturation import curve
from tests.evidence.figure import Row
from tests.evidence.figures_target import CARRIER

DATA = Path(__file__).parent.parent / "charging" / "data"

PROPAGATION = "Charging reference data/superheat_uncertainty_propagation.csv - root sum square"
RA3_2008 = (
    "California Title 24 RA3 2008 p. 11 - "
    "manualshelf.com/manual/airflow/ra3/specifications-english/page-11.html"
)
RA3_2013 = "California Title 24 RA3 2013 - energycodeace.com, charging reference section 8"
GUM_H1 = "GUM (JCGM 100) example H.1 - github.com/MSLNZ/GTC docs/API/GUM_H1.rst"
GUM_H1_BUDGET_nm = (25.0, 16.599, 6.7, 5.8, 3.9, 2.88679)
RESOLUTION = "GUM (JCGM 100) F.2.2.1 - half of a division, mcm-alchimia.com/en/?p=538"
ILAC_G8 = "ILAC-G8:09/2019 decision rules - thelab.asia/decision-rule, guard band as wide as U"
JCGM_106 = "JCGM 106:2012 section 7 - worked examples of conformance probability"
ASYMMETRIC = "GUM (JCGM 100) 4.3.8 - bounds that are not symmetric"
BY_HAND = "Charging reference section 8 - solved by hand for one term of the root sum square"
HUMIDITY = "Charging reference section 8 - an RH sensor of 3 % gives 0.9 °F of wet bulb"
WAGNER = "chemicals Wagner vapor pressure - Psat_data_WagnerMcGarry, slope by difference"
ANTOINE = "chemicals Antoine vapor pressure - Psat_data_AntoineExtended, slope by difference"

GOOD = (1.0, 2.0, 0.5)
ANALOG = (5.0, 10.0, 2.0)


def rows() -> list[Row]:
    """Every figure about uncertainty."""
    return [
        *_propagation(), *_limits(), *_combined(), *_guard_band(), *_sensitivity(), *_slopes(), *_remedies(),
    ]  # fmt: skip


def _table(name: str) -> list[dict[str, str]]:
    lines = [line for line in (DATA / name).read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def _same(suction_psi: float, liquid_psi: float, temperature_F: float) -> dict[str, Accuracy]:
    thermometers = ("suction_line_K", "liquid_line_K", "indoor_wb_K", "outdoor_db_K")
    return {
        "suction_pressure_Pa": Accuracy(suction_psi * PA_PER_PSI),
        "liquid_pressure_Pa": Accuracy(liquid_psi * PA_PER_PSI),
        **{channel: Accuracy(temperature_F * K_PER_F) for channel in thermometers},
    }


def _four(refrigerant: str, accuracies: dict[str, Accuracy]) -> tuple[Uncertainty, ...]:
    """Superheat at 40 °F, subcooling at 110 °F, target at 95 and 67 °F, and superheat less target."""
    shipped = curve(refrigerant)
    low_Pa, high_Pa = shipped.dew_pressure_Pa(from_F(40)), shipped.bubble_pressure_Pa(from_F(110))
    superheat = superheat_uncertainty(
        dew_slope_K_per_Pa=shipped.dew_slope_K_per_Pa(low_Pa),
        suction_pressure_Pa=low_Pa,
        suction_line_K=from_F(52),
        accuracies=accuracies,
    )
    subcooling = subcooling_uncertainty(
        bubble_slope_K_per_Pa=shipped.bubble_slope_K_per_Pa(high_Pa),
        liquid_pressure_Pa=high_Pa,
        liquid_line_K=from_F(100),
        accuracies=accuracies,
    )
    target = _target(accuracies)
    return superheat, subcooling, target, combine((*superheat.parts, *target.parts))


def _target(accuracies: dict[str, Accuracy]) -> Uncertainty:
    found = target_by_table(from_F(67), from_F(95))
    return target_uncertainty(
        slope_per_wb=found.slope_per_wb,
        slope_per_db=found.slope_per_db,
        indoor_wb_K=from_F(67),
        outdoor_db_K=from_F(95),
        accuracies=accuracies,
    )


def _propagation() -> list[Row]:
    found = []
    sets = {"Title": ({}, "Title 24 limits"), "good": (_same(*GOOD), "1 and 2 psi, 0.5 °F"),
            "analog": (_same(*ANALOG), "5 and 10 psi, 2 °F")}  # fmt: skip
    printed = (
        ("superheat", "u_superheat_F"),
        ("subcooling", "u_subcooling_F"),
        ("superheat less target", "u_actual_minus_target_F"),
    )
    for line in _table("superheat_uncertainty_propagation.csv"):
        name = line["refrigerant"].replace("R", "R-", 1)
        accuracies, words = next(each for key, each in sets.items() if line["instrument_set"].startswith(key))
        superheat, subcooling, target, gap = _four(name, accuracies)
        ours = {"superheat": superheat, "subcooling": subcooling, "superheat less target": gap}
        for figure, column in printed:
            found.append(
                _degrees(f"Uncertainty, {figure} of {name} with {words}", ours[figure].total_K,
                         float(line[column]), 0.02, PROPAGATION, "CALCULATED")
            )  # fmt: skip
        if name == "R-410A":
            found.append(
                _degrees(f"Uncertainty, target superheat with {words}", target.total_K,
                         float(line["u_target_superheat_F"]), 0.02, PROPAGATION, "CALCULATED")
            )  # fmt: skip
    return found


def _degrees(
    quantity: str, ours_K: float, outside_F: float, tolerance_F: float, source: str, mark: str
) -> Row:
    return Row(quantity, ours_K / K_PER_F, outside_F, "°F", tolerance_F, source, mark)  # type: ignore[arg-type]


def _limits() -> list[Row]:
    found = [
        _degrees(f"Instrument limit, thermometer at {reading_F} °F",
                 limit_of("suction_line_K", from_F(reading_F), {}), 1.3 + 0.001 * reading_F, 0.001,
                 RA3_2008, "FOUND")
        for reading_F in (40, 67, 95)
    ]  # fmt: skip
    for words, channel, psi in (
        ("suction", "suction_pressure_Pa", 3.5),
        ("liquid", "liquid_pressure_Pa", 7.0),
    ):
        limit_Pa = limit_of(channel, 1e6, {})
        found.append(
            Row(f"Instrument limit, {words} pressure", limit_Pa / PA_PER_PSI, psi, "psi", 0.001, RA3_2013,
                "FOUND")
        )  # fmt: skip
    one_F = limit_of("suction_line_K", 280.0, {"suction_line_K": Accuracy(0.0, division=K_PER_F)})
    found.append(_degrees("Instrument limit, display moving by 1 °F", one_F, 0.5, 0.001, RESOLUTION, "FOUND"))
    return found


def _combined() -> list[Row]:
    budget = combine(Contribution("indoor_wb_K", part, part) for part in GUM_H1_BUDGET_nm)
    comparator = combine(Contribution("indoor_wb_K", part, part) for part in (5.8, 3.9, 6.7))
    bare = superheat_uncertainty(
        dew_slope_K_per_Pa=0.0,
        suction_pressure_Pa=9e5,
        suction_line_K=from_F(52),
        accuracies={"suction_line_K": Accuracy(0.0, insulated=False)},
    )
    return [
        Row("Root sum square, end gauge", budget.total_K, 32.0, "nm", 0.5, GUM_H1, "FOUND"),
        Row("Root sum square, comparator of the end gauge", comparator.total_K, 9.7, "nm", 0.05,
            "GUM (JCGM 100) example H.1.3.2", "MEMORY"),
        _degrees("Bare pipe sensor, below the superheat when all else is exact", bare.below_K, 5.0, 0.001,
                 ASYMMETRIC, "MEMORY"),
    ]  # fmt: skip


def _normal(z: float) -> float:
    return (1.0 + math.erf(z / math.sqrt(2.0))) / 2.0


def _edge_of_pass(limit: float, uncertainty: float) -> float:
    """The largest value that still passes "at most `limit`", found from the verdicts alone."""
    low, high = limit - 10.0 * uncertainty, limit
    for _ in range(60):
        middle = (low + high) / 2.0
        passes = judge_limit(middle, Bound.AT_MOST, limit, uncertainty) is Verdict.PASS
        low, high = (middle, high) if passes else (low, middle)
    return low


def _guard_band() -> list[Row]:
    """With U = 1.96 u, a 95 % interval, the chance of a wrong pass at the edge of passing."""
    edge = _edge_of_pass(5.0, 1.96)
    wrong = 100.0 * (1.0 - _normal(5.0 - edge))
    found = [
        Row("Guard band, chance of a wrong pass at its edge", wrong, 2.5, "%", 0.01,
            ILAC_G8, "FOUND")
    ]  # fmt: skip
    # Value, limit, standard uncertainty, and the conformance probability printed: the widest guard band
    # that lets the value pass is z = |limit - value| / u, and the probability is that of z.
    for words, value, bound, limit, u, printed in (
        ("Zener diode at -5.47 V, at most -5.40 V", -5.47, Bound.AT_MOST, -5.40, 0.05, 0.92),
        ("container that burst at 509.7 kPa, at least 490 kPa", 509.7, Bound.AT_LEAST, 490.0, 8.6, 0.99),
    ):
        low, high = 0.0, 10.0
        for _ in range(60):
            z = (low + high) / 2.0
            passes = judge_limit(value, bound, limit, z * u) is Verdict.PASS
            low, high = (z, high) if passes else (low, z)
        found.append(
            Row(f"Guard band, widest that passes a {words}", _normal(low), printed, "probability", 0.005,
                JCGM_106, "MEMORY")
        )  # fmt: skip
    return found


def _sensitivity() -> list[Row]:
    """Slopes of the target table against the whole degrees a maker prints on both sides of a place."""
    printed = {
        (int(line["DB_F"]), int(column.removeprefix("WB"))): float(value)
        for line in _table("target_superheat_maker_a.csv")
        for column, value in line.items()
        if column.startswith("WB") and value
    }
    found = []
    for db, wb in ((75, 64), (85, 66), (95, 68), (105, 70)):
        ours = target_by_table(from_F(wb), from_F(db)).slope_per_wb
        # Whole degrees over 4 °F: each slope is good to a quarter of a degree a degree.
        maker = (printed[db, wb + 2] - printed[db, wb - 2]) / 4.0
        place = f"Target sensitivity, to the wet bulb at {wb} °F and {db} °F outdoors"
        found.append(Row(place, ours, maker, "°F a °F", 0.25, CARRIER, "FOUND"))
    humidity = {"indoor_wb_K": Accuracy(0.9 * K_PER_F), "outdoor_db_K": Accuracy(0.0)}
    by_sensor = _target(humidity).total_K
    sensor = "Target sensitivity, to a wet bulb from a 3 % RH sensor"
    found.append(_degrees(sensor, by_sensor, 1.8, 0.1, HUMIDITY, "CALCULATED"))
    return found


def _slopes() -> list[Row]:
    """°F a psi of single refrigerants against correlations that know nothing of our curves."""
    from chemicals import vapor_pressure

    wagner, antoine = vapor_pressure.Psat_data_WagnerMcGarry, vapor_pressure.Psat_data_AntoineExtended

    def by_wagner(cas: str, kelvin: float) -> float:
        keys = ("Tc", "Pc", "A", "B", "C", "D")
        return float(vapor_pressure.Wagner_original(kelvin, *(float(wagner.loc[cas, key]) for key in keys)))

    def by_antoine(cas: str, kelvin: float) -> float:
        keys = ("Tc", "to", "A", "B", "C", "n", "E", "F")
        return float(
            vapor_pressure.TRC_Antoine_extended(kelvin, *(float(antoine.loc[cas, key]) for key in keys))
        )

    found = []
    for name, cas, source in (("R-32", "75-10-5", WAGNER), ("R-22", "75-45-6", WAGNER),
                              ("R-134a", "811-97-2", ANTOINE)):  # fmt: skip
        for fahrenheit in (40, 110):
            kelvin = from_F(fahrenheit)
            pressure_of = by_wagner if source == WAGNER else by_antoine
            per_K = (pressure_of(cas, kelvin + 0.05) - pressure_of(cas, kelvin - 0.05)) / 0.1
            shipped = curve(name)
            ours = shipped.dew_slope_K_per_Pa(shipped.dew_pressure_Pa(kelvin))
            outside = PA_PER_PSI / per_K / K_PER_F
            found.append(
                Row(f"Saturation slope, {name} at {fahrenheit} °F", ours * PA_PER_PSI / K_PER_F, outside,
                    "°F a psi", 0.01 * outside, source, "LIBRARY")
            )  # fmt: skip
    return found


def _remedies() -> list[Row]:
    """The wet bulb that would decide, R-410A with Title 24 limits, from the printed parts of section 8.

    Superheat ± 2.05 °F; outdoor air 0.55 × 1.395 °F; the wet bulb moves the target by 1.95 a degree. What is
    asked is rounded down to a tenth.
    """
    found = []
    gap_of = _four("R-410A", {})[3]
    for gap_F, half_F in ((2.0, 5.0), (2.3, 5.0), (7.9, 5.0), (0.0, 3.0)):
        asked = remedy(Demand("superheat", gap_F * K_PER_F, half_F * K_PER_F, gap_of))
        assert asked is not None
        assert [each.channel for each in asked.better] == ["indoor_wb_K"]
        allowed = half_F - gap_F if gap_F < half_F else gap_F - half_F
        by_hand = math.sqrt(allowed**2 - 2.05**2 - (0.55 * 1.395) ** 2) / 1.95
        found.append(
            _degrees(f"Better wet bulb, that decides {gap_F} °F off with ± {half_F:g} °F",
                     asked.better[0].limit, math.floor(by_hand * 10.0) / 10.0, 0.05, BY_HAND, "CALCULATED")
        )  # fmt: skip
    return found
