"""Fields asked one by one, a line each; the fields themselves are those of the screens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from guide.errors import ChargewrightError
from guide.plain.hearing import AGAIN, Hearing
from guide.plain.voice import Voice
from guide.screens.ask import Ask, Sort, unit_words
from guide.screens.entry import Typed
from guide.screens.filling import Cell, Filling, Outcome

MORE = "?"
BACK = "<"


class WantsMore(ChargewrightError):
    """The person asked what else can be done here."""


def not_before_the_end(_filling: Filling) -> bool:
    """Every field is asked."""
    return False


@dataclass(slots=True)
class Form:
    """Fields being filled in; what was typed stays when the person turns to something else."""

    filling: Filling

    def restart(self) -> None:
        """Ask all of them again."""
        self.filling = Filling.of(self.filling.asks, self.filling.site_pressure_Pa)


def fill(
    voice: Voice,
    form: Form,
    *,
    hearing: Hearing | None = None,
    over: Callable[[Filling], bool] = not_before_the_end,
) -> None:
    """Ask for every field that is left, until `over` says that what there is will do.

    `hearing` is what a stream says of the fields; an empty line accepts its value.

    Raises:
        WantsMore: "?" was typed, or nothing where a secret was asked.
        Gone, Interrupted: no line came.
    """
    outcome = Outcome.STAY
    while form.filling.asks and outcome is not Outcome.DONE and not over(form.filling):
        cell, at = form.filling.cells[form.filling.at], form.filling.at
        filling = _asked(voice, form, hearing)
        if filling is None:
            continue
        form.filling, outcome = filling.press("enter")
        landed = form.filling.cells[form.filling.at]
        if landed.fault and landed.why is None:
            voice.say(f"{form.filling.asks[form.filling.at].label}: {_typed_line(landed.fault)}")
        elif (
            form.filling.at == at and landed.why is not None and not landed.why.text and cell.why is not None
        ):
            voice.say(landed.fault)


def _asked(voice: Voice, form: Form, hearing: Hearing | None) -> Filling | None:
    """The fields with an answer in the active one; None where it has to be asked again."""
    filling = form.filling
    ask, cell = filling.asks[filling.at], filling.cells[filling.at]
    if ask.sort is not Sort.QUANTITY or cell.why is not None:
        hearing = None
    offered, news = hearing.offer(filling) if hearing else ("", ())
    voice.say(*news)
    written = _hear(voice, ask, cell, offered)
    if written == BACK:
        form.filling = _back(filling)
        return None
    if hearing and written.casefold() == AGAIN:
        return None
    put = _put(filling, written, cell)
    if put is None:
        voice.say(_how_to_pick(ask))
    elif hearing:
        put, question = hearing.take(put, written)
        if question:
            form.filling = put
            voice.say(_typed_line(question))
            return None
    return put


def _typed_line(words: str) -> str:
    """Words about a key, for somebody who answers with lines."""
    words = words.replace("Enter keeps it and asks why.", "An empty line keeps it and asks why.")
    return words.replace("Enter again keeps what you typed.", "An empty line keeps what you typed.")


def _hear(voice: Voice, ask: Ask, cell: Cell, offered: str) -> str:
    if ask.sort is Sort.SECRET:
        written = voice.secret(f"{ask.label}{_in_brackets(ask.note, 'not shown; empty goes back')}:")
        if not written:
            raise WantsMore("nothing typed")
        return written
    if cell.why is not None:
        written = voice.line(
            f"Why is {cell.typed.text.strip()} right? ({BACK} types the value again):"
        ).strip()
    elif ask.sort is Sort.PICK:
        written = _hear_pick(voice, ask, cell)
    else:
        voice.say(*(f"  {number}  {words}" for number, words in enumerate(ask.suggestions, 1)))
        written = voice.line(_prompt(ask, cell, offered)).strip()
    if written == MORE:
        raise WantsMore("?")
    return written


def _hear_pick(voice: Voice, ask: Ask, cell: Cell) -> str:
    words = [ask.label or "Which?"]
    for number, choice in enumerate(ask.choices, 1):
        words.append(f"  {number}  {choice.words}" + (f" ({choice.note})" if choice.note else ""))
    voice.say(*words)
    taken = f", empty takes {cell.picked + 1}" if cell.picked is not None else ""
    return voice.line(f"Number{taken}:").strip()


def _prompt(ask: Ask, cell: Cell, offered: str) -> str:
    unit = f", {unit_words(ask.unit)}" if ask.sort is Sort.QUANTITY else ""
    hints = [ask.note, "a number above, or your own words" if ask.suggestions else ""]
    if offered:
        hints.append(offered)
    elif cell.typed.text.strip():
        hints.append(f"empty keeps {cell.typed.text.strip()}")
    return f"{ask.label}{unit}{_in_brackets(*hints)}:"


def _in_brackets(*hints: str) -> str:
    said = "; ".join(hint for hint in hints if hint)
    return f" ({said})" if said else ""


def _put(filling: Filling, written: str, cell: Cell) -> Filling | None:
    """The fields with a line in the active one; None where it picks nothing."""
    ask = filling.asks[filling.at]
    if cell.why is not None:
        return _with(filling, replace(cell, why=Typed().insert(written)))
    if not written:
        return filling
    if ask.sort is not Sort.PICK:
        return _with(filling, Cell(Typed().insert(written)))
    if written.isascii() and written.isdecimal():
        number = int(written) if len(written) < 6 else 0
        return _with(filling, Cell(picked=number - 1)) if 1 <= number <= len(ask.choices) else None
    for position, choice in enumerate(ask.choices):
        if written.casefold() in {choice.value.casefold(), choice.words.casefold(), choice.letter or "\n"}:
            return _with(filling, Cell(picked=position))
    return None


def _back(filling: Filling) -> Filling:
    """The field before; a reason asked for gives way to the value it was about."""
    if filling.cells[filling.at].why is not None:
        return _with(filling, Cell())
    at = max(0, filling.at - 1)
    return _with(replace(filling, at=at), Cell())


def _with(filling: Filling, cell: Cell) -> Filling:
    cells = (*filling.cells[: filling.at], cell, *filling.cells[filling.at + 1 :])
    return replace(filling, cells=cells)


def _how_to_pick(ask: Ask) -> str:
    return f"Type a number from 1 to {len(ask.choices)}, or {MORE} for what else can be done."
