"""A run that was left goes on at the last moment its unit told anything."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from guide.rig.left_off import TAIL_BYTES, after_s
from guide.rig.retrace import LONGEST_RUN_S

LAST = "2026-07-01T08:00:00.000000Z"


def _stream(folder: Path, *lines: str, name: str = "J-0001-ab.ndjson") -> Path:
    path = folder / name
    path.write_text("\n".join(lines))
    return path


def test_the_newest_reading_of_all_its_streams_counts(tmp_path: Path) -> None:
    one = _stream(tmp_path, json.dumps({"t": "2026-07-01T08:00:20.000000Z"}), "")
    two = _stream(tmp_path, json.dumps({"t": "2026-07-01T08:10:00.500000Z"}), "", name="J-0001-cd.ndjson")
    assert after_s([one, two], LAST) == 600.5


def test_a_line_cut_off_by_the_end_of_the_program_is_passed_over(tmp_path: Path) -> None:
    told = json.dumps({"t": "2026-07-01T08:01:00.000000Z"})
    assert after_s([_stream(tmp_path, told, told[:20])], LAST) == 60.0


def test_without_a_file_or_with_readings_from_before_the_log_counts(tmp_path: Path) -> None:
    early = _stream(tmp_path, json.dumps({"t": "2026-07-01T07:00:00.000000Z"}))
    assert after_s([early, tmp_path / "none.ndjson"], LAST) == 0.0
    assert after_s([], LAST) == 0.0


def test_a_time_no_run_can_reach_is_not_believed(tmp_path: Path) -> None:
    assert after_s([_stream(tmp_path, json.dumps({"t": "2036-07-01T08:00:00.000000Z"}))], LAST) == 0.0


def test_a_deep_line_is_no_reading(tmp_path: Path) -> None:
    assert after_s([_stream(tmp_path, "[" * (TAIL_BYTES - 10))], LAST) == 0.0


@given(st.binary(max_size=300))
def test_whatever_stands_in_the_file_the_time_stays_bounded(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "s.ndjson"
        path.write_bytes(data)
        assert 0.0 <= after_s([path], LAST) <= LONGEST_RUN_S
