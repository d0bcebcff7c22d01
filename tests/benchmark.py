"""Figures on demand, each beside its base in the same run: `python -m tests.benchmark`.

Not a timed test: a machine's speed is not a property of the code. Aims stand beside the ratios.
"""

from __future__ import annotations

import contextlib
import os
import pty
import select
import signal
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

BARE_APP = """\
from textual.app import App, ComposeResult
from textual.widgets import Static
class Bare(App[None]):
    def compose(self) -> ComposeResult:
        yield Static("READY-MARK")
Bare().run()
"""


def seconds_to_words(command: list[str], words: bytes, environment: dict[str, str]) -> float:
    """Time from starting a program in a terminal of 80x24 until it has painted these words."""
    started = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.execvpe(command[0], command, os.environ | environment)
    try:
        import fcntl
        import struct
        import termios

        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        seen = b""
        while words not in seen:
            ready, _, _ = select.select([terminal], [], [], 20)
            if not ready:
                raise TimeoutError(f"{command} never painted {words!r}; it painted {seen[-300:]!r}")
            seen += os.read(terminal, 65536)
        return time.perf_counter() - started
    finally:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(terminal)


def start() -> None:
    """Start to first frame against a bare Textual application."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {"CHARGEWRIGHT_DATA": folder, "TERM": "xterm-256color"}
        bare = [
            seconds_to_words([sys.executable, "-c", BARE_APP], b"READY-MARK", environment) for _ in range(5)
        ]
        ours = [
            seconds_to_words([sys.executable, "-m", "guide"], b"hargewright", environment) for _ in range(5)
        ]
    report("start to first frame", statistics.median(ours), statistics.median(bare), "s", "1.5x")


def key_to_paint() -> None:
    """A key pressed in quick look, until the terminal gets what it changed: median and 95th percentile."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "guide", "--data", folder]
        pid, terminal = pty.fork()
        if pid == 0:
            os.execvpe(command[0], command, os.environ | {"TERM": "xterm-256color"})
        try:
            _read_until(terminal, b"No open job")
            os.write(terminal, b"q")
            _read_until(terminal, b"QUICK LOOK")
            times = []
            for key in b"R-410A\x7f\x7f\x7f\x7f\x7f\x7fR-22" * 4:
                time.sleep(0.15)
                while select.select([terminal], [], [], 0)[0]:
                    os.read(terminal, 65536)
                times.append(timed(lambda key=key: _press(terminal, key)))  # type: ignore[misc]
        finally:
            os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            os.close(terminal)
    times.sort()
    p95 = times[int(len(times) * 0.95)]
    print(f"key to paint: median {statistics.median(times) * 1e3:.0f} ms, p95 {p95 * 1e3:.0f} ms  aim 100 ms")


def live_sheet() -> None:
    """Eight channels ten times a second: a key on the step sheet to its frame, and what all this costs."""
    from tests.instruments.live_sheet import measure
    from tests.instruments.load import processor_share

    sheet = measure(keys=200)
    print(
        f"key to paint, 8 channels at 10 Hz: median {sheet.at(0.5) * 1e3:.0f} ms, "
        f"p95 {sheet.at(0.95) * 1e3:.0f} ms  aim 50 ms"
    )
    print(f"  share of one processor: sheet {sheet.program:.3f}, feed {sheet.feed:.3f}")
    bare, feed = processor_share()
    print(f"  the same without a sheet: program {bare:.3f}, feed {feed:.3f}")


def _read_until(terminal: int, words: bytes) -> None:
    seen = b""
    while words not in seen:
        seen += os.read(terminal, 65536)


def _press(terminal: int, key: int) -> None:
    os.write(terminal, bytes([key]))
    select.select([terminal], [], [], 5)


def saturation() -> None:
    """Saturation lookups against the property library's one-call function."""
    from CoolProp.CoolProp import PropsSI

    from guide.refrigerant.saturation import curve

    r410a = curve("R-410A")
    pressures = [800_000.0 + 10.0 * index for index in range(20_000)]
    ours = timed(lambda: [r410a.dew_temperature_K(p) for p in pressures]) / len(pressures)
    base = timed(lambda: [PropsSI("T", "P", p, "Q", 1, "R410A") for p in pressures[:2000]]) / 2000
    report("saturation lookup", ours * 1e6, base * 1e6, "µs", "1/50")


