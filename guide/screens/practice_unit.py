"""Panels of a practice run: at the unit, the clock, hints, which step comes next. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from guide.rig.acts import Act, Handling
from guide.rig.pace import FACTORS
from guide.rig.spoken import spoken
from guide.screens.ask import Choice, pick
from guide.screens.filling import Filling
from guide.screens.panel import Panel
from guide.screens.practice_shown import Candidate, Doable
from guide.screens.practice_words import points

UNIT: Final = "at the unit"
HOW: Final = "at the unit: how"
CLOCK: Final = "clock"
HINT: Final = "hint"
NEXT: Final = "which step"
CONCLUDE: Final = "conclusion"
MINE: Final = frozenset({UNIT, HOW, CLOCK, HINT, NEXT, CONCLUDE})
"""Panels that belong to practice; the others are those of any job."""

HINTS: Final = ("where to look", "the rule", "the answer")
BACK: Final = "back"
NO_NOTES: Final[Mapping[str, str]] = MappingProxyType({})


def unit_panel(doables: Sequence[Doable], seen: Sequence[str], *, picked: int = 0, warn: str = "") -> Panel:
    """What hands can do now, under what is connected and open, and what the instruments say."""
    choices = tuple(Choice(str(number), listed(doable)) for number, doable in enumerate(doables))
    filling = (
        Filling.of((pick("act", "", choices, picked=min(picked, len(choices) - 1)),))
        if choices
        else Filling()
    )
    title = "AT THE UNIT: what do your hands do?"
    return Panel(UNIT, title, tuple(seen), filling, accept="do it", warn=warn, stays=True)


def listed(doable: Doable) -> str:
    """One thing that can be done, in the list: with its way where there is only one."""
    if len(doable.ways) == 1:
        return done(doable, 0)
    return f"{doable.words} …"


def done(doable: Doable, way: int) -> str:
    """One thing in one of its ways, whole, in words."""
    words, handling = doable.ways[way]
    if not words:
        return doable.words
    if handling.amount is not None:
        return f"{doable.words} {words}"
    if handling.act is Act.CLAMP:
        return doable.words.replace("a sensor", f"the {words}")  # put in its place, or seated anew
    whole = spoken(handling)
    return f"{whole[:1].upper()}{whole[1:]}"


def place_kept(doables: Sequence[Doable], words: str, picked: int) -> int:
    """Where the cursor stands after the list has changed: on the same words where they are still there.

    Else on the nearest thing that asks how, so that Enter pressed twice does not do something else at once.
    """
    named = [each.words for each in doables]
    if words in named:
        return named.index(words)
    asking = [number for number, each in enumerate(doables) if len(each.ways) > 1]
    if words and asking:
        return min(asking, key=lambda number: abs(number - picked))
    return max(0, min(picked, len(named) - 1))


def how_panel(doable: Doable, seen: Sequence[str], notes: Mapping[str, str] = NO_NOTES) -> Panel:
    """The ways to do one thing: where, or how far; `notes` say what is in a cylinder."""
    choices = tuple(
        Choice(str(number), f"{words}   {notes[words]}" if words in notes else words)
        for number, (words, _) in enumerate(doable.ways)
    )
    filling = Filling.of((pick("way", "", choices, picked=0),))
    return Panel(HOW, f"{doable.words[:1].upper()}{doable.words[1:]} …", tuple(seen), filling,
        accept="do it", stays=True,
    )  # fmt: skip


def picked_doable(panel: Panel, doables: Sequence[Doable]) -> Doable | None:
    """What was picked at the unit, if it is still there."""
    number = int(panel.filling.text("act") or -1)
    return doables[number] if 0 <= number < len(doables) else None


def picked_way(panel: Panel, doable: Doable) -> tuple[str, Handling]:
    """The way that was picked, the whole in words."""
    way = int(panel.filling.text("way"))
    return done(doable, way), doable.ways[way][1]


def clock_panel(factor: int) -> Panel:
    """How fast time runs."""
    choices = tuple(
        Choice(f"{pace}", "as in life" if pace == 1 else f"{pace} times as fast") for pace in FACTORS
    )
    now = FACTORS.index(factor) if factor in FACTORS else 0
    words = ("At the end of a wait, and whenever something happens, time runs as in life again.",)
    filling = Filling.of((pick("pace", "", choices, picked=now),))
    return Panel(CLOCK, "HOW FAST DOES TIME RUN?", words, filling, accept="let it run so")


def next_pace(factor: int) -> int:
    """The next faster pace; from the fastest back to life."""
    at = FACTORS.index(factor) if factor in FACTORS else -1
    return FACTORS[(at + 1) % len(FACTORS)]


def hint_panel(step: str, taken: Sequence[str], costs: tuple[int, int, int]) -> Panel:
    """The hints taken at a step, and what the next one costs."""
    text = tuple(f"{HINTS[number]}: {words}" for number, words in enumerate(taken))
    if len(taken) >= len(HINTS):
        return Panel(HINT, f"HINTS for step {step}: all three are taken", text)
    number = len(taken)
    choices = (
        Choice(BACK, "think again, take none"),
        Choice("take", f"{HINTS[number]}: costs {points(costs[number])}"),
    )
    filling = Filling.of((pick("hint", "", choices, picked=0),))
    return Panel(HINT, f"HINTS for step {step}: {len(taken)} of 3 taken", text, filling, accept="so be it")


def next_panel(candidates: Sequence[Candidate]) -> Panel:
    """Which step comes next, before the sheet shows it."""
    choices = tuple(Choice(candidate.step, candidate.words) for candidate in candidates)
    filling = Filling.of((pick("step", "", choices),))
    return Panel(NEXT, "WHAT DO YOU DO NEXT?", (), filling, accept="this one")


def conclude_panel(ask: str, troubles: Sequence[str]) -> Panel:
    """What was the matter with the unit, asked before the work is handed over."""
    filling = Filling.of((pick("trouble", ask, tuple(Choice(each, each) for each in troubles)),))
    return Panel(CONCLUDE, f"YOUR CONCLUSION: {ask}", (), filling, accept="this one")
