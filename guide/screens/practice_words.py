"""What is said about a lesson, a run and its score, as paragraphs. Pure."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from guide.screens.practice_shown import Card, Scored, Stopped

HELPS: Final = MappingProxyType(
    {
        "worked": "watch it done, each step with its reason",
        "fill": "hands are done for you; you read and enter the values",
        "choose": "you say which step comes next, then do it",
        "none": "all by yourself; what was wrong is told at the end",
    }
)
"""The levels of help, the most first, each with what it means."""
SHORT_HELPS: Final = MappingProxyType(
    {
        "worked": "watching",
        "fill": "hands done for you",
        "choose": "you pick the step",
        "none": "no help",
    }
)


def points(number: int) -> str:
    """A number of points."""
    return f"{number} point{'' if number == 1 else 's'}"


def card_paragraphs(card: Card) -> tuple[str, ...]:
    """A lesson before it begins: what one will be able to do, the unit, what is scored and what loses it."""
    first, second, third = card.hint_costs
    return (
        *((card.assigned,) if card.assigned else ()),
        "After this lesson:",
        *(f"  - {words}" for words in card.objectives),
        "",
        *card.about,
        "",
        f"How the run is scored, out of {sum(line.points for line in card.rubric)}; "
        f"{points(card.minimum)} pass:",
        *(f"  {line.points:>3}  {line.item}: {line.loses}" for line in card.rubric),
        "",
        "Whatever would hurt somebody or ruin a machine ends the run at once, and it is not passed.",
        f"Hints at every step: where to look ({points(first)}), the rule ({points(second)}), "
        f"the answer ({points(third)}).",
    )


def score_paragraphs(scored: Scored) -> tuple[str, ...]:
    """What a run came to: the points, every lost one with the event that lost it, what comes next."""
    safe = "nobody was hurt and no machine ruined" if scored.safety else "NOT SAFE: the run was ended"
    verdict = "PASSED" if scored.passed else "NOT PASSED"
    rows = [
        f"{scored.points} of {scored.of} points, {verdict}. {scored.minimum} and a safe run pass.",
        f"Safety: {safe}.",
        "",
    ]
    if scored.lost:
        rows.append("Lost:")
        for lost in scored.lost:
            rows += [f"  -{lost.points}  {lost.item}, {lost.where}", f"       {lost.words}"]
    else:
        rows.append("No point was lost.")
    if scored.afterwards:
        rows += ["", *scored.afterwards]
    return tuple(rows)


def stop_paragraphs(stopped: Stopped) -> tuple[str, ...]:
    """Why the run is over."""
    return (
        stopped.would,
        "",
        f"What led to it: {stopped.cause}",
        "",
        f"Instead: {stopped.instead}",
        "",
        "The run ends here. What was done up to here is scored; the lesson can be begun again at once.",
    )


def pace_words(factor: int) -> str:
    """How fast time runs."""
    return "time as in life" if factor == 1 else f"time {factor} times as fast"


def strip(factor: int, help_level: str, *, narrow: bool) -> str:
    """The line that says all the time that this is practice, how fast time runs, with how much help."""
    if narrow:
        return f"time x{factor}, {SHORT_HELPS.get(help_level, help_level)}"
    return f"simulated unit   {pace_words(factor)}   {SHORT_HELPS.get(help_level, help_level)}"
