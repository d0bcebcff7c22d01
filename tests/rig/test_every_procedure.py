"""Every shipped procedure is worked from a shipped order to a signed record that is intact.

Published figures are held to beside each check, with where they were read.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from guide.bench.bench import Bench
from guide.bench.people import KnownPerson
from guide.charging.water_vapor import MICRON_Pa
from guide.job import payloads as p
from guide.job.commands import Abort, EndWeigh, EndWeighing
from guide.job.focus import Front, Refused
from guide.job.order import Order, read_order
from guide.job.state import JobState, Standing
from guide.journal.port import SimulatedClock
from guide.procedure import library
from guide.procedure.model import Adjust, OrderFigure, Wait
from guide.record.verify import verify_record
from guide.rig.circuit import SOUND, Trouble
from guide.rig.instrument import weight
from guide.rig.player import Player
from guide.rig.rehearsal import Rehearsal, plant_for, prepare
from tests.cli_call import call

JOBS = Path(__file__).resolve().parents[2] / "jobs"
START = datetime(2026, 11, 25, 9, tzinfo=UTC)
SITE_Pa = 101_325.0
PSI_Pa = 6894.757293168
K_PER_F = 1 / 1.8
OZ_kg = 0.028349523125

A1 = "mill-lane-house-leak"
A2L = "orchard-clinic-unit-2"
REAL = ["harbour-school-unit-3", "reedwater-library-heat-pump", A1, A2L]
PRACTICE = ["demonstration", "practice-valve", "practice-opening"]


def order(name: str) -> Order:
    """A shipped order, worked as practice."""
    text = (JOBS / f"{name}.yaml").read_text(encoding="utf-8").replace("nature: real", "nature: practice")
    return read_order(text.encode(), f"{name}.yaml")


class Worked:
    """One job worked to its record."""

    def __init__(self, made: Rehearsal) -> None:
        self.said: list[str] = []
        while (words := made.step()) is not None:
            self.said.append(words)
        made.close()
        self.state: JobState = made.work.state
        assert made.issued is not None
        self.report = verify_record(made.issued.pdf.read_bytes())
        with_journal = Bench.open(made.bench.folder, nature="practice", clock=made.clock)
        events = list(with_journal.journal.events(self.state.job))
        with_journal.close()
        self.payloads = [p.read_payload(event.kind, event.body) for event in events]
        self.done = [getattr(payload, "step", "") for payload in self.payloads]

    def step(self, do: str) -> str:
        """The id of the step whose action begins like this."""
        found = [step.id for _, step in self.state.procedure.steps() if step.do.startswith(do)]
        assert found, do
        return found[0]

    def first(self, do: str) -> int:
        """Where in the log the step whose action begins like this was first worked."""
        return self.done.index(self.step(do))

    def holds(self, channel: str) -> list[tuple[p.WaitBegun, p.WaitEnded]]:
        begun = [each for each in self.payloads if isinstance(each, p.WaitBegun)]
        ended = [each for each in self.payloads if isinstance(each, p.WaitEnded)]
        pairs = list(zip(begun, ended, strict=True))
        return [(a, b) for a, b in pairs if any(reading.channel == channel for reading in b.readings)]


Works = Callable[..., Worked]


@pytest.fixture(scope="module")
def works(tmp_path_factory: pytest.TempPathFactory) -> Works:
    kept: dict[tuple[str, Trouble], Worked] = {}

    def worked(name: str, trouble: Trouble = SOUND) -> Worked:
        if (name, trouble) not in kept:
            folder = tmp_path_factory.mktemp(name) / "job"
            kept[name, trouble] = Worked(prepare(order(name), folder, start=START, trouble=trouble))
        return kept[name, trouble]

    return worked


def value(readings: tuple[p.ReadingValue, ...], channel: str) -> float:
    return float(next(reading.si for reading in readings if reading.channel == channel))


def readings(worked: Worked, channel: str) -> list[float]:
    return [float(entry.value.si) for entry in worked.state.entries if entry.channel == channel]


# -- start to finish ------------------------------------------------------------------------------


def test_every_shipped_procedure_is_among_those_worked_here() -> None:
    assert {order(name).procedure for name in REAL} == set(library.list_procedures())
    assert {order(name).procedure for name in PRACTICE} == set(library.list_procedures())


@pytest.mark.parametrize("name", REAL)
def test_a_shipped_order_is_worked_to_a_signed_and_intact_record(works: Works, name: str) -> None:
    worked = works(name)

    state = worked.state
    assert worked.report.intact, worked.report.first_wrong
    assert worked.report.nature == "practice"
    standings = {state.standing(step.id) for _, step in state.procedure.steps()}
    assert standings == {Standing.DONE, Standing.NOT_APPLICABLE}
    assert state.closed is not None
    assert state.closed.outcome == "complete"
    assert not [each for each in worked.payloads if isinstance(each, p.Redone | p.Skipped)]


@pytest.mark.parametrize("name", PRACTICE[1:])  # the demonstration's order is worked in test_cli_work
def test_a_practice_order_is_worked_unattended_from_the_command_line(tmp_path: Path, name: str) -> None:
    answer = call("run", str(JOBS / f"{name}.yaml"), "--unattended", data=tmp_path)

    assert (answer.code, answer.err) == (0, "")
    report = verify_record(Path(answer.lines()[-1]).read_bytes())
    assert report.intact, report.first_wrong


# -- an opened circuit ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", [A1, A2L])
def test_it_is_recovered_to_the_published_level_before_it_is_opened(works: Works, name: str) -> None:
    """High-pressure appliances under 200 lb, which those for R-410A and R-454B are: 0 inHg below the standard
    atmosphere, whatever the machine's age (40 CFR 82.156(a) Table 1, FOUND, regulations reference 1.4)."""
    worked = works(name)
    [(_, held)] = worked.holds("system_pressure")

    [verdict] = [each for each in held.verdicts if each.channel == "system_pressure"]
    assert float(verdict.limit) == pytest.approx(SITE_Pa)
    assert verdict.verdict == "pass"
    assert value(held.readings, "system_pressure") < SITE_Pa
    assert worked.done.index(held.step) < worked.first("OPEN the circuit cold")


