"""What one may do besides going on: the list behind Esc, its fields, and the commands they make. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Literal

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.focus import Focus, Front
from guide.job.state import Entry, JobState, Standing, current_step
from guide.procedure.channels import CHANNELS
from guide.procedure.model import Adjust, Sign, Step, Wait, Weigh
from guide.screens import say
from guide.screens.answer import Keep, begin_weigh, reading
from guide.screens.ask import Ask, Choice, Sort, pick, text
from guide.screens.explain import number_paragraphs, why_paragraphs
from guide.screens.filling import Filling
from guide.screens.panel import Panel
from guide.screens.settings import Settings
from guide.screens.turn import changed_since_round, may_end_early
from guide.screens.weigh_turn import weigh_asks


class Act(StrEnum):
    """One act; its value is what its panel is called by."""

    WHY = "why"
    NUMBERS = "numbers"
    NOTE = "note"
    LATE = "late note"
    PHOTO = "photo"
    REDO = "redo"
    CORRECT = "correct"
    CORRECT_VALUE = "correct value"
    SKIP = "skip"
    PAUSE = "pause"
    HAND = "hand over"
    BREAK = "break off"
    AGAIN = "read again"
    AGAINST = "move against advice"
    END = "end the loop"
    FINISH = "finish weighing"
    OTHER_WAY = "other way"
    AMEND = "amend"
    PLAY = "play on"
    PLAY_ONE = "play one"
    LIGHT = "light"
    LARGE = "large"
    UNITS = "units"
    DETAIL = "detail"
    SWITCH = "switch"
    PICTURE = "picture"
    LEAVE = "leave"
    MENU = "menu"


_USUAL = Settings()


@dataclass(frozen=True, slots=True)
class Offer:
    """One line of the list: its letter and what it does."""

    act: Act
    letter: str
    words: str


def possible(state: JobState, focus: Focus, *, others: bool, can_play: bool,
    settings: Settings = _USUAL, elsewhere: int = 0, pictures: bool = False,
) -> tuple[Offer, ...]:  # fmt: skip
    """The acts that are possible here, the most frequent first."""
    offers: list[Offer] = []
    step = current_step(state)
    at_work = focus.front not in {Front.RESUME, Front.OPEN, Front.CLOSED}
    running = state.weighing is not None or state.waiting is not None
    if can_play:
        offers.append(Offer(Act.PLAY, "a", "let the simulated technician play on"))
        offers.append(Offer(Act.PLAY_ONE, "o", "let it do this one act"))
    if step is not None:
        offers.append(Offer(Act.WHY, "w", f"why: step {step.id} in full, and the order"))
    if elsewhere:
        offers.append(Offer(Act.SWITCH, "j", "to another open job"))
    if pictures:
        offers.append(Offer(Act.PICTURE, "i", "pictures of the readings"))
    offers.append(Offer(Act.NUMBERS, "n", "numbers explained: inputs, rule, source, uncertainty"))
    if focus.front is Front.CLOSED and state.issued:
        offers.append(Offer(Act.AMEND, "m", "amend: corrections and notes, then a new signature"))
    if not at_work:
        return (*offers, *_always(settings))
    offers.append(Offer(Act.NOTE, "t", "take a note"))
    offers.append(Offer(Act.LATE, "l", "late note: of something seen earlier"))
    offers.append(Offer(Act.PHOTO, "f", "file of a photo: kept beside the journal, its hash in the log"))
    if state.entries:
        offers.append(Offer(Act.CORRECT, "c", "correct an entry"))
    if not state.amending:
        offers += _of_the_walk(state, focus, step, running=running)
        offers += _of_the_loop(state, focus, step)
    offers.append(Offer(Act.PAUSE, "p", "pause the job"))
    if others and not state.amending:
        offers.append(Offer(Act.HAND, "h", "hand over to another technician"))
    if not state.aborted and not state.amending:
        offers.append(Offer(Act.BREAK, "b", "break off: leave the unit in a safe state"))
    return (*offers, *_always(settings))


def _always(settings: Settings) -> tuple[Offer, ...]:
    return (
        Offer(Act.LARGE, "z", "large numbers, or the whole sheet"),
        Offer(Act.UNITS, "u", f"units, now {settings.system}"),
        Offer(Act.DETAIL, "y", f"how much is said, now {settings.detail}"),
        Offer(Act.LIGHT, "d", f"colours, now for {settings.light}"),
        Offer(Act.LEAVE, "x", "leave; the job stays open at this place"),
    )


def _of_the_walk(state: JobState, focus: Focus, step: Step | None, *, running: bool) -> list[Offer]:
    offers = []
    if not running and _redoable(state):
        offers.append(Offer(Act.REDO, "r", "redo a step"))
    skippable = step is not None and not step.hold and not isinstance(step.proof, Sign)
    if skippable and not running and focus.front in {Front.STEP, Front.HAZARD}:
        offers.append(Offer(Act.SKIP, "s", "skip this step"))
    proof = step.proof if step is not None and focus.front is Front.STEP else None
    if isinstance(proof, Wait) and state.waiting is not None and may_end_early(proof):
        offers.append(Offer(Act.AGAIN, "g", "read now: it is clearly not held"))
    if isinstance(proof, Weigh) and proof.repeat:
        offers.append(Offer(Act.FINISH, "e", "end the weighings of this step"))
    return offers


def _of_the_loop(state: JobState, focus: Focus, step: Step | None) -> list[Offer]:
    if step is None or focus.front is not Front.STEP or not isinstance(step.proof, Adjust):
        return []
    if changed_since_round(state, step.id):
        return []
    offers = [Offer(Act.AGAIN, "g", "read again: another round")]
    offers.append(Offer(Act.AGAINST, "m", "move refrigerant against the advice"))
    if state.rounds[-1].read.assessment.action not in {"done", "stop"}:
        offers.append(Offer(Act.END, "e", "end the charging against the advice"))
    return offers


def _redoable(state: JobState) -> list[Step]:
    return [
        step
        for part in state.path()
        for step in part.steps
        if state.standing(step.id) in {Standing.DONE, Standing.SKIPPED}
    ]


def menu(offers: Sequence[Offer]) -> Panel:
    """The list itself: a letter does it at once."""
    choices = tuple(Choice(o.act.value, o.words, letter=o.letter) for o in offers)
    asks = (pick("act", "What else?", choices, picked=0),)
    return Panel(
        Act.MENU, "MORE: a letter, or the arrows and Enter", filling=Filling.of(asks), accept="do it"
    )


_WHY_PAUSE = ("break", "called away", "waiting for a part")
_WHY_SKIP = ("does not apply to this unit", "can't be reached")
_WHY_REDO = ("read wrong", "was disturbed", "not sure")
_WHY_CORRECT = ("typed wrong", "read wrong")


def panel(act: Act, state: JobState, people: Mapping[str, str]) -> Panel | None:
    """The fields or the text of an act; None for one that needs neither."""
    step = current_step(state)
    if act is Act.WHY and step is not None:
        return Panel(act, f"STEP {step.id}  {step.do}", why_paragraphs(state, step))
    if act is Act.NUMBERS:
        return Panel(act, "WHAT THE NUMBERS SAY, AND WHY", number_paragraphs(state))
    asks = _asks(act, state, people)
    if not asks:
        return None
    title, accept = _WORDS[act]
    warn = ""
    if act in {Act.PAUSE, Act.HAND} and state.weighing is not None:
        warn = "A weighing is open. CLOSE the cylinder valve before you go."
    filling = Filling.of(asks, state.order.site_pressure_Pa)
    return Panel(act, title, filling=filling, accept=accept, warn=warn)


_WORDS = {
    Act.NOTE: ("A NOTE", "write it down"),
    Act.LATE: ("A LATE NOTE: say when it was seen", "write it down"),
    Act.PHOTO: ("A PHOTO: a copy is kept, its hash stands in the record", "keep it"),
    Act.REDO: ("REDO A STEP: what was entered stays in the log", "redo it"),
    Act.CORRECT: ("CORRECT AN ENTRY: which?", "this one"),
    Act.SKIP: ("SKIP THIS STEP: it stands on the first page of the record", "skip it"),
    Act.PAUSE: ("PAUSE", "pause"),
    Act.HAND: ("HAND OVER", "hand over"),
    Act.BREAK: ("BREAK OFF: the steps for a safe state come next", "break off"),
    Act.AGAINST: ("MOVE AGAINST THE ADVICE: it stands on the first page of the record", "open the valve"),
    Act.END: ("END THE CHARGING AGAINST THE ADVICE", "end it"),
    Act.FINISH: ("END THE WEIGHINGS: short of its target it needs a reason", "end them"),
    Act.AMEND: ("AMEND THE RECORD: the one before stays, and is named in the new one", "amend"),
    Act.OTHER_WAY: ("ANOTHER WAY THAN THE ONE OFFERED", "take it"),
}


def _asks(  # noqa: PLR0911 - one return an act
    act: Act, state: JobState, people: Mapping[str, str]
) -> tuple[Ask, ...]:
    match act:
        case Act.NOTE | Act.LATE:
            return (text("text", "Note"),)
        case Act.PHOTO:
            return (text("file", "Its file", note="paste or drop it here"), text("text", "What it shows"))
        case Act.REDO:
            done = tuple(Choice(s.id, f"{s.id}  {s.do}") for s in reversed(_redoable(state)))
            return (pick("step", "Which step?", done), text("reason", "Why", suggestions=_WHY_REDO))
        case Act.CORRECT:
            return (pick("entry", "Entry", tuple(_entry_choice(state, e) for e in reversed(state.entries))),)
        case Act.HAND:
            others = tuple(Choice(k, f"{name} ({k})") for k, name in people.items() if k != state.present)
            return (pick("to", "To whom?", others), text("reason", "Why"))
        case Act.AGAINST:
            ways = (Choice("in", "add to the system"), Choice("out", "recover from the system"))
            return (pick("way", "Which way?", ways), text("reason", "Why"), *weigh_asks(state, None))
        case Act.FINISH:
            return (text("reason", "Why", needed=False, note="may stay empty on target"),)
        case Act.PAUSE | Act.SKIP | Act.BREAK | Act.END | Act.OTHER_WAY | Act.AMEND:
            suggestions = {Act.PAUSE: _WHY_PAUSE, Act.SKIP: _WHY_SKIP}.get(act, ())
            return (text("reason", "Why", suggestions=suggestions),)
    return ()


def _entry_choice(state: JobState, entry: Entry) -> Choice:
    label = _label(entry)
    value = say.reading(entry.value, state.order.site_pressure_Pa)
    return Choice(f"{entry.seq}:{entry.channel}", f"{entry.step}  {label}  {value}")


def _label(entry: Entry) -> str:
    if entry.channel in CHANNELS:
        return CHANNELS[entry.channel].label
    return entry.channel.capitalize()


def photo_of(filling: Filling) -> tuple[Path, str]:
    """The file of a photo and what it shows; a path that a terminal put in quotes is taken without them."""
    typed = filling.text("file")
    for mark in "'\"":
        if len(typed) > 1 and typed[0] == typed[-1] == mark:
            typed = typed[1:-1]
    return Path(typed).expanduser().absolute(), filling.text("text")


def chosen_entry(state: JobState, filling: Filling) -> Entry:
    """The entry that was picked to be corrected."""
    seq, _, channel = filling.text("entry").partition(":")
    return next(e for e in state.entries if e.seq == int(seq) and e.channel == channel)


def correction(state: JobState, entry: Entry) -> Panel:
    """The fields for a correction: the new value and why."""
    unit = entry.value.unit
    old = say.reading(entry.value, state.order.site_pressure_Pa)
    asks = (
        Ask("new", _label(entry), Sort.QUANTITY, unit=unit, note=f"was {old}"),
        text("reason", "Why", suggestions=_WHY_CORRECT),
    )
    act = f"{Act.CORRECT_VALUE}:{entry.seq}:{entry.channel}"
    title = f"CORRECT {entry.step}: the old value stays in the log"
    return Panel(act, title, filling=Filling.of(asks, state.order.site_pressure_Pa), accept="correct it")


def command(shown: Panel, state: JobState, focus: Focus, person: p.Person, keep: Keep) -> c.Command:  # noqa: PLR0911 - one return an act
    """What a filled-in panel asks of the job.

    Raises:
        UnitError: a field holds no quantity.
    """
    filling = shown.filling
    step = focus.step.id if focus.step else ""
    if shown.act.startswith(f"{Act.CORRECT_VALUE}:"):
        _, seq, channel = shown.act.split(":", 2)
        entry = next(e for e in state.entries if e.seq == int(seq) and e.channel == channel)
        new = reading(state.order, filling, "new", entry.value.channel, keep)
        return c.Correct(entry.seq, channel, new, keep(filling.text("reason")))
    match Act(shown.act):
        case Act.NOTE:
            return c.Note(keep(filling.text("text")))
        case Act.LATE:
            return c.Note(keep(filling.text("text")), late=True)
        case Act.REDO:
            return c.Redo(filling.text("step"), keep(filling.text("reason")))
        case Act.SKIP:
            return c.Skip(step, keep(filling.text("reason")))
        case Act.PAUSE:
            return c.Pause(keep(filling.text("reason")))
        case Act.HAND:
            return c.HandOver(filling.text("to"), keep(filling.text("reason")))
        case Act.BREAK:
            return c.Abort(keep(filling.text("reason")))
        case Act.FINISH:
            reason = filling.text("reason")
            return c.EndWeighing(step, keep(reason) if reason else None)
        case Act.AMEND:
            return c.Reopen(person, keep(filling.text("reason")), state.issued[-1].sha256)
        case Act.AGAINST:
            direction: Literal["in", "out"] = "in" if filling.text("way") == "in" else "out"
            return begin_weigh(state, step, direction, filling, keep, against=filling.text("reason"))
        case _:
            return c.EndAdjust(step, keep(filling.text("reason")))
