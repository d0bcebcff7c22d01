"""What a stream brought of the channels a step follows, for as long as somebody works the job; bounded."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from guide.job.series import LiveSample
from guide.journal.event import Stamp

MOST: Final = 1200
"""Values kept a channel; past it every second goes, and the rest comes half as often."""
FIRST_GAP_S: Final = 2.0

History = Callable[[str], Sequence[tuple[float, float]]]
"""The last minutes of a channel as (time of the running clock [s], SI value), oldest first."""


class Watched:
    """The values of each channel so far."""

    def __init__(self) -> None:
        self._kept: dict[str, list[LiveSample]] = {}
        self._gap_s: dict[str, float] = {}

    @property
    def count(self) -> int:
        """How many values are kept; it changes whenever one comes."""
        return sum(len(samples) for samples in self._kept.values())

    def hear(self, history: History, channels: Iterable[str], now: Stamp) -> None:
        """Keep what came since the last time; `now` is of the clock that the history counts by."""
        for channel in channels:
            kept = self._kept.setdefault(channel, [])
            gap = self._gap_s.setdefault(channel, FIRST_GAP_S)
            for at_s, si in history(channel):
                at_ns = int(at_s * 1e9)
                new_boot = bool(kept) and kept[-1].at.boot != now.boot
                # a run that was taken up again: what was so before this clock began has no place on it
                if 0 <= at_ns <= now.mono_ns and (
                    not kept or new_boot or at_ns - kept[-1].at.mono_ns >= gap * 1e9
                ):
                    kept.append(LiveSample(_stamp(now, at_ns), si))
            if len(kept) > MOST:
                del kept[1::2]
                self._gap_s[channel] = 2.0 * gap

    def all(self) -> Mapping[str, Sequence[LiveSample]]:
        """Every channel's values so far, oldest first."""
        return {channel: tuple(samples) for channel, samples in self._kept.items()}


def _stamp(now: Stamp, at_ns: int) -> Stamp:
    ago = timedelta(microseconds=(now.mono_ns - at_ns) // 1000)
    then = datetime.fromisoformat(now.utc) - ago
    return replace(now, mono_ns=at_ns, utc=then.strftime("%Y-%m-%dT%H:%M:%S.%fZ"))
