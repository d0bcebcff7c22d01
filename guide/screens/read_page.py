"""A page that is only read: a title and paragraphs, scrolled with the arrows."""

from __future__ import annotations

from guide.screens.form_page import FormPage, FormView, form_lines
from guide.screens.paint import Lines, clean, listed


class ReadPage(FormPage):
    """Something long; Enter and Esc go back to where one came from."""

    def __init__(self, title: str, words: tuple[str, ...]) -> None:
        super().__init__()
        self._title = title
        self._words = words
        self._top = 0

    def form(self) -> FormView:
        """The heading and the keys; the paragraphs come between."""
        return FormView(
            self._title, self.filling, said=self.said, nature=self.chargewright.nature,
            keys=(("Enter", "back"), ("↑↓", "read on")),
        )  # fmt: skip

    def lines(self, width: int, height: int) -> Lines:
        """As many of the paragraphs as there is room for."""
        rows = tuple(row for words in self._words for row in listed(clean(words), width))
        frame = form_lines(self.form(), width, height)
        room = height - 4
        if room < 1:
            return frame
        self._top = max(0, min(self._top, len(rows) - room))
        shown = rows[self._top : self._top + room]
        return (*frame[:2], *shown, *frame[2 + len(shown) :])

    async def pressed(self, key: str, _character: str | None) -> None:
        """Read on or back, or leave."""
        moves = {"down": 1, "up": -1, "pagedown": 8, "pageup": -8, "space": 8}
        if key in {"enter", "escape"}:
            self.app.pop_screen()
        self._top += moves.get(key, 0)
