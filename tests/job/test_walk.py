"""The walk, one statement of behaviour a test. The procedure and the readings are made up."""

from __future__ import annotations

from decimal import Decimal

import pytest

from guide.job import commands as c
from guide.job.focus import Front, Refused
from guide.job.state import Standing
from tests.job.small import Desk, a_round, reading, weight


def acknowledge(desk: Desk) -> None:
    for hazard in (0, 1):
        desk.work.do(c.Acknowledge("1.1", hazard))


def test_a_step_is_refused_until_every_hazard_of_it_is_acknowledged(desk: Desk) -> None:
    assert desk.work.focus().front is Front.HAZARD
    desk.work.do(c.Acknowledge("1.1", 0))

    with pytest.raises(Refused, match="warning first"):
        desk.work.do(c.Answer("1.1", "as ordered"))


def test_hazards_are_acknowledged_worst_first(desk: Desk) -> None:
    with pytest.raises(Refused, match="worst hazard comes first"):
        desk.work.do(c.Acknowledge("1.1", 1))


@pytest.mark.parametrize("word", ["ok", "y", "", "checked", "done"])
def test_a_step_is_answered_with_what_is_seen_and_never_with_ok(desk: Desk, word: str) -> None:
    acknowledge(desk)

    with pytest.raises(Refused, match="answer with what you see: as ordered, another"):
        desk.work.do(c.Answer("1.1", word))


def test_an_answer_that_stops_the_work_is_recorded_and_keeps_the_step_open(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "another"))

    assert desk.work.state.standing("1.1") is Standing.TODO
    assert desk.work.state.answers["1.1"].seen == "another"
    assert desk.work.focus().step is not None
    assert desk.work.focus().step.id == "1.1"  # type: ignore[union-attr]


def test_the_first_option_whose_facts_hold_is_offered_and_rules_the_other_branch_out(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))
    desk.work.do(c.Choose("1.3", "kept"))

    assert desk.work.state.standing("1.4") is Standing.NOT_APPLICABLE
    assert desk.work.focus().front is Front.PART_END


def test_an_option_whose_facts_do_not_hold_cannot_be_taken_even_with_a_reason(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "plain"))

    with pytest.raises(Refused, match="does not apply here"):
        desk.work.do(c.Choose("1.3", "kept", desk.work.keep("they look fine")))


def test_an_option_further_down_needs_a_reason(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))

    with pytest.raises(Refused, match="kept comes first"):
        desk.work.do(c.Choose("1.3", "evacuated"))

    desk.work.do(c.Choose("1.3", "evacuated", desk.work.keep("the set has lost its vacuum")))
    assert desk.work.state.facts["hose method"] == "evacuated"


def to_vacuum(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "plain"))
    desk.work.do(c.Choose("1.3", "evacuated"))


def test_a_hold_point_can_neither_be_skipped_nor_walked_around(desk: Desk) -> None:
    to_vacuum(desk)

    with pytest.raises(Refused, match="hold point"):
        desk.work.do(c.Skip("1.4", desk.work.keep("no gauge here")))
    with pytest.raises(Refused, match="not finished"):
        desk.work.do(c.EndPart("first"))
    with pytest.raises(Refused, match=r"stands at step 1\.4"):
        desk.work.do(c.BeginWait("2.1"))


def test_a_reading_beyond_its_limit_is_recorded_and_the_step_stays_open(desk: Desk) -> None:
    to_vacuum(desk)
    desk.work.do(c.Read("1.4", (reading("hose_vacuum", "1500 micron"),)))

    assert desk.work.state.standing("1.4") is Standing.TODO
    desk.work.do(c.Read("1.4", (reading("hose_vacuum", "400 micron"),)))
    assert desk.work.state.standing("1.4") is Standing.DONE


def test_a_value_out_of_its_plausible_range_is_asked_about_and_kept_with_a_reason(desk: Desk) -> None:
    to_vacuum(desk)
    odd = reading("hose_vacuum", "5 psia")

    with pytest.raises(Refused, match="check the unit"):
        desk.work.do(c.Read("1.4", (odd,)))

    desk.work.do(c.Read("1.4", (odd.model_copy(update={"unusual": desk.work.keep("pump just started")}),)))
    assert desk.work.state.standing("1.4") is Standing.TODO, "kept, and beyond its limit all the same"


def test_a_wait_cannot_be_ended_early(desk: Desk) -> None:
    to_vacuum(desk)
    desk.work.do(c.Read("1.4", (reading("hose_vacuum", "400 micron"),)))
    desk.work.do(c.EndPart("first"))
    desk.work.do(c.BeginWait("2.1"))
    desk.clock.advance(14 * 60)

    with pytest.raises(Refused, match="1 min of the wait are left"):
        desk.work.do(c.EndWait("2.1"))

    desk.clock.advance(61)
    desk.work.do(c.EndWait("2.1"))
    assert desk.work.state.standing("2.1") is Standing.DONE


def test_refrigerant_moves_only_after_a_round_of_readings(desk: Desk) -> None:
    desk.to_loop()

    with pytest.raises(Refused, match="round of readings"):
        desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))

    desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))
    desk.work.do(c.EndWeigh("2.2", weight("21 lb 14 oz")))
    with pytest.raises(Refused, match="round of readings"):
        desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("21 lb 14 oz")))


