"""The weigh step says at which weight a recovery cylinder is full, and where its weights come from."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job.order import read_order
from guide.screens.explain import why_paragraphs
from guide.screens.weigh_turn import close_at
from tests.screens.opened_job import lay_opened
from tests.screens.small_job import Desk, lay, value
from tests.screens.test_sheet import view_of, words_of

R_3 = "{id: R-3, refrigerant: R-410A, contents: empty}"
COLLAR = "water_capacity: 26.2lb, tare: 15.4lb, tested: '2022-01-10', "


def laid(folder: Path, *, more: str = "") -> Desk:
    plain = lay_opened(folder / "plain")
    text = plain.work.state.order.text
    assert R_3 in text
    text = text.replace(R_3, R_3.replace("contents", COLLAR + "contents")) + more
    return lay(
        folder / "data", order=read_order(text.encode(), "order.yaml"), procedure=plain.work.state.procedure
    )


def sheet_words(desk: Desk, width: int = 80, height: int = 24) -> str:
    from guide.screens.sheet import sheet

    return " ".join(words_of(sheet(view_of(desk.work), width, height)).split())


def test_before_recovering_starts_the_sheet_says_when_the_cylinder_is_full(tmp_path: Path) -> None:
    desk = laid(tmp_path)

    assert "FULL at 37 lb" in sheet_words(desk)
    assert "FULL at 37 lb" in sheet_words(desk, 120, 40)


def test_while_it_runs_the_sheet_says_the_same_weight(tmp_path: Path) -> None:
    desk = laid(tmp_path)
    desk.work.do(c.BeginWeigh("1.1", "out", "R-3", value("cylinder_weight", "15lb6.5oz")))

    words = sheet_words(desk)
    assert "at the latest: it is full then" in words
    weighing = desk.work.state.weighing
    assert weighing is not None
    assert close_at(desk.work.state) == weighing.begun.stop_at_kg


def test_asked_why_it_tells_the_collar_the_rule_and_the_retest(tmp_path: Path) -> None:
    desk = laid(tmp_path)
    words = "\n".join(why_paragraphs(desk.work.state, desk.work.state.procedure.step("1.1")))

    assert "water capacity 26.2lb, tare 15.4lb" in words
    assert "80 % liquid at 77 °F; liquid R-410A is 1.060 times as heavy as water" in words
    assert "At 131 °F it then fills 98% of the volume" in words
    assert "retest due on 2027-01-10" in words
    assert "SOON: plan it" in words


def test_a_step_before_recovering_tells_the_fill_limits_already_and_one_after_it_does_not(
    tmp_path: Path,
) -> None:
    from dataclasses import replace

    from guide.procedure.model import Confirm, Step

    desk = laid(tmp_path)
    state = desk.work.state
    mark = Step("1.0", "MARK the cylinder.", Confirm("Marked?", ("yes",)))
    work = state.procedure.parts[0]
    marked = replace(work, steps=(mark, *work.steps))
    state = replace(state, procedure=replace(state.procedure, parts=(marked, *state.procedure.parts[1:])))

    assert "FULL at 37 lb" in "\n".join(why_paragraphs(state, mark))
    assert "FULL" not in "\n".join(why_paragraphs(state, work.steps[1]))


def test_without_a_collar_it_says_where_to_read_it(tmp_path: Path) -> None:
    desk = lay_opened(tmp_path / "data")
    words = "\n".join(why_paragraphs(desk.work.state, desk.work.state.procedure.step("1.1")))

    assert "no fill limit on the order. Read water capacity and tare on its collar" in words
    assert "FULL" not in sheet_words(desk)


def test_a_cylinder_that_holds_less_than_is_wanted_says_so_and_is_not_asked_below_its_tare(
    tmp_path: Path,
) -> None:
    full = "{id: N-14, refrigerant: R-410A, contents: virgin}"
    plain = lay_opened(tmp_path / "plain")
    text = plain.work.state.order.text
    assert full in text
    text = text.replace(full, full.replace("contents", "water_capacity: 26.2lb, tare: 15lb, contents"))
    order = read_order(text.encode(), "order.yaml")
    desk = lay(tmp_path / "data", order=order, procedure=plain.work.state.procedure)
    desk.work.do(c.BeginWeigh("1.1", "out", "R-3", value("cylinder_weight", "15lb6.5oz")))
    desk.work.do(c.EndWeigh("1.1", value("cylinder_weight", "17lb")))
    desk.work.do(c.EndWeighing("1.1"))
    gas = (value("test_pressure", "200psig"), value("gas_temperature", "80F"))
    desk.work.do(c.BeginWait("1.2", gas))
    desk.clock.advance(3600)
    desk.work.do(c.EndWait("1.2", gas))
    desk.work.do(c.BeginWeigh("1.3", "in", "N-14", value("cylinder_weight", "18lb0oz")))

    assert "It holds about 3 lb 0.0 oz: have ANOTHER ready" in sheet_words(desk)
    target = close_at(desk.work.state)
    assert target is not None
    assert float(target) == pytest.approx(15 * 0.45359237, abs=1e-6)


@pytest.mark.parametrize(
    ("more", "words"),
    [("", "to weigh in: 143.00 oz"), ("accessories: [{name: drier, adds: 6oz}]\n", "149.00 oz")],
)
def test_a_charge_by_weight_tells_its_parts(tmp_path: Path, more: str, words: str) -> None:
    desk = laid(tmp_path, more=more)
    said = "\n".join(why_paragraphs(desk.work.state, desk.work.state.procedure.step("1.3")))

    assert "Charge: nameplate: 128.00 oz" in said
    assert "Charge: line set: 15.00 oz" in said
    assert words in said
