from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from guide.journal.port import BadClock, SimulatedClock, SystemClock, boot_id, offset_text, places, utc_text


def test_the_system_clock_never_runs_backwards_within_a_boot() -> None:
    clock = SystemClock()
    first, second = clock.now(), clock.now()
    assert second.mono_ns >= first.mono_ns
    assert first.boot == second.boot == boot_id()
    assert abs(datetime.fromisoformat(first.utc) - datetime.now(UTC)) < timedelta(seconds=5)


def test_the_clock_counts_suspended_time_where_it_can_be_compared() -> None:
    counting = getattr(time, "CLOCK_BOOTTIME", None)
    expected = time.monotonic_ns() if counting is None else time.clock_gettime_ns(counting)
    assert abs(SystemClock().now().mono_ns - expected) < 10**9


def test_the_boot_id_does_not_disclose_the_machine() -> None:
    kernel = Path("/proc/sys/kernel/random/boot_id")
    assert len(boot_id()) == 16
    if kernel.exists():
        assert boot_id() not in kernel.read_text().replace("-", "")


def test_the_local_offset_follows_the_time_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Asia/Kolkata")
    time.tzset()
    try:
        assert SystemClock().now().local_offset == "+05:30"
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_simulated_clock_moves_only_when_told() -> None:
    clock = SimulatedClock(datetime(2026, 7, 1, 8, 0, tzinfo=timezone(timedelta(hours=-3, minutes=-30))))
    first = clock.now()
    assert (first.utc, first.local_offset) == ("2026-07-01T11:30:00.000000Z", "-03:30")
    assert clock.now() == first
    clock.advance(90.5)
    later = clock.now()
    assert later.utc == "2026-07-01T11:31:30.500000Z"
    assert later.mono_ns - first.mono_ns == 90_500_000_000


@pytest.mark.parametrize("seconds", [-1.0, float("nan"), float("inf")])
def test_a_simulated_clock_never_goes_back(seconds: float) -> None:
    clock = SimulatedClock(datetime(2026, 7, 1, tzinfo=UTC))
    with pytest.raises(BadClock):
        clock.advance(seconds)


def test_a_time_without_a_zone_is_refused() -> None:
    naive = datetime(2026, 7, 1)  # noqa: DTZ001 - the mistake under test
    with pytest.raises(BadClock):
        SimulatedClock(naive)
    with pytest.raises(BadClock):
        utc_text(naive)


def test_offsets_are_written_with_sign_and_two_digits() -> None:
    assert offset_text(timedelta(0)) == offset_text(None) == "+00:00"
    assert offset_text(timedelta(hours=-9, minutes=-30)) == "-09:30"


def test_the_data_folder_is_the_option_else_the_variable_else_the_platforms(tmp_path: Path) -> None:
    assert places(tmp_path, {"CHARGEWRIGHT_DATA": "/elsewhere"}).root == tmp_path
    assert places(None, {"CHARGEWRIGHT_DATA": str(tmp_path)}).journal == tmp_path / "journal.db"
    assert places(None, {"CHARGEWRIGHT_DATA": "  "}).root.name == "chargewright"
    assert places(Path("here"), {}).root == Path.cwd() / "here"


def test_the_platforms_folder_follows_xdg(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("CHARGEWRIGHT_DATA", raising=False)
    if os.name == "posix" and os.uname().sysname == "Linux":
        assert places().root == tmp_path / "chargewright"
    found = places()
    assert {found.practice.parent, found.demo.parent, found.records.parent, found.keys.parent} == {found.root}
