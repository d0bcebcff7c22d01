"""A simulated clock that runs by itself, so many times as fast as real time.

`PacedClock` is a clock of the journal (`guide.journal.port.Clock`) and its stamps say "simulated". Real time
comes in through `real_ns`, a running clock that nobody sets; the machine's own does not count suspend on
Linux, so a simulated unit rests while the lid is closed.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from typing import Final

from guide.journal.event import Stamp
from guide.journal.port import BadClock, SimulatedClock, offset_text, utc_text

FACTORS: Final = (1, 10, 60, 300)
"""How many times as fast as real time a simulated clock may run (PROPOSED)."""
MOST_S: Final = 1e9


class PacedClock(SimulatedClock):
    """Simulated time: `start` and `factor` times the real time that has passed since. Never runs backwards.

    All arithmetic is in whole nanoseconds, so neither reading the clock nor changing its factor moves it.

    Raises:
        BadClock: the start has no time zone, or the factor is none of `FACTORS`.
    """

    def __init__(
        self,
        start: datetime,
        factor: int = 1,
        *,
        real_ns: Callable[[], int] = time.monotonic_ns,
        boot: str | None = None,
    ) -> None:
        super().__init__(start, boot=boot or f"paced-{secrets.token_hex(4)}")
        self._real_ns = real_ns
        self._factor = _known(factor)
        self._running = True
        self._start_utc = self._utc
        self._base_ns = 0
        self._base_real_ns = self._latest_real_ns = real_ns()

    @classmethod
    def after(
        cls, last: Stamp, factor: int = 1, *, real_ns: Callable[[], int] = time.monotonic_ns
    ) -> PacedClock:
        """The clock of a job taken up again: it goes on at the job's last stamp, as if nobody had left."""
        sign = -1 if last.local_offset[0] == "-" else 1
        hours, minutes = last.local_offset[1:].split(":")
        zone = timezone(sign * timedelta(hours=int(hours), minutes=int(minutes)))
        return cls(datetime.fromisoformat(last.utc).astimezone(zone), factor, real_ns=real_ns)

    @property
    def factor(self) -> int:
        """How many times as fast as real time it runs."""
        return self._factor

    def run_at(self, factor: int) -> None:
        """Run at another factor from this moment on; the time it shows does not leap.

        Raises:
            BadClock: the factor is none of `FACTORS`.
        """
        _known(factor)
        self._rest()
        self._factor = factor

    def hold(self) -> None:
        """Stand still, for tests."""
        self._rest()
        self._running = False

    def go(self) -> None:
        """Run on from where it stood."""
        self._rest()
        self._running = True

    def advance(self, seconds: float) -> None:
        """Let simulated time pass at once.

        Raises:
            BadClock: backwards, or not a number of seconds.
        """
        if not 0 <= seconds <= MOST_S:
            raise BadClock(f"a simulated clock can't advance by {seconds} s: only forwards")
        self._rest()
        self._base_ns += round(seconds * 1e9)

    def now(self) -> Stamp:
        """The simulated present."""
        now_ns = self._now_ns()
        utc = self._start_utc + timedelta(microseconds=now_ns // 1000)
        return Stamp(utc_text(utc), offset_text(self._offset), now_ns, self._boot)

    def _now_ns(self) -> int:
        self._latest_real_ns = max(self._latest_real_ns, self._real_ns())
        passed_ns = self._latest_real_ns - self._base_real_ns if self._running else 0
        return self._base_ns + passed_ns * self._factor

    def _rest(self) -> None:
        """Count from here: what has passed so far is kept as it was counted."""
        self._base_ns = self._now_ns()
        self._base_real_ns = self._latest_real_ns


def _known(factor: int) -> int:
    if factor not in FACTORS:
        raise BadClock(f"a simulated clock can't run at {factor} times real time; take one of {FACTORS}")
    return factor
