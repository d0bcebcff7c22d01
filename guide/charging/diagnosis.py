"""Is it charge at all? What a round of readings says for and against each trouble, and what would settle it.

The suspects are weighed by Bayes' rule (`weighing.py`) over the shifts of `fault_signs.py`. The weights
rank, they are no probabilities of a measured population. What stops the charging loop are the rules of
`signature.py`, and else only a trouble that the weighing is nearly sure of and that shows by a sign.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from guide.charging.answered import answer_evidence
from guide.charging.at_rest import air_limit_K
from guide.charging.evidence import SHARES, Evidence, Feature, Sign
from guide.charging.fault_signs import Trouble
from guide.charging.meaning import interpret, usable
from guide.charging.observed import gather
from guide.charging.round import Appliance, Meaning, Metering, Round, Verdict
from guide.charging.signature import (
    BAD_READING,
    DIRTY_CONDENSER,
    LOW_AIRFLOW,
    NON_CONDENSABLES,
    OVERCHARGE,
    RESTRICTION,
    UNDERCHARGE,
    VALVE_LEAK,
    Finding,
    against_moving,
    low_airflow,
)
from guide.charging.trouble_words import (
    READ_FOR,
    TELLING_F,
    TELLING_SHARE,
    TESTS,
    expected_F,
    expected_sign,
    lies_widely,
    weighed,
)
from guide.charging.weighing import SILENT, Weighed, weigh_all
from guide.charging.wording import K_PER_F

_PLAINLY_NORMAL = 0.5  # bands; a sign that is missing speaks against a trouble that should show it
_SURE = 0.75  # weight from which troubles other than charge stop the loop (PROPOSED)
_RENAME = 2.0  # how much more another name must weigh than the one a rule gives (PROPOSED)
_LEAST_AIRFLOW = 0.75  # 300 of 400 cfm a ton; FOUND, RA3 2008 p. 16
_AT_REST_FROM = 1.0  # bands above saturation, as any sign: 3 to 4 °F, by the gauge (PROPOSED)
_MAY_BE_GAS = 0.05  # one in twenty, before refrigerant is taken out for it (PROPOSED)
_NEAR_AIR_K = 3.0 * K_PER_F  # a clamp off the pipe reads the air around it (PROPOSED)


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One suspect, its weight (all of them and "nothing wrong" make 1) and what speaks either way.

    `shown`: at least one figure lies beyond its normal band on the side this suspect pushes it to.
    """

    suspect: str
    weight: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    test: str
    shown: bool


