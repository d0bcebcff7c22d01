"""What is drawn after a run: the unit as it was left, beside a sound one, from the process it runs in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from guide.rig.faults import Fault, Graded
from guide.rig.orders import demonstration_order
from guide.rig.rig import Rig
from guide.rig.scenario import scenario_for


def test_with_the_right_charge_and_nothing_wrong_both_are_the_same() -> None:
    drawn = Rig(scenario_for(demonstration_order(), seed=4, start_fraction=1.0)).cycles()
    assert drawn.now is not None
    assert drawn.right == drawn.now


def test_a_short_charge_lies_to_the_right_at_lower_pressures() -> None:
    drawn = Rig(scenario_for(demonstration_order(), seed=4, start_fraction=0.85)).cycles()
    assert drawn.now is not None
    assert drawn.right is not None
    # signs of an undercharge: Rossi and Braun's rules, FOUND (tests/evidence/plant.md)
    assert drawn.now.suction_Pa < drawn.right.suction_Pa
    assert drawn.now.liquid_Pa < drawn.right.liquid_Pa
    assert drawn.now.suction_line_K > drawn.right.suction_line_K


def test_the_one_beside_it_is_sound_whatever_is_wrong_with_this_one() -> None:
    scenario = scenario_for(demonstration_order(), seed=4, start_fraction=1.0)
    sound = Rig(scenario).cycles()
    dirty = Rig(
        scenario_for(
            demonstration_order(), seed=4, start_fraction=1.0, faults=(Graded(Fault.DIRTY_CONDENSER, 0.8),)
        )
    ).cycles()
    assert dirty.right == sound.right
    assert dirty.now is not None
    assert sound.now is not None
    assert dirty.now.liquid_Pa > sound.now.liquid_Pa


@pytest.mark.parametrize("fraction", [0.02])
def test_a_unit_that_would_not_run_has_no_cycle(fraction: float) -> None:
    scenario = replace(scenario_for(demonstration_order(), seed=4), start_fraction=fraction)
    assert Rig(scenario).cycles().now is None
