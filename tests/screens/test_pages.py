"""The pages around the sheet: first page, people, order, quick look, records, demonstration."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from guide.bench.bench import Bench
from guide.job.commands import EndWeigh, ShowCustomer
from guide.job.order import read_order
from guide.job.payloads import Opened, read_payload
from guide.journal.port import SimulatedClock
from guide.journal.store import Journal
from guide.procedure import library
from guide.screens.app import ChargewrightApp
from guide.screens.filling import Filling
from guide.screens.look import answers, look_filling, with_site
from guide.screens.order_gear import needs_of, with_gear
from guide.screens.order_text import fault_in, order_filling, order_text
from guide.screens.paint import plain
from tests.screens.driving import sees, settle, shown, types
from tests.screens.small_job import (
    ORDER,
    START,
    begin_weighing,
    lay,
    read_round,
    to_the_end,
    to_the_loop,
    value,
)

EXAMPLE = Path(__file__).parents[2] / "jobs" / "harbour-school-unit-3.yaml"


def new_app(folder: Path, **more: object) -> ChargewrightApp:
    clock = SimulatedClock(START, boot="simulated")
    return ChargewrightApp(folder, clock=clock, run="run-1", bounce_s=-1.0, tick_s=3600.0, **more)  # type: ignore[arg-type]


async def test_from_nothing_to_the_first_step_and_back_to_it_the_next_day(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    app = new_app(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "WHAT NEXT?", "No open job.", "new job")
        await pilot.press("n", "f")
        await sees(pilot, "Its file")
        app.screen.pasted(str(tmp_path / "nothing.yaml"))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "No such file or directory")
        await pilot.press("ctrl+u")
        app.screen.pasted(str(EXAMPLE))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "MAKE YOURSELF KNOWN")
        await types(pilot, "Ana Ruiz", "enter")
        await types(pilot, "", "enter", "1", "enter", "enter")
        await types(pilot, "too short", "enter")
        await types(pilot, "too short", "enter")
        await sees(pilot, "! this passphrase is too short")
        await pilot.press("ctrl+u")
        await types(pilot, "a long enough phrase", "enter", "ctrl+u")
        await types(pilot, "another phrase", "enter")
        await sees(pilot, "the two are not the same")
        await pilot.press("ctrl+u")
        await types(pilot, "a long enough phrase", "enter")
        await sees(pilot, "J-0001  Harbour School", "1.1   READ the nameplate")
        await pilot.press("escape", "x")
        await sees(pilot, "1 job not closed", "J-0001  Harbour School, roof unit 3", "Ana Ruiz")
        await pilot.press("x")

    app = ChargewrightApp(folder, bounce_s=-1.0)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "J-0001  Harbour School, roof unit 3", "nobody signed in")
        await pilot.press("enter")
        await sees(pilot, "WHO IS AT THE KEYBOARD?", "Ana Ruiz", "▶ Passphrase")
        await types(pilot, "not my phrase", "enter")
        await sees(pilot, "! wrong passphrase")
        await pilot.press("ctrl+u")
        await types(pilot, "a long enough phrase", "enter")
        await sees(pilot, "YOU WERE AWAY", "It goes on at 1.1")
        await pilot.press("enter")
        await sees(pilot, "logged ", "1.1   READ the nameplate")


async def test_a_practice_order_is_refused_in_real_work_before_anybody_makes_keys(tmp_path: Path) -> None:
    app = new_app(tmp_path / "data")
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "No open job.")
        await pilot.press("n", "f")
        await sees(pilot, "Its file")
        app.screen.pasted(str(EXAMPLE.with_name("practice-valve.yaml")))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "the two are kept", "opens it where it belongs")
        assert "MAKE YOURSELF KNOWN" not in shown(app)


async def test_another_window_that_holds_the_journal_is_named_on_the_first_page(tmp_path: Path) -> None:
    bench = Bench.open(tmp_path / "data", nature="real")
    app = new_app(tmp_path / "data")
    try:
        async with app.run_test(size=(80, 24)) as pilot:
            await sees(pilot, "!", "quick look at readings")
            assert "new job" not in shown(app)
    finally:
        bench.close()


async def test_the_first_frame_is_there_before_the_journal_is_read(tmp_path: Path) -> None:
    app = new_app(tmp_path / "data")
    seen: list[str] = []

    async def slow() -> None:
        seen.append(shown(app))

    app._open = slow  # type: ignore[method-assign]
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot, lambda: bool(seen))
    assert "WHAT NEXT?" in seen[0]
    assert "reading the journal" in seen[0]


@pytest.mark.parametrize("module", ["app", "job_page", "look", "order_page", "people", "records", "sheet"])
def test_no_slow_library_is_loaded_by_importing_a_page(module: str) -> None:
    script = (
        f"import sys, guide.screens.{module}; "
        "print([m for m in ('sqlalchemy', 'CoolProp', 'reportlab', 'pyhanko') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_first_frame_needs_no_spine_of_jobs() -> None:
    script = (
        "import sys, guide.screens.app; "
        "print([m for m in ('pydantic', 'yaml', 'guide.job.walk') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def _fill_in(filling: Filling, texts: dict[str, str]) -> Filling:
    for key, words in texts.items():
        position = next(n for n, ask in enumerate(filling.asks) if ask.key == key)
        while filling.at != position:
            filling, _ = filling.press("tab" if filling.at < position else "shift+tab")
        ask = filling.asks[position]
        if ask.choices:
            number = next(n for n, choice in enumerate(ask.choices, 1) if choice.value == words)
            filling, _ = filling.press(str(number), str(number))
        else:
            filling, _ = filling.press("ctrl+u")
            filling = filling.paste(words)
    return filling


TYPED_ORDER = {
    "order": "T-7",
    "reason": 'cools too little: [b]since May[/b] "today"',
    "customer.name": "Harbour School",
    "customer.address": "14 Quay Street",
    "appliance.place": "Roof unit 3",
    "appliance.id": "U-3",
    "appliance.refrigerant": "R-410A",
    "appliance.nameplate_charge": "8 0",
    "appliance.metering": "fixed orifice",
    "appliance.application": "unitary air conditioner in cooling",
    "appliance.receiver": "none",
    "appliance.capacity": "fixed",
    "site.altitude": "620",
    "site.release_when_purging_hoses": "forbidden",
    "company.name": "Invented Cooling",
    "scale.id": "S-2",
    "scale.division": "0.5",
    "cylinder": "N-14",
    "contents": "virgin",
    "recovery": "R-3",
    "recovery.water_capacity": "26.2",
    "recovery.tare": "15.4",
}


def test_a_typed_order_is_an_order_file_and_comes_back_as_it_was_typed() -> None:
    filling = _fill_in(order_filling((("charge-fixed-orifice", "Charge"),)), TYPED_ORDER)
    order = read_order(order_text(filling, "real").encode(), "this order")
    assert order.reason == TYPED_ORDER["reason"]
    assert order.nameplate_charge.typed == "8lb0oz"
    assert [c.contents for c in order.cylinders] == ["virgin", "empty"]
    assert [c.stamped for c in order.cylinders] == ["", "water capacity 26.2lb, tare 15.4lb"]


@pytest.mark.parametrize(
    ("key", "words", "says"),
    [
        ("appliance.refrigerant", "R-9999", "R-9999"),
        ("appliance.nameplate_charge", "9000kg", "outside"),
        ("site.altitude", "99999", "altitude|outside"),
        ("scale.division", "9lb", "at most 200 g"),
        ("recovery", "N-14", "two cylinders have one name"),
        ("recovery.tare", "0.01lb", "lies outside"),
    ],
)
def test_what_the_reader_refuses_stands_under_its_field(key: str, words: str, says: str) -> None:
    import re

    from guide.errors import ChargewrightError

    filling = _fill_in(order_filling((("charge-fixed-orifice", "Charge"),)), {**TYPED_ORDER, key: words})
    with pytest.raises(ChargewrightError) as refused:
        read_order(order_text(filling, "real").encode(), "this order")
    placed = fault_in(filling, str(refused.value))
    assert placed is not None
    faults = [cell.fault for cell in placed.cells if cell.fault]
    assert len(faults) == 1
    assert re.search(says, faults[0])


def test_company_and_tools_of_the_last_order_are_offered_and_the_appliance_is_not(tmp_path: Path) -> None:
    from guide.screens.order_page import last_order

    desk = lay(tmp_path / "data")
    filling = order_filling((("small", "Small"),), last_order(desk.bench))
    assert filling.text("company.name") == "Invented Cooling"
    assert filling.text("scale.division") == "0.5oz"
    assert filling.text("cylinder") == "N-14"
    assert filling.text("recovery") == "R-3"
    assert filling.text("appliance.refrigerant") == ""
    assert filling.text("appliance.nameplate_charge") == ""
    assert last_order(Bench.open(tmp_path / "other", nature="practice")) is None


async def test_an_order_can_be_typed_into_the_form(tmp_path: Path) -> None:
    app = new_app(tmp_path / "data")
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "No open job.")
        await pilot.press("n", "t")
        await sees(pilot, "NEW JOB: the order", "Order number")
        page = app.screen
        page.filling = _fill_in(page.filling, {**TYPED_ORDER, "appliance.refrigerant": "R-9999"})  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "! ", "R-9999", "▶ Refrigerant")
        await pilot.press("ctrl+u")
        await types(pilot, "r410a")
        page.filling = _fill_in(page.filling, {"recovery.tare": "15.4"})  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "MAKE YOURSELF KNOWN")


def test_a_quick_look_answers_while_typing_and_agrees_with_the_book() -> None:
    """R-410A at 118.4 psig: dew 40 °F (makers' pressure-temperature charts, from memory, to 1 °F)."""
    filling = _fill_in(
        look_filling(),
        {
            "refrigerant": "R-410A",
            "suction": "118.4",
            "suction_line": "54",
            "wet_bulb": "67",
            "outdoor": "95",
        },
    )
    text = plain(answers(with_site(filling), 80))
    assert "dew at 118.4psig         40.0 °F" in text
    assert "superheat                14.0 °F" in text
    assert "target superheat         12.0 °F" in text


def test_a_quick_look_refuses_without_falling_over() -> None:
    filling = _fill_in(look_filling(), {"refrigerant": "R-9999", "suction": "1", "altitude": "999999"})
    assert "R-9999" in plain(answers(with_site(filling), 80))
    filling = _fill_in(filling, {"refrigerant": "R-410A", "suction": "99999"})
    assert plain(answers(with_site(filling), 80))
    assert "Name the refrigerant" in plain(answers(look_filling(), 80))


async def test_a_demonstration_plays_by_itself_and_answers_with_its_record(tmp_path: Path) -> None:
    from guide.rig.orders import demonstration_order
    from guide.rig.rehearsal import prepare

    rehearsal = prepare(demonstration_order(), tmp_path / "demo")
    app = ChargewrightApp(tmp_path / "demo", nature="demonstration", rehearsal=rehearsal, play_pause_s=0.0)
    try:
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot, lambda: app.return_value is not None or not app.is_running, tries=6000)
        assert app.return_value is not None
        assert app.return_value.is_file()
    finally:
        rehearsal.close()


