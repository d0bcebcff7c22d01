"""The rules a procedure must keep, as one list; each rule yields what it finds, with its place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from guide.procedure import logic, measures, wording
from guide.procedure.model import Procedure
from guide.procedure.wording import Complaint


@dataclass(frozen=True, slots=True)
class Rule:
    """A named rule. One that `blocks` makes the procedure unusable, the others only badly written."""

    name: str
    judge: Callable[[Procedure], Iterator[Complaint]]
    blocks: bool = False
    whole: bool = False
    """Whether it can only judge a whole procedure; the others judge a common part by itself, too."""


def is_no_draft(procedure: Procedure) -> Iterator[Complaint]:
    """A draft is told; whoever works it anyway gives a reason."""
    if procedure.status != "approved":
        yield ("status",), "this is a draft; work it only with a reason, or have it approved"


RULES: Final = (
    Rule("verb-first", wording.verb_first),
    Rule("one-action", wording.one_action),
    Rule("condition-apart", wording.condition_apart),
    Rule("hazard-without-action", wording.hazards_hide_no_action),
    Rule("hazard-order", wording.hazards_worst_first, blocks=True),
    Rule("few-hazards", wording.few_hazards),
    Rule("short-sentences", wording.short_sentences),
    Rule("answers-seen", wording.answers_say_what_was_seen),
    Rule("fits-sheet", wording.fits_the_sheet),
    Rule("known-facts", logic.facts_can_be_known, blocks=True, whole=True),
    Rule("known-values", logic.values_exist, blocks=True, whole=True),
    Rule("reachable", logic.steps_can_be_reached, blocks=True, whole=True),
    Rule("fallback", logic.choices_have_a_fallback, blocks=True),
    Rule("releasable", measures.holds_can_be_released, blocks=True),
    Rule("named-sources", measures.sources_are_named, blocks=True),
    Rule("order-entries", measures.order_entries_are_demanded, blocks=True),
    Rule("numbered-ids", logic.ids_follow_the_parts, blocks=True, whole=True),
    Rule("known-references", logic.references_exist, whole=True),
    Rule("own-facts", logic.facts_are_set_once, blocks=True),
    Rule("signed-end", logic.ends_with_a_signature, blocks=True, whole=True),
    Rule("draft", is_no_draft, whole=True),
)
"""In the order of the writer's guide: words first, then logic."""