@dataclass(frozen=True, slots=True)
class Precondition:
    """Something that must be in order before charge is judged; undecided where it was not read."""

    name: str
    verdict: Verdict
    sentence: str


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Every suspect, the heaviest first, what must be in order first, and what to read to tell them apart."""

    suspects: tuple[Suspicion, ...]
    nothing_wrong: float
    preconditions: tuple[Precondition, ...]
    to_read: tuple[str, ...]
    evidence: tuple[Evidence, ...]

    def weight(self, suspect: str) -> float:
        """The weight of one suspect, 0 when it has none."""
        return next((one.weight for one in self.suspects if one.suspect == suspect), 0.0)

    @property
    def first_to_check(self) -> Precondition | None:
        """The first thing in order that is not known to be right; None when charge may be judged."""
        return next((one for one in self.preconditions if one.verdict is not Verdict.PASS), None)


def diagnose(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning | None = None) -> Diagnosis:
    """Weigh what the last of `rounds` shows, with the newest readings at rest of any of them.

    `meaning` is that of the last round, when the caller has it already.

    Raises:
        FigureError: when an accuracy of the appliance can't be used; never for a reading.
    """
    if meaning is None and rounds:
        meaning = interpret(appliance, rounds[-1])
    evidence = (
        (*gather(appliance, rounds, meaning), *answer_evidence(appliance, rounds, meaning))
        if meaning is not None
        else ()
    )
    return weigh(appliance, evidence, clamp_in_air=_clamp_in_air(appliance, rounds))


def weigh(
    appliance: Appliance, evidence: Sequence[Evidence], *, clamp_in_air: bool | None = None
) -> Diagnosis:
    """Weigh pieces of evidence; `clamp_in_air` says whether the suction clamp reads like the outdoor air."""
    right, *ways = weigh_all(appliance.metering, evidence, clamp_in_air=clamp_in_air)
    orifice = appliance.metering is Metering.FIXED_ORIFICE
    suspicions = []
    for suspect in dict.fromkeys(way.trouble.suspect for way in ways):
        same = [way for way in ways if way.trouble.suspect == suspect]
        weight = sum(way.weight for way in same)
        likeliest = max(same, key=lambda way: way.weight)
        suspicions.append(_suspicion(likeliest.trouble, weight, evidence, orifice=orifice))
    suspicions.sort(key=lambda one: -one.weight)
    return Diagnosis(
        suspects=tuple(suspicions),
        nothing_wrong=right.weight,
        preconditions=_preconditions(suspicions, evidence),
        to_read=_to_read(suspicions, ways, evidence, orifice=orifice),
        evidence=tuple(evidence),
    )


def suspect_now(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> Finding | None:
    """Return why no charge must be moved now, with the trouble suspected; None when charge may be moved.

    Airflow first, the pressure at rest, then condenser, restriction and valve by the rules of
    `signature.py`, named by the weighing where that names another trouble much more strongly; then a
    trouble that the weighing alone is nearly sure of, even where the charge passes.

    Raises:
        FigureError: when an accuracy of the appliance can't be used; never for a reading.
    """
    if not rounds:
        return None
    diagnosis = diagnose(appliance, rounds, meaning)
    first = low_airflow(appliance, rounds[-1], certain=True) or _by_one_sign(diagnosis)
    if first is not None:
        return first
    wanting_K = _wanting_K(appliance, meaning)
    if wanting_K is None:
        return None
    if meaning.verdict is not Verdict.PASS:
        found = against_moving(appliance, rounds[-1], meaning, adding=wanting_K > 0.0)
        if found is not None:
            return _renamed(found, diagnosis, appliance.metering)
    return _certain(diagnosis)


def may_be_gas(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> bool:
    """Say whether air may pass for too much refrigerant, and only the pressure at rest, not yet read, tells.

    Both raise condensing and subcooling, and recovering lowers both under either.

    Raises:
        FigureError: when an accuracy of the appliance can't be used; never for a reading.
    """
    diagnosis = diagnose(appliance, rounds, meaning)
    if any(one.feature is Feature.STANDING for one in diagnosis.evidence):
        return False
    return diagnosis.weight(NON_CONDENSABLES) >= _MAY_BE_GAS


def _by_one_sign(diagnosis: Diagnosis) -> Finding | None:
    """What speaks of one trouble only: a measured airflow, a pressure at rest above saturation."""
    for one in diagnosis.evidence:
        if one.feature is Feature.AIRFLOW and one.value < _LEAST_AIRFLOW:
            return Finding(
                LOW_AIRFLOW, f"{one.sentence}: less than {_LEAST_AIRFLOW:.0%}. {TESTS[LOW_AIRFLOW]}"
            )
        if one.feature is Feature.SIDES_AT_REST and abs(one.off) >= _AT_REST_FROM:
            return Finding(
                BAD_READING,
                f"{one.sentence}: nothing flows then, so the gauges disagree. {TESTS[BAD_READING]}",
            )
        if one.feature is Feature.STANDING and one.off >= _AT_REST_FROM:
            return Finding(
                NON_CONDENSABLES,
                f"{one.sentence}: more than this refrigerant can give, so there is air or another gas in "
                f"it, or another refrigerant than was set. {TESTS[NON_CONDENSABLES]}",
            )
    return None


def _wanting_K(appliance: Appliance, meaning: Meaning) -> float | None:
    if appliance.metering is Metering.FIXED_ORIFICE:
        if meaning.superheat_K is None or meaning.target_superheat_K is None:
            return None
        return meaning.superheat_K - meaning.target_superheat_K
    if meaning.subcooling_K is None or appliance.target_subcooling_K is None:
        return None
    return appliance.target_subcooling_K - meaning.subcooling_K


_MAY_BE = {
    DIRTY_CONDENSER: (NON_CONDENSABLES,),
    VALVE_LEAK: (DIRTY_CONDENSER, LOW_AIRFLOW),
    RESTRICTION: (BAD_READING,),
}
"""Which other names the same stop may carry: what the rule can't tell apart and no charge mends either."""