def appends() -> None:
    """Durable appends against bare sqlite3 with the same pragmas."""
    from guide.journal.port import SimulatedClock
    from guide.journal.store import Journal

    count = 300
    clock = SimulatedClock(datetime(2026, 11, 25, tzinfo=UTC))
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder:
        with contextlib.closing(Journal.create(Path(folder) / "journal.db", kind="real")) as journal:
            ours = timed(
                lambda: [
                    journal.append("J-0001", [("noted", {"text": "a" * 64})], stamp=clock.now(), by="alex")
                    for _ in range(count)
                ]
            )
        with contextlib.closing(sqlite3.connect(Path(folder) / "bare.db", isolation_level=None)) as bare:
            for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
                bare.execute(f"PRAGMA {pragma}")
            bare.execute(
                "CREATE TABLE event (seq INTEGER PRIMARY KEY, raw BLOB NOT NULL, leaf BLOB NOT NULL)"
            )
            raw, leaf = b"x" * 400, b"y" * 32

            def plain() -> None:
                for seq in range(count):
                    bare.execute("BEGIN IMMEDIATE")
                    bare.execute("INSERT INTO event VALUES (?, ?, ?)", (seq, raw, leaf))
                    bare.execute("COMMIT")

            base = timed(plain)
    report("durable append", ours / count * 1e3, base / count * 1e3, "ms", "1.5x")


def integrity() -> None:
    """Checking 100,000 events against reading and hashing the same bytes."""
    from guide.journal import integrity as check
    from guide.journal import tree
    from guide.journal.port import SimulatedClock
    from guide.journal.store import Journal

    clock = SimulatedClock(datetime(2026, 11, 25, tzinfo=UTC))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        with contextlib.closing(Journal.create(path, kind="real")) as journal:
            opened = ("opened", {"number": 1})
            journal.append("J-0001", [opened], stamp=clock.now(), by="alex")
            for _ in range(99):
                bodies = [("noted", {"step": "4.4", "text": "a" * 64}) for _ in range(1010)]
                journal.append("J-0001", bodies, stamp=clock.now(), by="alex")

            def read_and_hash() -> None:
                total = sha256()
                for raw in journal.raw_events():
                    total.update(sha256(b"\0" + raw).digest())

            def tree_and_checkpoint() -> None:
                edge = tree.CompactRange()
                for raw in journal.raw_events():
                    edge.append(tree.leaf_hash(raw))
                assert edge.root() == journal.tree().root(journal.size)

            size = journal.size
            base = timed(read_and_hash)
            quick = timed(tree_and_checkpoint)
            full = timed(lambda: check.check(path))
    report(f"tree of {size:,} events", quick, base, "s", "3x")
    report(f"full check of {size:,} events", full, base, "s", "10 s in all")


def simulated_unit() -> None:
    """A simulated unit in its process: from starting it to its first answer, then ten of its seconds."""
    from guide.rig import wire
    from guide.rig.acts import Act, Handling
    from guide.rig.link import RigLink
    from guide.rig.orders import demonstration_order
    from guide.rig.pace import PacedClock

    with tempfile.TemporaryDirectory() as folder:
        opened = PacedClock(datetime(2026, 7, 1, 8, tzinfo=UTC)).now()
        begin = wire.begin(demonstration_order().text, opened=opened, seed=1)
        began = time.perf_counter()
        link = RigLink(begin, Path(folder) / "feed")
        try:
            link.hookup()
            started = time.perf_counter() - began
            link.do(Handling(Act.SWITCH_ON), 10.0)
            times = []
            for step in range(200):
                link.to(20.0 + 10.0 * step)
                times.append(timed(link.hookup))  # answered after the time has passed
        finally:
            link.close()
    bare = statistics.median(
        timed(lambda: subprocess.run([sys.executable, "-c", "import guide.job.order"], check=True))
        for _ in range(3)
    )
    report("simulated unit to its first answer", started, bare, "s", "1.5x")
    print(f"ten seconds of a simulated unit: median {statistics.median(times) * 1e3:.1f} ms  aim 5 ms")


def timed(act: Callable[[], object]) -> float:
    """Seconds that an act takes."""
    started = time.perf_counter()
    act()
    return time.perf_counter() - started


def report(what: str, ours: float, base: float, unit: str, aim: str) -> None:
    """One line: ours, its base, the ratio, the aim."""
    print(
        f"{what:<36} {ours:10.3f} {unit:<3} base {base:10.3f} {unit:<3} ratio {ours / base:7.3f}  aim {aim}"
    )


if __name__ == "__main__":
    for measure in (start, key_to_paint, live_sheet, saturation, appends, integrity, simulated_unit):
        measure()
