"""What a trouble would show and how it is said: the expected side of each feature, its test, what to read."""

from __future__ import annotations

from guide.charging.evidence import SHARES, Evidence, Feature, Sign
from guide.charging.fault_signs import ONLY_WHEN_SHORT, PER_PERCENT, Trouble
from guide.charging.signature import (
    BAD_READING,
    DIRTY_CONDENSER,
    LOW_AIRFLOW,
    NON_CONDENSABLES,
    OVERCHARGE,
    RESTRICTION,
    UNDERCHARGE,
    VALVE_LEAK,
)

_SHOWS_F = 1.5  # a shift smaller than this is told as "normal"
_COMMON_PERCENT = 12.0  # how far off a charge commonly is, for what it would show (PROPOSED)
TELLING_F = 4.0  # features whose expected shifts lie this far apart tell two suspects apart (PROPOSED)
_RATIO_F = 4.0  # condensing less evaporating moves the ratio's sign from 6 °F on, as _SHOWS_F asks (PROPOSED)
TELLING_SHARE = 0.2  # the same of the shares

TESTS = {
    LOW_AIRFLOW: "Look at filter, coil, blower and registers, then measure the airflow or the split again.",
    DIRTY_CONDENSER: "Clean the condenser, check its fan, then see whether condensing comes down.",
    NON_CONDENSABLES: "Let it rest until coils and air have one temperature: a pressure above saturation at "
    "the outdoor air's is air or another gas.",
    RESTRICTION: "Feel or measure along the liquid line: a drop of temperature across drier, kink or valve "
    "shows where it is.",
    VALVE_LEAK: "Shut it off and watch both gauges come together, or pump it down: a compressor that "
    "can't hold a low suction pressure leaks.",
    UNDERCHARGE: "Add a small amount and read again: superheat must fall or subcooling rise. Then look for "
    "the leak.",
    OVERCHARGE: "Recover a small amount and read again: superheat must rise or subcooling fall.",
    BAD_READING: "Open the gauges to the air (they must read zero), put the clamps in ice water (32 °F), "
    "seat them on bare pipe, and check the refrigerant on the nameplate.",
}
"""What would settle each suspect; common practice, the gauge and ice checks FOUND in RA3 2008 p. 13."""

READ_FOR = {
    Feature.SPLIT: "the supply air dry bulb",
    Feature.EVAPORATING: "the suction pressure and the return air dry bulb",
    Feature.CONDENSING: "the liquid pressure and the outdoor dry bulb",
    Feature.SUPERHEAT: "the suction line temperature and what the target needs",
    Feature.SUBCOOLING: "the liquid line temperature",
    Feature.DISCHARGE: "the discharge line temperature",
    Feature.CONDENSER_RISE: "the air that leaves the condenser",
    Feature.STANDING: "the pressure with the machine at rest",
    Feature.AIRFLOW: "the indoor airflow",
}


def expected_F(trouble: Trouble, feature: Feature, *, orifice: bool) -> float:
    """Return what a trouble of common size adds to a feature [°F, or a share]."""
    if feature is Feature.PRESSURE_RATIO:
        apart = [
            expected_F(trouble, side, orifice=orifice) for side in (Feature.CONDENSING, Feature.EVAPORATING)
        ]
        return (apart[0] - apart[1]) / _RATIO_F
    percent = {UNDERCHARGE: -_COMMON_PERCENT, OVERCHARGE: _COMMON_PERCENT}.get(trouble.suspect, 0.0)
    if percent and feature in PER_PERCENT[orifice]:
        return (
            0.0
            if feature in ONLY_WHEN_SHORT and percent > 0.0
            else percent * PER_PERCENT[orifice][feature].by
        )
    return trouble.shifts[feature].by if feature in trouble.shifts else 0.0


def expected_sign(trouble: Trouble, feature: Feature, *, orifice: bool) -> Sign:
    """Return on which side of normal a trouble of common size puts a feature."""
    by = expected_F(trouble, feature, orifice=orifice)
    if abs(by) < (TELLING_SHARE if feature in SHARES else _SHOWS_F):
        return Sign.NORMAL
    return Sign.HIGH if by > 0.0 else Sign.LOW


def lies_widely(trouble: Trouble, feature: Feature) -> bool:
    """Say whether a feature may lie on either side under a trouble, because the sources contradict."""
    shift = trouble.shifts.get(feature)
    return shift is not None and shift.sd >= abs(shift.by) > 0.0


def weighed(suspect: str, one: Evidence, expected: Sign) -> str:
    """Say a piece of evidence, and where it differs from what a suspect makes it."""
    if expected is one.sign:
        return f"{one.sentence}: {one.sign}."
    return f"{one.sentence}: {one.sign}, where {suspect} would have it {expected}."
