"""Ways to charge a running system: as advised, by a fixed 2 oz, and all-knowing inside the caps."""

from __future__ import annotations

import math
from dataclasses import dataclass

from guide.charging.advice import REST_FIRST, advise
from guide.charging.round import Action, Round
from guide.charging.wording import K_PER_F, KG_PER_OZ
from tests.charging.plants.draw import Plant
from tests.charging.plants.faults import HEALTHY, Shift
from tests.charging.plants.running import Running

FIXED_kg = 2.0 * KG_PER_OZ  # "2 to 4 oz a step in the field", MEMORY [5]
HINT = "Before you leave"
MOST_MOVES = 100
MOST_WAITS = 8
_WAIT_MINUTES = 5.0


@dataclass(frozen=True)
class Ending:
    """How one job ended; the figures are the true ones, of the steady system."""

    seed: int
    action: Action
    suspect: str | None
    why: str
    moves: int
    moved_percent: float  # net, of nameplate
    gap_F: float
    tolerance_F: float
    overshoot_F: float  # beyond the target on the far side, the worst met on the way
    flooded: bool  # an addition took superheat from above zero to zero
    read_inside: bool
    standing_read: bool
    hinted: bool = False  # done, with a word on what else it looks like

    @property
    def inside(self) -> bool:
        return abs(self.gap_F) <= self.tolerance_F

    @property
    def done(self) -> bool:
        return self.action is Action.DONE


def tolerance_F(plant: Plant) -> float:
    unit = plant.appliance
    return (unit.superheat_tolerance_K if plant.orifice else unit.subcooling_tolerance_K) / K_PER_F


class _Watch:
    """Keeps what must not happen on the way."""

    def __init__(self, running: Running) -> None:
        self.running = running
        self.side = math.copysign(1.0, running.gap_F())
        self.moves = 0
        self.overshoot_F = 0.0
        self.flooded = False

    def move(self, told_kg: float) -> None:
        dry_before = self.running.bare_superheat_F() > 0.0
        self.running.move(told_kg)
        self.moves += 1
        self.overshoot_F = max(self.overshoot_F, -self.side * self.running.gap_F())
        if told_kg > 0.0 and dry_before and self.running.bare_superheat_F() <= 0.0:
            self.flooded = True

    def ending(
        self, action: Action, suspect: str | None, reasons: tuple[str, ...], *, read_inside: bool
    ) -> Ending:
        plant = self.running.plant
        return Ending(
            seed=plant.seed,
            action=action,
            suspect=suspect,
            why=reasons[0] if reasons else "",
            hinted=any(reason.startswith(HINT) for reason in reasons),
            moves=self.moves,
            moved_percent=100.0 * self.running.net_kg / plant.appliance.nameplate_charge_kg,
            gap_F=self.running.gap_F(),
            tolerance_F=tolerance_F(plant),
            overshoot_F=self.overshoot_F,
            flooded=self.flooded,
            read_inside=read_inside,
            standing_read=self.running.rest_read,
        )


def as_advised(
    plant: Plant,
    shift: Shift = HEALTHY,
    *,
    rests_when_asked: bool = False,
    running: Running | None = None,
) -> Ending:
    """Do what the advice says until it is done, stops, or no end comes.

    `rests_when_asked`: the pressures at rest are read when the advice asks for them, else in vain.
    `running`: the plant as it runs, where that is not by its drawn slopes.
    """
    running = running or Running(plant, shift)
    watch = _Watch(running)
    rounds: list[Round] = []
    waits = 0
    while True:
        rounds.append(running.read())
        advice = advise(plant.appliance, rounds)
        gap_K = read_gap_K(plant, advice.meaning.superheat_K, advice.meaning.subcooling_K, rounds[-1])
        inside = gap_K is not None and abs(gap_K) <= tolerance_F(plant) * K_PER_F
        if advice.action in {Action.DONE, Action.STOP} or watch.moves >= MOST_MOVES or waits >= MOST_WAITS:
            return watch.ending(advice.action, advice.suspect, advice.reasons, read_inside=inside)
        if advice.action is Action.WAIT:
            waits += 1
            running.rest_read = running.rest_read or (rests_when_asked and REST_FIRST in advice.reasons)
            running.run(_WAIT_MINUTES)
            continue
        waits = 0
        watch.move(float(advice.amount_kg) * (1.0 if advice.action is Action.ADD else -1.0))
        running.run(plant.appliance.settle_minutes)


def by_fixed_amount(plant: Plant, *, running: Running | None = None) -> Ending:
    """Add or recover 2 oz until the reading lies inside the tolerance; nothing else is looked at."""
    running = running or Running(plant)
    watch = _Watch(running)
    while True:
        now = running.read()
        gap_K = read_gap_K(plant, *figures_K(plant, now), now)
        inside = gap_K is not None and abs(gap_K) <= tolerance_F(plant) * K_PER_F
        if gap_K is None or inside or watch.moves >= MOST_MOVES:
            action = Action.DONE if inside else Action.WAIT
            return watch.ending(action, None, (), read_inside=inside)
        watch.move(FIXED_kg if gap_K > 0.0 else -FIXED_kg)
        running.run(plant.appliance.settle_minutes)


def fewest_inside_the_caps(plant: Plant, *, running: Running | None = None) -> int:
    """Moves that somebody all-knowing needs to come inside: 2 % first and near the mark, else 5 %."""
    running = running or Running(plant)
    watch = _Watch(running)
    tolerance = tolerance_F(plant)
    while abs(running.gap_F()) > tolerance and watch.moves < MOST_MOVES:
        near = abs(running.gap_F()) <= 1.5 * tolerance
        share = 0.02 if near or watch.moves == 0 else 0.05
        running.charge_percent += math.copysign(100.0 * share, running.gap_F())
        watch.moves += 1
    return watch.moves


def read_gap_K(
    plant: Plant, superheat_K: float | None, subcooling_K: float | None, now: Round
) -> float | None:
    """What the instruments say is wanting, above zero when refrigerant is."""
    from guide.charging.meaning import target_of

    if not plant.orifice:
        target_K = plant.appliance.target_subcooling_K
        return None if subcooling_K is None or target_K is None else target_K - subcooling_K
    target = target_of(plant.appliance, now)
    if target is None or target.value_K is None or superheat_K is None:
        return None
    return superheat_K - target.value_K


def figures_K(plant: Plant, now: Round) -> tuple[float, float]:
    """Superheat and subcooling as read."""
    fluid = plant.appliance.curve
    assert now.suction_line_K is not None
    assert now.suction_pressure_Pa is not None
    assert now.liquid_line_K is not None
    assert now.liquid_pressure_Pa is not None
    return (
        now.suction_line_K - fluid.dew_temperature_K(now.suction_pressure_Pa),
        fluid.bubble_temperature_K(now.liquid_pressure_Pa) - now.liquid_line_K,
    )
