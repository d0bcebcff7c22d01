"""Figures of the order, changes over a hold and repeated weighings, from the file to the model."""

from __future__ import annotations

from typing import get_args

import pytest

from guide.procedure.model import (
    Bound,
    ChangeLimit,
    Direction,
    Drift,
    Limit,
    OrderFigure,
    Procedure,
    Wait,
    Weigh,
)
from guide.procedure.reader import check, read_procedure
from guide.procedure.step_file import Figure
from guide.units import Kind

TEXT = """\
format: procedure/1
id: test
title: Test
revision: "1"
status: approved
approved: {date: "2026-11-25", by: the test}
applies:
  - {fact: line set, is: [named]}
needs_order: [low_side_design_pressure, recovery_machine]
sources: {plate: the nameplate}
parts:
  - id: work
    title: Work
    steps:
      - id: "1.1"
        do: HOLD the pressure.
        wait:
          at_least: 1 h
          channels: [{channel: test_pressure}, {channel: gas_temperature}]
          limits:
            - {channel: test_pressure, at_most: {order: low_side_design_pressure}, source: plate}
          changes:
            - {channel: test_pressure, fall_at_most: 1 dpsi, gas_temperature: gas_temperature, source: plate}
            - {channel: gas_temperature, rise_at_most: 18 dF, source: "common practice, no source"}
      - id: "1.2"
        do: RECOVER the charge.
        weigh: {direction: out, repeat: true}
      - id: "1.3"
        do: READ the pressure.
        reading:
          channels: [{channel: system_pressure}]
          limits: [{channel: system_pressure, at_most: {order: recovery_level}, source: plate}]
      - id: "1.4"
        do: WEIGH the charge in.
        weigh: {direction: in, target: {order: weigh_in_charge}, repeat: true}
      - id: "1.5"
        do: SIGN the record.
        sign: {meaning: I did it.}
on_abort:
  id: abort
  title: Break off
  steps:
    - {id: "A.1", do: CLOSE the valve., confirm: {ask: How is it?, accept: [shut]}}
"""


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    assert check(TEXT.encode(), "test") == []
    return read_procedure(TEXT.encode(), "test")


def test_what_the_order_must_have_is_named(procedure: Procedure) -> None:
    assert procedure.needs_order == ("low_side_design_pressure", "recovery_machine")


def test_a_limit_may_be_a_figure_of_the_order(procedure: Procedure) -> None:
    proof = procedure.step("1.1").proof
    assert isinstance(proof, Wait)
    figure = OrderFigure.LOW_SIDE_DESIGN_PRESSURE
    assert proof.limits == (Limit("test_pressure", Bound.AT_MOST, figure, "plate"),)


def test_a_change_is_a_difference_with_its_way_and_its_gas(procedure: Procedure) -> None:
    """1 psi is 6894.757 Pa and 18 dF are 10 K (conventional values, from memory)."""
    proof = procedure.step("1.1").proof
    assert isinstance(proof, Wait)
    fall, rise = proof.changes
    assert (fall.channel, fall.drift, fall.gas_temperature) == (
        "test_pressure",
        Drift.FALL,
        "gas_temperature",
    )
    assert fall.at_most.kind is Kind.PRESSURE_DIFFERENCE
    assert float(fall.at_most.si) == pytest.approx(6894.757, abs=0.001)
    assert rise == ChangeLimit("gas_temperature", Drift.RISE, rise.at_most, "common practice, no source")
    assert float(rise.at_most.si) == pytest.approx(10, abs=1e-5)


def test_a_weighing_may_have_a_target_and_be_repeated(procedure: Procedure) -> None:
    assert procedure.step("1.2").proof == Weigh(Direction.OUT, None, repeat=True)
    assert procedure.step("1.4").proof == Weigh(Direction.IN, OrderFigure.WEIGH_IN_CHARGE, repeat=True)


def test_the_file_knows_the_figures_that_the_model_knows() -> None:
    assert set(get_args(Figure)) == {figure.value for figure in OrderFigure}
