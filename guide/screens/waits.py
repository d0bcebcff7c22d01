"""What an open job waits for, for those who are at another one. Pure."""

from __future__ import annotations

from guide.job.elapsed import elapsed
from guide.job.state import JobState, current_step
from guide.journal.event import Stamp
from guide.procedure.model import Adjust
from guide.screens import say
from guide.screens.turn import changed_since_round, settle_left


def left_s(state: JobState, now: Stamp) -> float | None:
    """Seconds left of a hold, or of settling in the charging loop; 0 when over, None where nothing waits."""
    if state.closed is not None or state.weighing is not None:
        return None
    if state.waiting is not None:
        return max(0.0, state.waiting.begun.at_least_s - elapsed(state.waiting.at, now).seconds)
    step = current_step(state)
    if step is not None and isinstance(step.proof, Adjust) and changed_since_round(state, step.id):
        return settle_left(state, step.proof, now)
    return None


def waits(state: JobState, now: Stamp) -> str:
    """One job in a few words: its number, and how long until it wants somebody."""
    if state.weighing is not None:
        return f"{state.job} WEIGHING OPEN"
    left = left_s(state, now)
    if left is None:
        return f"{state.job} open"
    return f"{state.job} {say.countdown(left)} left" if left > 0 else f"{state.job} TIME IS UP"
