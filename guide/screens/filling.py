"""A set of fields being filled in: keys in, fields out. Pure, one model for every page that asks.

Enter accepts a field and goes to the next; the last Enter means DONE. Up and down go between fields
or through answers; where there is nothing to go to they look around. A value outside its likely range
is kept only with a reason, typed in the same place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING

from guide.screens.ask import Ask, Sort, read_quantity, unlikely, with_unit
from guide.screens.entry import Typed
from guide.units import Quantity, UnitError

if TYPE_CHECKING:
    from guide.job.payloads import ReadingValue

_EMPTY = Typed()


class Outcome(StrEnum):
    """What a key led to."""

    STAY = "stay"
    DONE = "done"
    BACK = "look back"
    AHEAD = "look ahead"
    IGNORED = "ignored"


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in one field."""

    typed: Typed = _EMPTY
    picked: int | None = None
    fault: str = ""
    unlikely: bool = False
    why: Typed | None = None
    proposed: bool = False
    """Put there by the program: what a person types takes its place."""


@dataclass(frozen=True, slots=True)
class Filling:
    """Fields and what stands in them; `at` is the active one, `accepted` what came from a stream."""

    asks: tuple[Ask, ...] = ()
    cells: tuple[Cell, ...] = ()
    at: int = 0
    site_pressure_Pa: Decimal | None = None
    accepted: Mapping[str, ReadingValue] = field(default_factory=dict)

    @classmethod
    def of(cls, asks: tuple[Ask, ...], site_pressure_Pa: Decimal | None = None) -> Filling:
        """Fields nobody has touched."""
        cells = tuple(Cell(Typed.of(ask.start), ask.picked) for ask in asks)
        return cls(asks, cells, 0, site_pressure_Pa)

    @property
    def active(self) -> Ask | None:
        """The field the next key goes to."""
        return self.asks[self.at] if self.asks else None

    def cell(self, key: str) -> Cell:
        """What stands in a field.

        Raises:
            KeyError: there is no such field.
        """
        for ask, cell in zip(self.asks, self.cells, strict=True):
            if ask.key == key:
                return cell
        raise KeyError(key)

    def text(self, key: str) -> str:
        """What was typed or picked, with its unit."""
        ask = next(ask for ask in self.asks if ask.key == key)
        cell = self.cell(key)
        if ask.sort is Sort.PICK:
            return ask.choices[cell.picked].value if cell.picked is not None else ""
        if ask.sort is Sort.SECRET:
            return cell.typed.text
        typed = cell.typed.text.strip()
        if ask.sort is Sort.QUANTITY:
            return with_unit(typed, ask.unit)
        if len(typed) == 1 and typed.isdecimal() and 1 <= int(typed) <= len(ask.suggestions):
            return ask.suggestions[int(typed) - 1]
        return typed

    def quantity(self, key: str) -> Quantity:
        """The quantity in a field.

        Raises:
            UnitError: there is none.
        """
        ask = next(ask for ask in self.asks if ask.key == key)
        return read_quantity(ask, self.cell(key).typed.text, self.site_pressure_Pa)

    def reason(self, key: str) -> str | None:
        """Why an unlikely value is right all the same."""
        cell = self.cell(key)
        return cell.why.text.strip() if cell.unlikely and cell.why else None

    def with_asks(self, asks: tuple[Ask, ...]) -> Filling:
        """The same fields asked in other words or units; what was typed keeps the unit it was typed in."""
        cells = tuple(
            replace(cell, typed=Typed.of(with_unit(cell.typed.text, before.unit)))
            if before.sort is Sort.QUANTITY and before.unit != ask.unit and cell.typed.text.strip()
            else cell
            for before, ask, cell in zip(self.asks, asks, self.cells, strict=True)
        )
        return replace(self, asks=asks, cells=cells)

    def with_fault(self, key: str, fault: str) -> Filling:
        """The same fields, a fault under one of them, which becomes the active one."""
        position = next(n for n, ask in enumerate(self.asks) if ask.key == key)
        return replace(self._with(position, replace(self.cells[position], fault=fault)), at=position)

    def with_accepted(self, value: ReadingValue) -> Filling:
        """The same fields, the active one filled with a value that a stream offered."""
        assert self.active is not None
        shown = replace(self.cells[self.at], typed=Typed.of(value.typed), fault="", unlikely=False)
        return replace(self._with(self.at, shown), accepted={**self.accepted, self.active.key: value})

    def propose(self, text: str) -> Filling:
        """The same fields, the active one filled with a proposal that typing replaces."""
        return self._set(Cell(Typed.of(text), proposed=True))

    def paste(self, pasted: str) -> Filling:
        """The fields after pasting into the active one."""
        if self.active is None or self.active.sort is Sort.PICK:
            return self
        cell = self.cells[self.at]
        if cell.why is not None:
            return self._with(self.at, replace(cell, why=cell.why.insert(pasted)))
        return self._with(self.at, replace(cell, typed=cell.typed.insert(pasted), fault="", unlikely=False))

    def press(self, key: str, character: str | None = None) -> tuple[Filling, Outcome]:  # noqa: PLR0911 - one return a key
        """The fields after a key, and what the key led to."""
        ask = self.active
        if key == "pageup":
            return self, Outcome.BACK
        if key == "pagedown":
            return self, Outcome.AHEAD
        if ask is None:
            return self, {"enter": Outcome.DONE, "up": Outcome.BACK, "down": Outcome.AHEAD}.get(
                key, Outcome.IGNORED
            )
        match key:
            case "enter":
                return self._enter()
            case "tab":
                return self._go(min(self.at + 1, len(self.asks) - 1)), Outcome.STAY
            case "shift+tab":
                return self._go(max(self.at - 1, 0)), Outcome.STAY
        if ask.sort is Sort.PICK:
            return self._pick(ask, key, character)
        if key in {"up", "down"}:
            return self._move(key)
        cell = self.cells[self.at]
        if cell.why is not None:
            why = cell.why.press(key, character)
            return (
                (self, Outcome.IGNORED) if why is None else (self._set(replace(cell, why=why)), Outcome.STAY)
            )
        fresh = cell.proposed and character is not None and character.isprintable()
        typed = (Typed() if fresh else cell.typed).press(key, character)
        if typed is None:
            return self, Outcome.IGNORED
        if typed.text == cell.typed.text:
            return self._set(replace(cell, typed=typed)), Outcome.STAY
        return self._set(Cell(typed)), Outcome.STAY

    def _with(self, position: int, cell: Cell) -> Filling:
        return replace(self, cells=(*self.cells[:position], cell, *self.cells[position + 1 :]))

    def _set(self, cell: Cell) -> Filling:
        return self._with(self.at, cell)

    def _go(self, position: int) -> Filling:
        return replace(self, at=position)

    def _move(self, key: str) -> tuple[Filling, Outcome]:
        if key == "up":
            return (self._go(self.at - 1), Outcome.STAY) if self.at else (self, Outcome.BACK)
        if self.at + 1 < len(self.asks):
            return self._go(self.at + 1), Outcome.STAY
        return self, Outcome.AHEAD

    def _pick(  # noqa: PLR0911 - one return a key
        self, ask: Ask, key: str, character: str | None
    ) -> tuple[Filling, Outcome]:
        cell = self.cells[self.at]
        last = len(ask.choices) - 1
        match key:
            case "down" if cell.picked is None or cell.picked < last:
                return self._set(Cell(picked=0 if cell.picked is None else cell.picked + 1)), Outcome.STAY
            case "up" if cell.picked:
                return self._set(Cell(picked=cell.picked - 1)), Outcome.STAY
            case "up" | "down":
                # an answer is never left by going one too far, unless another field lies that way
                moved, outcome = self._move(key)
                looking = outcome in {Outcome.BACK, Outcome.AHEAD} and cell.picked is not None
                return (self, Outcome.STAY) if looking else (moved, outcome)
            case "left":
                return self, Outcome.BACK
            case "right":
                return self, Outcome.AHEAD
        if character:
            if character.isdecimal() and 1 <= int(character) <= len(ask.choices):
                return self._set(Cell(picked=int(character) - 1)), Outcome.STAY
            for position, choice in enumerate(ask.choices):
                if choice.letter and choice.letter == character.casefold():
                    return self._set(Cell(picked=position))._enter()
            return self._on_to_text(ask, cell, character)
        return self, Outcome.IGNORED

    def _on_to_text(self, ask: Ask, cell: Cell, character: str) -> tuple[Filling, Outcome]:
        """A letter that picks nothing is meant for the text behind the list; it is not eaten."""
        if len(character) != 1 or not character.isprintable() or character.isspace():
            return self, Outcome.IGNORED
        if cell.picked is None or any(choice.letter for choice in ask.choices):
            return self._set(replace(cell, fault=_how_to_pick(ask))), Outcome.STAY
        behind = self.asks[self.at + 1] if self.at + 1 < len(self.asks) else None
        if behind is None or behind.sort is Sort.PICK:
            return self, Outcome.IGNORED
        return self._go(self.at + 1).press(character, character)

    def _enter(self) -> tuple[Filling, Outcome]:
        checked = self._checked(self.at, here=True)
        if checked.cells[self.at].fault:
            return checked, Outcome.STAY
        for position in range(self.at + 1, len(self.asks)):
            return checked._go(position), Outcome.STAY
        for position in range(len(self.asks)):
            checked = checked._checked(position, here=False)
            if checked.cells[position].fault:
                return checked._go(position), Outcome.STAY
        return checked, Outcome.DONE

    def _checked(self, position: int, *, here: bool) -> Filling:
        """The fields, the one at a position held against what it asks."""
        ask, cell = self.asks[position], self.cells[position]
        if ask.same and cell.typed.text.strip() == "=":
            cell = replace(cell, typed=Typed.of(ask.same))
        fault, odd, why = "", cell.unlikely, cell.why
        empty = not cell.typed.text.strip()
        if ask.sort is Sort.PICK:
            fault = "" if cell.picked is not None else _how_to_pick(ask)
        elif empty and not ask.needed:
            fault = ""
        elif ask.sort is Sort.QUANTITY:
            fault, odd, why = self._quantity_fault(ask, cell, here=here)
        elif empty:
            fault = "nothing typed yet"
        elif ask.suggestions:
            cell = replace(cell, typed=Typed.of(self.text(ask.key)))
        return self._with(position, replace(cell, fault=fault, unlikely=odd, why=why))

    def _quantity_fault(self, ask: Ask, cell: Cell, *, here: bool) -> tuple[str, bool, Typed | None]:
        try:
            value = read_quantity(ask, cell.typed.text, self.site_pressure_Pa)
        except UnitError as error:
            return str(error), False, None
        words = unlikely(ask, value, self.site_pressure_Pa)
        if words is None:
            return "", False, None
        if cell.why is not None:
            return ("" if cell.why.text.strip() else "say in a few words why it is right"), True, cell.why
        # the first Enter says so, the second on the same value asks for the reason
        if here and cell.unlikely:
            return "say in a few words why it is right", True, Typed()
        return words, True, None


def _how_to_pick(ask: Ask) -> str:
    number = len(ask.choices)
    if any(choice.letter for choice in ask.choices):
        return "press a letter that stands before a line, or use the arrows"
    if number == 1:
        return "pick it with 1"
    return f"pick what you see: 1 {'or' if number == 2 else 'to'} {number}, or the arrows"
