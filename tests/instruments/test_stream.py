"""A stream of readings: what is taken, what is refused, what is shown and what is lost."""

from __future__ import annotations

import contextlib
import json
import os
import pty
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guide.instruments.board import Board, Now, disagreement, fills
from guide.instruments.feed import Feed, NoFeed
from guide.instruments.follow import LINES_A_SECOND, Kept, Sieve
from guide.instruments.line import BadLine, read_line
from guide.instruments.readings import Readings
from guide.rig.orders import demonstration_order

GOOD = {
    "v": 1,
    "src": "SIM-G1",
    "ch": "suction_pressure",
    "val": "118.4",
    "unit": "psi",
    "ref": "gauge",
    "q": "good",
}


def line(**changes: object) -> bytes:
    return json.dumps({**GOOD, **changes}).encode()


@pytest.mark.parametrize(
    "bad",
    [
        line(val="NaN"), line(val="1e3"), line(val=118.4), line(val="-327.68"), line(ref="diff"),
        line(extra="1"),
        line(unit="furlong"), line(v=2), line(v=True), line(q="fine"), line(src=""),
        line(t="2026-02-30T00:00:00Z"),
        line(src="\x1b[2J"), line(id="x" * 5000), b"[]", b"", b"{", b'{"v":1,"v":1}',
        json.dumps({k: v for k, v in GOOD.items() if k != "ref"}).encode(),
    ],
)  # fmt: skip
def test_a_line_that_is_no_reading_is_refused_with_words(bad: bytes) -> None:
    with pytest.raises(BadLine, match=r"\w"):
        read_line(bad)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=200) | st.dictionaries(st.sampled_from(sorted(GOOD)), st.text(max_size=9)).map(
    lambda changes: json.dumps({**GOOD, **changes}).encode()))  # fmt: skip
def test_any_bytes_give_a_sample_or_a_refusal(raw: bytes) -> None:
    try:
        read_line(raw)
    except BadLine:
        return


def test_a_value_is_live_then_settled_then_stale_then_lost() -> None:
    board = Board(demonstration_order())
    for second in range(40):
        board.take([read_line(line())], Now(float(second), 1e9))
    live = board.live("suction_pressure", "psig", Now(39.5, 1e9))
    assert live is not None
    assert live.value is not None
    assert (live.state, live.value.typed, live.instrument) == ("live", "118.4 psig", "SIM-G1")
    assert live.settled_s == 39.0
    assert live.value.line_sha256
    typed = live.value.model_copy(update={"si": live.value.si + 20_000})
    assert disagreement(typed, live, 6895) is not None
    assert disagreement(live.value, live, 6895) is None
    late = board.live("suction_pressure", "psig", Now(46.0, 1e9))
    assert late is not None
    assert late.state == "stale"
    board.lose("the readings ended")
    lost = board.live("suction_pressure", "psig", Now(39.5, 1e9))
    assert lost is not None
    assert lost.state == "lost"


def test_of_a_paced_source_the_times_count_that_it_gives_not_the_moment_they_arrive() -> None:
    board = Board(demonstration_order())
    utc_s = datetime(2026, 7, 1, 8, 5, tzinfo=UTC).timestamp()
    batch = [read_line(line(t=f"2026-07-01T08:0{20 * k // 60}:{20 * k % 60:02d}Z")) for k in range(13)]
    board.take(batch, Now(1000.0, utc_s, pace=300.0))
    assert [at_s for at_s, _ in board.history("suction_pressure")] == [700.0 + 20.0 * k for k in range(13)]
    live = board.live("suction_pressure", "psig", Now(1000.0, utc_s, pace=300.0))
    assert live is not None
    assert (live.state, live.settled_s, live.age_s) == ("live", 240.0, 60.0)
    # the same at real time is a minute old and says so
    slow = board.live("suction_pressure", "psig", Now(1000.0, utc_s, pace=1.0))
    assert slow is not None
    assert slow.state == "stale"


@pytest.mark.parametrize(
    ("change", "state"),
    [
        ({"t": "2020-01-01T00:00:00Z"}, "stale"), ({"q": "uncertain"}, "bad"), ({"val": "9000"}, "bad"),
        ({"unit": "F", "ref": "x"}, None), ({"val": "-90"}, "bad"),
    ],
)  # fmt: skip
def test_what_must_not_fill_a_field_is_not_live(change: dict[str, str], state: str | None) -> None:
    if state is None:
        with pytest.raises(BadLine):
            read_line(line(**change))
        return
    board = Board(demonstration_order())
    board.take([read_line(line(**change))], Now(0.0, 1.79e9))
    live = board.live("suction_pressure", "psig", Now(0.1, 1.79e9))
    assert live is not None
    assert live.state == state


def test_an_unknown_source_is_shown_and_fills_nothing() -> None:
    board = Board(demonstration_order())
    board.take([read_line(line(src="stranger"))], Now(0.0, 1e9))
    assert board.live("suction_pressure", "psig", Now(0.0, 1e9)) is None
    assert [sample.source for sample in board.unknown()] == ["stranger"]


