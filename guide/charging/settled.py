"""Whether a round after the stated minutes still moves, seen from the round before it at the same charge."""

from __future__ import annotations

from collections.abc import Sequence

from guide.charging.increment import tolerance_K, wanting_K
from guide.charging.meaning import interpret
from guide.charging.response import moved, repeat_variance, sample
from guide.charging.round import Appliance, Meaning, Round
from guide.charging.wording import difference

_STILL_SDS = 3.0  # of two rounds' repeatability: less is what any two readings differ by (PROPOSED)
_STILL_OF_TOLERANCE = 0.4  # and less than this is not worth waiting for (PROPOSED)
_LONGEST_MINUTES = 30.0  # over longer it is the weather (PROPOSED)


def drifting(appliance: Appliance, rounds: Sequence[Round], meaning: Meaning) -> str | None:
    """Return words when the figure has not come to rest by the last round, else None.

    Two rounds at one charge, both after the stated minutes and at most 30 minutes apart, must agree
    within three standard deviations of their repeatability or 0.4 of the tolerance, whichever is more.
    """
    if len(rounds) < 2:
        return None
    before, now = rounds[-2], rounds[-1]
    between = now.minutes_since_change - before.minutes_since_change
    if before.minutes_since_change < appliance.settle_minutes or not 0.0 < between <= _LONGEST_MINUTES:
        return None
    earlier = interpret(appliance, before)
    then_K, now_K = wanting_K(appliance, earlier), wanting_K(appliance, meaning)
    if then_K is None or now_K is None:
        return None
    first, last = sample(appliance, before, earlier, then_K), sample(appliance, now, meaning, now_K)
    spread_K = (repeat_variance(first) + repeat_variance(last)) ** 0.5
    still_K = max(_STILL_SDS * spread_K, _STILL_OF_TOLERANCE * tolerance_K(appliance))
    if moved(first, last) or abs(now_K - then_K) <= still_K:
        return None
    return (
        f"In the last {between:g} minutes the figure has moved by {difference(now_K - then_K)} without any "
        "change of charge: it hasn't settled. Wait 5 minutes and read again; if it keeps moving, look for "
        "what does: a room still warming or cooling, a fan that cycles, a valve that hunts."
    )