_HALLMARK = {
    DIRTY_CONDENSER: (Feature.CONDENSING, Sign.HIGH),
    LOW_AIRFLOW: (Feature.EVAPORATING, Sign.LOW),
    NON_CONDENSABLES: (Feature.SUBCOOLING, Sign.HIGH),
    BAD_READING: (Feature.SUPERHEAT, Sign.HIGH),
}
"""The sign without which a stop doesn't take that name."""


def _renamed(found: Finding, diagnosis: Diagnosis, metering: Metering) -> Finding:
    if found.suspect is None:
        return found
    if found.suspect == DIRTY_CONDENSER and metering is not Metering.FIXED_ORIFICE:
        return found  # a valve keeps subcooling from telling gas from dirt; the cheaper check comes first
    others = [name for name in _MAY_BE.get(found.suspect, ()) if _HALLMARK[name] in _signs(diagnosis)]
    best = max(others, key=diagnosis.weight, default=None)
    if best is None or diagnosis.weight(best) < _RENAME * diagnosis.weight(found.suspect):
        return found
    return Finding(best, _told(diagnosis, best))


def _signs(diagnosis: Diagnosis) -> set[tuple[Feature, Sign]]:
    return {(one.feature, one.sign) for one in diagnosis.evidence}


def _certain(diagnosis: Diagnosis) -> Finding | None:
    others = [one for one in diagnosis.suspects if one.suspect not in {UNDERCHARGE, OVERCHARGE}]
    if not others or sum(one.weight for one in others) < _SURE or not others[0].shown:
        return None
    top = others[0].suspect
    if top == LOW_AIRFLOW and not _airflow_fails(diagnosis):
        return None
    return Finding(top, _told(diagnosis, top))


def _airflow_fails(diagnosis: Diagnosis) -> bool:
    """Whether the split, or the airflow itself, fails its test: without that airflow is taken as passed.

    The split may be its tolerance above the table (FOUND, RA3 2008 p. 16 and 17); where it was not read it
    is asked for before anything is recovered.
    """
    return any(
        (one.feature is Feature.SPLIT and one.value - one.high > one.band)
        or (one.feature is Feature.AIRFLOW and one.value < _LEAST_AIRFLOW)
        for one in diagnosis.evidence
    )


def _told(diagnosis: Diagnosis, suspect: str) -> str:
    one = next(entry for entry in diagnosis.suspects if entry.suspect == suspect)
    seen = " ".join(one.speaks_for[:3])
    pointed = f"The readings point to this: {suspect}, not charge."
    return f"{pointed} {seen} {one.test} Move no refrigerant before that."


def _clamp_in_air(appliance: Appliance, rounds: Sequence[Round]) -> bool | None:
    if not rounds:
        return None
    line, outdoor, indoor = (
        usable(rounds[-1].suction_line_K),
        usable(rounds[-1].outdoor_db_K),
        usable(rounds[-1].indoor_db_K),
    )
    if line is None or outdoor is None or indoor is None:
        return None
    near_K = _NEAR_AIR_K + air_limit_K("suction_line_K", line, appliance)
    return abs(line - outdoor) <= near_K and line >= indoor - _NEAR_AIR_K


