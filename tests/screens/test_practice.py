"""Practice with real keys: who learns, a lesson, hands at the unit, hints, a stop, score, looking back."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.pilot import Pilot

from guide.job import payloads as p
from guide.job.focus import Front
from guide.rig.acts import Act, Handling
from guide.rig.happenings import Happening, Kind
from guide.screens.app import ChargewrightApp
from guide.screens.practice_page import PracticePage
from guide.screens.practice_shown import Doable
from guide.screens.practice_unit import place_kept
from tests.screens.driving import app_of, sees, settle, shown, types
from tests.screens.practice_stand_in import HALF, JOIN, StandInCoach, StandInDesk
from tests.screens.small_job import PASSPHRASE


@pytest.fixture
def desk(tmp_path: Path) -> StandInDesk:
    return StandInDesk(tmp_path / "kit")


@asynccontextmanager
async def lessons_of(
    desk: StandInDesk, tmp_path: Path, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Pilot[Path | None]]:
    """The program at the lessons of somebody who signed in."""
    app = ChargewrightApp(tmp_path / "practice", nature="practice", bounce_s=-1.0, tick_s=3600.0)
    app.practice.use(desk)
    async with app.run_test(size=size) as pilot:
        await sees(pilot, "lessons on a simulated unit")
        await pilot.press("l")
        await sees(pilot, "WHO LEARNS?", "Kit Learner")
        await pilot.press("enter")
        await types(pilot, PASSPHRASE, "enter")
        await sees(pilot, "LESSONS", "Read the vacuum")
        yield pilot
    desk.leave()


async def begin(pilot: Pilot[Path | None], help_: str) -> None:
    """Open the first lesson, read it to its end, and begin a run with so much help."""
    await pilot.press("enter")
    await sees(pilot, "After this lesson:")
    for _ in range(12):
        if "BEGIN THE RUN" in shown(app_of(pilot)):
            break
        await pilot.press("enter")
        await pilot.pause(0.05)
    await sees(pilot, "BEGIN THE RUN", "How much help?")
    await pilot.press(str(("fill", "choose", "none").index(help_) + 1), "enter", "enter")
    await settle(pilot, lambda: isinstance(pilot.app.screen, PracticePage))


def practised(desk: StandInDesk, what: str) -> list[p.Practised]:
    assert desk.run is not None
    events = [p.read_payload(event.kind, event.body) for event in desk.run.work.events()]
    return [each for each in events if isinstance(each, p.Practised) and each.what == what]


async def test_the_rubric_is_read_before_a_run_can_begin(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path, size=(80, 16)) as pilot:
        await pilot.press("enter")
        await sees(pilot, "Set by tom", "After this lesson:", "… more: ↓", "read on")
        await pilot.press("enter")
        await sees(pilot, "How the run is scored, out of 100; 80 points pass:", "begin a run")
        await pilot.press("enter")
        await sees(pilot, "BEGIN THE RUN", "you say which step comes next", "Seed", "4711")
        await pilot.press("enter", "end", "backspace", "backspace", "backspace", "backspace", "x", "enter")
        await sees(pilot, "! a whole number from 0 to 2147483647")


async def test_a_wrong_passphrase_stays_at_its_field_and_somebody_new_can_begin(
    desk: StandInDesk, tmp_path: Path
) -> None:
    app = ChargewrightApp(tmp_path / "practice", nature="practice", tick_s=3600.0)
    app.practice.use(desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "lessons on a simulated unit")
        await pilot.press("l")
        await sees(pilot, "WHO LEARNS?")
        await pilot.press("enter")
        await types(pilot, "not this one", "enter")
        await sees(pilot, "! wrong passphrase")
        await pilot.press("escape")
        await sees(pilot, "WHAT NEXT?")
        await pilot.press("l")
        await sees(pilot, "somebody new")
        await pilot.press("3", "enter")
        await sees(pilot, "SOMEBODY NEW", "Your name")
        await types(pilot, "Sam Novak", "enter")
        await sees(pilot, "sam")
        await pilot.press("enter")
        await types(pilot, PASSPHRASE, "enter")
        await types(pilot, "another phrase", "enter")
        await sees(pilot, "! the two are not the same")
        await pilot.press("ctrl+u")
        await types(pilot, PASSPHRASE, "enter")
        await sees(pilot, "LESSONS", "learning: Sam Novak")
    desk.leave()


async def test_practice_and_the_pace_of_time_stand_on_the_sheet_all_the_time(
    desk: StandInDesk, tmp_path: Path
) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await sees(pilot, "PRACTICE", "simulated unit", "time as in life", "no help")
        await pilot.press("escape", "k")
        await sees(pilot, "HOW FAST DOES TIME RUN?", "60 times as fast")
        await pilot.press("3", "enter")
        await sees(pilot, "time 60 times as fast")
        assert desk.clock.factor == 60
        await pilot.press("f4")
        await sees(pilot, "time 300 times as fast")


async def test_time_runs_as_in_life_again_when_a_wait_is_over(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("enter", "enter", "1", "enter")
        await types(pilot, "400", "enter")
        await pilot.press("enter", "enter", "enter")
        await sees(pilot, "15:00")
        page = pilot.app.screen
        assert isinstance(page, PracticePage)
        await pilot.press("f4", "f4")
        await sees(pilot, "time 60 times as fast")
        page._tick()
        desk.clock.advance(901)
        page._tick()
        await sees(pilot, "TIME IS UP", "time as in life")
        assert desk.clock.factor == 1


async def test_what_is_seen_stands_at_a_step_that_asks_for_a_look(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("enter", "enter")
        await sees(pilot, "What do you wear?", "You see: goggles lie on the bench")


async def test_hands_at_the_unit_are_logged_before_they_are_done(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "choose")
        await sees(pilot, "WHAT DO YOU DO NEXT?")
        await pilot.press("f3")
        await sees(pilot, "AT THE UNIT", "The low hose hangs free", "open the low hand valve")
        await pilot.press("2", "enter")
        await sees(pilot, "Open the low hand valve …", "a crack", "half")
        await pilot.press("2", "enter")
        await sees(pilot, "done: open the low hand valve half", "AT THE UNIT")
        logged = practised(desk, "handled")
        assert [(each.act, each.at, float(each.amount or 0)) for each in logged] == [
            ("open hand valve", "low", 0.5)
        ]
        assert desk.unit.done == [(HALF, 0.0)]
        await pilot.press("1", "enter")
        await sees(pilot, "! Air got in (low): 0.4 g.")
        await pilot.press("3", "enter")
        await sees(pilot, "! the pump is joined to nothing")
        await pilot.press("escape")
        await sees(pilot, "WHAT DO YOU DO NEXT?")


async def test_without_help_nothing_is_said_of_what_went_wrong(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("f3", "1", "enter")
        await sees(pilot, "done: join the low hose")
        assert "Air got in" not in shown(app_of(pilot))
        assert desk.run is not None
        assert [each.kind for each in desk.run.happened] == [Kind.AIR_IN]


async def test_a_hint_says_its_price_first_and_is_logged(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("escape", "q")
        await sees(pilot, "HINTS for step 1.1: 0 of 3 taken", "where to look: costs 1 point")
        await pilot.press("enter")
        await sees(pilot, "Read it (1 of 2)")
        assert practised(desk, "hint") == []
        await pilot.press("escape", "q", "2", "enter")
        await sees(pilot, "1 of 3 taken", "where to look: look at 1.1", "the rule: costs 2 points")
        await pilot.press("2", "enter", "2", "enter")
        await sees(pilot, "all three are taken", "the answer: pick the goggles")
        assert [(each.act, each.step) for each in practised(desk, "hint")] == [
            ("pointer", "1.1"), ("rule", "1.1"), ("answer", "1.1"),
        ]  # fmt: skip


async def test_the_next_step_is_picked_before_the_sheet_shows_it(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path, size=(120, 36)) as pilot:
        await begin(pilot, "choose")
        await sees(pilot, "WHAT DO YOU DO NEXT?", "OPEN the suction valve.")
        assert "1.1" not in shown(app_of(pilot)), "the list of steps would give it away"
        await pilot.press("1", "enter")
        await sees(pilot, "Not that one yet: 1.1 comes first", "Liquid refrigerant freezes")
        await pilot.press("enter", "enter", "1", "enter")
        await sees(pilot, "WHAT DO YOU DO NEXT?")
        await pilot.press("2", "enter")
        await sees(pilot, "Yes: 1.2 comes next", "READ the vacuum")
        assert [(each.act, each.step) for each in practised(desk, "chosen")] == [
            ("9.9", "1.1"),
            ("1.2", "1.2"),
        ]


async def test_with_hands_done_for_one_a_step_is_worked_up_to_its_values_once(
    desk: StandInDesk, tmp_path: Path
) -> None:
    desk.unit.answers.clear()
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "fill")
        await pilot.press("enter", "enter", "1", "enter")
        await sees(pilot, "READ the vacuum", "Done for you: join the low-side hose to its port")
        assert [handling for handling, _ in desk.unit.done] == [JOIN, HALF]
        assert desk.unit.done[1][1] - desk.unit.done[0][1] == 30.0
        assert desk.run is not None
        again = desk.go_on("J-0001")
        assert again.do_for() == ((), ())


async def test_a_grave_error_ends_the_run_and_says_what_it_would_have_done(
    desk: StandInDesk, tmp_path: Path
) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("f3", "4", "enter")
        await sees(pilot, "STOP", "would have put your hands on line voltage", "What led to it", "Instead:")
        assert desk.run is not None
        assert desk.run.work.focus().front is Front.STOPPED
        assert [each.act for each in practised(desk, "ended")] == [Kind.WORKED_LIVE.value]
        await pilot.press("enter")
        await sees(pilot, "SCORE", "NOT SAFE: the run was ended", "NOT PASSED")


async def test_something_grave_that_comes_by_itself_ends_the_run_too(
    desk: StandInDesk, tmp_path: Path
) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        desk.unit.coming = (Happening(Kind.LIQUID_TO_COMPRESSOR, 60.0, 0.002),)
        page = pilot.app.screen
        assert isinstance(page, PracticePage)
        page._tick()
        await sees(pilot, "STOP")


async def to_the_end(pilot: Pilot[Path | None], desk: StandInDesk) -> None:
    """Work the two parts that count."""
    await pilot.press("enter", "enter", "1", "enter")
    await types(pilot, "400", "enter")
    await pilot.press("enter")
    await sees(pilot, "END OF PART  Brief")
    await pilot.press("enter", "enter")
    await sees(pilot, "15:00")
    desk.clock.advance(901)
    await pilot.press("tab")
    await sees(pilot, "TIME IS UP")
    await pilot.press("enter", "enter")
    for typed in ("118.2", "52", "352", "97", "78", "67", "59", "95"):
        await types(pilot, typed, "enter")
    await sees(pilot, "LEAVE IT")
    await pilot.press("enter")
    await sees(pilot, "END OF PART  Charge")
    await pilot.press("enter")
    await sees(pilot, "YOUR CONCLUSION", "low indoor airflow")


async def test_after_the_part_that_counts_come_conclusion_score_and_looking_back(
    desk: StandInDesk, tmp_path: Path
) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await to_the_end(pilot, desk)
        await pilot.press("escape")
        await sees(pilot, "a guess is better than nothing")
        await pilot.press("3", "enter")
        await sees(pilot, "SCORE")
        assert [(each.act, each.at) for each in practised(desk, "chosen")] == [
            ("nothing wrong", "conclusion")
        ]
        await sees(pilot, "96 of 100 points, PASSED", "-3  order, event 12", "said to be done, and no hand")
        await pilot.press("enter")
        await sees(pilot, "LOOK BACK: question 1 of 5", "a held vacuum")
        await pilot.press("2", "enter")
        await sees(pilot, "You: a new charge", "Model answer: a held vacuum", "next question")
        await pilot.press("enter")
        for number, answer in ((2, "it held"), (3, "memory")):
            await sees(pilot, f"question {number} of 5")
            await types(pilot, answer, "enter")
            await sees(pilot, f"You: {answer}", "Model answer:")
            await pilot.press("enter")
        await sees(pilot, "question 4 of 5")
        await pilot.press("1", "enter", "enter")
        await sees(pilot, "question 5 of 5")
        await pilot.press("enter")
        await sees(pilot, "nothing typed yet")
        await types(pilot, "join first", "enter", "enter")
        await sees(pilot, "LOOK BACK: the cycle", "○ sound, right charge, same air", "into compressor")
        await pilot.press("enter")
        await sees(pilot, "1 of 3: YOUR RUN BESIDE THE MODEL RUN", "1.1  WEAR")
        assert desk.answers == [("a new charge", "it held", "memory", "the gauge", "join first")]
        await pilot.press("w")
        await sees(pilot, "2 of 3", "No hand joined the hose.", "joined the low hose", "-3 order")
        await pilot.press("w")
        await sees(pilot, "No further difference.")
        await pilot.press("enter")
        await sees(pilot, "LESSONS")
        assert desk.unit.closed


async def test_a_trouble_is_named_before_the_work_is_handed_over(desk: StandInDesk, tmp_path: Path) -> None:
    desk.coach = StandInCoach(ends_after="sign")
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await to_the_end(pilot, desk)
        await pilot.press("escape")
        await sees(pilot, "MORE: a letter")
        await pilot.press("escape")
        await sees(pilot, "YOUR CONCLUSION")
        await pilot.press("1", "enter")
        await sees(pilot, "SHOW the customer")
        assert [each.act for each in practised(desk, "chosen")] == ["undercharge"]
        await pilot.press("2", "enter")
        await sees(pilot, "Your signature says")
        await types(pilot, PASSPHRASE, "enter")
        await sees(pilot, "CLOSED AND SIGNED", "logged")
        await pilot.press("enter")
        await sees(pilot, "SCORE")


async def test_a_run_left_in_the_middle_is_gone_on_with(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("enter", "escape", "x")
        await sees(pilot, "LESSONS", "J-0001 stands where you left it", "go on: Read the vacuum")
        await pilot.press("enter")
        await sees(pilot, "Read it (2 of 2)")


async def test_a_key_that_was_let_go_is_asked_for_again_and_time_stops_racing(
    desk: StandInDesk, tmp_path: Path
) -> None:
    async with lessons_of(desk, tmp_path) as pilot:
        await begin(pilot, "none")
        await pilot.press("f4")
        app_of(pilot).last_key_at -= 3600.0
        app_of(pilot)._lock_when_idle()
        await sees(pilot, "LOCKED", "time as in life")
        await types(pilot, PASSPHRASE, "enter")
        await sees(pilot, "Unlocked.", "Read it (1 of 2)")
        assert app_of(pilot).technician is None, "a trainee does not work in the journal of practice itself"


async def test_everything_stays_within_reach_on_a_small_terminal(desk: StandInDesk, tmp_path: Path) -> None:
    async with lessons_of(desk, tmp_path, size=(40, 12)) as pilot:
        await begin(pilot, "choose")
        await sees(pilot, "PRACTICE", "time x1", "WHAT DO YOU DO NEXT?")
        await pilot.press("2", "enter", "f3")
        await sees(pilot, "AT THE UNIT", "The low hose hangs")
        await pilot.press("down", "down", "down")
        await sees(pilot, "open a joint of the circuit")
        await pilot.press("enter")
        await sees(pilot, "STOP", "line voltage")
        for _ in range(8):
            if "SCORE" in shown(app_of(pilot)):
                break
            await pilot.press("enter")
            await pilot.pause(0.05)
        await sees(pilot, "SCORE")


def test_the_cursor_stays_on_its_words_and_else_goes_where_enter_does_nothing_at_once() -> None:
    close = Doable("Close the hand valve", (("", Handling(Act.CLOSE_HAND_VALVE, "low")),))
    turn = Doable("Open the hand valve", (("half", HALF), ("a crack", HALF)))
    blow = Doable("Let the circuit blow", (("", Handling(Act.RELEASE, "low")),))
    assert place_kept((blow, turn, close), "Close the hand valve", 0) == 2
    assert place_kept((turn, blow), "Close the hand valve", 1) == 0
    assert place_kept((blow,), "Close the hand valve", 3) == 0
    assert place_kept((), "", 2) == 0