def test_a_medium_pressure_refrigerant_is_recovered_below_the_atmosphere(tmp_path: Path) -> None:
    """R-134a, machine made after 1993-11-15, under 200 lb: 10 inHg below the standard atmosphere (40 CFR
    82.156(a) Table 1, FOUND, regulations reference 1.4)."""
    text = order("practice-opening").text.replace("R-410A", "R-134a")
    made = prepare(read_order(text.encode(), "order"), tmp_path, start=START)
    keep = next(
        step.id for _, step in made.work.state.procedure.steps() if step.do.startswith("KEEP the machine")
    )
    while made.work.state.standing(keep) is Standing.TODO:
        assert made.player.step() is not None
    seen = [p.read_payload(event.kind, event.body) for event in made.work.events()]
    [held] = [each for each in seen if isinstance(each, p.WaitEnded) and each.step == keep]
    made.close()

    assert float(held.verdicts[0].limit) == pytest.approx(SITE_Pa - 10 * 3386.389)
    assert held.accepted


def test_broken_off_under_vacuum_it_is_left_in_a_safe_state(tmp_path: Path) -> None:
    made = prepare(order(A1), tmp_path, start=START)
    while not _stands_in_vacuum(made.work.state):
        assert made.player.step() is not None
    made.work.do(Abort(made.work.keep("thunderstorm")))

    worked = Worked(made)

    assert worked.report.intact, worked.report.first_wrong
    assert worked.state.closed is not None
    assert worked.state.closed.outcome == "aborted"
    left = {step.do: worked.state.standing(step.id) for step in worked.state.procedure.on_abort.steps}
    # the refrigerant of this unit does not burn
    assert {do for do, standing in left.items() if standing is Standing.NOT_APPLICABLE} == {
        "REMOVE every ignition source near the unit.", "VENTILATE the place.",
    }  # fmt: skip
    assert set(left.values()) == {Standing.DONE, Standing.NOT_APPLICABLE}