async def test_any_key_takes_a_demonstration_over_and_esc_lets_it_play_on(tmp_path: Path) -> None:
    from guide.rig.orders import demonstration_order
    from guide.rig.rehearsal import prepare

    rehearsal = prepare(demonstration_order(), tmp_path / "demo")
    app = ChargewrightApp(
        tmp_path / "demo", nature="demonstration", rehearsal=rehearsal, play_pause_s=0.02, bounce_s=-1.0
    )
    try:
        async with app.run_test(size=(80, 24)) as pilot:
            await sees(pilot, "take over")
            await pilot.press("space")
            await sees(pilot, "You have taken over")
            at = rehearsal.work.state.last_seq
            await pilot.pause(0.2)
            assert rehearsal.work.state.last_seq <= at + 1
            await pilot.press("escape", "a")
            await settle(pilot, lambda: rehearsal.work.state.last_seq > at + 2)
    finally:
        rehearsal.close()


async def test_journal_and_keys_go_to_a_stick_and_come_back_into_a_new_folder(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    lay(folder, nature="practice").bench.close()
    app = new_app(folder, nature="practice")
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "backup to a stick")
        await pilot.press("b", "c")
        await sees(pilot, "New folder", "nobody signed in")
        app.screen.pasted(str(folder / "inside"))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "! no backup made")
        await pilot.press("ctrl+u")
        app.screen.pasted(str(tmp_path / "stick"))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "DONE", "Backup of", "stick safe.")
        await pilot.press("enter", "b", "b")
        await sees(pilot, "BRING A COPY BACK")
        app.screen.pasted(str(tmp_path / "stick"))  # type: ignore[attr-defined]
        await pilot.press("enter")
        app.screen.pasted(str(tmp_path / "again"))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "DONE", "Restored as of", "Work in it with: chargewright --data")
    with Journal.open(tmp_path / "again" / "journal.db", read_only=True) as journal:
        assert [job.job for job in journal.jobs()] == ["J-0007"]