@pytest.mark.parametrize(
    ("cylinder", "words"),
    [("X-9", "never mix refrigerants"), ("E-1", "empty one"), ("Q-1", "not on the order")],
)
def test_the_wrong_cylinder_is_refused(desk: Desk, cylinder: str, words: str) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))

    with pytest.raises(Refused, match=words):
        desk.work.do(c.BeginWeigh("2.2", "in", cylinder, weight("22 lb")))


def test_moving_against_the_advice_needs_a_reason(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))
    assert desk.work.state.rounds[-1].read.assessment.action == "add"

    with pytest.raises(Refused, match="the advice is add"):
        desk.work.do(c.BeginWeigh("2.2", "out", "R-3", weight("30 lb")))

    reason = desk.work.keep("the maker's plate says less")
    desk.work.do(c.BeginWeigh("2.2", "out", "R-3", weight("30 lb"), reason))
    desk.work.do(c.EndWeigh("2.2", weight("30 lb 2 oz")))
    assert desk.work.state.net_charged_kg() == -Decimal("0.05669905")


def test_the_balance_is_what_the_scale_says(desk: Desk) -> None:
    desk.to_signature()

    moved = desk.work.state.net_charged_kg()
    assert moved == weight("2 oz").si
    assert desk.work.state.charged_kg() == moved
    assert desk.work.state.recovered_kg() == 0


def test_a_cylinder_that_got_heavier_while_charging_is_asked_about(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))
    desk.work.do(c.BeginWeigh("2.2", "in", "N-14", weight("22 lb")))

    with pytest.raises(Refused, match="got heavier"):
        desk.work.do(c.EndWeigh("2.2", weight("22 lb 4 oz")))


def test_the_loop_is_left_only_on_a_verdict_or_with_a_reason(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Read("2.2", a_round()))

    with pytest.raises(Refused, match="the advice is add"):
        desk.work.do(c.EndAdjust("2.2"))


def test_a_correction_keeps_the_old_value_and_reckons_the_move_again(desk: Desk) -> None:
    desk.to_signature()
    before = desk.work.state
    entry = next(e for e in before.entries if e.channel == "weight after")

    desk.work.do(
        c.Correct(entry.seq, "weight after", weight("21 lb 13 oz"), desk.work.keep("misread the scale"))
    )

    assert desk.work.state.net_charged_kg() == weight("3 oz").si
    events = list(desk.bench.journal.events(before.job))
    assert any(e.seq == entry.seq and e.body["after"]["typed"] == "21 lb 14 oz" for e in events)  # type: ignore[call-overload, index]


def test_a_corrected_weight_before_reckons_its_own_move_again(desk: Desk) -> None:
    desk.to_signature()
    entry = next(e for e in desk.work.state.entries if e.channel == "weight before")

    desk.work.do(c.Correct(entry.seq, "weight before", weight("22 lb 1 oz"), desk.work.keep("slip")))

    assert desk.work.state.net_charged_kg() == weight("3 oz").si


def test_a_redone_step_is_walked_again_with_its_warnings(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Redo("1.1", desk.work.keep("looked at the wrong unit")))

    place = desk.work.focus()
    assert (place.front, place.hazard) == (Front.HAZARD, 0)


def test_redoing_a_step_that_sets_a_fact_brings_ruled_out_steps_back(desk: Desk) -> None:
    acknowledge(desk)
    desk.work.do(c.Answer("1.1", "as ordered"))
    desk.work.do(c.Answer("1.2", "low-loss"))
    desk.work.do(c.Choose("1.3", "kept"))
    desk.work.do(c.Redo("1.3", desk.work.keep("the set has lost its vacuum")))
    desk.work.do(c.Choose("1.3", "evacuated", desk.work.keep("the set has lost its vacuum")))

    assert desk.work.focus().step is not None
    assert desk.work.focus().step.id == "1.4"  # type: ignore[union-attr]


def test_an_aborted_job_is_led_through_its_safe_state_steps_and_signed(desk: Desk) -> None:
    desk.to_loop()
    desk.work.do(c.Abort(desk.work.keep("lightning")))
    assert desk.work.focus().step is not None
    assert desk.work.focus().step.id == "A.1"  # type: ignore[union-attr]

    desk.work.do(c.Answer("A.1", "closed"))
    desk.work.do(c.EndPart("safe"))
    desk.work.do(c.ShowCustomer("refused"))
    desk.close_job()

    assert desk.work.state.closed is not None
    assert desk.work.state.closed.outcome == "aborted"


def test_nothing_follows_the_closing_but_a_record_or_an_amendment(desk: Desk) -> None:
    desk.to_signature()
    desk.close_job()

    with pytest.raises(Refused, match="amend it"):
        desk.work.do(c.Note(desk.work.keep("one more thing")))

    desk.work.do(c.Reopen(desk.alex.person, desk.work.keep("wrong cylinder number"), "ab" * 32))
    with pytest.raises(Refused, match="corrections and notes"):
        desk.work.do(c.Abort(desk.work.keep("no")))
    desk.work.do(c.Note(desk.work.keep("it was cylinder N-15"), late=True))
    desk.close_job()
    assert desk.work.focus().front is Front.CLOSED
    assert desk.work.state.signed[-1].meaning == "amended the record"


def test_only_the_person_at_work_can_enter_anything(desk: Desk) -> None:
    from dataclasses import replace

    from guide.job.walk import decide

    now = replace(desk.work.now(), by="sam")

    with pytest.raises(Refused, match="hand it over"):
        decide(desk.work.state, c.Acknowledge("1.1", 0), now)
