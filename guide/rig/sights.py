"""What is seen at a step that is answered by looking: a sentence, the answer that is true, what mends it.

Most of what is seen is ordinary and stands in `sights.yaml`, by the step's action. What is wrong with a
simulated unit shows in the sentences made here: they hang on the faults it has now, on those it began with,
on how hoses and valves stand, and on what the job has read so far. How each fault looks is PROPOSED.
"""

from __future__ import annotations

from guide.job.state import JobState
from guide.procedure.model import Confirm, Step
from guide.rig.hookup import Hookup
from guide.rig.look import Beginning, Look, Present, Sight
from guide.rig.seen_inside import BY_GAUGE_AND_SCALE
from guide.rig.seen_outside import BY_EYE_AND_HAND


def sight(
    step: Step, beginning: Beginning, present: Present, state: JobState, *,
    hookup: Hookup | None = None, vacuum_Pa: float | None = None,
) -> Sight:  # fmt: skip
    """What is seen at a step that asks for it, and which of its answers is true.

    `hookup` is how hoses and valves stand, `vacuum_Pa` what the vacuum gauge shows; without them both are
    taken to be as the procedure wants them.

    Raises:
        KeyError: nobody wrote what is seen at this step, or the step asks for nothing seen.
    """
    if not isinstance(step.proof, Confirm):
        raise KeyError(step.do)
    look = Look(step, step.proof, beginning, present, state, hookup, vacuum_Pa)
    special = BY_EYE_AND_HAND.get(step.do) or BY_GAUGE_AND_SCALE.get(step.do)
    return look.accepts(0) if special is None else special(look)