async def test_a_record_made_elsewhere_is_taken_in_and_read_and_an_altered_one_is_not(
    tmp_path: Path,
) -> None:
    there = lay(tmp_path / "there", nature="practice")
    to_the_end(there)
    there.work.do(ShowCustomer("not present"))
    issued = there.bench.sign_off(there.work, there.technician, there.passphrase)
    altered = tmp_path / "altered.pdf"
    altered.write_bytes(issued.pdf.read_bytes()[:-40] + b" " * 40)
    app = new_app(tmp_path / "here", nature="practice")
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "No open job.")
        await pilot.press("r", "t")
        await sees(pilot, "TAKE IN A RECORD")
        app.screen.pasted(str(altered))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "not kept, NOT INTACT")
        await pilot.press("ctrl+u")
        app.screen.pasted(str(issued.pdf))  # type: ignore[attr-defined]
        await pilot.press("enter")
        await sees(pilot, "kept to be read: J-0007", "J-0007 made elsewhere:", "2026-11-25 PRACTICE")
        await pilot.press("enter")
        await sees(pilot, "A RECORD MADE ELSEWHERE", "PRACTICE", "read on")
        for _ in range(60):
            if "PRACTICE RECORD" in shown(app) or "Harbour School" in shown(app):
                break
            await pilot.press("pagedown")
        await pilot.press("escape")
        await sees(pilot, "RECORDS")


