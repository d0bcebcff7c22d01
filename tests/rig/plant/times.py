"""How long a state takes: `python -m tests.rig.plant.times`. Printed to look at; the test allows plenty."""

import random
import time
from dataclasses import replace
from statistics import median

from guide.rig.plant import Conditions, Design, Metering, NoSteadyState, steady_state
from guide.rig.plant.rated import from_F
from tests.rig.plant.plants import plant


def some(of: Design, count: int, seed: int = 5) -> list[Conditions]:
    """Charge 65 to 135 %, 65 to 110 °F outdoors, 57 to 75 °F wet bulb."""
    draw = random.Random(seed)
    found = []
    for _ in range(count):
        wet_F = draw.uniform(57.0, 75.0)
        found.append(
            Conditions(
                charge_kg=of.right_charge_kg * draw.uniform(0.65, 1.35),
                indoor_wb_K=from_F(wet_F),
                indoor_db_K=from_F(wet_F + draw.uniform(4.0, 20.0)),
                outdoor_K=from_F(draw.uniform(65.0, 110.0)),
            )
        )
    return found


def times_ms(of: Design, count: int) -> tuple[list[float], list[float]]:
    """Processor time [ms] of states from nothing, and from a state beside them."""
    cold, warm = [], []
    for conditions in some(of, count):
        begun = time.process_time()
        try:
            state = steady_state(of, conditions)
        except NoSteadyState:
            continue
        cold.append(1e3 * (time.process_time() - begun))
        beside = replace(
            conditions, charge_kg=0.99 * conditions.charge_kg, outdoor_K=conditions.outdoor_K + 0.2
        )
        begun = time.process_time()
        steady_state(of, beside, near=state)
        warm.append(1e3 * (time.process_time() - begun))
    return cold, warm


def main() -> None:
    for metering in Metering:
        cold, warm = times_ms(plant(metering=metering), 300)
        print(
            f"{metering}: cold median {median(cold):.2f} ms, longest {max(cold):.2f} ms; "
            f"warm median {median(warm):.2f} ms, longest {max(warm):.2f} ms"
        )


if __name__ == "__main__":
    main()
