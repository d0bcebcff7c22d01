"""The cycle as a picture: its corners stand where the numbers say, and the dome lies around it."""

from __future__ import annotations

from pathlib import Path

import pytest

from guide.charging.cycle import Corner, Cycle, cycle, wanted_cycle
from guide.charging.meaning import interpret
from guide.refrigerant.thermal import COVERED, thermal
from guide.screens.chart import chart
from guide.screens.cycle_picture import cycle_picture, cycle_picture_of, dome_corners
from guide.screens.paint import plain, width_of
from tests.charging.test_cycle import READ, UNIT
from tests.screens.small_job import lay, read_round, to_the_loop


def both() -> tuple[Cycle, Cycle]:
    table = thermal("R-410A")
    now, wanted = cycle(table, READ), wanted_cycle(table, READ, interpret(UNIT, READ))
    assert now is not None
    assert wanted is not None
    return now, wanted


def test_the_numbers_beside_the_picture_are_those_of_the_corners() -> None:
    now, wanted = both()
    picture = cycle_picture(thermal("R-410A"), now, wanted, american=True)
    # 1 Btu/lb is 2326 J/kg exactly, 1 psi 6894.757 Pa: NIST SP 811, MEMORY
    assert f"{now.suction.pressure_Pa / 6894.757:.1f}" in picture.rows[0]
    assert f"{now.suction.enthalpy / 2326.0:.1f}" in picture.rows[0]
    assert f"{now.liquid.enthalpy / 2326.0:.1f}" in picture.rows[3]


@pytest.mark.parametrize(("width", "height"), [(40, 9), (80, 18), (120, 30)])
def test_it_fits_any_window(width: int, height: int) -> None:
    now, wanted = both()
    lines = chart(cycle_picture(thermal("R-410A"), now, wanted, american=False), width, height)
    assert len(lines) <= height
    assert all(width_of(line) <= width for line in lines)
    text = plain(lines)
    assert all(number in text for number in "1234")


def test_without_a_target_no_place_is_marked_for_it() -> None:
    now, _ = both()
    picture = cycle_picture(thermal("R-410A"), now, None, american=True)
    assert not any(curve.mark == "○" for curve in picture.curves)
    assert not any("target" in head for head in picture.heads)


def test_a_discharge_nobody_read_is_called_assumed() -> None:
    now, _ = both()
    assumed = Cycle(now.suction, now.discharge, now.liquid, now.mixture, discharge_read=False)
    assert any(
        "assumes" in head for head in cycle_picture(thermal("R-410A"), assumed, None, american=True).heads
    )


@pytest.mark.parametrize("name", COVERED)
def test_the_dome_opens_downwards_and_closes_towards_the_critical_point(name: str) -> None:
    table = thermal(name)
    corners = dome_corners(table, 0.0, 1e12)
    half = len(corners) // 2
    widths = [
        vapour.enthalpy - liquid.enthalpy
        for liquid, vapour in zip(corners[:half], reversed(corners[half:]), strict=True)
    ]
    assert all(isinstance(corner, Corner) for corner in corners)
    assert widths == sorted(widths, reverse=True)
    assert min(widths) > 0.0


def test_a_job_without_a_round_has_no_cycle_and_with_one_it_has(tmp_path: Path) -> None:
    desk = lay(tmp_path / "data")
    assert cycle_picture_of(desk.work.state, american=True) is None
    to_the_loop(desk)
    read_round(desk)
    picture = cycle_picture_of(desk.work.state, american=True)
    assert picture is not None
    assert picture.heads[0].startswith("cycle round 1")
