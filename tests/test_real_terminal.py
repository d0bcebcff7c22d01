"""The program in a real terminal (tmux), at the two sizes it is made for."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.needs("tmux")


class Terminal:
    """One terminal of a tmux server of its own."""

    def __init__(self, folder: Path, columns: int, rows: int) -> None:
        self._server = ["tmux", "-S", str(folder / "tmux")]
        program = f"{sys.executable} -m guide --data {folder / 'data'}"
        size = ["-x", str(columns), "-y", str(rows)]
        self._tmux("new-session", "-d", "-s", "t", *size, program)

    def _tmux(self, *words: str) -> str:
        return subprocess.run([*self._server, *words], capture_output=True, text=True, check=True).stdout

    def press(self, *keys: str) -> None:
        self._tmux("send-keys", "-t", "t", *keys)

    def wait_for(self, words: str, seconds: float = 30) -> list[str]:
        """The screen's lines once they show these words."""
        until = time.monotonic() + seconds
        screen = ""
        while time.monotonic() < until:
            screen = self._tmux("capture-pane", "-p", "-t", "t")
            if words in screen:
                return screen.splitlines()
            time.sleep(0.05)
        raise AssertionError(f"{words!r} was never painted; the screen shows\n{screen}")

    def close(self) -> None:
        subprocess.run([*self._server, "kill-server"], capture_output=True, check=False)


@pytest.fixture(params=[(80, 24), (120, 36)], ids=["80x24", "120x36"])
def terminal(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Terminal]:
    made = Terminal(tmp_path, *request.param)
    yield made
    made.close()


def test_home_quick_look_and_back_in_a_real_terminal(terminal: Terminal) -> None:
    lines = terminal.wait_for("No open job")
    assert "WHAT NEXT?" in lines[0]

    terminal.press("q")
    terminal.wait_for("QUICK LOOK")
    for text in ("R-410A", "0ft", "118.4psig", "54F"):
        terminal.press(text, "Enter")
    lines = terminal.wait_for("superheat")
    assert any("14.0 °F" in line for line in lines), "R-410A at 118.4 psig: 40 °F dew (CALCULATED, CoolProp)"

    terminal.press("Escape")
    terminal.wait_for("WHAT NEXT?")