@pytest.mark.parametrize("name", [A1, A2L])
def test_power_is_locked_off_and_proven_dead_before_and_back_on_after_the_vacuum(
    works: Works, name: str
) -> None:
    """29 CFR 1910.147 and 1910.333 (from MEMORY); a compressor never runs in a vacuum (makers, FOUND)."""
    worked = works(name)

    locked = worked.first("LOCK the disconnect")
    proven = worked.first("PROVE the voltage tester again")
    recovered = worked.first("RECOVER the refrigerant")
    evacuated = worked.first("EVACUATE the circuit for as long")
    filled = worked.first("FEED liquid into the high side")
    unlocked = worked.first("UNLOCK the disconnect")
    started = worked.first("START the unit in cooling")
    assert locked < proven < recovered < evacuated < filled < unlocked < started


def test_a2l_is_purged_evacuated_and_purged_again_before_it_is_opened(works: Works) -> None:
    """Remove, purge, evacuate, purge, open: Annex DD as printed in makers' manuals (FOUND, regulations
    reference 6.2); for A2L the middle three are optional there and asked for here (PROPOSED)."""
    worked = works(A2L)

    order_worked = [
        worked.first("RECOVER the refrigerant"),
        worked.first("PURGE the circuit with nitrogen"),
        worked.first("EVACUATE the circuit with the rated pump"),
        worked.first("PURGE the circuit again"),
        worked.first("OPEN the circuit cold"),
    ]
    assert order_worked == sorted(order_worked)
    purge = works(A1).step("PURGE the circuit with nitrogen")
    assert works(A1).state.standing(purge) is Standing.NOT_APPLICABLE


@pytest.mark.parametrize("name", [A1, A2L])
def test_nitrogen_stays_below_the_low_side_design_pressure_and_follows_the_gas_law(
    works: Works, name: str
) -> None:
    """Never above the nameplate's low side (makers, FOUND); P2 = P1 T2/T1 in absolute units, by which
    150 psig at 80 °F read 147.0 at 70 °F (charging reference 4.1, CALCULATED from a FOUND case); 150 psig
    is the makers' leak test (FOUND)."""
    worked = works(name)
    design = worked.state.order.low_side_design_pressure
    assert design is not None

    assert max(readings(worked, "test_pressure")) < float(design.si)
    site_Pa = float(worked.state.order.site_pressure_Pa)
    begun, ended = worked.holds("gas_temperature")[-1]
    before, after = value(begun.readings, "test_pressure"), value(ended.readings, "test_pressure")
    warmer = value(ended.readings, "gas_temperature") / value(begun.readings, "gas_temperature")
    assert before - site_Pa == pytest.approx(150 * PSI_Pa, rel=0.01)
    assert after == pytest.approx(before * warmer, abs=1.0 * PSI_Pa)
    [change] = [each for each in ended.verdicts if each.change is not None]
    assert abs(float(change.change or 0)) < 1.0 * PSI_Pa
    assert change.verdict == "pass"


@pytest.mark.parametrize("name", [A1, A2L])
def test_the_vacuum_meets_a_published_criterion(works: Works, name: str) -> None:
    """500 micron, then 15 min below 700, 800 or more fails (a maker of ductless units, FOUND, as in
    data/evacuation_criteria.csv); at least 10 minutes and never passed early."""
    worked = works(name)
    [(begun, ended)] = worked.holds("system_vacuum")

    assert value(begun.readings, "system_vacuum") < 500 * MICRON_Pa
    assert ended.elapsed_s >= 15 * 60
    assert ended.early is None
    assert value(ended.readings, "system_vacuum") < 700 * MICRON_Pa
    assert {each.verdict for each in ended.verdicts} == {"pass"}


@pytest.mark.parametrize(("name", "ounces"), [(A1, 8 * 16 + 0.6 * 25), (A2L, 7.5 * 16 + 0.5 * 15)])
def test_the_charge_of_nameplate_and_line_set_is_weighed_in_and_the_balance_is_right(
    works: Works, name: str, ounces: float
) -> None:
    """Makers' adder times the length, less what the factory charge covers (FOUND, charging reference 3);
    within 2 % or three divisions of the scale (PROPOSED)."""
    worked = works(name)
    state = worked.state
    recovered, weighed_in = [each for each in worked.payloads if isinstance(each, p.WeighingFinished)]

    assert weighed_in.target_kg is not None
    assert float(weighed_in.target_kg) == pytest.approx(ounces * OZ_kg, rel=1e-4)
    off = abs(float(weighed_in.moved_kg - weighed_in.target_kg))
    assert off <= 3 * float(state.order.scale_division.si)
    assert recovered.reason is None
    assert weighed_in.reason is None
    # nine tenths were in the simulated system to begin with; what stays is vapour below the level asked for
    left_kg = 0.9 * ounces * OZ_kg - float(state.recovered_kg())
    assert 0.0 <= left_kg < 0.045
    assert state.net_charged_kg() == state.charged_kg() - state.recovered_kg()


