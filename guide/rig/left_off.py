"""When a run was left: the last moment its unit told anything, which may lie after the last event of its log.

A run that is gone on with goes on at that moment, so that nobody gets time back by leaving, or by ending the
program, that was spent with a valve open. What the file says is bounded; without it the log's moment counts.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Final

from guide.rig.retrace import LONGEST_RUN_S

TAIL_BYTES: Final = 8192
"""Of a stream's file: many times its longest line."""


def after_s(streams: Iterable[Path], last_utc: str) -> float:
    """How long after `last_utc`, the last event, the newest reading of these files was taken [s].

    0 where there is none, or none that could be of this run.
    """
    last = datetime.fromisoformat(last_utc)
    told = [at for path in streams if (at := _last_told(path)) is not None]
    ahead_s = max(((at - last).total_seconds() for at in told), default=0.0)
    return ahead_s if 0.0 < ahead_s <= LONGEST_RUN_S else 0.0


def _last_told(path: Path) -> datetime | None:
    try:
        with path.open("rb") as file:
            file.seek(max(0, os.fstat(file.fileno()).st_size - TAIL_BYTES))
            lines = file.read(TAIL_BYTES).split(b"\n")
    except OSError:
        return None
    for line in reversed(lines):
        try:
            told = json.loads(line)
            at = datetime.fromisoformat(told["t"])
        except (ValueError, KeyError, TypeError, RecursionError):
            continue  # cut off where the program was ended, or no line of ours
        return at if at.tzinfo is not None else None
    return None
