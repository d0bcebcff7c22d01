"""What a record prints of an opened circuit: weighings against their target, holds and what changed."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from guide.job import commands as c
from guide.job import payloads as p
from guide.job.series import trace
from guide.record.compile import moved_words, outcome
from guide.record.figures import Figures
from guide.record.holds import holds
from guide.record.narrate import narrate
from guide.record.worked import held
from guide.record.working import balance, readings
from tests.job.opened import OpenDesk, gas, read


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[OpenDesk]:
    made = OpenDesk(tmp_path)
    yield made
    made.bench.close()


def _payloads(desk: OpenDesk) -> list[p.Payload]:
    return [p.read_payload(e.kind, e.body) for e in desk.bench.journal.events(desk.work.state.job)]


def _figures(desk: OpenDesk) -> Figures:
    return Figures.of(desk.work.state.order)


def test_the_balance_shows_whole_charge_out_and_in_and_each_weighing_against_its_target(
    desk: OpenDesk,
) -> None:
    desk.recovered()
    desk.tight()
    desk.charged()

    section = balance(desk.work.state, _payloads(desk), _figures(desk))

    said = dict(section.pairs)
    assert said["Into the system"] == "8 lb 15 oz (4.054 kg)"
    assert said["Out of the system"] == "8 lb 0 oz (3.629 kg)"
    assert said["Net into the system"].startswith("+15 oz (+0.425 kg)")
    rows = next(table for table in section.tables if table.title == "Weighings by step").rows
    assert [row[0] for row in rows] == ["R.1", "W.1"]
    assert rows[0][2:] == ("8 lb 0 oz (3.629 kg)", "–", "–")
    assert rows[1][2:] == ("8 lb 15 oz (4.054 kg)", "8 lb 15 oz (4.054 kg)", "nothing")


def test_the_customer_reads_what_is_in_the_system_more_or_less_than_before(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()
    desk.charged()

    assert moved_words(desk.work.state, _figures(desk)) == [
        "Refrigerant put into your system: 8 lb 15 oz (4.054 kg) of R-410A.",
        "Refrigerant taken out of your system: 8 lb 0 oz (3.629 kg).",
        "So your system now holds 15 oz (0.425 kg) more than before the work.",
    ]
    assert outcome(desk.work.state).startswith("The charge was weighed in")


def test_a_hold_shows_start_expected_end_change_and_verdict(desk: OpenDesk) -> None:
    """240 psig at 80 °F would show 235.1 psig at 70 °F: nitrogen by CoolProp 8 (LIBRARY)."""
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 60, gas("240 psig", "80 F"), gas("220 psig", "80 F"))
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("235.0 psig", "70 F"))

    section = readings(desk.work.state, _payloads(desk), _figures(desk))

    table = next(table for table in section.tables if table.title.startswith("Timed holds"))
    early, whole = table.rows
    assert early[1] == "1 min 00 s of 10 min 00 s"
    assert early[-1] == "FAIL"
    assert whole[1:6] == ("10 min 00 s", "Test pressure, nitrogen", "240 psig", "235.1 psig", "235 psig")
    assert whole[6].startswith("-0.1 psi ± 0.4 psi")
    assert whole[7:] == ("fall at most 1.0 psi", "PASS")


def test_a_hold_says_which_leak_it_could_have_shown(desk: OpenDesk) -> None:
    """CALCULATED: 0.443 psi in 600 s is 5.1 Pa/s, so 0.051 mbar L/s a litre; 0.09 psi more were lost."""
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("235.0 psig", "70 F"))

    section = readings(desk.work.state, _payloads(desk), _figures(desk))

    table = next(table for table in section.tables if "which leak" in table.title)
    assert table.rows == (
        (
            "T.2",
            "Test pressure, nitrogen",
            "10 min 00 s",
            "0.4 psi",
            "5.1e-2 mbar L/s",
            "6.1e-2 mbar L/s",
        ),
    )


def test_the_trail_says_what_changed_and_what_was_finished(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 60, gas("240 psig", "80 F"), gas("220 psig", "80 F"))

    state = desk.work.state
    said = [narrate(each, state.procedure, _figures(desk), desk.work.text) for each in _payloads(desk)]

    assert "weighings finished: 8 lb 0 oz (3.629 kg) moved" in said
    assert "wait ended, before its time, after 1 min 00 s" in said[-1]
    assert said[-1].endswith("test pressure changed by -20.0 psi: fail")


def test_the_bound_of_a_change_is_not_drawn_as_a_bound_of_the_value(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()

    vacuum = trace(desk.bench.journal.events(desk.work.state.job), "system_vacuum")

    assert vacuum is not None
    assert [bound.si for bound in vacuum.bounds] == [float(Decimal("66.6612"))]


def test_a_job_without_such_steps_prints_no_empty_tables(desk: OpenDesk) -> None:
    state, payloads, figures = desk.work.state, _payloads(desk), _figures(desk)

    titles = [table.title for table in balance(state, payloads, figures).tables]
    assert titles == ["Moves", "Cylinders", "Charge to weigh in"]
    assert len(readings(state, payloads, figures).tables) == 3


def test_the_service_fields_name_the_last_hold_of_each_step(desk: OpenDesk) -> None:
    desk.recovered()
    desk.work.do(c.Read("T.1", (read("test_pressure", "240 psig"),)))
    desk.hold("T.2", 60, gas("240 psig", "80 F"), gas("220 psig", "80 F"))
    desk.hold("T.2", 600, gas("240 psig", "80 F"), gas("240 psig", "80 F"))

    assert held(_payloads(desk), _figures(desk)) == (
        "step T.2: Test pressure, nitrogen, 240 psig after 10 min 00 s, changed by 0.0 psi: PASS"
    )


def test_each_hold_of_a_pressure_has_a_chart_of_its_own_with_its_own_limits(desk: OpenDesk) -> None:
    desk.recovered()
    desk.tight()

    [section] = holds(list(desk.bench.journal.events(desk.work.state.job)), _figures(desk))

    charts = {chart.title.split(",")[0]: chart for chart in section.charts}
    pressure = charts["Test pressure"]
    assert [point.phase for point in pressure.points] == ["start", "end"]
    assert pressure.limits == (), "the limit of the step before belongs to that step"
    assert charts["Vacuum in the system"].log