async def test_the_first_page_tells_what_a_job_waits_for_that_nobody_took_up_yet(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data", nature="practice")
    to_the_loop(desk)
    read_round(desk)
    begin_weighing(desk)
    desk.work.do(EndWeigh("2.2", value("cylinder_weight", "21lb14.5oz")))
    desk.bench.close()
    app = ChargewrightApp(desk.bench.folder, nature="practice", clock=desk.clock, run="run-2", tick_s=3600.0)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "not taken up yet: J-0007 15:00 left")
        app._ring()
        desk.clock.advance(901)
        app._ring()
        await sees(pilot, "J-0007: TIME IS UP", "not taken up yet: J-0007 TIME IS UP")


async def test_a_newer_revision_in_the_library_is_told_where_a_job_is_taken_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = lay(tmp_path / "data", nature="practice")
    desk.bench.close()
    newer = replace(desk.work.state.procedure, revision="5", sha256="0" * 64)
    monkeypatch.setattr(library, "load", lambda _id: newer)
    app = ChargewrightApp(desk.bench.folder, nature="practice", clock=desk.clock, run="run-2", tick_s=3600.0)
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "J-0007")
        await pilot.press("enter")
        await sees(pilot, "Passphrase")
        await types(pilot, desk.passphrase, "enter")
        await sees(pilot, "YOU WERE AWAY", "The library has revision 5 of small", "this job keeps")