@pytest.mark.parametrize(("name", "by_superheat"), [(A1, True), (A2L, False)])
def test_the_charge_is_then_checked_by_the_method_of_its_metering_device(
    works: Works, name: str, by_superheat: bool
) -> None:
    """Title 24 RA3.2: superheat within 5 °F of target, subcooling within 3 °F, 15 min before the first round
    (FOUND, charging reference 1.1)."""
    state = works(name).state
    last = state.rounds[-1].read.assessment

    adjusting = state.procedure.step(state.rounds[-1].read.step).proof
    assert isinstance(adjusting, Adjust)
    assert adjusting.method.value == ("superheat" if by_superheat else "subcooling")
    is_K = last.superheat_K if by_superheat else last.subcooling_K
    target_K = last.target_superheat_K if by_superheat else last.target_subcooling_K
    assert is_K is not None
    assert target_K is not None
    assert abs(float(is_K - target_K)) <= (5.0 if by_superheat else 3.0) * K_PER_F
    assert all(each.read.assessment.minutes_since_change >= 15 for each in state.rounds)
    assert state.loop_ended is not None
    assert state.loop_ended.outcome in {"in tolerance", "undecided, accepted"}


def test_what_the_high_side_does_not_take_follows_with_the_unit_running(tmp_path: Path) -> None:
    """Liquid into the high side with the compressor off, the rest throttled through the low side (makers,
    FOUND); the two weighings make up the one charge of the order."""
    more = {"COMPARE the weight moved": "a rest"}
    procedure = library.load(order(A1).procedure)
    steps = {do: step.id for _, step in procedure.steps() for do in more if step.do.startswith(do)}
    made = prepare(order(A1), tmp_path, start=START, answers={steps[do]: seen for do, seen in more.items()})
    work, player = made.work, made.player
    feed = next(step.id for _, step in procedure.steps() if step.do.startswith("FEED liquid into the high"))
    while work.state.weighing is None or work.state.weighing.begun.step != feed:
        assert player.step() is not None
    cylinder, before = work.state.weighing.begun.cylinder, work.state.weighing.begun.before
    player.plant.move(2.5)
    after = float(before.si) - 2.5
    work.do(EndWeigh(feed, weight(work.state.order, after)))
    with pytest.raises(Refused, match="are left; weigh on, or finish with a reason"):
        work.do(EndWeighing(feed))
    work.do(EndWeighing(feed, work.keep("both pressures are equal")))

    while player.step() is not None:
        pass
    made.close()

    first, second = [each for each in work.state.moves if each.into_system_kg > 0]
    assert first.cylinder == second.cylinder == cylinder
    assert float(first.into_system_kg) == pytest.approx(2.5, abs=0.02)
    target = work.state.order.figure(OrderFigure.WEIGH_IN_CHARGE)
    assert target is not None
    assert abs(work.state.charged_kg() - target.si) <= 3 * work.state.order.scale_division.si
    assert work.state.loop_ended is not None
    assert work.state.loop_ended.outcome == "in tolerance"


# -- trouble --------------------------------------------------------------------------------------

LEAKING_AND_DAMP = Trouble(nitrogen_leak_Pa_per_s=0.3 * PSI_Pa / 60, damp_Pa=5000 * MICRON_Pa)


