"""Series of a job: every value once, at its time, as corrected."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from guide.job import payloads as p
from guide.job.series import LiveSample, drawing_unit, trace, traces, vacuum_curves
from guide.journal.event import FORMAT_VERSION, Event, Stamp

MICRON_Pa = Decimal("0.133322387415")


def at(seconds: float, boot: str = "b1") -> Stamp:
    moment = datetime(2026, 11, 25, 14, 0, tzinfo=UTC) + timedelta(seconds=seconds)
    return Stamp(moment.strftime("%Y-%m-%dT%H:%M:%S.%fZ"), "+00:00", int(seconds * 1e9), boot)


def micron(value: int) -> p.ReadingValue:
    return p.ReadingValue(
        channel="system_vacuum",
        si=(value * MICRON_Pa).quantize(Decimal("0.0001")),
        unit="micron",
        typed=f"{value} micron",
        source="typed",
    )


def event(seq: int, payload: p.Payload, stamp: Stamp) -> Event:
    return Event(
        v=FORMAT_VERSION, log="0" * 32, seq=seq + 9, job="J-0001", job_seq=seq + 1, job_prev="1" * 64,
        stamp=stamp, by="mara", kind=payload.KIND, body=payload.body(),
    )  # fmt: skip


def evacuation() -> list[Event]:
    verdict = p.LimitVerdict(
        channel="system_vacuum", bound="at most", limit=Decimal("66.6612"), uncertainty=Decimal(0),
        verdict="pass", source="made",
    )  # fmt: skip
    return [
        event(3, p.Read(step="1", readings=(micron(3000),), accepted=True), at(0)),
        event(4, p.WaitBegun(step="2", at_least_s=600, readings=(micron(430),)), at(1800)),
        event(
            5,
            p.WaitEnded(
                step="2", elapsed_s=600, vouched=True, readings=(micron(480),), verdicts=(verdict,),
                accepted=True,
            ),
            at(2400),
        ),
    ]  # fmt: skip


def test_a_vacuum_curve_holds_every_logged_value_at_its_time_with_its_limit() -> None:
    (curve,) = vacuum_curves(evacuation())
    assert [round(sample.seconds) for sample in curve.logged] == [0, 1800, 2400]
    assert [sample.phase for sample in curve.logged] == ["", "start", "end"]
    assert curve.held
    assert curve.vacuum
    assert curve.vouched
    assert [(bound.bound, round(bound.si, 2)) for bound in curve.bounds] == [("at most", 66.66)]
    assert drawing_unit(curve) == "micron"


def test_a_corrected_value_stands_in_the_series_as_corrected() -> None:
    put_right = p.Corrected(
        step="2", of_seq=14, channel="system_vacuum", old=micron(480), new=micron(840), reason="0" * 64
    )
    curve = trace([*evacuation(), event(6, put_right, at(2500))], "system_vacuum")
    assert curve is not None
    assert round(curve.logged[-1].si / float(MICRON_Pa)) == 840


def test_a_restart_between_two_values_is_not_vouched_for() -> None:
    late = event(6, p.Read(step="1", readings=(micron(500),), accepted=True), at(9000, boot="b2"))
    curve = trace([*evacuation(), late], "system_vacuum")
    assert curve is not None
    assert not curve.vouched
    assert curve.logged[-1].seconds == 9000


def test_live_samples_stand_between_the_logged_ones_and_not_before_the_first() -> None:
    live = {"system_vacuum": [LiveSample(at(900), 100.0), LiveSample(at(60), 300.0)]}
    curve = trace(evacuation(), "system_vacuum", live)
    assert curve is not None
    assert [sample.seconds for sample in curve.live] == [60, 900]
    early = LiveSample(Stamp("2026-11-25T13:00:00.000000Z", "+00:00", 0, "b0"), 1.0)
    assert traces(evacuation(), {"system_vacuum": [early]})[0].live == ()


def test_weighings_make_a_trace_of_each_cylinder() -> None:
    def pounds(value: str) -> p.ReadingValue:
        return p.ReadingValue(
            channel="cylinder_weight", si=Decimal(value), unit="kg", typed=f"{value} kg", source="typed"
        )

    events = []
    for number, cylinder in enumerate(("N-14", "R-3")):
        begun = p.WeighBegun(step="3", direction="in", cylinder=cylinder, before=pounds("10"))
        ended = p.WeighEnded(step="3", after=pounds("9.5"), moved_kg=Decimal("0.5"))
        events += [
            event(2 * number, begun, at(10 * number)),
            event(2 * number + 1, ended, at(10 * number + 5)),
        ]
    assert [one.label for one in traces(events)] == [
        "Cylinder on the scale (N-14)",
        "Cylinder on the scale (R-3)",
    ]
    assert [sample.si for sample in traces(events)[0].logged] == [10.0, 9.5]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10**6), st.sampled_from(["b1", "b2"])), min_size=1, max_size=12))
def test_time_never_runs_back_however_the_clocks_were_set(moments: list[tuple[int, str]]) -> None:
    events = [
        event(seq, p.Read(step="1", readings=(micron(500),), accepted=True), at(seconds, boot))
        for seq, (seconds, boot) in enumerate(moments)
    ]
    (curve,) = traces(events)
    places = [sample.seconds for sample in curve.logged]
    assert places == sorted(places)
    assert places[0] == 0
