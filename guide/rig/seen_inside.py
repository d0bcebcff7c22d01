"""What readings, scale, gauges and joints tell where a simulated unit is not as it should be.

How each fault looks is PROPOSED.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from guide.charging.water_vapor import MICRON_Pa
from guide.job.measured import Figure, measured
from guide.job.state import JobState
from guide.job.weighing import progress
from guide.procedure.model import Weigh
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault
from guide.rig.look import SEEN_FROM, Look, Sight
from guide.units import show

FROSTED_FROM: Final = 0.7
"""From which grade a blocked drier frosts, and a leak is heard (PROPOSED)."""
SPLIT_BAND_K: Final = 3.0 / 1.8
SUBCOOLING_BAND_K: Final = 3.0 / 1.8
_LET_OUT_AND_MEND: Final = (
    Handling(Act.RELEASE, "low"),
    Handling(Act.RELEASE, "high"),
    Handling(Act.MEND),
)
_FIND_AND_MEND: Final = (Handling(Act.SMELL_OUT), *_LET_OUT_AND_MEND)
DEEP_Pa: Final = 500.0 * MICRON_Pa


def _figure(look: Look, name: str) -> Figure | None:
    figures, _ = measured(look.state, look.step)
    return next((figure for figure in figures if figure.name == name), None)


def _split(look: Look) -> Sight:
    split = _figure(look, "split")
    if split is None or split.low_K is None:
        return look.accepts(0)
    off_K = float(split.value_K - split.low_K)
    said = f"The split is {_dF(float(split.value_K))}, its target {_dF(float(split.low_K))}."
    if off_K > SPLIT_BAND_K:
        return look.refuses(0, said)
    return look.accepts(1 if off_K < -SPLIT_BAND_K else 0, said)


def _valve_range(look: Look) -> Sight:
    superheat, subcooling = _figure(look, "superheat"), _figure(look, "subcooling")
    if superheat is None or superheat.low_K is None or superheat.high_K is None:
        return look.accepts(0)
    value, low, high = (float(k) for k in (superheat.value_K, superheat.low_K, superheat.high_K))
    said = f"Superheat is {_dF(value)}, the valve's range {_dF(low)} to {_dF(high)}"
    short = False
    if subcooling is not None and subcooling.low_K is not None:
        short = float(subcooling.value_K - subcooling.low_K) < -SUBCOOLING_BAND_K
        said += f"; subcooling is {_dF(float(subcooling.value_K))}, its target {_dF(float(subcooling.low_K))}"
    if low <= value <= high:
        return look.accepts(0, f"{said}.")
    if value < low:
        return look.refuses(0, f"{said}.")
    return look.accepts(1, f"{said}.") if short else look.refuses(1, f"{said}.")


def _drier(look: Look) -> Sight:
    grade = look.grade(Fault.RESTRICTION)
    if grade >= FROSTED_FROM:
        return look.refuses(1, "Behind the drier the line is wet and cold, with a rim of frost.")
    if grade >= SEEN_FROM:
        return look.refuses(0, f"Behind the drier the line is {3 + 12 * grade:.0f} dF colder than before it.")
    return look.accepts(0)


def _flash_gas(look: Look) -> Sight:
    short = _short_of_subcooling(look.state)
    if look.grade(Fault.RESTRICTION) >= SEEN_FROM and not short:
        return look.refuses(0, "It hisses at the valve, although the subcooling is right.")
    if short:
        return look.accepts(2, "It hisses at the valve; the subcooling is low too.")
    return look.accepts(0)


def _short_of_subcooling(state: JobState) -> bool:
    """Whether the newest readings say that subcooling lies below its target by more than the band."""
    for part in state.path():
        for step in part.steps:
            if step.do == "COMPARE superheat with the range of the valve.":
                figures, _ = measured(state, step)
                for figure in figures:
                    if figure.name == "subcooling" and figure.low_K is not None:
                        return float(figure.value_K - figure.low_K) < -SUBCOOLING_BAND_K
    return False


def _moved_weight(look: Look) -> Sight:
    """What is still to go in, by the scale."""
    for part in look.state.path():
        for step in part.steps:
            if isinstance(step.proof, Weigh) and step.proof.target is not None:
                stands = progress(look.state, step)
                if stands.remaining_kg is None or stands.moved_kg <= 0:
                    continue
                rest = stands.remaining_kg
                if stands.on_target(look.state.order.scale_division.si):
                    return look.accepts(0)
                said = f"By the scale {show(abs(rest), 'oz', digits=1)} "
                return (
                    look.accepts(1, f"{said}are still to go in.")
                    if rest > 0
                    else look.refuses(0, f"{said}more are in than the order says.")
                )
    return look.accepts(0)


def _first_vacuum(look: Look) -> Sight:
    wet = look.grade(Fault.WET) >= SEEN_FROM or look.grade(Fault.LEAK) >= SEEN_FROM
    gauge_Pa = look.vacuum_Pa
    if (gauge_Pa is not None and gauge_Pa > DEEP_Pa) or (gauge_Pa is None and wet):
        return look.accepts(1, "The gauge comes to a stand above 500 micron.")
    return look.accepts(0)


def _listen(look: Look) -> Sight:
    if look.grade(Fault.LEAK) >= FROSTED_FROM:
        return look.refuses(0, "It hisses at a joint.", _LET_OUT_AND_MEND)
    if look.grade(Fault.LEAK) >= SEEN_FROM and look.hookup is not None:
        if look.hookup.regulator_Pa > 0:
            return look.accepts(0, "Nothing is heard; the regulator still feeds and holds the needle.")
        return look.refuses(1, "Nothing is heard, but the needle sinks.", _FIND_AND_MEND)
    return look.accepts(0)


def _bubbles(look: Look) -> Sight:
    if look.grade(Fault.LEAK) >= SEEN_FROM:
        return look.refuses(0, "Small bubbles grow at one joint.", _LET_OUT_AND_MEND)
    return look.accepts(0)


def _under_refrigerant(look: Look) -> Sight:
    if look.grade(Fault.LEAK) > 0:
        return look.refuses(0, "The detector sounds at one joint.")
    return look.accepts(0)


def _dF(value_K: float) -> str:
    return f"{value_K * 1.8:.1f} dF"


BY_GAUGE_AND_SCALE: Final[dict[str, Callable[[Look], Sight]]] = {
    "COMPARE the temperature split with its target.": _split,
    "COMPARE superheat with the range of the valve.": _valve_range,
    "MEASURE the liquid line on both sides of the filter-drier.": _drier,
    "LOOK for flash gas in the liquid line.": _flash_gas,
    "COMPARE the weight moved with the charge of the order.": _moved_weight,
    "EVACUATE the circuit for as long as the gauge falls.": _first_vacuum,
    "LISTEN along every joint that was made.": _listen,
    "TEST every joint with bubble solution.": _bubbles,
    "TEST every joint for leaks under refrigerant.": _under_refrigerant,
}
"""By a step's action."""
