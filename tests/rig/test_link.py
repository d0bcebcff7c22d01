"""The program's side of a rig: never waited for long, lost in words, brought back, live at any pace."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from guide.instruments.readings import Readings
from guide.rig import wire
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import Kind
from guide.rig.link import CantAsk, RigLink, RigLost
from guide.rig.pace import FACTORS, PacedClock
from guide.rig.retrace import Done, RunTime
from tests.rig.runs import START
from tests.rig.served import OPENED, ORDER, ROOT, STANDIN, beginning, told, until


@pytest.fixture(autouse=True)
def _found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(ROOT))


@contextmanager
def linked(feed: Path, acts: tuple[Done, ...] = (), t_s: float = 0.0) -> Iterator[RigLink]:
    link = RigLink(beginning(), feed, acts, t_s=t_s, command=STANDIN)
    try:
        yield link
    finally:
        link.close()


# -- the link -------------------------------------------------------------------------------------


def test_the_program_moves_the_unit_and_sees_how_it_stands(tmp_path: Path) -> None:
    with linked(tmp_path / "f") as link:
        until(lambda: link.ready)
        link.to(10.0)
        answer = link.do(Handling(Act.OPEN_CYLINDER, "", 0.25), 12.0)
        assert (answer.t_s, answer.fault, answer.happened) == (12.0, "", ())
        assert link.hookup().cylinder_open == 0.25
        assert [offer.words for offer in link.possible()] == ["Open the cylinder"]
        assert link.possible()[0].choices == (("a crack", Handling(Act.OPEN_CYLINDER, "", 0.1)),)
        truth = link.truth()
        assert (truth.moved_kg["C-1"], truth.faults) == (truth.charge_kg, (Graded(Fault.WET, 0.5),))
        purged = link.do(Handling(Act.PURGE, "low"), 13.0)
        assert [each.kind for each in purged.happened] == [Kind.REFRIGERANT_LOST]
        assert link.do(Handling(Act.ZERO), 14.0).fault == "hands can't zero here"
        assert link.happenings() == purged.happened
        assert link.news() == ()
        assert (link.saturation_K("low"), link.saturation_K("high")) == (280.0, None)
        assert link.read("outdoor_db") == pytest.approx(290.0, abs=0.5)
        with pytest.raises(CantAsk, match="nothing stands on the scale"):
            link.read("cylinder_weight")


def test_of_many_times_told_while_it_is_busy_an_act_keeps_its_own(tmp_path: Path) -> None:
    with linked(tmp_path / "f") as link:
        futures = []
        for second in range(200):
            link.to(second + 0.5)
            if second % 50 == 0:
                futures.append(link.do_soon(Handling(Act.PURGE, "low"), second + 1.0))
        link.to(1000.0)
        assert [future.result(20.0).t_s for future in futures] == [1.0, 51.0, 101.0, 151.0]
        until(lambda: link.do(Handling(Act.PURGE, "low"), 1000.0).t_s == 1000.0)


def test_saying_how_late_it_is_takes_no_time(tmp_path: Path) -> None:
    with linked(tmp_path / "f") as link:
        began = time.monotonic()
        for second in range(1000):
            link.to(float(second))
        assert time.monotonic() - began < 0.2


def test_after_the_longest_a_run_may_take_the_unit_stands_still(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("guide.rig.link.LONGEST_RUN_S", 1000.0)
    with linked(tmp_path / "f") as link:
        link.to(1e9)
        answer = link.do(Handling(Act.PURGE, "low"), 1e9)
        assert "begin anew" in answer.fault
        assert link.happenings() == ()
        assert link.do(Handling(Act.PURGE, "low"), 1000.0).t_s == 1000.0


def test_a_run_of_too_many_acts_is_not_done_again(tmp_path: Path) -> None:
    acts = (Done(1.0, Handling(Act.PURGE, "low"), 1),) * 20_001
    with pytest.raises(RigLost, match="too long"):
        RigLink(beginning(), tmp_path / "f", acts, command=STANDIN)


def test_a_unit_that_can_not_be_set_up_is_lost_in_words(tmp_path: Path) -> None:
    begin = wire.begin("no order", opened=OPENED, seed=1)
    link = RigLink(begin, tmp_path / "f", command=STANDIN)
    with pytest.raises(RigLost, match="can't be set up"):
        link.do(Handling(Act.PURGE, "low"), 1.0)
    assert "can't be set up" in link.lost
    link.close()


def test_a_process_that_can_not_be_started_is_said(tmp_path: Path) -> None:
    with pytest.raises(RigLost, match="can't be started"):
        RigLink(beginning(), tmp_path / "f", command=["/nonexistent/python"])
    with pytest.raises(RigLost, match="can't be started"):
        RigLink(beginning(), Path("/proc/nowhere/f"), command=STANDIN)


def test_one_that_hangs_is_ended_and_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("guide.rig.link.ANSWER_S", 0.5)
    link = RigLink(beginning(), tmp_path / "f", command=[sys.executable, "-c", "import time; time.sleep(60)"])
    with pytest.raises(RigLost, match="broke off"):
        link.do(Handling(Act.PURGE, "low"), 1.0)
    link.close()


def test_one_that_talks_nonsense_is_ended_and_said(tmp_path: Path) -> None:
    link = RigLink(
        beginning(), tmp_path / "f", command=[sys.executable, "-c", "print('x', flush=True); input()"]
    )
    with pytest.raises(RigLost, match="broke off"):
        link.do(Handling(Act.PURGE, "low"), 1.0)
    link.close()


def test_a_killed_unit_is_noticed_and_comes_back_as_it_was(tmp_path: Path) -> None:
    acts = [
        Done(3.0, Handling(Act.OPEN_CYLINDER, "", 0.5), 1), Done(40.0, Handling(Act.PURGE, "low"), 2),
        Done(90.0, Handling(Act.CLOSE_CYLINDER), 3),
    ]  # fmt: skip
    with linked(tmp_path / "whole") as whole:
        for done in acts:
            whole.do(done.handling, done.t_s)
        whole.to(200.0)
        truth = whole.truth()
        happened = whole.happenings()
    with linked(tmp_path / "killed") as link:
        for done in acts[:2]:
            link.do(done.handling, done.t_s)
        os.kill(link.pid, signal.SIGKILL)
        link.to(60.0)
        until(lambda: bool(link.lost))
        assert "broke off" in link.lost
        with pytest.raises(RigLost, match="broke off"):
            link.do(acts[2].handling, 90.0)
        link.again(acts[:2], 60.0)
        assert link.lost == ""
        link.do(acts[2].handling, acts[2].t_s)
        link.to(200.0)
        assert link.truth() == truth
        assert link.happenings() == happened
    assert (
        told(tmp_path / "whole", "suction_pressure")[-1] == told(tmp_path / "killed", "suction_pressure")[-1]
    )


def test_a_rig_killed_in_the_middle_reads_the_same_at_the_same_time(tmp_path: Path) -> None:
    acts = [
        Done(float(t_s), handling, t_s)
        for t_s, handling in [
            (5, Handling(Act.JOIN, "low")), (9, Handling(Act.JOIN, "high")),
            (15, Handling(Act.OPEN_SHUTOFF, "low")), (16, Handling(Act.OPEN_SHUTOFF, "high")),
            (30, Handling(Act.CLAMP, "suction_line")), (60, Handling(Act.SWITCH_ON)),
            (300, Handling(Act.STAND, "SIM-N")), (310, Handling(Act.JOIN, "SIM-N")),
            (320, Handling(Act.PURGE, "centre")), (330, Handling(Act.OPEN_CYLINDER, "", 1.0)),
            (340, Handling(Act.OPEN_HAND_VALVE, "low", 0.1)), (380, Handling(Act.CLOSE_HAND_VALVE, "low")),
        ]
    ]  # fmt: skip
    whole = RigLink(beginning(), tmp_path / "whole")
    killed = RigLink(beginning(), tmp_path / "killed")
    try:
        for link in (whole, killed):
            for done in acts[:9]:
                assert link.do(done.handling, done.t_s).fault == ""
        os.kill(killed.pid, signal.SIGKILL)
        killed.to(329.0)
        until(lambda: bool(killed.lost))
        killed.again(acts[:9], 329.0)
        for link in (whole, killed):
            for done in acts[9:]:
                assert link.do(done.handling, done.t_s).fault == ""
            link.to(600.0)
        assert killed.truth() == whole.truth()
        assert killed.happenings() == whole.happenings()
        assert killed.hookup() == whole.hookup()
        for channel in ("suction_pressure", "suction_line", "liquid_pressure", "cylinder_weight"):
            assert killed.read(channel) == whole.read(channel)
            assert told(tmp_path / "killed", channel)[-1] == told(tmp_path / "whole", channel)[-1]
    finally:
        whole.close()
        killed.close()


def test_the_unit_ends_when_the_program_is_killed(tmp_path: Path) -> None:
    program = subprocess.Popen(
        [
            sys.executable, "-c", "import sys, time; from pathlib import Path;"
            " from guide.rig.link import RigLink; from tests.rig.served import beginning;"
            " link = RigLink(beginning(), Path(sys.argv[1])); link.hookup();"
            " print(link.pid, flush=True); time.sleep(60)",
            str(tmp_path / "f"),
        ],
        stdout=subprocess.PIPE,
    )  # fmt: skip
    assert program.stdout is not None
    unit = int(program.stdout.readline())
    assert Path(f"/proc/{unit}/cmdline").read_bytes().count(b"guide.rig.process") == 1
    program.kill()
    program.wait()
    program.stdout.close()
    until(
        lambda: not Path(f"/proc/{unit}").exists() or "(zombie)" in Path(f"/proc/{unit}/status").read_text()
    )


def test_a_closed_link_has_ended_its_process(tmp_path: Path) -> None:
    link = RigLink(beginning(), tmp_path / "f", command=STANDIN)
    pid = link.pid
    link.close()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
    with pytest.raises(RigLost, match="put away"):
        link.hookup()


# -- the program's own time -----------------------------------------------------------------------


class Real:
    """Real time, as the test has it pass."""

    def __init__(self) -> None:
        self.ns = 0

    def __call__(self) -> int:
        return self.ns


@pytest.mark.parametrize("factor", FACTORS)
def test_a_reading_is_live_and_settles_at_every_factor(tmp_path: Path, factor: int) -> None:
    real = Real()
    # real time is the machine's, but at the slow ones: a minute of them would be long to wait for
    slow = factor <= 10
    clock = PacedClock(START, factor, real_ns=real) if slow else PacedClock(START, factor)
    time_of_run = RunTime(clock.now())
    begin = wire.begin(ORDER.text, opened=clock.now(), seed=7)
    link = RigLink(begin, tmp_path / "f", command=STANDIN)
    feed = link.follow()
    readings = Readings(feed, clock)
    readings.board(ORDER)

    def settled() -> bool:
        if slow:
            real.ns += 3 * 10**9
        link.to(time_of_run.at(clock.now()))
        time.sleep(0.15 if slow else 0.25)
        readings.poll()
        now = readings.live(ORDER, "suction_pressure", "psig")
        return now is not None and now.state == "live" and now.settled_s >= 60.0

    looks: deque[bool] = deque(maxlen=8)

    def stays_so() -> bool:
        looks.append(settled())
        return len(looks) == 8 and all(looks)

    try:
        until(stays_so, patience_s=60.0)
        assert (feed.dropped, feed.bad) == (0, 0)
        history = readings.board(ORDER).history("suction_pressure")
        assert max(b[0] - a[0] for a, b in pairwise(history)) < 21.0  # one a second is kept
    finally:
        readings.close()
        link.close()


def test_a_unit_that_was_lost_goes_stale(tmp_path: Path) -> None:
    real = Real()
    clock = PacedClock(START, 300, real_ns=real)
    link = RigLink(wire.begin(ORDER.text, opened=clock.now(), seed=7), tmp_path / "f", command=STANDIN)
    feed = link.follow()
    readings = Readings(feed, clock)
    readings.board(ORDER)

    def heard() -> bool:
        real.ns += 10**8
        link.to(clock.now().mono_ns / 1e9)
        time.sleep(0.2)
        readings.poll()
        return readings.live(ORDER, "suction_pressure", "psig") is not None

    try:
        until(heard)
        real.ns += 10**9
        live = readings.live(ORDER, "suction_pressure", "psig")
        assert live is not None
        assert live.state == "live"
        real.ns += 3 * 10**9
        stale = readings.live(ORDER, "suction_pressure", "psig")
        assert stale is not None
        assert stale.state == "stale"
    finally:
        readings.close()
        link.close()
