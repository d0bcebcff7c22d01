"""The advice in a closed loop with physics, on a small sample; `python -m tests.rig.campaign` runs 2,000.

The bounds are loose and below what was measured: the figures are told, not aimed at.
"""

from __future__ import annotations

import pytest

from guide.charging.round import Action
from tests.charging.campaign import caught, share
from tests.charging.plants.faults import FAULTS
from tests.rig.campaign import Campaign, report, run, tripped
from tests.rig.campaigning.rigs import bare_superheat_F, draw_rig
from tests.rig.campaigning.running import RigRunning

RIGS, SEED = 72, 3


@pytest.fixture(scope="module")
def found() -> Campaign:
    return run(RIGS, SEED)


def test_what_is_called_done_is_right_as_read_and_nearly_always_truly(found: Campaign) -> None:
    done = [e for e in found.healthy.advised if e.done]
    assert len(done) >= 0.7 * len(found.healthy.advised)
    assert all(e.read_inside for e in done)
    assert share(done, [e.inside for e in done]) >= 0.9


def test_no_compressor_is_flooded_by_what_was_advised(found: Campaign) -> None:
    assert not any(e.flooded for e in found.healthy.advised)
    assert share(found.healthy.advised, [tripped(e) for e in found.healthy.advised]) <= 0.1


def test_it_takes_fewer_increments_than_the_fixed_rule(found: Campaign) -> None:
    both = list(zip(found.healthy.advised, found.healthy.fixed, strict=True))
    assert sum(ours.moves for ours, _ in both) <= 0.6 * sum(fixed.moves for _, fixed in both)


def test_troubles_are_often_caught_and_seldom_answered_with_much_charge(found: Campaign) -> None:
    endings = [e for some in found.endings().values() for e in some]
    assert set(found.faulty) == set(FAULTS)
    assert share(endings, [caught(e) for e in endings]) >= 0.4
    assert share(endings, [abs(e.moved_percent) <= 5.0 for e in endings]) >= 0.5


def test_a_rig_starts_as_far_from_its_right_charge_as_was_drawn() -> None:
    rig = draw_rig(4)
    running = RigRunning(rig)
    assert abs(running.gap_F()) > 0.0
    again = RigRunning(draw_rig(4))
    assert running.gap_F() == again.gap_F()
    assert running.read() == again.read()


def test_adding_refrigerant_lowers_superheat_on_an_orifice_and_raises_subcooling_on_a_valve() -> None:
    for seed in range(1, 13):
        rig = draw_rig(seed)
        short, over = (rig.state(charge, rig.plant.weather) for charge in (-4.0, 4.0))
        if rig.plant.orifice:
            assert bare_superheat_F(short) > bare_superheat_F(over), seed
        else:
            assert short.subcooling_K < over.subcooling_K, seed


def test_the_report_shows_the_fixed_rule_beside_the_advice(found: Campaign) -> None:
    words = "\n".join(report(found))
    assert "fixed 2 oz" in words
    assert all(fault in words for fault in FAULTS)
    assert len([e for e in found.healthy.advised if e.action is Action.DONE]) > 0
