"""The closed loop on rigs: `python -m tests.rig.campaign --rigs 2000 --seed 1` prints its figures.

The advice of `guide/charging` works systems that are computed from physics (`campaigning/rigs.py`): six
refrigerants, 1.5 to 10 tons, weather in which the method is valid, fixed orifices, thermostatic and
electronic valves. Half of `--rigs` is healthy with the charge up to 35 % off; on the other half each trouble
comes in turn, from mild to strong. The loop, the fixed 2 oz rule beside it and the words of the report are
those of `tests/charging/campaign.py`. Neither the advice nor the plant was tuned to what this prints.

A rig that would not run as it stands, or has no right charge at its weather, can't be charged by anybody: it
is counted with its reason and the next seed is taken. One that stops by itself under way ended "wait,
tripped".
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from guide.charging.round import Action
from guide.rig.plant import NoSteadyState
from tests.charging.campaign import (
    SEEDS_APART,
    Healthy,
    caught,
    faulty_lines,
    healthy_lines,
    named,
    refusal_lines,
    share,
)
from tests.charging.plants.faults import FAULTS, SYSTEM_FAULTS
from tests.charging.plants.loop import (
    MOST_MOVES,
    Ending,
    as_advised,
    by_fixed_amount,
    fewest_inside_the_caps,
    tolerance_F,
)
from tests.rig.campaigning.rigs import NoRig, Rig, draw_rig
from tests.rig.campaigning.running import RigRunning
from tests.rig.systems import without_figures

_FAULTY_FROM = 500_000


@dataclass
class Campaign:
    """Endings on healthy rigs and on those with one trouble, and how many seeds gave no rig, by reason."""

    healthy: Healthy = field(default_factory=Healthy)
    sound: list[Rig] = field(default_factory=list)
    faulty: dict[str, list[tuple[Rig, Ending]]] = field(default_factory=dict)
    left_out: Counter[str] = field(default_factory=Counter)

    def endings(self) -> dict[str, list[Ending]]:
        """The endings of each trouble."""
        return {fault: [ending for _, ending in some] for fault, some in self.faulty.items()}


def run(rigs: int, seed: int, *, at_rest: bool = True) -> Campaign:
    """Work as many rigs; `at_rest`: the readings at rest are there from the start, else when asked for."""
    found = Campaign()
    for rig in _drawn(rigs - rigs // 2, seed * SEEDS_APART, lambda _: None, found.left_out):
        one = _with_rest(rig, at_rest=at_rest)
        found.sound.append(one)
        found.healthy.plants.append(one.plant)
        found.healthy.advised.append(_worked(one, _as_advised))
        found.healthy.fixed.append(_worked(one, _by_fixed_amount))
        found.healthy.fewest.append(_fewest(one))
    faults = {fault: list[tuple[Rig, Ending]]() for fault in FAULTS}
    turns = _drawn(
        rigs // 2,
        seed * SEEDS_APART + _FAULTY_FROM,
        lambda number: FAULTS[number % len(FAULTS)],
        found.left_out,
    )
    for number, rig in enumerate(turns):
        one = _with_rest(rig, at_rest=at_rest)
        faults[FAULTS[number % len(FAULTS)]].append((one, _worked(one, _as_advised)))
    found.faulty = faults
    return found


def _drawn(
    count: int, first: int, fault_of: Callable[[int], str | None], left_out: Counter[str]
) -> Iterator[Rig]:
    seed = first
    for number in range(count):
        fault = fault_of(number)
        while True:
            seed += 1
            try:
                rig = draw_rig(seed, fault)
            except NoRig as none:
                left_out[f"{fault or 'healthy'}: {without_figures(str(none))}"] += 1
            else:
                yield rig
                break


def _with_rest(rig: Rig, *, at_rest: bool) -> Rig:
    return replace(rig, plant=replace(rig.plant, standing_read=at_rest))


def _as_advised(running: RigRunning) -> Ending:
    return as_advised(running.plant, running.shift, rests_when_asked=True, running=running)


def _by_fixed_amount(running: RigRunning) -> Ending:
    return by_fixed_amount(running.plant, running=running)


def _worked(rig: Rig, way: Callable[[RigRunning], Ending]) -> Ending:
    running = RigRunning(rig)
    try:
        return way(running)
    except NoSteadyState as none:
        return Ending(
            seed=rig.plant.seed,
            action=Action.WAIT,
            suspect=None,
            why=f"tripped: {none}",
            moves=running.moves,
            moved_percent=100.0 * running.net_kg / rig.plant.appliance.nameplate_charge_kg,
            gap_F=float("inf"),
            tolerance_F=tolerance_F(rig.plant),
            overshoot_F=0.0,
            flooded=False,
            read_inside=False,
            standing_read=running.rest_read,
        )


def _fewest(rig: Rig) -> int:
    try:
        return fewest_inside_the_caps(rig.plant, running=RigRunning(rig))
    except NoSteadyState:
        return MOST_MOVES


def tripped(ending: Ending) -> bool:
    """Whether the machine stopped by itself under way."""
    return ending.why.startswith("tripped")


def more_lines(found: Campaign) -> list[str]:
    """What the shared report has no line for: kinds, refrigerants, grades, trips, seeds left out."""
    lines = [
        f"{'healthy rigs, by kind':44}{'rigs':>6}{'inside':>9}{'overshot':>9}{'refused':>9}{'tripped':>9}"
    ]
    pairs = list(zip(found.sound, found.healthy.advised, strict=True))
    kinds = (rig.plant.appliance.metering.value for rig in found.sound)
    names = (rig.plant.appliance.curve.designation for rig in found.sound)
    for words, of in (
        *((kind, _metering) for kind in sorted(set(kinds))),
        *((name, _refrigerant) for name in sorted(set(names))),
    ):
        some = [ending for rig, ending in pairs if of(rig) == words]
        lines.append(
            f"  {words:42}{len(some):>6}"
            f"{share(some, [e.done and e.inside for e in some]):>9.1%}"
            f"{share(some, [e.overshoot_F > e.tolerance_F for e in some]):>9.1%}"
            f"{share(some, [e.action is not Action.DONE for e in some]):>9.1%}"
            f"{share(some, [tripped(e) for e in some]):>9.1%}"
        )
    lines.append(f"{'troubles of the system, by grade':44}{'rigs':>6}{'caught':>9}{'named':>9}{'tripped':>9}")
    for fault in SYSTEM_FAULTS:
        for words, low, high in (("mild", 0.0, 0.5), ("strong", 0.5, 1.0)):
            some = [ending for rig, ending in found.faulty[fault] if low <= rig.trouble.grade < high]
            lines.append(
                f"  {fault + ', ' + words:42}{len(some):>6}"
                f"{share(some, [caught(e) for e in some]):>9.1%}"
                f"{share(some, [named(fault, e) for e in some]):>9.1%}"
                f"{share(some, [tripped(e) for e in some]):>9.1%}"
            )
    lines.append("seeds that gave no rig to work")
    lines += [f"  {count:>5}  {why}" for why, count in found.left_out.most_common(12)]
    return lines


def _metering(rig: Rig) -> str:
    return rig.plant.appliance.metering.value


def _refrigerant(rig: Rig) -> str:
    return rig.plant.appliance.curve.designation


def report(found: Campaign) -> list[str]:
    """All lines of one campaign."""
    return [
        *healthy_lines(found.healthy),
        *faulty_lines(found.endings()),
        *refusal_lines(found.healthy),
        *more_lines(found),
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description="Closed loop of the charging advice on simulated rigs.")
    parser.add_argument("--rigs", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    for words, at_rest in (
        ("AS A JOB DOES IT: pressures at rest read before the loop", True),
        ("WITHOUT: pressures at rest read only where the advice asks for them", False),
    ):
        print(words)
        print("\n".join(report(run(given.rigs, given.seed, at_rest=at_rest))))


if __name__ == "__main__":
    main()