def _suspicion(trouble: Trouble, weight: float, evidence: Sequence[Evidence], *, orifice: bool) -> Suspicion:
    speaks_for: list[tuple[float, str]] = []
    speaks_against: list[tuple[float, str]] = []
    shown = False
    for one in evidence:
        expected = expected_sign(trouble, one.feature, orifice=orifice)
        if one.sign is expected:
            if expected is not Sign.NORMAL:
                speaks_for.append((abs(one.off), weighed(trouble.suspect, one, expected)))
                shown = shown or one.feature not in SILENT
        elif lies_widely(trouble, one.feature):
            continue
        elif one.sign is not Sign.NORMAL:
            speaks_against.append((abs(one.off), weighed(trouble.suspect, one, expected)))
        elif abs(one.off) <= _PLAINLY_NORMAL:
            speaks_against.append((_PLAINLY_NORMAL, weighed(trouble.suspect, one, expected)))
    test = TESTS[trouble.suspect]
    if trouble.detail:
        test = f"Perhaps {trouble.detail}. {test}"
    return Suspicion(trouble.suspect, weight, _sorted(speaks_for), _sorted(speaks_against), test, shown)


def _sorted(said: list[tuple[float, str]]) -> tuple[str, ...]:
    return tuple(words for _, words in sorted(said, key=lambda pair: -pair[0]))


def _preconditions(suspicions: Sequence[Suspicion], evidence: Sequence[Evidence]) -> tuple[Precondition, ...]:
    by_feature = {one.feature: one for one in evidence}
    weights = {one.suspect: one.weight for one in suspicions}
    airflow = by_feature.get(Feature.AIRFLOW) or by_feature.get(Feature.SPLIT)
    return (
        _precondition(
            "airflow",
            airflow,
            Sign.LOW if airflow is not None and airflow.feature is Feature.AIRFLOW else Sign.HIGH,
            "Read the supply air dry bulb, or measure the airflow",
            weights[LOW_AIRFLOW],
        ),
        _precondition(
            "condenser",
            by_feature.get(Feature.CONDENSING),
            Sign.HIGH,
            "Read the liquid pressure and the outdoor dry bulb",
            weights[DIRTY_CONDENSER],
        ),
        _precondition(
            "no air in it",
            by_feature.get(Feature.STANDING),
            Sign.HIGH,
            "Read the pressure with the machine at rest",
            weights[NON_CONDENSABLES],
        ),
        _precondition(
            "liquid line free",
            by_feature.get(Feature.SUBCOOLING),
            None,
            "Read the liquid line temperature",
            weights[RESTRICTION],
        ),
    )


def _precondition(
    name: str, one: Evidence | None, bad: Sign | None, otherwise: str, weight: float
) -> Precondition:
    if one is None:
        return Precondition(name, Verdict.UNDECIDED, f"{otherwise}.")
    if (bad is not None and one.sign is bad) or (bad is None and weight >= 0.5):
        return Precondition(name, Verdict.FAIL, f"{one.sentence}: not in order.")
    if weight >= 0.5:
        return Precondition(name, Verdict.UNDECIDED, f"{one.sentence}: other signs speak against it.")
    return Precondition(name, Verdict.PASS, f"{one.sentence}: in order.")


def _to_read(
    suspicions: Sequence[Suspicion],
    ways: Sequence[Weighed],
    evidence: Sequence[Evidence],
    *,
    orifice: bool,
) -> tuple[str, ...]:
    """What was not read and would tell the two heaviest suspects apart, the most telling first."""
    first, second = (
        max((way for way in ways if way.trouble.suspect == one.suspect), key=lambda way: way.weight).trouble
        for one in suspicions[:2]
    )
    read = {one.feature for one in evidence}
    apart = {
        feature: abs(
            expected_F(first, feature, orifice=orifice) - expected_F(second, feature, orifice=orifice)
        )
        / (TELLING_SHARE if feature in SHARES else TELLING_F)
        for feature in READ_FOR
        if feature not in read
    }
    return tuple(
        f"Read {READ_FOR[feature]}: it tells {first.suspect} from {second.suspect}."
        for feature in sorted(apart, key=lambda one: -apart[one])
        if apart[feature] >= 1.0
    )
