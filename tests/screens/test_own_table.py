"""A job whose order carries the maker's own table is judged by it, and says so wherever a target stands."""

from __future__ import annotations

from pathlib import Path

from guide.charging.wording import K_PER_F
from guide.job.order import read_order
from guide.record.figures import Figures
from guide.record.working import charging
from guide.screens.explain import number_paragraphs
from guide.screens.figures import target_line
from guide.screens.paint import plain
from tests.rig.straight_line import straight_line
from tests.screens.small_job import ORDER, ROUND, lay, read_round, to_the_loop

TABLE = """\
  target_superheat_table:
    source: chart inside the cover
    wet_bulb: 60F 70F
    superheat:
      75F: 20dF 30dF
      100F: 15dF 25dF
site:"""
ORDERED = ORDER.format(nature="demonstration", place="Harbour School").replace("site:", TABLE, 1)


def test_sheet_explanation_and_record_name_the_table_and_the_checker_reaches_the_same(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data", order=read_order(ORDERED.encode(), "order.yaml"))
    to_the_loop(desk)
    read_round(desk, {**ROUND, "indoor_wb": "67F", "outdoor_db": "95F"})
    state = desk.work.state
    said = state.rounds[-1].read.assessment
    # 15 + 0.2 · 5 at 60 °F and 10 °F more at 70 °F, so 23 °F (CALCULATED)
    assert said.target_superheat_K is not None
    assert abs(float(said.target_superheat_K) - 23.0 * K_PER_F) < 1e-3
    assert any("chart inside the cover" in reason for reason in said.reasons)
    assert "the maker's table, chart inside the cover" in "\n".join(number_paragraphs(state))
    pairs = dict(charging(state, Figures.of(state.order))[0].pairs)
    assert pairs["Target's source"] == "the maker's table: chart inside the cover"
    assert "(maker's: 67.0 °F wet, 95.0 °F out)" in plain([target_line(state, state.rounds[-1], 80)])
    again = read_order(state.order.text.encode(), "order.yaml")
    assert again.target_table == state.order.target_table


def test_the_simulated_system_is_right_where_the_maker_s_table_says_so() -> None:
    order = read_order(ORDERED.encode(), "order.yaml")
    plant = straight_line(order, start_fraction=1.0, seed=1)
    setting = plant.setting
    assert order.target_table is not None
    target_K = order.target_table.target(setting.indoor_wb_K, setting.outdoor_db_K).value_K
    assert target_K is not None
    assert abs(plant.superheat_K() - target_K) < 1e-6
