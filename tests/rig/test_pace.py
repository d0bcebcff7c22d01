"""A clock that runs so many times as fast as real time keeps its own time and never leaps."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.journal.port import BadClock
from guide.rig.pace import FACTORS, PacedClock

START = datetime(2026, 7, 1, 8, 0, tzinfo=timezone(timedelta(hours=-5)))


class Real:
    """Real time, as the test has it pass."""

    def __init__(self) -> None:
        self.ns = 7_000_000_000

    def __call__(self) -> int:
        return self.ns


@pytest.mark.parametrize("factor", FACTORS)
def test_a_real_second_is_so_many_simulated_ones(factor: int) -> None:
    real = Real()
    clock = PacedClock(START, factor, real_ns=real)
    real.ns += 1_000_000_000
    now = clock.now()
    assert now.mono_ns == factor * 1_000_000_000
    assert datetime.fromisoformat(now.utc) == START + timedelta(seconds=factor)
    assert now.local_offset == "-05:00"


def test_another_factor_counts_from_the_moment_it_is_set() -> None:
    real = Real()
    clock = PacedClock(START, 60, real_ns=real)
    real.ns += 10**9
    before = clock.now()
    clock.run_at(300)
    assert clock.now() == before
    real.ns += 10**9
    assert clock.now().mono_ns == (60 + 300) * 10**9
    assert clock.factor == 300


def test_a_held_clock_stands_and_goes_on_from_there() -> None:
    real = Real()
    clock = PacedClock(START, 10, real_ns=real)
    real.ns += 10**9
    clock.hold()
    real.ns += 50 * 10**9
    clock.advance(5.0)
    assert clock.now().mono_ns == 15 * 10**9
    clock.go()
    real.ns += 10**9
    assert clock.now().mono_ns == 25 * 10**9


_ACTS = st.one_of(
    st.tuples(st.just("real"), st.integers(0, 10**10)),
    st.tuples(st.just("factor"), st.sampled_from(FACTORS)),
    st.tuples(st.just("advance"), st.floats(0.0, 1e5)),
    st.tuples(st.just("back"), st.integers(0, 10**10)),
)


@given(st.lists(_ACTS, max_size=40))
def test_it_never_runs_backwards_and_both_its_clocks_agree(acts: list[tuple[str, int | float]]) -> None:
    real = Real()
    clock = PacedClock(START, real_ns=real)
    last = clock.now()
    for what, amount in acts:
        match what:
            case "real":
                real.ns += int(amount)
            case "back":
                real.ns -= int(amount)
            case "factor":
                clock.run_at(int(amount))
            case _:
                clock.advance(float(amount))
        now = clock.now()
        assert now.mono_ns >= last.mono_ns
        wall = datetime.fromisoformat(now.utc) - START
        assert wall == timedelta(microseconds=now.mono_ns // 1000)
        last = now


def test_a_job_taken_up_again_goes_on_where_its_last_stamp_was() -> None:
    real = Real()
    first = PacedClock(START, 300, real_ns=real)
    real.ns += 12_345_678_901
    last = first.now()
    again = PacedClock.after(last, real_ns=real)
    now = again.now()
    assert (now.utc, now.local_offset, now.mono_ns) == (last.utc, last.local_offset, 0)
    assert now.boot != last.boot


@pytest.mark.parametrize("factor", [0, -1, 2, 1000])
def test_a_factor_that_is_none_of_the_four_is_refused(factor: int) -> None:
    clock = PacedClock(START)
    with pytest.raises(BadClock, match="times real time"):
        clock.run_at(factor)
    with pytest.raises(BadClock, match="times real time"):
        PacedClock(START, factor)


@pytest.mark.parametrize("seconds", [-1.0, float("nan"), 1e10])
def test_it_advances_only_forwards(seconds: float) -> None:
    with pytest.raises(BadClock, match="only forwards"):
        PacedClock(datetime(2026, 1, 1, tzinfo=UTC)).advance(seconds)
