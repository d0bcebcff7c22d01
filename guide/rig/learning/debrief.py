"""Five questions after a run, with model answers from the lesson or from what truly was and happened.

What was to be, what happened, why, what told it first, what next time (T13 of the reference on procedures).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from guide.rig.faults import Fault
from guide.rig.learning.drawing import trouble_of
from guide.rig.learning.lesson import (
    NOTHING_WRONG,
    OVERCHARGE,
    UNDERCHARGE,
    Computed,
    Item,
    Question,
    Score,
)
from guide.rig.learning.run import Run
from guide.units import show

FIRST_SIGNS: Final[Mapping[str, str]] = MappingProxyType(
    {
        Fault.LOW_INDOOR_AIRFLOW: (
            "A temperature split above its target, with low suction pressure and low superheat."
        ),
        Fault.DIRTY_CONDENSER: (
            "Liquid pressure far above what the outdoor air asks for, with the charge right."
        ),
        Fault.RESTRICTION: (
            "High superheat and normal or high subcooling together: liquid is there and does not pass."
        ),
        Fault.NON_CONDENSABLES: (
            "At rest, the pressure stands above that of saturation at the temperature of the air."
        ),
        Fault.COMPRESSOR_LEAK: "Suction pressure too high and liquid pressure too low at the same time.",
        Fault.STUCK_VALVE: "Superheat outside the valve's range, whatever the charge does.",
        Fault.WET: "In the standing vacuum the gauge rises fast at first and then comes to a stand.",
        Fault.LEAK: "The pressure test falls, or the standing vacuum goes on rising in a straight line.",
        Fault.LEAKING_CORE: "A hiss or bubbles at the port with its cap off.",
        Fault.PROBE_OFF: "A pipe temperature that moves with the air and not with the unit.",
        Fault.GAUGE_OFF: "A gauge that does not read zero in the open air.",
        Fault.WRONG_SETTING: "Saturation at rest that is far from the temperature of the air.",
        Fault.LIQUID_HOSE: (
            "A hose that is cold and heavy, or a gauge that falls slowly when the hose is drawn down."
        ),
        Fault.INTERRUPTION: "A call in the middle of the work.",
        UNDERCHARGE: "High superheat with low subcooling; with a valve, low subcooling alone.",
        OVERCHARGE: "Low superheat with high subcooling; with a valve, high subcooling alone.",
        NOTHING_WRONG: "Superheat and subcooling at their targets from the start.",
    }
)
"""What tells each trouble first. The signs are those of `guide.charging.fault_signs`, where their sources
stand; which of them shows first is PROPOSED."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One question as it is put after a run, with its model answer."""

    ask: str
    choices: tuple[str, ...]
    model: str


def questions(run: Run, score: Score) -> tuple[Asked, ...]:
    """The five questions of a run's debrief, in order."""
    return tuple(Asked(each.ask, each.choices, _model(each, run, score)) for each in run.lesson.debrief)


def _model(question: Question, run: Run, score: Score) -> str:
    said = [question.answer] if question.answer else []
    if question.computed is not None:
        said.append(_COMPUTED[question.computed](run, score))
    return " ".join(said)


def net_amount(run: Run, _score: Score) -> str:
    """How much charge moved in all."""
    net = float(run.state.net_charged_kg())
    if net == 0.0:
        return "No charge moved."
    moves = len(run.state.moves)
    way = "went in" if net > 0 else "came out"
    return f"{_mass(abs(net))} {way} in all, in {moves} weighing{'s' if moves != 1 else ''}."


def first_sign(run: Run, _score: Score) -> str:
    """What told the trouble first."""
    return FIRST_SIGNS[trouble_of(run.lesson, run.drawn)]


def trouble(run: Run, _score: Score) -> str:
    """What the trouble was."""
    start = run.drawn.start_fraction
    also = [graded.fault.value for graded in run.drawn.faults]
    more = f" Drawn for this run: {', '.join(also)}." if also else ""
    return (
        f"It was: {trouble_of(run.lesson, run.drawn)}. "
        f"The unit began with {start:.0%} of its right charge.{more}"
    )


def charge_left(run: Run, _score: Score) -> str:
    """How the charge stands at the end."""
    end = run.end
    share = end.charge_kg / end.right_charge_kg
    said = f"At the end {_mass(end.charge_kg)} are in, {share:.1%} of the right charge."
    if end.superheat_K is not None and end.subcooling_K is not None:
        said += (
            f" Superheat is truly {show(end.superheat_K, 'dF', digits=1)}, "
            f"subcooling {show(end.subcooling_K, 'dF', digits=1)}."
        )
    return said


def air_and_loss(run: Run, _score: Score) -> str:
    """How much air is in, how much refrigerant is lost."""
    end = run.end
    return (
        f"{end.air_kg * 1000:.2f} g of air are in the circuit, and {end.lost_kg * 1000:.1f} g of refrigerant "
        f"were let out; good work loses up to {run.lesson.unavoidable_loss_kg * 1000:.0f} g."
    )


def dearest_point(_run: Run, score: Score) -> str:
    """What cost most; where the run was not safe, what made it so."""
    if not score.losses:
        return "Nothing was lost: do it the same way."
    worst = max(score.losses, key=lambda loss: (loss.item is Item.SAFETY, loss.points, -loss.seq))
    lead = "Before all else" if worst.item is Item.SAFETY else "What cost most"
    return (
        f"{lead}: {worst.points} point{'s' if worst.points != 1 else ''} for {worst.item.value} in "
        f"minute {worst.at_s / 60:.0f} (event {worst.seq}). {worst.words}"
    )


_COMPUTED: Final = MappingProxyType(
    {
        Computed.NET_AMOUNT: net_amount,
        Computed.FIRST_SIGN: first_sign,
        Computed.TROUBLE: trouble,
        Computed.CHARGE_LEFT: charge_left,
        Computed.AIR_AND_LOSS: air_and_loss,
        Computed.DEAREST_POINT: dearest_point,
    }
)


def _mass(kg: float) -> str:
    return f"{show(kg, 'oz', digits=1)} ({kg * 1000:.0f} g)"