def test_a_flood_passes_fifty_a_second_and_counts_the_rest() -> None:
    sieve = Sieve()
    assert len(sieve.lines((line() + b"\n") * 10_000 + b"{", 1)) == LINES_A_SECOND
    assert sieve.dropped == 10_000 - LINES_A_SECOND
    assert len(sieve.lines(b"x" * 9000, 2)) == 0
    assert sieve.lines(b"y\n" + line() + b"\n", 2) == [line()]


def until(feed: Feed, count: int) -> int:
    seen = 0
    for _ in range(100):
        seen += len(feed.taken())
        if seen >= count:
            break
        time.sleep(0.05)
    return seen


def test_a_file_is_followed_over_rotation_and_truncation_and_a_killed_feed_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "feed.ndjson"
    path.write_bytes(b"")
    feed = Feed(str(path))
    try:
        time.sleep(0.8)
        with path.open("ab") as file:
            file.write(line() + b"\n" + line()[:20])
        assert until(feed, 1) == 1
        path.rename(tmp_path / "old")
        path.write_bytes(line() + b"\n")
        assert until(feed, 1) == 1
        path.write_bytes(b"")
        time.sleep(0.3)
        path.write_bytes(line() + b"\n")
        assert until(feed, 1) == 1
        os.kill(feed.pid, signal.SIGKILL)
        for _ in range(60):
            if feed.lost:
                break
            time.sleep(0.05)
        assert feed.lost == "the readings broke off"
    finally:
        feed.close()


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NoFeed, match="no such file"):
        Feed(str(tmp_path / "none"))


def test_standard_input_is_read_to_its_end() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "guide.instruments.follow", "-"],
        input=line() + b"\n",
        stdout=subprocess.PIPE,
        check=False,
        timeout=20,
    )
    assert (done.returncode, b"L" + line() in done.stdout.splitlines()) == (0, True)


def test_the_terminal_comes_back_as_standard_input_after_a_pipe_was_there() -> None:
    script = (
        "import os\nfrom guide.instruments.feed import give_back_terminal\n"
        "r, w = os.pipe()\nos.dup2(r, 0)\ngive_back_terminal()\nprint('tty', os.isatty(0))"
    )
    pid, terminal = pty.fork()
    if pid == 0:
        os.execv(sys.executable, [sys.executable, "-c", script])
    seen = b""
    with contextlib.suppress(OSError), os.fdopen(terminal, "rb", buffering=0) as output:
        while b"\n" not in seen and (piece := output.read(1024)):
            seen += piece
    os.waitpid(pid, 0)
    assert b"tty True" in seen


def test_the_lines_handed_on_are_kept_and_a_board_an_order_fills_from_one_feed(tmp_path: Path) -> None:
    path, keep = tmp_path / "feed.ndjson", tmp_path / "kept" / "lines.ndjson"
    path.write_bytes(b"")
    readings = Readings(Feed(str(path), keep))
    order = demonstration_order()
    try:
        assert readings.live(order, "suction_pressure", "psig") is None
        time.sleep(0.8)
        with path.open("ab") as file:
            file.write(line() + b"\n" + line(src="stranger") + b"\nnonsense\n")
        for _ in range(60):
            readings.poll()
            if readings.live(order, "suction_pressure", "psig") and "refused" in readings.said(order):
                break
            time.sleep(0.05)
        live = readings.live(order, "suction_pressure", "psig")
        assert live is not None
        assert live.value is not None
        assert (live.state, live.value.typed) == ("live", "118.4 psig")
        assert "not on the order, not used: stranger suction_pressure" in readings.said(order)
        kept = keep.read_bytes().splitlines()
        assert live.value.line_sha256 in {sha256(text).hexdigest() for text in kept}
    finally:
        readings.close()


def test_a_file_of_kept_lines_is_rotated_and_one_that_cannot_be_written_ends_the_keeping_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("guide.instruments.follow.MOST_KEPT_BYTES", 100)
    kept = Kept(tmp_path / "lines")
    for _ in range(3):
        kept.add([line()])
    assert (tmp_path / "lines.1").is_file()
    assert not kept.fails
    (tmp_path / "taken").write_bytes(b"")
    nowhere = Kept(tmp_path / "taken" / "lines")
    nowhere.add([line()])
    assert nowhere.fails


def test_only_the_first_instrument_of_a_channel_fills_it() -> None:
    order = demonstration_order()
    first = next(i for i in order.instruments if "suction_pressure" in i.channels)
    second = replace(first, id="SECOND", source=None, stream_channels=())
    both = fills(replace(order, instruments=(*order.instruments, second)))
    assert [where for where, (channel, _) in both.items() if channel == "suction_pressure"] == [
        ("SIM-G1", "suction_pressure")
    ]
