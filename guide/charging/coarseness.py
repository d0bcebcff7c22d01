"""Which reading to improve, and to what accuracy, when instruments are too coarse to decide.

A demand is undecided while the uncertainty U reaches over the edge of its tolerance: U is more than
the distance d from figure to edge. As U² is the sum of the squared effects, the one reading j decides
alone once its effect is at most root(d² - sum of the others²); divided by the slope by which the
figure depends on it, that is the accuracy it needs (CALCULATED, the root-sum-square of `uncertainty`
solved for one term). Where that asks for more than a field instrument gives, the two largest are
asked to share what is left equally, else the three largest, and so on. What is asked is rounded
down, so that it does decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from guide.charging import uncertainty as spread
from guide.charging.meaning import CHANNEL_WORDS, Demand, usable, weigh
from guide.charging.round import Accuracy, Appliance, Round, Verdict
from guide.charging.uncertainty import PA_PER_PSI, Contribution
from guide.charging.wording import K_PER_F, difference

# Nothing finer is asked for: about half of a good digital set, ± 1 psi, ± 2 psi, ± 0.5 °F (PROPOSED).
_FINEST = {"suction_pressure_Pa": 0.5 * PA_PER_PSI, "liquid_pressure_Pa": 1.0 * PA_PER_PSI}
_FINEST_TEMPERATURE_K = 0.2 * K_PER_F
_STEP_Pa = 0.1 * PA_PER_PSI
_STEP_K = 0.1 * K_PER_F
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Better:
    """A reading that has to be better: the accuracy it needs and the one it has, in its SI unit."""

    channel: str
    limit: float
    now: float


@dataclass(frozen=True, slots=True)
class Remedy:
    """What would decide a demand, the figures staying as they are.

    `insulate`: insulating the suction-line sensor comes first. `better` names the fewest readings that
    decide; with neither, nothing in the field does. `on_target` says that `better` would decide only
    for a figure on its target.
    """

    demand: Demand
    insulate: bool
    better: tuple[Better, ...]
    on_target: bool = False


def remedy(demand: Demand) -> Remedy | None:
    """Return what would decide a demand; None when it is decided."""
    if demand.verdict is not Verdict.UNDECIDED:
        return None
    insulated = _insulated(demand)
    bare = demand.spread.reads_high_K > 0.0
    if bare and insulated.verdict is not Verdict.UNDECIDED:
        return Remedy(demand, insulate=True, better=())
    better = _better(insulated.spread.parts, abs(insulated.half_K - abs(insulated.gap_K)))
    if better:
        return Remedy(demand, insulate=bare, better=better)
    if insulated.spread.total_K > insulated.half_K:
        better = _better(insulated.spread.parts, insulated.half_K)
    return Remedy(demand, bare, better, on_target=bool(better))


def instrument_reasons(appliance: Appliance, now: Round) -> tuple[str, ...]:
    """Say in whole sentences what better instruments would decide, and what a bare sensor may have changed.

    Empty when the verdict stands whatever the instruments do, and while the best estimate lies outside the
    tolerance: charge is moved then in either case. Never raises for a reading.

    Raises:
        FigureError: when an accuracy of the appliance can't be used.
    """
    said = []
    for demand in weigh(appliance, now)[1]:
        if demand.by_charge and abs(demand.gap_K) > demand.half_K:
            continue
        found = remedy(demand)
        if found is not None:
            said.append(_say(found))
    caution = _caution(appliance, now)
    return (*said, caution) if caution else tuple(said)


def insulate_first(appliance: Appliance, now: Round) -> str | None:
    """Say that a bare suction-line sensor is to be insulated before charge is added to its superheat.

    None where it is not said to be bare, or can't read too warm here. A bare sensor shows more superheat
    than there is, and charging to that overcharges (FOUND, trade articles on pipe sensors).
    """
    line = usable(now.suction_line_K)
    if line is None:
        return None
    most_K = spread.warm_bias_K(line, usable(now.outdoor_db_K), appliance.accuracies)
    if not most_K:
        return None
    return (
        f"The suction-line sensor is not insulated and may read up to {difference(most_K)} too warm: "
        "insulate it over and read again before you add."
    )


def _insulated(demand: Demand) -> Demand:
    parts = (replace(part, reads_high_K=0.0) for part in demand.spread.parts)
    return replace(demand, spread=spread.combine(parts))


def _better(parts: Sequence[Contribution], allowed_K: float) -> tuple[Better, ...]:
    """The fewest readings, the largest first, whose improvement brings the total within `allowed_K`."""
    ranked = sorted(parts, key=lambda part: -abs(part.effect_K))
    for count in range(1, len(ranked) + 1):
        left = allowed_K**2 - sum(part.effect_K**2 for part in ranked[count:])
        if left <= 0.0:
            continue
        share_K = math.sqrt(left / count)
        needed = [_needing(part, share_K) for part in ranked[:count]]
        found = tuple(each for each in needed if each is not None)
        if len(found) == count:
            return found
    return ()


def _needing(part: Contribution, effect_K: float) -> Better | None:
    """The accuracy at which a part has at most this effect; None when no field instrument has it."""
    if part.effect_K == 0.0:
        return None
    pressure = part.channel.endswith("_Pa")
    step = _STEP_Pa if pressure else _STEP_K
    finest = _FINEST.get(part.channel, _FINEST_TEMPERATURE_K)
    needed = math.floor(effect_K * part.limit / abs(part.effect_K) / step - _HAIR) * step
    if needed < finest - _HAIR or needed >= part.limit:
        return None
    return Better(part.channel, needed, part.limit)


def _say(found: Remedy) -> str:
    demand = found.demand
    off_K, half_K = demand.spread.total_K, demand.half_K
    lead = f"The {demand.figure} stands nearer to the edge of what is allowed than the instruments can tell"
    if off_K > half_K:
        lead = (
            f"The instruments are too coarse for this {demand.figure}: it may be off by "
            f"± {difference(off_K)}, and only ± {difference(half_K)} is allowed"
        )
    insulate = "Insulate the suction-line sensor" if found.insulate else ""
    if not found.better:
        if not demand.spread.reads_high_K or not found.insulate:
            return f"{lead}; no field instruments would decide it where it stands."
        decided = _insulated(demand).verdict is not Verdict.UNDECIDED
        return f"{lead}. {insulate} and read again{': that would decide it' if decided else ''}."
    better = _listed(found.better)
    if insulate:
        insulate += ". "
    if found.on_target:
        return (
            f"{lead}. {insulate}No field instrument decides it where it stands; on its target {better} would."
        )
    fewer = {1: "", 2: "; neither alone would"}.get(len(found.better), "; fewer would not")
    return f"{lead}. {insulate}If the figures stay as they are, {better} would decide it{fewer}."


def _listed(better: Sequence[Better]) -> str:
    said = [
        f"{_article(CHANNEL_WORDS[each.channel])} within ± {_width(each, each.limit)} "
        f"(now ± {_width(each, each.now)})"
        for each in better
    ]
    return " and ".join((", ".join(said[:-1]), said[-1])) if len(said) > 1 else said[0]


def _article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _width(each: Better, limit: float) -> str:
    if each.channel.endswith("_Pa"):
        return f"{limit / PA_PER_PSI:.1f} psi, {limit / 1000.0:.1f} kPa"
    return f"{limit / K_PER_F:.1f} °F, {limit:.2f} K"


def _caution(appliance: Appliance, now: Round) -> str | None:
    """What is to be said where nobody said whether the suction-line sensor is insulated, and it matters."""
    line = usable(now.suction_line_K)
    stated = appliance.accuracies.get("suction_line_K")
    if line is None or (stated is not None and stated.insulated is not None):
        return None
    bare = replace(stated or _title_24_line(), insulated=False)
    as_bare = replace(appliance, accuracies={**appliance.accuracies, "suction_line_K": bare})
    before, after = weigh(appliance, now)[0].verdict, weigh(as_bare, now)[0].verdict
    if before is after:
        return None
    most_K = spread.most_warm_bias_K(line, usable(now.outdoor_db_K))
    return (
        f"If the suction-line sensor is not insulated it may read up to {difference(most_K)} too warm, and "
        f"the verdict would be {after}, not {before}: insulate it over before you trust the superheat."
    )


def _title_24_line() -> Accuracy:
    return spread.TITLE_24["suction_line_K"]
