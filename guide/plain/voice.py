"""The terminal, line by line: no cursor, no colour, nothing painted twice."""

from __future__ import annotations

import contextlib
import getpass
import os
import select
import shutil
import signal
import sys
import textwrap
import time
from collections.abc import Iterator
from types import FrameType
from typing import Final, Protocol

from guide.errors import ChargewrightError
from guide.plain.lettering import printable, takes_utf8

_LONGEST_LINE_BYTES: Final = 8192
_SHORT_WAIT_S: Final = 0.5
_WIDEST: Final = 100
_NARROWEST: Final = 20


class Gone(ChargewrightError):
    """Nothing more can be typed: the input came to its end."""


class Interrupted(ChargewrightError):
    """Ctrl-C was pressed."""


class TimeUp(ChargewrightError):
    """The time came before a line did."""


class Voice(Protocol):
    """Somebody who is told lines and answers with lines."""

    def say(self, *words: str) -> None:
        """Say paragraphs, each from the start of a line."""

    def line(self, prompt: str, within_s: float | None = None) -> str:
        """Ask for one line.

        Raises:
            Gone, Interrupted, TimeUp: no line came, and why.
        """

    def secret(self, prompt: str) -> str:
        """Ask for one line that is not shown.

        Raises:
            Gone, Interrupted: no line came, and why.
        """


class Terminal:
    """The person at standard input and output."""

    def __init__(self) -> None:
        self._utf8 = takes_utf8(sys.stdout.encoding, os.environ, posix=sys.platform != "win32")
        self._kept = b""
        self._reading = False
        self._pending = False

    @contextlib.contextmanager
    def listening(self) -> Iterator[None]:
        """While it lasts, Ctrl-C asks instead of ending the program; work under way is not cut off."""
        before = signal.signal(signal.SIGINT, self._interrupt)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)

    def _interrupt(self, _number: int, _frame: FrameType | None) -> None:
        if self._reading:
            raise KeyboardInterrupt
        self._pending = True

    def say(self, *words: str) -> None:
        """Say paragraphs, broken at words."""
        for paragraph in words:
            self._write(self._broken(paragraph) + "\n")

    def _broken(self, paragraph: str) -> str:
        """Lines broken at words, to the width of the terminal."""
        columns = shutil.get_terminal_size((80, 24)).columns - 1
        width = max(_NARROWEST, min(_WIDEST, columns))
        whole = printable(paragraph, utf8=self._utf8)
        return "\n".join(textwrap.wrap(whole, width, break_long_words=False, break_on_hyphens=False))

    def line(self, prompt: str, within_s: float | None = None) -> str:
        """Ask for one line; bytes that are no text are marked."""
        self._write(self._broken(prompt) + " ")
        with self._at_input():
            return self._read(within_s).decode(errors="replace")

    def secret(self, prompt: str) -> str:
        """Ask for one line without echo."""
        with self._at_input():
            try:
                return getpass.getpass(printable(prompt, utf8=self._utf8) + " ")
            except EOFError:
                self._write("\n")
                raise Gone("the input came to its end") from None
            except UnicodeDecodeError:
                return ""

    def bell(self) -> None:
        """Ring once."""
        self._write("\a")

    @contextlib.contextmanager
    def _at_input(self) -> Iterator[None]:
        try:
            # in this order no Ctrl-C falls between the two: it is pending, or it raises
            self._reading = True
            if self._pending:
                raise KeyboardInterrupt  # noqa: TRY301 - the same way as one that comes now
            yield
        except KeyboardInterrupt:
            self._pending = False
            self._kept = b""
            self._write("\n")
            raise Interrupted("interrupted") from None
        finally:
            self._reading = False

    def _comes(self, source: int, within_s: float | None) -> bool:
        """Wait until there is something to read, or the time is up; whether there is.

        In short waits: a Ctrl-C that comes just before one is seen when it ends.
        """
        end = None if within_s is None else time.monotonic() + within_s
        while True:
            left = _SHORT_WAIT_S if end is None else min(_SHORT_WAIT_S, max(0.0, end - time.monotonic()))
            ready, _, _ = select.select([source], [], [], left)
            if ready:
                return True
            if end is not None and time.monotonic() >= end:
                return False

    def _read(self, within_s: float | None) -> bytes:
        """The next whole line; half a line before the end of the input is no answer."""
        source = sys.stdin.fileno()
        while b"\n" not in self._kept:
            if sys.platform != "win32" and not self._comes(source, within_s):
                self._write("\n")
                self.bell()
                raise TimeUp("time is up")
            try:
                more = os.read(source, _LONGEST_LINE_BYTES)
            except OSError:
                more = b""  # the terminal was closed
            if not more:
                self._kept = b""
                self._write("\n")
                raise Gone("the input came to its end")
            self._kept = (self._kept + more)[: 2 * _LONGEST_LINE_BYTES]
            if len(self._kept) == 2 * _LONGEST_LINE_BYTES and b"\n" not in self._kept:
                self._kept += b"\n"
        found, _, self._kept = self._kept.partition(b"\n")
        return found.rstrip(b"\r")

    def _write(self, text: str) -> None:
        try:
            sys.stdout.write(text)
            sys.stdout.flush()
        except OSError:
            raise Gone("nobody hears any more") from None
