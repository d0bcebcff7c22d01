"""The step sheet, worked with real keys on a real journal."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

import pytest
from textual.events import Paste

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.focus import Front
from guide.journal.reading import NotLogged
from guide.screens.canvas import Canvas
from guide.screens.job_page import JobPage
from tests.screens.driving import app_of, at, sees, settle, shown, types
from tests.screens.small_job import (
    RIGHT_ROUND,
    ROUND,
    Desk,
    begin_weighing,
    lay,
    read_round,
    small_order,
    to_the_end,
    to_the_loop,
)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return lay(tmp_path / "data")


async def test_a_whole_job_is_worked_with_keys_and_ends_in_a_signed_record(desk: Desk) -> None:
    async with at(desk) as pilot:
        await sees(pilot, "WARNING", "Liquid refrigerant", "Read it (1 of 2)", "then 1.1")
        await pilot.press("enter")
        await sees(pilot, "read ✓", "CAUTION", "Read it (2 of 2)")
        await pilot.press("enter")
        await sees(pilot, "What do you wear?", "logged ")
        await pilot.press("2", "enter")
        await sees(pilot, "You saw: nothing yet. Put them on")
        await pilot.press("1", "enter")
        await sees(pilot, "1.2   READ the vacuum", "micron")
        await types(pilot, "1500", "enter")
        await sees(pilot, "1500micron does not meet at most 1000 micron", "was 1500 (=)")
        await types(pilot, "400", "enter")
        await sees(pilot, "1.3", "fits what is known")
        await pilot.press("enter")
        await sees(pilot, "END OF PART  Brief")
        await pilot.press("enter")
        await sees(pilot, "HOLD POINT", "At least 15 min")
        await pilot.press("enter")
        await sees(pilot, "15:00", "left")
        desk.clock.advance(901)
        await pilot.press("enter")  # a key makes the sheet look at the clock, as its tick does
        await sees(pilot, "TIME IS UP")
        await pilot.press("enter")
        await sees(pilot, "2.2", "Read it")
        await pilot.press("enter")
        await sees(pilot, "Round 1", "Suction pressure, low side")
        for typed in ROUND.values():
            await types(pilot, typed.rstrip("psigF"), "enter")
        await sees(pilot, "advice  ADD", "superheat", "First weigh N-14, its")
        await types(pilot, "22 0.5", "enter")
        await sees(pilot, "OPEN the valve of N-14 slowly, CLOSE it at 21 lb")
        await types(pilot, "21 14.5", "enter")
        await sees(pilot, "WAIT for the system to settle", "15:00", "+2.0 oz")
        assert "ADD" not in shown(app_of(pilot)), "advice that was followed must not stand there again"
        desk.clock.advance(901)
        await pilot.press("tab")
        await sees(pilot, "Round 2", "was 118.2 (=)")
        for channel, typed in RIGHT_ROUND.items():
            if typed == ROUND[channel]:
                await pilot.press("equals_sign", "enter")
            else:
                await types(pilot, typed.rstrip("psigF"), "enter")
        await sees(pilot, "LEAVE IT")
        await pilot.press("enter")
        await sees(pilot, "END OF PART  Charge")
        await pilot.press("enter")
        await sees(pilot, "SHOW the customer", "DEPARTURE")
        await pilot.press("1", "enter", "enter")
        await sees(pilot, "! an acknowledgement carries the customer's typed name")
        await types(pilot, "B. Customer", "enter")
        await sees(pilot, "Your signature says: I did this work.", "Customer: acknowledged by B. Customer")
        await types(pilot, "wrong passphrase", "enter")
        await sees(pilot, "! wrong passphrase")
        await types(pilot, desk.passphrase, "enter")
        await sees(pilot, "CLOSED AND SIGNED", "fingerprint")
        made = desk.work.state.issued[-1]
        assert (desk.bench.records / made.file).is_file()
        assert made.fingerprint in shown(app_of(pilot))
    assert desk.work.focus().front is Front.CLOSED


async def test_logged_is_shown_only_after_the_commit_and_a_failed_write_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = desk.bench.shelf.journal

    def full(*_args: object, **_more: object) -> None:
        raise NotLogged("the disk is full; make room, then press Enter again")

    async with at(desk) as pilot:
        await pilot.press("enter", "enter")
        await sees(pilot, "What do you wear?", "logged ")
        with monkeypatch.context() as broken:
            broken.setattr(type(journal), "append", full)
            await pilot.press("1", "enter")
            await sees(pilot, "NOT LOGGED - the disk is full", "▶ 1  goggles and gloves", "1.1   WEAR")
        await pilot.press("enter")
        await sees(pilot, "1.2   READ the vacuum", "logged ")


async def test_an_unlikely_value_is_kept_only_with_a_reason(desk: Desk) -> None:
    to_the_loop(desk)
    async with at(desk) as pilot:
        await types(pilot, "815", "enter")
        await sees(pilot, "! outside", "read again")
        await pilot.press("enter")
        await sees(pilot, "because", "say in a few words")
        await types(pilot, "gauge was swapped", "enter")
        await sees(pilot, "kept: unusual", "▶ Suction line")


async def test_another_unit_and_a_bad_number_are_told_apart(desk: Desk) -> None:
    to_the_loop(desk)
    async with at(desk) as pilot:
        await types(pilot, "118", "comma", "4", "enter")
        await sees(pilot, "! pressure", "decimal comma; write 118.4")
        await pilot.press(*["backspace"] * 5)
        await types(pilot, "8.2barg", "enter")
        await sees(pilot, "▶ Suction line at the service valve")


async def test_looking_around_never_writes_and_comes_back_to_the_place(desk: Desk) -> None:
    to_the_loop(desk)
    before = desk.work.state.last_seq
    async with at(desk) as pilot:
        await types(pilot, "118")
        await pilot.press("up", "up")
        await sees(pilot, "LOOKING AT 1.3", "You work at 2.2")
        await pilot.press("enter")
        await sees(pilot, "Round 1", "118")
        await pilot.press("pagedown")
        await sees(pilot, "LOOKING AT 3.1")
        await pilot.press("escape")
        await sees(pilot, "Round 1", "118")
    assert desk.work.state.last_seq == before


async def test_fields_half_filled_in_survive_a_note(desk: Desk) -> None:
    to_the_loop(desk)
    async with at(desk) as pilot:
        await types(pilot, "118.2", "enter")
        await types(pilot, "58", "enter")
        await pilot.press("escape", "t")
        await sees(pilot, "A NOTE")
        await types(pilot, "fan rattles", "enter")
        await sees(pilot, "logged ", "118.2", "▶ Liquid pressure")
    assert desk.work.state.counts["noted"] == 1


async def test_moving_against_the_advice_asks_for_a_reason_and_stands_in_the_review(desk: Desk) -> None:
    to_the_loop(desk)
    read_round(desk, RIGHT_ROUND)
    async with at(desk) as pilot:
        await sees(pilot, "The charge is right")
        await pilot.press("escape", "m")
        await sees(pilot, "MOVE AGAINST THE ADVICE")
        await pilot.press("2", "enter")
        await types(pilot, "customer wants it leaner", "enter")
        await pilot.press("2", "enter")
        await types(pilot, "15 2", "enter")
        await sees(pilot, "RECOVER into R-3")
    begun = desk.work.state.weighing
    assert begun is not None
    assert begun.begun.direction == "out"
    assert desk.work.text(begun.begun.against_advice) == "customer wants it leaner"


async def test_coming_back_into_an_open_weighing_asks_cylinder_weight_and_valve_first(desk: Desk) -> None:
    to_the_loop(desk)
    read_round(desk)
    begin_weighing(desk)
    desk.clock.advance(7200)
    desk.work.run = desk.bench.run = "run-2"
    async with at(desk) as pilot:
        await sees(pilot, "YOU WERE AWAY 2 h", "OPEN WEIGHING", "N-14", "Last steps:", "LOOK at the cylinder")
        await pilot.press("enter")
        await types(pilot, "21 10", "enter")
        await pilot.press("2", "enter")
        await sees(pilot, "OPEN the valve of N-14", "logged ")
    assert desk.work.state.counts["resumed"] == 1


async def test_skip_redo_correct_pause_and_break_off_are_one_letter_away(desk: Desk) -> None:
    async with at(desk) as pilot:
        await pilot.press("escape", "s")
        await sees(pilot, "SKIP THIS STEP")
        await pilot.press("1", "enter")
        await sees(pilot, "1.2   READ the vacuum", "logged ")
        await types(pilot, "400", "enter")
        await sees(pilot, "1.3")
        await pilot.press("escape", "c")
        await sees(pilot, "CORRECT AN ENTRY")
        await pilot.press("1", "enter")
        await sees(pilot, "was 400 micron")
        await types(pilot, "450", "enter")
        await pilot.press("1", "enter")
        await settle(pilot, lambda: desk.work.state.counts.get("corrected") == 1)
        await pilot.press("escape", "r")
        await sees(pilot, "REDO A STEP")
        await pilot.press("2", "enter", "3", "enter")
        await sees(pilot, "1 of 2")
        await pilot.press("escape", "p")
        await sees(pilot, "PAUSE")
        await pilot.press("1", "enter")
        await sees(pilot, "YOU WERE AWAY", "It goes on at 1.1")
        await pilot.press("enter")
        await sees(pilot, "Read it (1 of 2)")
        await pilot.press("escape", "b")
        await types(pilot, "storm", "enter")
        await sees(pilot, "A.1   CLOSE the cylinder valve", "BREAK OFF SAFELY")


async def test_a_way_that_is_not_offered_takes_a_reason(desk: Desk) -> None:
    desk.work.do(c.Skip("1.1", desk.work.keep("test")))
    desk.work.do(c.Skip("1.2", desk.work.keep("test")))
    async with at(desk) as pilot:
        await sees(pilot, "fits what is known")
        await pilot.press("2", "enter")
        await sees(pilot, "ANOTHER WAY THAN THE ONE OFFERED")
        await types(pilot, "hoses were open", "enter")
        await sees(pilot, "END OF PART")
    assert desk.work.state.facts["air kept out by"] == "evacuate"


async def test_why_and_numbers_are_one_key_away(desk: Desk) -> None:
    to_the_loop(desk)
    read_round(desk)
    async with at(desk, (80, 60)) as pilot:
        await pilot.press("escape", "n")
        await sees(pilot, "INPUTS of round 1", "Suction pressure, low side: 118.2psig", "RULES", "superheat")
        await pilot.press("enter", "f1")
        await sees(pilot, "INPUTS of round 1")
        await pilot.press("enter", "escape", "w")
        await sees(pilot, "STEP 2.2", "Small steps.", "Proof: the charging loop by superheat")


async def test_a_hurried_enter_does_not_acknowledge_what_was_not_on_the_screen(desk: Desk) -> None:
    async with at(desk) as pilot:
        app_of(pilot).bounce_s = 30.0
        await sees(pilot, "Read it (1 of 2)")
        await pilot.press("enter", "enter")
        await pilot.press("escape")
        await sees(pilot, "MORE: a letter")
    assert not desk.work.state.acknowledged


@pytest.mark.parametrize(
    "hostile",
    ["\x1b]0;owned\x07", "\u202eevil", "[bold red]x[/]", "[/foo]", "a\u0301\u0301\u0301\u0301\u0301"],
)
async def test_hostile_text_is_harmless(tmp_path: Path, hostile: str) -> None:
    desk = lay(tmp_path / "data")
    desk.work.do(c.Note(desk.work.keep(hostile)))
    desk.work.do(c.Pause(desk.work.keep(hostile)))
    async with at(desk) as pilot:
        await pilot.press("enter")
        await sees(pilot, "Read it")
        await pilot.press("escape", "t")
        app_of(pilot).screen.query_one(Canvas).post_message(Paste(hostile))
        await pilot.press("enter")
        await settle(pilot, lambda: desk.work.state.counts["noted"] == 2)
        text = shown(app_of(pilot))
    assert not any(ord(character) < 32 and character != "\n" for character in text)
    assert "\u202e" not in text


async def test_markup_in_an_order_is_shown_as_it_stands(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data", order=small_order(place="[b]Roof[/b] [unit]"))
    async with at(desk) as pilot:
        await sees(pilot, "[b]Roof[/b] [unit]")


async def test_the_customer_may_refuse_or_be_absent(desk: Desk) -> None:
    to_the_end(desk)
    async with at(desk) as pilot:
        await sees(pilot, "SHOW the customer")
        await pilot.press("2", "enter")
        await sees(pilot, "Customer: not present")


async def test_a_signed_job_can_be_amended_and_signed_again(desk: Desk) -> None:
    to_the_end(desk)
    desk.work.do(c.ShowCustomer("not present"))
    first = desk.bench.sign_off(desk.work, desk.technician, desk.passphrase)
    async with at(desk) as pilot:
        await sees(pilot, "CLOSED AND SIGNED", first.fingerprint)
        await pilot.press("escape", "m")
        await types(pilot, "wet bulb was read wrong", "enter")
        await sees(pilot, "Sign the amendment.")
        await pilot.press("escape", "c")
        await sees(pilot, "CORRECT AN ENTRY")
        await pilot.press("3", "enter")
        await types(pilot, "66", "enter", "2", "enter")
        await settle(pilot, lambda: desk.work.state.counts.get("corrected") == 1)
        await types(pilot, desk.passphrase, "enter")
        await sees(pilot, "CLOSED AND SIGNED")
    assert [made.sha256 == first.sha256 for made in desk.work.state.issued] == [True, False]


async def test_a_job_is_handed_over_to_somebody_known_here(desk: Desk) -> None:
    from guide.bench.people import KnownPerson

    desk.bench.enrol(KnownPerson("ben", "Ben Ode", "none needed here"), desk.passphrase)
    async with at(desk) as pilot:
        await pilot.press("escape", "h")
        await sees(pilot, "HAND OVER", "Ben Ode (ben)")
        await pilot.press("1", "enter")
        await types(pilot, "end of shift", "enter")
        await sees(pilot, "handed over to ben")
        await pilot.press("enter")
        await sees(pilot, "! the job was handed over to ben, who resumes it")


def _locked(desk: Desk) -> bool:
    return desk.work.locked


async def test_a_long_wait_is_not_cut_by_the_lock_and_a_passphrase_goes_on(desk: Desk) -> None:
    to_the_loop(desk)
    async with at(desk) as pilot:
        app = app_of(pilot)
        await types(pilot, "118.2", "enter")
        app.technician = desk.technician
        app.lock_after_s = 0.0
        app._lock_when_idle()
        await sees(pilot, "LOCKED", "Passphrase of Ana Ruiz", "J-0007")
        assert _locked(desk)
        await types(pilot, "not the phrase", "enter")
        await sees(pilot, "! wrong passphrase")
        await types(pilot, desk.passphrase, "enter")
        await sees(pilot, "Unlocked.", "Round 1", "118.2")
        assert not _locked(desk)


async def test_a_long_review_is_read_on_with_page_keys_and_comes_back_at_once(desk: Desk) -> None:
    for number in range(12):
        desk.work.do(c.Note(desk.work.keep(f"seen at eight, number {number}"), late=True))
    to_the_end(desk)
    async with at(desk) as pilot:
        await sees(pilot, "12 DEPARTURES", "more lines: PgDn", "SHOW the customer")
        await pilot.press(*["pagedown"] * 9)
        await sees(pilot, "What you sign: every event")
        await pilot.press(*["pageup"] * 9)
        await sees(pilot, "12 DEPARTURES")


async def test_a_photo_is_kept_by_its_path_and_only_its_hash_is_in_the_log(
    desk: Desk, tmp_path: Path
) -> None:
    picture = tmp_path / "name plate.jpg"
    picture.write_bytes(b"a picture")
    async with at(desk) as pilot:
        await pilot.press("escape", "f")
        await sees(pilot, "A PHOTO", "Its file")
        app_of(pilot).screen.pasted("/nowhere/none.jpg")  # type: ignore[attr-defined]
        await pilot.press("enter")
        await types(pilot, "nameplate", "enter")
        await sees(pilot, "! ", "none.jpg")
        await pilot.press("up", "ctrl+u")
        app_of(pilot).screen.pasted(f"'{picture}'")  # type: ignore[attr-defined]
        await pilot.press("enter", "enter")
        await sees(pilot, "logged 09:42:07", "1.1")
    said = [p.read_payload(event.kind, event.body) for event in desk.bench.journal.events("J-0007")]
    kept = [note.photo for note in said if isinstance(note, p.Noted) and note.photo]
    assert [photo.sha256 for photo in kept] == [hashlib.sha256(b"a picture").hexdigest()]
    assert (desk.bench.photos / "J-0007" / kept[0].file).read_bytes() == b"a picture"


def test_a_certification_that_does_not_cover_the_work_is_said_when_the_job_comes_up(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data")
    person = desk.work.person.model_copy(update={"certification_type": "EPA 608 Type III"})
    desk.work.person = person
    desk.work.state = replace(desk.work.state, order=replace(desk.work.state.order, nature="real"))
    said = JobPage(desk.bench, desk.technician, desk.work).view().said.text
    assert "certified for type III" in said
    assert "You may go on; the record says so." in said
