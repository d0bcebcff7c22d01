"""What the settled rounds of a job so far teach about the system's answer to charge."""

from __future__ import annotations

from collections.abc import Sequence

from guide.charging.increment import wanting_K
from guide.charging.meaning import interpret
from guide.charging.response import Sample, sample
from guide.charging.round import Appliance, Meaning, Round
from guide.charging.soundness import contradictions, unusable

_EARLIER_ROUNDS = 40  # more than any loop needs; bounds the work on a long file


def settled_samples(appliance: Appliance, earlier: Sequence[Round]) -> list[Sample]:
    """Return the samples of those rounds that had settled, could be used and did not contradict."""
    samples = []
    for past in earlier[-_EARLIER_ROUNDS:]:
        if past.minutes_since_change < appliance.settle_minutes or unusable(appliance, past):
            continue
        meaning = interpret(appliance, past)
        now = sample_of(appliance, past, meaning)
        if now is None or contradictions(appliance, past, meaning, settled=True):
            continue
        samples.append(now)
    return samples


def sample_of(appliance: Appliance, now: Round, meaning: Meaning) -> Sample | None:
    """Return what one round teaches, None when its figures can't be formed."""
    wanting = wanting_K(appliance, meaning)
    return None if wanting is None else sample(appliance, now, meaning, wanting)
