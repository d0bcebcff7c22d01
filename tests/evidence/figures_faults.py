"""Signs of troubles, the order they are expected in, and the discharge line, against outside figures.

A sign counts as +1 (above normal), -1 (below) or 0 (as usual).
"""

from __future__ import annotations

from collections.abc import Iterator

from guide.charging.compression import EXPONENTS, discharge_K
from guide.charging.evidence import Feature, Sign
from guide.charging.fault_signs import COLUMNS, RIGHT_PRIOR
from guide.charging.round import Metering
from guide.charging.signature import OVERCHARGE, UNDERCHARGE
from guide.charging.trouble_words import expected_sign
from guide.charging.uncertainty import PA_PER_PSI
from guide.charging.wording import K_PER_F, from_F, to_F
from guide.refrigerant.saturation import curve
from tests.charging.troubled_rounds import SIGNS, first_sign, published, trade, trouble
from tests.evidence.figure import Mark, Row

RULES = "Rossi and Braun rule table - Purdue report on rooftop units, yumpu.com document 28133799 p. 213"
TRADE = "Trade forum sign matrix - refrigeration-engineer.com/forums entry 355 (lower authority)"
SURVEY = "Home Energy field survey - over 4000 Californian units, charge right, short, over"
PROTOTYPE = "Plant prototype - reference rig notes section 7, steady state on CoolProp properties"
COOLPROP = (
    "CoolProp 8 - mixtures as shipped, 45 °F saturated, 57 °F gas, 115 °F condensing, 70 %, 7 % shell loss"
)

_NUMBER = {Sign.HIGH: 1.0, Sign.NORMAL: 0.0, Sign.LOW: -1.0}
_TRADE_NAMES = {
    "low charge": UNDERCHARGE,
    "overcharge": OVERCHARGE,
    "low indoor airflow": "low indoor airflow",
    "mild low outdoor airflow": "dirty condenser",
    "mild restriction, factory charge": "liquid-line restriction",
    "weak compressor valves": "compressor valve leak",
}
_TRADE_COLUMNS = {
    "superheat": Feature.SUPERHEAT,
    "suction_pressure": Feature.EVAPORATING,
    "head_pressure": Feature.CONDENSING,
}
# Suction and head [psig] and discharge line [°F] of the prototype at its rated point, 12 °F superheat.
_RATED = {
    "R-410A": (125.0, 377.0, 170.0),
    "R-32": (128.0, 387.0, 201.0),
    "R-454B": (114.0, 347.0, 179.0),
    "R-407C": (74.0, 253.0, 165.0),
}


def rows() -> list[Row]:
    """Every compared value of the diagnosis."""
    return [*_signs(), *_trade_signs(), *_shares(), *_discharge(), *_library()]


def _sign(name: str, feature: Feature) -> float:
    return _NUMBER[expected_sign(trouble(Metering.FIXED_ORIFICE, name), feature, orifice=True)]


def _signs() -> Iterator[Row]:
    for name, mark, signs in published():
        for column, sign in zip(COLUMNS, signs, strict=True):
            if (name, column) == ("low indoor airflow", Feature.SUBCOOLING):
                continue  # the two published tables contradict each other: ours may lie either way
            known: Mark = "FOUND" if mark == "FOUND" else "MEMORY"
            yield Row(
                f"Sign of a trouble, {name}: {column}",
                _sign(name, column),
                _NUMBER[SIGNS[first_sign(sign)]],
                "sign",
                0.1,
                RULES if known == "FOUND" else "Rows beside the rule table - recalled",
                known,
            )


def _trade_signs() -> Iterator[Row]:
    for row in trade():
        name = _TRADE_NAMES.get(row["condition"])
        if name is None:
            continue
        for column, feature in _TRADE_COLUMNS.items():
            sign = "-" if row[column].startswith("low") else "+"
            yield Row(
                f"Sign of a trouble, {name}: {feature}",
                _sign(name, feature),
                _NUMBER[SIGNS[sign]],
                "sign",
                0.1,
                TRADE,
                "FOUND",
            )


def _shares() -> Iterator[Row]:
    under, over = (trouble(Metering.FIXED_ORIFICE, name).prior for name in (UNDERCHARGE, OVERCHARGE))
    whole = under + over + RIGHT_PRIOR
    for words, ours, percent in (
        ("right", RIGHT_PRIOR, 38.0),
        ("short", under, 34.0),
        ("over", over, 28.0),
    ):
        yield Row(
            f"Share of systems before any reading, charge {words}",
            100.0 * ours / whole,
            percent,
            "%",
            1.0,
            SURVEY,
            "FOUND",
        )


def _discharge() -> Iterator[Row]:
    for refrigerant, (low_psig, high_psig, expected_F) in _RATED.items():
        low, high = low_psig + 14.696, high_psig + 14.696
        dew_K = curve(refrigerant).dew_temperature_K(low * PA_PER_PSI)
        ours_K = discharge_K(refrigerant, suction_K=dew_K + 12.0 * K_PER_F, pressure_ratio=high / low)
        yield Row(
            f"Discharge line, {refrigerant} from {low_psig:g} to {high_psig:g} psig",
            to_F(ours_K),
            expected_F,
            "°F",
            8.0,
            PROTOTYPE,
            "CALCULATED",
        )


def _library() -> Iterator[Row]:
    from CoolProp.CoolProp import PropsSI

    for refrigerant in EXPONENTS:
        mixed = refrigerant in {"R-410A", "R-454B", "R-407C"}
        name = refrigerant.replace("-", "") + (".mix" if mixed else "")
        low_Pa = PropsSI("P", "T", from_F(45.0), "Q", 1, name)
        high_Pa = PropsSI("P", "T", from_F(115.0), "Q", 0, name)
        suction_K = from_F(57.0)
        enthalpy = PropsSI("H", "T", suction_K, "P", low_Pa, name)
        entropy = PropsSI("S", "T", suction_K, "P", low_Pa, name)
        work = (PropsSI("H", "S", entropy, "P", high_Pa, name) - enthalpy) / 0.70 * 0.93
        expected_K = PropsSI("T", "H", enthalpy + work, "P", high_Pa, name)
        ours_K = discharge_K(refrigerant, suction_K=suction_K, pressure_ratio=high_Pa / low_Pa)
        yield Row(
            f"Discharge line, {refrigerant} at 45 °F evaporating and 115 °F condensing",
            to_F(ours_K),
            to_F(expected_K),
            "°F",
            0.9,
            COOLPROP,
            "LIBRARY",
        )
