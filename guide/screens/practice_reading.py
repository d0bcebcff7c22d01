"""A page of practice that is read to its end before Enter goes on."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from guide.screens.fields import GOES_ON
from guide.screens.form_page import FormPage, FormView, form_lines
from guide.screens.paint import Lines, Role, Span, clean, line, listed, quiet
from guide.screens.small import LEAST_HEIGHT, LEAST_WIDTH, too_small

Onward = Callable[[], Awaitable[None]]


class ReadOn(FormPage):
    """Paragraphs; Enter turns the page until the last line was in sight, then goes on. Esc goes back.

    `back` is where Esc leads to; None where the only way is on.
    """

    def __init__(
        self,
        title: str,
        words: tuple[str, ...],
        onward: Onward,
        *,
        accept: str = "go on",
        back: Onward | None = None,
        grave: bool = False,
    ) -> None:
        super().__init__()
        self._title = title
        self._words = words
        self._onward = onward
        self._accept = accept
        self._back = back
        self._grave = grave
        self._top = 0
        self._more = 0
        self._room = 1

    def form(self) -> FormView:
        """The heading and the keys; the paragraphs come between."""
        keys = [("Enter", self._accept if self._more == 0 else "read on"), ("↑↓", "read")]
        if self._back is not None:
            keys.append(("Esc", "back"))
        return FormView(
            self._title, self.filling, said=self.said, nature=self.chargewright.nature, keys=tuple(keys)
        )

    def lines(self, width: int, height: int) -> Lines:
        """As many of the paragraphs as there is room for, and a word where they go on."""
        if width < LEAST_WIDTH or height < LEAST_HEIGHT:
            return too_small(width, height)
        rows = tuple(row for words in self._words for row in listed(clean(words), width))
        if self._grave and rows:
            # the first paragraph says what would have happened: it carries the page
            first = listed(clean(self._words[0]), width)
            said = tuple(line(Span("".join(s.text for s in parts), Role.DANGER)) for parts in first)
            rows = (*said, *rows[len(first) :])
        room = max(1, height - 4)
        self._room = room
        self._top = max(0, min(self._top, len(rows) - room))
        shown = rows[self._top : self._top + room]
        self._more = max(0, len(rows) - self._top - room)
        if self._more and room > 2:
            shown = (*shown[:-1], GOES_ON)
        frame = form_lines(self.form(), width, height)
        return (*frame[:2], *shown, *frame[2 + len(shown) :])

    async def pressed(self, key: str, _character: str | None) -> None:
        """Read on or back, or leave."""
        if key == "enter" and self._more:
            self._top += max(1, self._room - 1)
        elif key == "enter":
            self.chargewright.follow(self._onward(), leaving=True)
        elif key == "escape" and self._back is not None:
            self.chargewright.follow(self._back(), leaving=True)
        else:
            moves = {"down": 1, "up": -1, "pagedown": self._room - 1, "pageup": 1 - self._room}
            moves["space"] = moves["pagedown"]
            self._top += moves.get(key, 0)
        self.said = quiet("")
