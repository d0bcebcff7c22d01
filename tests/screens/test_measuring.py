"""A step that asks how readings stand is told what they come to, on the sheet and in the plain prompt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from guide.job.measured import measured
from guide.job.order import read_order
from guide.job.state import JobState
from guide.plain import words
from guide.procedure.model import Step
from guide.rig.player import Player
from guide.rig.rehearsal import Rehearsal, prepare
from guide.screens.measuring import measured_words
from tests.rig.straight_line import straight_line

ORDER = Path(__file__).resolve().parents[2] / "jobs" / "practice-valve.yaml"
K_PER_F = 1 / 1.8
AT_UNCERTAIN_F = 0.35  # what the display's rounding and the simulated scatter may come to


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rehearsal]:
    """A valve unit at 90 % of its charge, told by hand: subcooling 10 - 0.6 * 10 = 4 °F, superheat 12 °F."""
    rehearsal = prepare(
        read_order(ORDER.read_bytes(), ORDER.name),
        tmp_path_factory.mktemp("job"),
        start=datetime(2026, 11, 25, 9, tzinfo=UTC),
        start_fraction=0.9,
    )
    plant = straight_line(rehearsal.work.state.order, start_fraction=0.9)
    rehearsal.player = Player(rehearsal.work, plant, rehearsal.clock)
    yield rehearsal
    rehearsal.close()


@pytest.fixture(scope="module")
def at_the_split(made: Rehearsal) -> tuple[JobState, Step]:
    return upto(made, "COMPARE the temperature split")


@pytest.fixture(scope="module")
def at_the_valve(made: Rehearsal, at_the_split: tuple[JobState, Step]) -> tuple[JobState, Step]:
    assert at_the_split
    return upto(made, "COMPARE superheat with")


def upto(made: Rehearsal, words: str) -> tuple[JobState, Step]:
    while (step := made.work.focus().step) is None or not step.do.startswith(words):
        assert made.player.step() is not None
    return made.work.state, step


def test_the_split_is_said_with_the_target_it_is_held_against(at_the_split: tuple[JobState, Step]) -> None:
    """Target split at 77 °F dry and 66 °F wet: 17.5 °F (Table RA3.2-3 by its fit, from memory)."""
    figures, readings = measured(*at_the_split)

    assert [figure.name for figure in figures] == ["split"]
    assert figures[0].low_K is not None
    assert float(figures[0].low_K) * 1.8 == pytest.approx(17.46, abs=AT_UNCERTAIN_F)
    by_channel = {value.channel: value.si for value in readings}
    split = by_channel["indoor_db"] - by_channel["supply_db"]
    assert abs(figures[0].value_K - split) < Decimal("0.001")
    assert measured_words(*at_the_split)[0].startswith("split 1")
    assert "target 17." in measured_words(*at_the_split, brief=True)[0]


def test_superheat_and_subcooling_are_said_with_range_and_target(at_the_valve: tuple[JobState, Step]) -> None:
    """4 to 25 °F without a maker's range (FOUND, Title 24, 2008 Residential Appendices RA3.2, p. 16)."""
    superheat, subcooling = measured(*at_the_valve)[0]

    assert float(superheat.value_K) * 1.8 == pytest.approx(12.0, abs=AT_UNCERTAIN_F)
    assert float(subcooling.value_K) * 1.8 == pytest.approx(4.0, abs=AT_UNCERTAIN_F)
    long = measured_words(*at_the_valve)
    assert long[0].endswith("range 4.0 to 25.0 °F")
    assert long[1].endswith("target 10.0 °F")
    assert all("±" in line for line in long)


def test_on_a_small_sheet_one_line_holds_both(at_the_valve: tuple[JobState, Step]) -> None:
    (line,) = measured_words(*at_the_valve, brief=True)

    assert len(line) <= 38
    assert "superheat 1" in line
    assert "subcooling " in line


def test_the_plain_prompt_says_the_same(made: Rehearsal, at_the_valve: tuple[JobState, Step]) -> None:
    state, step = at_the_valve
    said = words.action(state, replace(made.work.focus(), step=step))

    assert [line for line in said if line.startswith("Measured: ")] == [
        f"Measured: {line}." for line in measured_words(state, step)
    ]


def test_a_reading_that_was_left_out_says_nothing(at_the_valve: tuple[JobState, Step]) -> None:
    state, step = at_the_valve

    assert measured(replace(state, entries=()), step) == ((), ())


def test_a_corrected_reading_changes_the_figure(at_the_valve: tuple[JobState, Step]) -> None:
    state, step = at_the_valve
    warmer = tuple(
        replace(entry, value=entry.value.model_copy(update={"si": entry.value.si + Decimal(1)}))
        if entry.channel == "suction_line"
        else entry
        for entry in state.entries
    )

    before, after = measured(state, step)[0], measured(replace(state, entries=warmer), step)[0]

    assert abs(after[0].value_K - before[0].value_K - 1) < Decimal("0.001")


def test_other_steps_are_told_nothing(made: Rehearsal, at_the_valve: tuple[JobState, Step]) -> None:
    state, _ = at_the_valve
    told = {step.do for _, step in made.work.state.procedure.steps() if measured_words(state, step)}

    assert told == {
        "COMPARE the temperature split with its target.",
        "COMPARE superheat with the range of the valve.",
    }
