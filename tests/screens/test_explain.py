"""Every number explains itself: inputs, parts of its uncertainty, places of the table, balance, versions."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.screens.explain import number_paragraphs, why_paragraphs
from guide.screens.limits_said import limit_words
from guide.screens.paint import plain
from guide.screens.sheet import sheet
from tests.screens.driving import app_of, at, sees, shown
from tests.screens.small_job import ROUND, Desk, begin_weighing, lay, read_round, to_the_loop, value
from tests.screens.test_sheet import view_of, words_of


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    made = lay(tmp_path / "data")
    to_the_loop(made)
    return made


def test_the_parts_of_each_uncertainty_add_up_to_what_was_logged(desk: Desk) -> None:
    read_round(desk)
    text = "\n".join(number_paragraphs(desk.work.state))
    for figure, most in (("superheat", "2.1"), ("subcooling", "2.0"), ("target", "2.8")):
        block = re.search(rf"^{figure} ± ([\d.]+) °F, root.*\n((?:  .*\n?)+)", text, re.MULTILINE)
        assert block is not None
        parts = [float(part) for part in re.findall(r": ± ([\d.]+) °F$", block[2], re.MULTILINE)]
        assert block[1] == most
        # the parts are rounded to a tenth each
        assert sum(part**2 for part in parts) ** 0.5 == pytest.approx(float(most), abs=0.11)
    said = desk.work.state.rounds[-1].read.assessment
    assert said.superheat_uncertainty_K is not None
    assert f"superheat ± {said.superheat_uncertainty_K * 9 / 5:.1f} °F" in text


def test_a_target_between_the_tables_places_names_all_four(desk: Desk) -> None:
    read_round(desk, {**ROUND, "indoor_wb": "66.5F", "outdoor_db": "94.5F"})
    text = "\n".join(number_paragraphs(desk.work.state))
    for place in ("66 °F inside, 94 °F outside", "67 °F inside, 94 °F outside", "66 °F inside, 95 °F outside",
                  "67 °F inside, 95 °F outside"):  # fmt: skip
        assert place in text


def test_balance_and_versions_are_told_before_and_after_the_first_round(desk: Desk) -> None:
    text = "\n".join(number_paragraphs(desk.work.state))
    assert "nothing has crossed the scale in this job" in text
    assert "target table RA3.2-2/1F/1" in text
    assert "procedure small rev 4, approved 2026-11-25, SHA-256" in text
    read_round(desk)
    begin_weighing(desk)
    desk.work.do(c.EndWeigh("2.2", value("cylinder_weight", "21lb14.5oz")))
    text = "\n".join(number_paragraphs(desk.work.state))
    assert "N-14: 22 lb 0.5 oz before, 21 lb 14.5 oz after: +2.0 oz" in text
    assert "nameplate 8 lb 0 oz, the net is +1.6 % of it" in text


def test_a_step_in_full_ends_with_what_the_order_says_of_the_unit(desk: Desk) -> None:
    state = desk.work.state
    text = "\n".join(why_paragraphs(state, state.procedure.step("1.1")))
    for words in (
        "R-410A, safety group A1, nameplate charge 8 lb 0 oz, fixed orifice",
        state.order.place,
        "N-14",
    ):
        assert words in text


def test_a_limit_tells_its_value_and_its_source(desk: Desk) -> None:
    proof = desk.work.state.procedure.step("1.2").proof
    (words,) = limit_words(desk.work.state, proof)  # type: ignore[arg-type]
    assert "at most 1000micron. Source: common practice" in words.replace("1000 micron", "1000micron")


@pytest.mark.parametrize(
    ("size", "where"), [((120, 36), "head"), ((80, 24), "looking"), ((40, 12), "looking")]
)
async def test_id_revision_day_and_hash_stand_in_a_wide_head_and_one_key_away_elsewhere(
    desk: Desk, size: tuple[int, int], where: str
) -> None:
    procedure = desk.work.state.procedure
    whole = f"small rev 4, approved 2026-11-25, SHA-256 {procedure.sha256[:8]}"
    if where == "head":
        assert whole in plain(sheet(view_of(desk.work), *size)).splitlines()[0]
        return
    async with at(desk, size) as pilot:
        await pilot.press("pageup")
        await sees(pilot, "LOOKING AT")
        assert whole in " ".join(shown(app_of(pilot)).split())


def test_an_identity_never_pushes_place_and_clock_out_of_the_head(desk: Desk) -> None:
    text = words_of(sheet(view_of(desk.work), 120, 36))
    assert "J-0007 Harbour School, roof unit 3" in text
    assert "09:57:08" in text
