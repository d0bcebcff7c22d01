"""The closed-loop benchmark: `python -m tests.charging.campaign --plants 2000 --seed 1` prints its figures.

Plants are drawn from published bands (`tests/charging/plants/draw.py`), one seed each; half of `--plants` is
healthy with the charge up to 35 % off, on the other half each trouble of `faults.py` comes in turn.
Everything runs twice: first as a job does it, with both pressures and the outdoor temperature read at rest,
as every shipped charging procedure does before its loop; then without, unless the advice asks for them. (A
job's gauges are zeroed in the open air too: left out, so a gauge off zero counts as if that was skipped.)
"Caught": stopped with at most 5 % of nameplate moved; "named": by its own name; "hinted": done, with a word
that it looks like something else; "moved": more than 5 % of nameplate moved, which is harm.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from statistics import median

from guide.charging.round import Action
from tests.charging.plants.draw import Plant, draw
from tests.charging.plants.faults import FAULTS, NOT_ZEROED, draw_fault
from tests.charging.plants.loop import Ending, as_advised, by_fixed_amount, fewest_inside_the_caps

SEEDS_APART = 1_000_000
_HARMLESS_PERCENT = 5.0  # a trouble counts as caught when no more of nameplate than this had moved, net


@dataclass
class Healthy:
    """Endings on systems whose only trouble is the charge, beside the fixed rule on the same systems."""

    plants: list[Plant] = field(default_factory=list)
    advised: list[Ending] = field(default_factory=list)
    fixed: list[Ending] = field(default_factory=list)
    fewest: list[int] = field(default_factory=list)


def run_healthy(count: int, seed: int, *, at_rest: bool = True) -> Healthy:
    """Run healthy systems; `at_rest`: the readings at rest are there from the start, else when asked for."""
    found = Healthy()
    for number in range(count):
        plant = replace(draw(seed * SEEDS_APART + number), standing_read=at_rest)
        found.plants.append(plant)
        found.advised.append(as_advised(plant, rests_when_asked=True))
        found.fixed.append(by_fixed_amount(plant))
        found.fewest.append(fewest_inside_the_caps(plant))
    return found


def run_faulty(
    count: int, seed: int, *, at_rest: bool = True, rests_when_asked: bool = True
) -> dict[str, list[Ending]]:
    found: dict[str, list[Ending]] = {fault: [] for fault in FAULTS}
    for number in range(count):
        fault = FAULTS[number % len(FAULTS)]
        plant = replace(draw(seed * SEEDS_APART + 500_000 + number, faulty=True), standing_read=at_rest)
        rng = random.Random(f"fault {plant.seed}")
        shift = draw_fault(fault, rng, orifice=plant.orifice, refrigerant=plant.appliance.curve.designation)
        found[fault].append(as_advised(plant, shift, rests_when_asked=rests_when_asked))
    return found


def share(endings: Sequence[Ending], what: Sequence[bool]) -> float:
    return sum(what) / len(endings) if endings else 0.0


def refused(ending: Ending) -> bool:
    """A system whose only trouble was its charge, left before it was right."""
    return ending.action is not Action.DONE


def caught(ending: Ending) -> bool:
    return ending.action is Action.STOP and abs(ending.moved_percent) <= _HARMLESS_PERCENT


def named(fault: str, ending: Ending) -> bool:
    return caught(ending) and ending.suspect == fault.partition(":")[0]


def ninety_fifth(values: Sequence[float]) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]


def healthy_lines(found: Healthy) -> list[str]:
    lines = [f"{'healthy, charge -35 to +35 %':44}{'advised':>10}{'fixed 2 oz':>12}{'caps':>7}"]

    def row(words: str, advised: str, fixed: str, caps: str = "") -> None:
        lines.append(f"  {words:42}{advised:>10}{fixed:>12}{caps:>7}")

    both = (found.advised, found.fixed)
    row("systems", *(str(len(some)) for some in both))
    for words, judge in (
        ("ended inside the tolerance, as read", lambda e: e.done and e.read_inside),
        ("ended inside the tolerance, truly", lambda e: e.done and e.inside),
        ("of those that ended: truly inside", None),
        ("overshot beyond the band, truly", lambda e: e.overshoot_F > e.tolerance_F),
        ("superheat driven to zero by adding", lambda e: e.flooded),
        ("refused", refused),
        ("done with a word on something else", lambda e: e.hinted),
    ):
        if judge is None:
            done = [[e for e in some if e.done] for some in both]
            row(words, *(f"{share(some, [e.inside for e in some]):.2%}" for some in done))
        else:
            row(words, *(f"{share(some, [judge(e) for e in some]):.2%}" for some in both))
    row("worst overshoot past target, °F", *(f"{max(e.overshoot_F for e in some):.1f}" for some in both))
    counts = ([e.moves for e in found.advised], [e.moves for e in found.fixed], found.fewest)
    row("increments, median", *(f"{median(some):g}" for some in counts))
    row("increments, mean", *(f"{sum(some) / len(some):.2f}" for some in counts))
    row("increments, 95th percentile", *(f"{ninety_fifth(some):g}" for some in counts))
    for low, high in ((1.5, 3.0), (3.0, 5.0), (5.0, 9.1)):
        chosen = [i for i, p in enumerate(found.plants) if low <= p.appliance.nameplate_charge_kg < high]
        if chosen:
            row(
                f"  median, nameplate {low:g} to {high:.0f} kg",
                *(f"{median(some[i] for i in chosen):g}" for some in counts),
            )
    for words, wanted in (("fine instruments", True), ("Title 24 limits", False)):
        chosen = [i for i, p in enumerate(found.plants) if p.fine is wanted]
        some = [found.advised[i] for i in chosen]
        fixed = [found.fixed[i] for i in chosen]
        row(
            f"  truly inside, {words}",
            *(f"{share(each, [e.done and e.inside for e in each]):.2%}" for each in (some, fixed)),
        )
    return lines


def faulty_lines(found: dict[str, list[Ending]]) -> list[str]:
    heads = "".join(f"{word:>9}" for word in ("caught", "named", "hinted", "moved"))
    lines = [f"{'right charge, one trouble':44}{'systems':>8}{heads}  else"]
    everything: list[tuple[str, Ending]] = []
    for fault, endings in found.items():
        everything += [(fault, ending) for ending in endings]
        lines.append(_fault_line(fault, [(fault, ending) for ending in endings]))
    lines.append(_fault_line("all", everything))
    kept = [each for each in everything if each[0] != NOT_ZEROED]
    lines.append(_fault_line("all but the gauge, which a job zeroes", kept))
    return lines


def _fault_line(words: str, endings: Sequence[tuple[str, Ending]]) -> str:
    if not endings:
        return f"  {words:42}{0:>8}"
    hit = sum(caught(ending) for _, ending in endings) / len(endings)
    right = sum(named(fault, ending) for fault, ending in endings) / len(endings)
    hinted = sum(ending.hinted for _, ending in endings) / len(endings)
    harmed = sum(abs(ending.moved_percent) > _HARMLESS_PERCENT for _, ending in endings) / len(endings)
    other = Counter(
        str(ending.suspect) if caught(ending) else ending.action.value
        for fault, ending in endings
        if not named(fault, ending)
    )
    said = (
        ", ".join(f"{name} {count}" for name, count in other.most_common(4))
        if not words.startswith("all")
        else ""
    )
    return f"  {words:42}{len(endings):>8}{hit:>9.1%}{right:>9.1%}{hinted:>9.1%}{harmed:>9.1%}  {said}"


def refusal_lines(found: Healthy) -> list[str]:
    reasons = Counter(f"{e.action.value}, {e.suspect}: {e.why[:76]}" for e in found.advised if refused(e))
    return ["why healthy systems were refused", *(f"  {n:>4}  {why}" for why, n in reasons.most_common(12))]


def main() -> None:
    parser = argparse.ArgumentParser(description="Closed-loop benchmark of the charging advice.")
    parser.add_argument("--plants", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    sound, troubled = given.plants - given.plants // 2, given.plants // 2
    for words, at_rest in (
        ("AS A JOB DOES IT: pressures at rest read before the loop", True),
        ("WITHOUT: pressures at rest read only where the advice asks for them", False),
    ):
        healthy = run_healthy(sound, given.seed, at_rest=at_rest)
        print(words)
        print("\n".join(healthy_lines(healthy)))
        print("\n".join(faulty_lines(run_faulty(troubled, given.seed, at_rest=at_rest))))
        print("\n".join(refusal_lines(healthy)))
    never = run_faulty(troubled, given.seed, at_rest=False, rests_when_asked=False)
    print("NEVER: asked for in vain")
    print("\n".join(faulty_lines(never)))


if __name__ == "__main__":
    main()
