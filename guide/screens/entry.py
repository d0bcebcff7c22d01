"""A line of text being typed: characters in, characters out, a cursor. Pure."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace

LONGEST = 400
"""Characters a typed line may have; what is pasted beyond is cut off."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in a field, and where the next character goes."""

    text: str = ""
    cursor: int = 0

    @classmethod
    def of(cls, text: str) -> Typed:
        """A field that holds a text, the cursor behind it."""
        return cls(text, len(text))

    def insert(self, text: str) -> Typed:
        """The field after typing or pasting; line breaks become blanks, control characters go."""
        kept = "".join(
            " " if c in "\r\n\t" else c for c in text if c in "\r\n\t" or unicodedata.category(c) != "Cc"
        )
        kept = kept[: max(0, LONGEST - len(self.text))]
        return Typed(self.text[: self.cursor] + kept + self.text[self.cursor :], self.cursor + len(kept))

    def press(  # noqa: PLR0911 - one return a key
        self, key: str, character: str | None
    ) -> Typed | None:
        """The field after a key, or None when the key is none of its own."""
        match key:
            case "backspace":
                start = max(0, self.cursor - 1)
                return Typed(self.text[:start] + self.text[self.cursor :], start)
            case "delete":
                return Typed(self.text[: self.cursor] + self.text[self.cursor + 1 :], self.cursor)
            case "left":
                return replace(self, cursor=max(0, self.cursor - 1))
            case "right":
                return replace(self, cursor=min(len(self.text), self.cursor + 1))
            case "home":
                return replace(self, cursor=0)
            case "end":
                return replace(self, cursor=len(self.text))
            case "ctrl+u":
                return Typed()
        if character is not None and len(character) == 1 and character.isprintable():
            return self.insert(character)
        return None