async def test_practice_is_one_letter_away_with_people_and_jobs_of_its_own(tmp_path: Path) -> None:
    lay(tmp_path / "data" / "practice", nature="practice").bench.close()
    app = new_app(tmp_path / "data")
    async with app.run_test(size=(80, 24)) as pilot:
        await sees(pilot, "No open job.", "practice: lessons, and jobs that are no evidence")
        await pilot.press("p")
        await sees(pilot, "PRACTICE", "J-0007  Harbour School", "back to real work")
        await pilot.press("p")
        await sees(pilot, "No open job.")
        assert "PRACTICE" not in shown(app)


GEAR = {
    "appliance.low_side_design_pressure": "250",
    "line_set.length": "40",
    "line_set.covered": "15",
    "line_set.adder": "0.6oz/ft",
    "recovery_machine.id": "RM-1",
    "recovery_machine.made": "2021-05-01",
    "recovery_machine.rating": "non-flammable",
    "vacuum_pump.id": "VP-2",
    "vacuum_pump.rating": "flammable",
}


def test_the_form_asks_for_machines_only_where_the_procedure_needs_them_and_keeps_what_was_typed() -> None:
    names = (("charge-fixed-orifice", "Charge"), ("open-circuit-weigh-in", "Open"))
    plainly = _fill_in(order_filling(names), TYPED_ORDER)
    needs = needs_of(library.load("open-circuit-weigh-in"))
    asked = with_gear(_fill_in(plainly, {"procedure": "open-circuit-weigh-in"}), needs)
    assert {ask.key for ask in asked.asks} - {ask.key for ask in plainly.asks} == set(GEAR)
    assert asked.text("reason") == plainly.text("reason")
    order = read_order(order_text(_fill_in(asked, GEAR), "real").encode(), "this order")
    assert order.gear.recovery_machine is not None
    assert order.gear.line_set is not None
    assert order.low_side_design_pressure is not None
    back = with_gear(asked, needs_of(library.load("charge-fixed-orifice")))
    assert [ask.key for ask in back.asks] == [ask.key for ask in plainly.asks]
    again = with_gear(
        _fill_in(order_filling(names, order), {"procedure": "open-circuit-weigh-in"}), needs, order
    )
    assert again.text("recovery_machine.made") == "2021-05-01"
    assert again.text("line_set.length") == ""


async def test_something_past_its_calibration_is_named_and_the_job_begins_only_with_a_reason(
    tmp_path: Path,
) -> None:
    text = ORDER.format(place="Harbour School", nature="practice").replace(
        "procedure: small", "procedure: charge-fixed-orifice"
    ).replace("division: 0.5oz", "division: 0.5oz, calibration_due: 2026-01-31")  # fmt: skip
    order = tmp_path / "order.yaml"
    order.write_text(text)
    lay(tmp_path / "data", nature="practice").bench.close()
    app = new_app(tmp_path / "data", nature="practice", order_file=order)
    async with app.run_test(size=(40, 12)) as pilot:
        await sees(pilot, "Passphrase")
        await types(pilot, "a long enough phrase", "enter")
        await sees(pilot, "BEFORE THE JOB", "scale S-1, due", "2026-01-31", "Why all the same")
        await pilot.press("enter")
        await sees(pilot, "nothing typed yet")
        await pilot.press("1", "enter")
        await sees(pilot, "J-0002", "1.1")
        assert app.bench is not None
        opened = read_payload("opened", next(app.bench.journal.events("J-0002")).body)
        assert isinstance(opened, Opened)
        assert opened.past_due_reason is not None
        assert app.bench.staff.text(opened.past_due_reason) == "compared with another one today"