def test_a_leak_under_nitrogen_is_not_accepted_and_mended_before_the_work_goes_on(works: Works) -> None:
    worked = works(A1, LEAKING_AND_DAMP)
    (_, bad), (_, good) = worked.holds("gas_temperature")

    assert (bad.accepted, good.accepted) == (False, True)
    assert bad.early
    [fall] = [each for each in bad.verdicts if each.change is not None]
    assert fall.verdict == "fail"
    assert float(fall.change or 0) < -2 * PSI_Pa
    assert good.elapsed_s >= 60 * 60
    opened = worked.payloads.index(good)
    assert opened < worked.first("EVACUATE the circuit for as long")


def test_moisture_makes_the_vacuum_rise_and_is_pumped_out_before_refrigerant_comes_in(works: Works) -> None:
    """Moisture climbs, then levels off below the atmosphere; a leak climbs on (two makers, FOUND)."""
    worked = works(A1, LEAKING_AND_DAMP)
    (_, bad), *_, (_, good) = worked.holds("system_vacuum")

    assert (bad.accepted, good.accepted) == (False, True)
    assert 700 * MICRON_Pa < value(bad.readings, "system_vacuum") < 5000 * MICRON_Pa
    assert worked.payloads.index(good) < worked.first("FEED liquid into the high side")
    assert any("no leak is found: moisture" in said for said in worked.said)


def test_a_record_with_bad_holds_in_it_is_intact_too(works: Works) -> None:
    assert works(A1, LEAKING_AND_DAMP).report.intact, works(A1, LEAKING_AND_DAMP).report.first_wrong


# -- killed ---------------------------------------------------------------------------------------

PERSON = KnownPerson("killed", "Killed Once", "none, simulated", "none")
PASSPHRASE = "one life is enough for most"


def test_killed_in_the_middle_of_the_standing_vacuum_it_keeps_its_place(works: Works, tmp_path: Path) -> None:
    """SIGKILL once the hold has begun; the hold goes on from its start, and the vacuum is where it was."""
    bench = Bench.open(tmp_path, nature="practice", clock=SimulatedClock(START))
    bench.enrol(PERSON, PASSPHRASE)
    technician = bench.sign_in(PERSON.id, PASSPHRASE)
    bench.close()
    child = os.fork()
    if child == 0:
        try:
            clock = SimulatedClock(START, boot="first-life")
            bench = Bench.open(tmp_path, nature="practice", clock=clock)
            player = Player(bench.new_job(order(A1), technician), plant_for(order(A1)), clock)
            while not _stands_in_vacuum(player.work.state):
                player.step()
            os.kill(os.getpid(), signal.SIGKILL)
        finally:
            os._exit(1)
    assert os.WTERMSIG(os.waitpid(child, 0)[1]) == signal.SIGKILL

    clock = SimulatedClock(START, boot="second-life")
    bench = Bench.open(tmp_path, nature="practice", clock=clock)
    events = list(bench.journal.events("J-0001"))
    clock.advance((datetime.fromisoformat(events[-1].stamp.utc) - START).total_seconds() + 120.0)
    work = bench.take_up("J-0001", technician)
    assert _stands_in_vacuum(work.state)
    begun = work.state.waiting
    assert begun is not None
    player = Player(work, plant_for(order(A1)), clock)
    while player.step() is not None:
        pass
    assert work.focus().front is Front.SIGN

    payloads = [p.read_payload(event.kind, event.body) for event in work.events()]
    [held] = [each for each in payloads if isinstance(each, p.WaitEnded) and each.step == begun.begun.step]
    [resumed] = [each for each in payloads if isinstance(each, p.Resumed)]
    bench.close()
    assert resumed.check is None, "no cylinder is connected under vacuum"
    assert held.accepted
    assert held.elapsed_s >= 15 * 60
    assert not held.vouched, "only the wall clock reaches across a new start of the machine"
    # the vacuum rose as it would have without the kill
    [(_, undisturbed)] = works(A1).holds("system_vacuum")
    assert value(held.readings, "system_vacuum") == pytest.approx(
        value(undisturbed.readings, "system_vacuum"), abs=25 * MICRON_Pa
    )
    assert not [each for each in payloads if isinstance(each, p.Redone)]


def _stands_in_vacuum(state: JobState) -> bool:
    if state.waiting is None:
        return False
    proof = state.procedure.step(state.waiting.begun.step).proof
    return isinstance(proof, Wait) and any(ask.channel == "system_vacuum" for ask in proof.channels)
