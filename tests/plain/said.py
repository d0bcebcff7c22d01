"""Somebody at the plain prompt who answers from a list."""

from __future__ import annotations

import time
from collections.abc import Callable

from guide.plain.voice import Gone, TimeUp


class Said:
    """Keeps what was said; when the answers are over the input has come to its end.

    "+N words" lets N seconds pass before the words; "..." lets the time run out where a line has one.
    """

    def __init__(
        self, *answers: str, passes: Callable[[float], None] | None = None, pause_s: float = 0.0
    ) -> None:
        self.words: list[str] = []
        self.seconds = 0.0
        self._answers = list(answers)
        self._passes = passes
        self._pause_s = pause_s

    def say(self, *words: str) -> None:
        self.words += words

    def line(self, prompt: str, within_s: float | None = None) -> str:
        self.words.append(prompt)
        if not self._answers:
            raise Gone("no more answers")
        time.sleep(self._pause_s)
        answer = self._answers.pop(0)
        if answer == "...":
            assert within_s is not None, prompt
            assert self._passes is not None
            self._passes(within_s + 1)
            raise TimeUp("time is up")
        if answer.startswith("+"):
            late, _, answer = answer[1:].partition(" ")
            self.seconds += float(late)
        return answer

    def secret(self, prompt: str) -> str:
        raise AssertionError(prompt)

    @property
    def told(self) -> str:
        """All of it."""
        return "\n".join(self.words)
