"""In the smallest window: every act of a long job with what to do, what is asked and where it goes."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.job.focus import Front
from guide.rig.rehearsal import prepare
from guide.screens.mode import Mode
from guide.screens.order_page import read_order_file
from guide.screens.paint import Lines, Role, plain, width_of
from guide.screens.sheet import View, sheet, warning_left
from tests.screens.test_sheet import squeezed, view_of

ORDERS = Path(__file__).parents[2] / "jobs"


def faults_of(view: View, lines: Lines) -> list[str]:
    """What a person would miss."""
    text = squeezed(plain(lines))
    active = view.filling.active
    found = []
    if view.turn.call and view.turn.mode is not Mode.ANSWER and squeezed(view.turn.call) not in text:
        found.append("the call is cut")
    if view.focus.front is Front.STEP and view.focus.step and squeezed(view.focus.step.do) not in text:
        found.append("the action is cut")
    if active is not None and not active.choices and not any(s.role is Role.CURSOR for r in lines for s in r):
        found.append("no cursor")
    if active is not None and active.choices:
        shown = [choice for choice in active.choices if choice.words.split()[0] in text]
        if not shown or (len(shown) < len(active.choices) and "↑↓" not in text):
            found.append("no answer in sight, or no key to the others")
    if view.focus.front is Front.HAZARD and view.focus.step and not warning_left(view, 40, 12):
        words = squeezed(view.focus.step.hazards[view.focus.hazard or 0].text)
        if words not in text:
            found.append("the warning is cut")
    return found


@pytest.mark.parametrize("order", ["practice-opening.yaml", "practice-valve.yaml"])
def test_nothing_that_is_asked_leaves_a_window_of_40_by_12(tmp_path: Path, order: str) -> None:
    rehearsal = prepare(read_order_file(ORDERS / order), tmp_path / "data")
    found = {}
    try:
        playing = True
        while playing:
            view = view_of(rehearsal.work)
            lines = sheet(view, 40, 12)
            assert len(lines) == 12
            assert all(width_of(row) <= 40 for row in lines)
            if wrong := faults_of(view, lines):
                found[(view.focus.step.id if view.focus.step else "", view.turn.mode)] = wrong
            playing = rehearsal.player.step() is not None
    finally:
        rehearsal.close()
    assert found == {}
