"""Which steps are put up for choice before the next one is shown: the right one among plausible others."""

from __future__ import annotations

import random
from typing import Final

from guide.job.state import SETTLED, JobState, current_step, holds
from guide.procedure.model import Step

OTHERS: Final = 3
NEAR: Final = 10
"""How many steps behind the right one the others are taken from, before the rest of the procedure
(PROPOSED, as is how many others there are)."""


def choices(state: JobState, seed: int, *, others: int = OTHERS) -> tuple[Step, ...]:
    """The next step among others of the same procedure, in an order that hangs on the seed alone.

    The others come soon, apply here and read differently; so picking needs the order of the work, not its
    words. Empty where no step is next.
    """
    right = current_step(state)
    if right is None:
        return ()
    ahead = [step for step in _to_do(state) if step.id != right.id and step.do != right.do]
    chance = random.Random(f"{seed}/{right.id}")  # noqa: S311 - distractors of a question, no secret
    near, far = ahead[:NEAR], ahead[NEAR:]
    picked = chance.sample(near, min(others, len(near)))
    if len(picked) < others:
        done = [step for _, step in state.procedure.steps() if step not in ahead and step.do != right.do]
        rest = far or done
        picked += chance.sample(rest, min(others - len(picked), len(rest)))
    candidates = [right, *picked]
    chance.shuffle(candidates)
    return tuple(candidates)


def _to_do(state: JobState) -> list[Step]:
    """Steps of the path that are not settled and not ruled out, each action once."""
    seen: set[str] = set()
    out = []
    for part in state.path():
        for step in part.steps:
            if state.standing(step.id) not in SETTLED and holds(state, step) and step.do not in seen:
                seen.add(step.do)
                out.append(step)
    return out
