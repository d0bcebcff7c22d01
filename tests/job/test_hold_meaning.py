"""What the values of a hold under way mean, by the job's own limits, instruments and readings."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from pathlib import Path

import pytest

from guide.charging.evacuation import PullDown
from guide.charging.standing_test import Doubt, Finding
from guide.instruments.watched import MOST, Watched
from guide.job.hold_meaning import Heard, followed_of, nitrogen, pumping, standing, vacuum_of, watched
from guide.job.series import LiveSample
from guide.job.state import current_step
from guide.journal.event import Stamp
from guide.procedure.model import Step
from tests.screens.small_job import Desk
from tests.screens.vacuum_job import drawn, lay_vacuum, pressed, stands

MICRON = 0.133322387415
PSI = 6894.757293168


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return lay_vacuum(tmp_path / "data")


def _step(desk: Desk) -> Step:
    step = current_step(desk.work.state)
    assert step is not None
    return step


def _heard(desk: Desk, channel: str, *values: tuple[float, float]) -> Heard:
    """Values [SI] by the seconds from now on."""
    now = desk.work.now().stamp
    return {channel: [LiveSample(replace(now, mono_ns=now.mono_ns + int(t * 1e9)), si) for t, si in values]}


def _rising(desk: Desk, gives: float, leak_per_min: float, seconds: int) -> Heard:
    values = [
        (float(t), (400 + gives * -math.expm1(-t / 240) + leak_per_min * t / 60 + (t % 3 - 1)) * MICRON)
        for t in range(5, seconds, 5)
    ]
    return _heard(desk, "system_vacuum", *values)


@pytest.mark.parametrize(
    ("gives", "leak", "finding"),
    [(40, 0, Finding.TIGHT), (1000, 0, Finding.WET), (40, 40, Finding.LEAKING)],
)
def test_a_standing_test_is_judged_by_the_limits_of_its_step(
    desk: Desk, gives: float, leak: float, finding: Finding
) -> None:
    stands(desk)

    said = standing(desk.work.state, _step(desk), _rising(desk, gives, leak, 850))

    assert said is not None
    assert said.finding is finding
    assert said.asked.hold_s == 900.0
    assert said.asked.most_Pa == pytest.approx(700 * MICRON)
    assert said.asked.rise_most_Pa == pytest.approx(200 * MICRON)
    assert said.start_Pa == pytest.approx(400 * MICRON)


def test_values_of_before_the_hold_do_not_count(desk: Desk) -> None:
    before = _rising(desk, 40, 40, 850)
    desk.clock.advance(2000)
    stands(desk)

    assert standing(desk.work.state, _step(desk), before) is None


def test_without_a_stream_nothing_is_said(desk: Desk) -> None:
    stands(desk)
    assert standing(desk.work.state, _step(desk), {}) is None
    few = standing(desk.work.state, _step(desk), _heard(desk, "system_vacuum", (5.0, 53.0)))
    assert few is not None
    assert few.doubt is Doubt.FEW


def test_a_pull_down_is_judged_by_the_vacuum_it_is_read_for(desk: Desk) -> None:
    """18800 micron is water at 70 °F (charging reference 4.3)."""
    drawn(desk)
    step = _step(desk)
    falling = [(float(t), 50_000 * math.exp(-t / 300) * MICRON) for t in range(0, 600, 5)]
    stopped = [(float(t), (18_000 + 50_000 * math.exp(-t / 60)) * MICRON) for t in range(0, 1500, 5)]
    state = desk.work.state

    first, second = (
        pumping(state, step, _heard(desk, "system_vacuum", *each)) for each in (falling, stopped)
    )

    assert first is not None
    assert first.finding is PullDown.FALLING
    assert first.target_Pa == pytest.approx(500 * MICRON)
    assert second is not None
    assert second.finding is PullDown.WATER
    assert pumping(state, step, {}) is None
    assert standing(state, step, _heard(desk, "system_vacuum", *falling)) is None


def test_a_hold_under_nitrogen_says_change_and_smallest_leak_by_its_instruments(desk: Desk) -> None:
    """300 psig at 75 °F reads 293.8 at 65 °F (charging reference 4.1); 0.2 psi twice and 0.5 °F twice."""
    pressed(desk)
    site = float(desk.work.state.order.site_pressure_Pa)
    end = _heard(desk, "test_pressure", (1800.0, 293.0 * PSI + site))
    cold = _heard(desk, "gas_temperature", (1805.0, (65 + 459.67) / 1.8))

    said = nitrogen(desk.work.state, _step(desk), {**end, **cold})

    assert said is not None
    assert said.change_Pa / PSI == pytest.approx(-0.8, abs=0.06)
    assert said.uncertainty_Pa / PSI == pytest.approx(math.hypot(0.2, 0.2, 0.31, 0.31), abs=0.03)
    assert said.seconds == 1800.0
    assert nitrogen(desk.work.state, _step(desk), end) is None
    late = _heard(desk, "gas_temperature", (1900.0, 290.0))
    assert nitrogen(desk.work.state, _step(desk), {**end, **late}) is None


def test_each_step_names_what_it_follows(desk: Desk) -> None:
    steps = {step.id: step for part in desk.work.state.path() for step in part.steps}

    assert vacuum_of(steps["1.2"]) == followed_of(steps["1.3"]) == "system_vacuum"
    assert followed_of(steps["1.4"]) == "test_pressure"
    assert vacuum_of(steps["1.4"]) is None
    assert watched(steps["1.4"])[:2] == ("test_pressure", "gas_temperature")
    assert "system_vacuum" in watched(None)


def test_a_long_stream_is_kept_thinner_and_stays_bounded() -> None:
    kept = Watched()
    history: deque[tuple[float, float]] = deque(maxlen=600)
    for second in range(9000):
        history.append((float(second), 50.0 + second))
        if second % 30 == 29:
            stamp = Stamp("2026-11-25T09:42:07.000000Z", "+00:00", second * 10**9, "boot")
            kept.hear({"system_vacuum": history}.__getitem__, ["system_vacuum"], stamp)

    samples = kept.all()["system_vacuum"]

    assert 300 <= len(samples) <= MOST
    assert samples[0].si == 50.0
    assert samples[-1].at.mono_ns >= 8980 * 10**9
    assert kept.count == len(samples)
    assert [s.at.mono_ns for s in samples] == sorted(s.at.mono_ns for s in samples)
