"""What to do with the charge now: stop before wait, wait before moving, moving before done.

Pure: the same appliance and rounds give the same advice. Whatever the readings, nothing is moved
that a bound in `increment.py` or a sign in `signature.py` forbids. The person decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

from guide.charging import increment
from guide.charging.applicability import INSTEAD, reasons_against
from guide.charging.coarseness import instrument_reasons, insulate_first
from guide.charging.diagnosis import diagnose, may_be_gas, suspect_now
from guide.charging.meaning import CHANNEL_WORDS, interpret
from guide.charging.response import Sample, could_not_show, estimate, moved, sample
from guide.charging.round import Action, Advice, Appliance, Meaning, Metering, Round, Verdict
from guide.charging.settled import drifting
from guide.charging.settled_rounds import settled_samples
from guide.charging.signature import (
    BAD_READING,
    LOW_AIRFLOW,
    OVERCHARGE,
    UNDERCHARGE,
    is_full,
)
from guide.charging.silence import does_not_answer
from guide.charging.soundness import contradictions, demand_usable, unusable
from guide.charging.wording import difference, mass

_NOTHING = Decimal(0)
_READ_SUPPLY = (
    "Read the supply air dry bulb: low superheat may be low airflow, and then nothing must be recovered."
)
REST_FIRST = (
    "Too much refrigerant and air in it look alike from here: before recovering more, shut it off, let it "
    "rest until coils and air have one temperature, read both pressures and the outdoor air, then run it and "
    "read again."
)
_MOST_REVERSALS = 2
_MOSTLY = 0.5  # of the weight of all suspects but charge, to be named (PROPOSED)
_WORTH_A_LOOK = 0.2  # of all suspects and nothing wrong together (PROPOSED)
_MOST_INSIDE = 2  # moves once the best estimate lies inside the tolerance (PROPOSED)


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
    waiting = [*_missing(appliance, now), *_unsettled(appliance, rounds, meaning, settled=settled)]
    if waiting:
        return _advice(Action.WAIT, meaning, *waiting)
    advice = _settled_advice(appliance, rounds, meaning)
    own = [reason for reason in advice.reasons if reason not in meaning.reasons]
    hint = _besides(appliance, rounds, meaning) if advice.action is Action.DONE else ()
    said = dict.fromkeys((*own, *hint, *instrument_reasons(appliance, now), *meaning.reasons))
    return replace(advice, reasons=tuple(said))


def _settled_advice(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> Advice:
    now = rounds[-1]
    wanting_K = increment.wanting_K(appliance, meaning)
    if wanting_K is None:
        return _advice(
            Action.WAIT, meaning, "The figures can't be formed from these readings: read them again."
        )
    found = suspect_now(appliance, rounds, meaning)
    airflow_told = now.supply_db_K is not None or now.indoor_airflow_share is not None
    if found is not None and found.suspect == LOW_AIRFLOW and not airflow_told:
        return _advice(Action.WAIT, meaning, _READ_SUPPLY, found.reason)
    if found is not None:
        return _advice(Action.STOP, meaning, found.reason, suspect=found.suspect)
    if meaning.verdict is Verdict.PASS:
        return _advice(
            Action.DONE, meaning, "The charge is right within tolerance, the uncertainty included."
        )
    samples = (*settled_samples(appliance, rounds[:-1]), sample(appliance, now, meaning, wanting_K))
    return _move_or_done(appliance, rounds, meaning, samples)


def _move_or_done(
    appliance: Appliance, rounds: Sequence[Round], meaning: Meaning, samples: tuple[Sample, ...]
) -> Advice:
    now = rounds[-1]
    amount = increment.next_amount_kg(appliance, samples, increment.aim(appliance, meaning))
    if abs(samples[-1].wanting_K) <= increment.tolerance_K(appliance):
        held = _why_leave_it(appliance, now, meaning, samples, amount)
        if held is not None:
            return _advice(Action.DONE, meaning, held)
    if does_not_answer(appliance, samples):
        return _unanswered(appliance, rounds, meaning)
    stopped = _why_stop(appliance, now, samples, amount)
    if stopped is not None:
        return _advice(Action.STOP, meaning, stopped)
    adding = samples[-1].wanting_K > 0.0
    asked = None if adding else _ask_before_recovering(appliance, rounds, meaning)
    if asked is not None:
        return _advice(Action.WAIT, meaning, asked)
    if adding and appliance.metering is Metering.FIXED_ORIFICE:
        bare = insulate_first(appliance, now)
        if bare is not None:
            return _advice(Action.WAIT, meaning, bare)
    return _move(appliance, meaning, samples, amount)


def _ask_before_recovering(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> str | None:
    if rounds[-1].supply_db_K is None and _needs_split(appliance, meaning):
        return _READ_SUPPLY
    return REST_FIRST if _rest_first(appliance, rounds, meaning) else None


def _rest_first(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> bool:
    """Whether to ask for the pressures at rest: once, after the first careful step and before the next.

    A round read again at one charge has been asked then, or could have been: who did not answer won't.
    """
    settled = [one for one in rounds if one.minutes_since_change >= appliance.settle_minutes]
    pairs = list(pairwise(settled))
    if not pairs or any(before.net_charged_kg == after.net_charged_kg for before, after in pairs):
        return False
    return may_be_gas(appliance, rounds, meaning)


def _besides(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> tuple[str, ...]:
    """What else these readings look like although the charge is right: worth a look, too little to stop."""
    suspects = diagnose(appliance, rounds, meaning).suspects
    likeliest = max(suspects, key=lambda one: one.weight, default=None)
    if likeliest is None or likeliest.weight < _WORTH_A_LOOK or not likeliest.shown:
        return ()
    if likeliest.suspect in {UNDERCHARGE, OVERCHARGE}:
        return ()
    return (f"Before you leave: these readings look a little like {likeliest.suspect}. {likeliest.test}",)


def _unanswered(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> Advice:
    """Stop, and name what the readings fit best now that charge is out of the question, if anything."""
    said = (
        "The system did not answer the last changes as it answers charge: charge is not what is wrong. "
        "Stop moving refrigerant and look for another cause; check the readings and the hoses' valves."
    )
    suspects = diagnose(appliance, rounds, meaning).suspects
    others = [one for one in suspects if one.suspect not in {UNDERCHARGE, OVERCHARGE}]
    likeliest = max(others, key=lambda one: one.weight, default=None)
    if likeliest is None or likeliest.weight <= _MOSTLY * sum(one.weight for one in others):
        return _advice(Action.STOP, meaning, said)
    return _advice(
        Action.STOP,
        meaning,
        said,
        f"Of what is left, {likeliest.suspect} fits these readings best. {likeliest.test}",
        suspect=likeliest.suspect,
    )


def _why_stop(appliance: Appliance, now: Round, samples: tuple[Sample, ...], amount: Decimal) -> str | None:
    adding = samples[-1].wanting_K > 0.0
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
    reasons = [
        f"{what} is {difference(abs(wanting_K))} {side} target: {verb} {mass(float(amount))}.",
        *_how_sized(appliance, meaning, samples, amount),
    ]
    if not adding and meaning.superheat_K is not None and meaning.superheat_K <= 0.0:
        reasons.append(
            "There is no superheat: liquid may be reaching the compressor, don't let it run on like this."
        )
    if float(amount) <= increment.HOSE_FULL_kg:
        reasons.append(
            f"A charging hose full of liquid holds {mass(increment.HOSE_ERROR_kg)} to "
            f"{mass(increment.HOSE_FULL_kg)}, as much as this step: read the scale with the hose filled "
            "as it was before, or count what it holds."
        )
    reasons.append(f"Then let it run for {appliance.settle_minutes:g} minutes and read again.")
    suspect = None
    if meaning.verdict is Verdict.FAIL and abs(wanting_K) > increment.tolerance_K(appliance):
        suspect = UNDERCHARGE if adding else OVERCHARGE
    return _advice(
        Action.ADD if adding else Action.RECOVER, meaning, *reasons, suspect=suspect, amount_kg=amount
    )


def _how_sized(
    appliance: Appliance, meaning: Meaning, samples: tuple[Sample, ...], amount: Decimal
) -> tuple[str, str]:
    response = estimate(appliance, samples)
    signed_kg = float(amount) * (1.0 if samples[-1].wanting_K > 0.0 else -1.0)
    change_K = response.slope_K_per_kg * float(amount)
    off_K = increment.LIMIT_IN_SDS * response.slope_sd_K_per_kg * float(amount)
    chance = increment.overshoot_chance(response, increment.aim(appliance, meaning), signed_kg)
    if any(moved(*pair) for pair in pairwise(samples)):
        known = f"From the answers so far this should move it by about {difference(change_K)}"
    else:
        known = (
            "How this system answers isn't known yet, so the first step is small: others of its kind "
            f"move by about {difference(change_K)}"
        )
    said = "less than 0.1 %" if chance < 0.001 else f"about {_percent(chance)}"
    return (
        f"{known}, ± {difference(off_K)}.",
        f"The chance of going past the tolerance is {said}, where {_percent(increment.OVERSHOOT_CHANCE)} "
        "is allowed.",
    )


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def _why_leave_it(
    appliance: Appliance, now: Round, meaning: Meaning, samples: tuple[Sample, ...], amount: Decimal
) -> str | None:
    adding = samples[-1].wanting_K > 0.0
    response, bounds = estimate(appliance, samples), increment.aim(appliance, meaning)
    # Superheat at its floor may stand for much less: near enough on the scale is not near enough there.
    wet = not adding and samples[-1].mute_recovering
    helps = wet or increment.would_help(response, bounds, float(amount), adding=adding)
    too_fine = amount <= 0 or not helps
    against = (
        (
            too_fine,
            "the step that is left is finer than scale, hoses and instruments can place",
        ),
        (_turns_back(samples, adding=adding), "going back the way it came would only chase the uncertainty"),
        (_polished(appliance, samples) >= _MOST_INSIDE, "more than one step has been spent inside it"),
        (adding and is_full(appliance, meaning), "the liquid line is full"),
        (does_not_answer(appliance, samples), "the last changes were hardly answered"),
        (
            amount > 0 and _too_much_in_all(appliance, now, amount, adding=adding),
            "much refrigerant has been moved already",
        ),
    )
    why = next((words for holds, words in against if holds), None)
    if why is None:
        return None
    return f"The best estimate is inside the tolerance, and {why}: leave the charge as it is."


def _polished(appliance: Appliance, samples: tuple[Sample, ...]) -> int:
    """Moves that began inside the tolerance, where the figure could show them."""
    tolerance_K = increment.tolerance_K(appliance)
    return sum(
        abs(before.wanting_K) <= tolerance_K
        for before, after in pairwise(samples)
        if moved(before, after) and not could_not_show(before, after)
    )


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


def _unsettled(
    appliance: Appliance, rounds: Sequence[Round], meaning: Meaning, *, settled: bool
) -> list[str]:
    now = rounds[-1]
    if not settled:
        left = appliance.settle_minutes - now.minutes_since_change
        return [
            f"It has run for {now.minutes_since_change:g} of {appliance.settle_minutes:g} minutes "
            "since the last change: "
            f"wait {left:g} minutes more and read again."
        ]
    drift = drifting(appliance, rounds, meaning)
    return [] if drift is None else [drift]


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
