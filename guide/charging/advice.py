"""What to do with the charge now: stop before wait, wait before moving, moving before done.

Pure: the same appliance and rounds give the same advice. Whatever the readings, nothing is moved
that a bound in `increment.py` or a sign in `signature.py` forbids. The person decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from guide.charging import increment
from guide.charging.applicability import INSTEAD, reasons_against
from guide.charging.increment import Sample
from guide.charging.meaning import CHANNEL_WORDS, interpret
from guide.charging.round import Action, Advice, Appliance, Meaning, Metering, Round, Verdict
from guide.charging.signature import (
    BAD_READING,
    OVERCHARGE,
    UNDERCHARGE,
    against_moving,
    is_full,
    low_airflow,
)
from guide.charging.soundness import contradictions, demand_usable, unusable
from guide.charging.wording import difference, mass

_NOTHING = Decimal(0)
_EARLIER_ROUNDS = 40  # more than any loop needs; bounds the work on a long file
_MOST_REVERSALS = 2


def advise(appliance: Appliance, rounds: Sequence[Round]) -> Advice:
    """Return what to do after the last of `rounds`, with reasons in whole sentences.

    Raises:
        FigureError: when the appliance's own figures can't be used; never for a reading.
    """
    demand_usable(appliance)
    if not rounds:
        empty = interpret(appliance, Round(net_charged_kg=0.0, minutes_since_change=0.0))
        return _advice(
            Action.WAIT, empty, "There are no readings yet: take the first round once it has settled."
        )
    now = rounds[-1]
    meaning = interpret(appliance, now)
    settled = now.minutes_since_change >= appliance.settle_minutes
    against = reasons_against(appliance, now)
    bad = unusable(appliance, now) or contradictions(appliance, now, meaning, settled=settled)
    if bad:
        return _advice(Action.STOP, meaning, *bad, *against, suspect=BAD_READING)
    if against:
        return _advice(Action.STOP, meaning, *against)
    waiting = [*_missing(appliance, now), *_unsettled(appliance, now, settled=settled)]
    if waiting:
        return _advice(Action.WAIT, meaning, *waiting)
    return _settled_advice(appliance, rounds, meaning)


def _settled_advice(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> Advice:
    now = rounds[-1]
    wanting_K = increment.wanting_K(appliance, meaning)
    if wanting_K is None:
        return _advice(
            Action.WAIT, meaning, "The figures can't be formed from these readings: read them again."
        )
    airflow = low_airflow(appliance, now, certain=True)
    if airflow is not None:
        return _advice(Action.STOP, meaning, airflow.reason, suspect=airflow.suspect)
    if meaning.verdict is Verdict.PASS:
        return _advice(
            Action.DONE, meaning, "The charge is right within tolerance, the uncertainty included."
        )
    adding = wanting_K > 0.0
    found = against_moving(appliance, now, meaning, adding=adding)
    if found is not None:
        return _advice(Action.STOP, meaning, found.reason, suspect=found.suspect)
    samples = (*_samples(appliance, rounds[:-1]), _sample(now, meaning, wanting_K))
    return _move_or_done(appliance, now, meaning, samples)


def _move_or_done(appliance: Appliance, now: Round, meaning: Meaning, samples: tuple[Sample, ...]) -> Advice:
    amount = increment.next_amount_kg(appliance, samples)
    if abs(samples[-1].wanting_K) <= increment.tolerance_K(appliance):
        held = _why_leave_it(appliance, now, meaning, samples, amount)
        if held is not None:
            return _advice(Action.DONE, meaning, held)
    stopped = _why_stop(appliance, now, samples, amount)
    if stopped is not None:
        return _advice(Action.STOP, meaning, stopped)
    adding = samples[-1].wanting_K > 0.0
    if not adding and now.supply_db_K is None and _needs_split(appliance, meaning):
        return _advice(
            Action.WAIT,
            meaning,
            "Read the supply air dry bulb: low superheat may be low airflow, and then nothing must be "
            "recovered.",
        )
    return _move(appliance, meaning, samples, amount)


def _why_stop(appliance: Appliance, now: Round, samples: tuple[Sample, ...], amount: Decimal) -> str | None:
    adding = samples[-1].wanting_K > 0.0
    if increment.does_not_answer(appliance, samples):
        return (
            "The system did not answer the last changes as it answers charge: charge is not what is wrong. "
            "Stop moving refrigerant and look for another cause; check the readings and the hoses' valves."
        )
    if increment.reversals(samples) >= _MOST_REVERSALS and _turns_back(samples, adding=adding):
        return (
            "Adding and recovering have taken turns: the system or the readings aren't steady. Find out why, "
            f"else {INSTEAD}."
        )
    if amount <= 0:
        return (
            f"The smallest amount this scale can weigh, {mass(float(increment.least_kg(appliance)))}, is too "
            "coarse for the next step: use a finer scale, or weigh the whole charge in."
        )
    if _too_much_in_all(appliance, now, amount, adding=adding):
        return (
            f"More than {increment.MOST_IN_ALL:.0%} of the nameplate charge would have been moved: recover "
            "all, find the cause, and weigh the charge in."
        )
    return None


def _move(appliance: Appliance, meaning: Meaning, samples: tuple[Sample, ...], amount: Decimal) -> Advice:
    wanting_K = samples[-1].wanting_K
    adding = wanting_K > 0.0
    orifice = appliance.metering is Metering.FIXED_ORIFICE
    what = "Superheat" if orifice else "Subcooling"
    side = "above" if adding == orifice else "below"
    verb = "add" if adding else "recover"
    reasons = [f"{what} is {difference(abs(wanting_K))} {side} target: {verb} {mass(float(amount))}."]
    if len({sample.net_charged_kg for sample in samples}) > 1:
        rate_K = increment.response_K_per_kg(appliance, samples) * float(amount)
        reasons.append(f"From the answers so far this should move it by about {difference(rate_K)}.")
    else:
        reasons.append("How this system answers isn't known yet, so the first step is small.")
    if not adding and meaning.superheat_K is not None and meaning.superheat_K <= 0.0:
        reasons.append(
            "There is no superheat: liquid may be reaching the compressor, don't let it run on like this."
        )
    reasons.append(f"Then let it run for {appliance.settle_minutes:g} minutes and read again.")
    suspect = None
    if meaning.verdict is Verdict.FAIL and abs(wanting_K) > increment.tolerance_K(appliance):
        suspect = UNDERCHARGE if adding else OVERCHARGE
    return _advice(
        Action.ADD if adding else Action.RECOVER, meaning, *reasons, suspect=suspect, amount_kg=amount
    )


def _why_leave_it(
    appliance: Appliance, now: Round, meaning: Meaning, samples: tuple[Sample, ...], amount: Decimal
) -> str | None:
    adding = samples[-1].wanting_K > 0.0
    best = "The best estimate is inside the tolerance"
    if amount <= 0 or not increment.would_help(amount):
        return (
            f"{best}, and the step that is left is finer than scale and hoses can place: leave the "
            "charge as it is."
        )
    if _turns_back(samples, adding=adding):
        return (
            f"{best}, and going back the way it came would only chase the uncertainty: leave the "
            "charge as it is."
        )
    if adding and is_full(appliance, meaning):
        return f"{best}, and the liquid line is full: leave the charge as it is."
    if increment.does_not_answer(appliance, samples):
        return f"{best}, and the last changes were hardly answered: leave the charge as it is."
    if _too_much_in_all(appliance, now, amount, adding=adding):
        return f"{best}, and much refrigerant has been moved already: leave the charge as it is."
    return None


def _turns_back(samples: tuple[Sample, ...], *, adding: bool) -> bool:
    last = increment.last_direction(samples)
    return last != 0 and (last > 0) != adding


def _too_much_in_all(appliance: Appliance, now: Round, amount: Decimal, *, adding: bool) -> bool:
    after_kg = now.net_charged_kg + (float(amount) if adding else -float(amount))
    return abs(after_kg) > increment.MOST_IN_ALL * appliance.nameplate_charge_kg


def _needs_split(appliance: Appliance, meaning: Meaning) -> bool:
    if appliance.metering is Metering.FIXED_ORIFICE:
        return True
    return meaning.superheat_K is not None and meaning.superheat_K < appliance.superheat_range_K[0]


def _missing(appliance: Appliance, now: Round) -> list[str]:
    needed = ["suction_pressure_Pa", "suction_line_K", "liquid_pressure_Pa", "liquid_line_K", "outdoor_db_K"]
    needed.append("indoor_db_K")
    if appliance.metering is Metering.FIXED_ORIFICE and appliance.target_superheat_K is None:
        needed.append("indoor_wb_K")
    return [
        f"The {CHANNEL_WORDS[name]} was not read: read it." for name in needed if getattr(now, name) is None
    ]


def _unsettled(appliance: Appliance, now: Round, *, settled: bool) -> list[str]:
    if settled:
        return []
    left = appliance.settle_minutes - now.minutes_since_change
    return [
        f"It has run for {now.minutes_since_change:g} of {appliance.settle_minutes:g} minutes "
        "since the last change: "
        f"wait {left:g} minutes more and read again."
    ]


def _samples(appliance: Appliance, earlier: Sequence[Round]) -> list[Sample]:
    samples = []
    for past in earlier[-_EARLIER_ROUNDS:]:
        if past.minutes_since_change < appliance.settle_minutes or unusable(appliance, past):
            continue
        meaning = interpret(appliance, past)
        wanting_K = increment.wanting_K(appliance, meaning)
        if wanting_K is None or contradictions(appliance, past, meaning, settled=True):
            continue
        samples.append(_sample(past, meaning, wanting_K))
    return samples


def _sample(past: Round, meaning: Meaning, wanting_K: float) -> Sample:
    return Sample(
        net_charged_kg=past.net_charged_kg,
        wanting_K=wanting_K,
        subcooling_K=meaning.subcooling_K,
        superheat_K=meaning.superheat_K,
    )


def _advice(
    action: Action, meaning: Meaning, *reasons: str, suspect: str | None = None, amount_kg: Decimal = _NOTHING
) -> Advice:
    said = tuple(dict.fromkeys((*reasons, *meaning.reasons)))
    return Advice(
        action=action,
        amount_kg=amount_kg,
        meaning=meaning,
        suspect=suspect,
        reasons=said,
    )
