"""The rig's process: follows commands, never runs ahead, and feeds readings."""

from __future__ import annotations

import io
import statistics
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from guide.instruments.line import read_line
from guide.rig import process, wire
from guide.rig.acts import Act, Handling
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import Happening, Kind
from guide.rig.learning import shelf
from guide.rig.learning.beginning import beginning as beginning_of
from guide.rig.learning.drawing import draw
from guide.rig.sender import MOST_BYTES
from tests.rig.served import OPENED, ORDER, beginning, told
from tests.rig.standin import stand_in


def talk(feed: Path, *messages: Any) -> list[wire.Reply]:
    """What the process says to messages, one after the other, in this process."""
    lines = b"".join(m if isinstance(m, bytes) else wire.written(m) for m in messages)
    out = io.BytesIO()
    process.serve(feed, stand_in, io.BytesIO(lines), out)
    return [wire.read_reply(line) for line in out.getvalue().splitlines()]


def opens(t_s: float, amount: float = 1.0) -> wire.Do:
    return wire.Do(act=wire.GivenAct.of(t_s, Handling(Act.OPEN_CYLINDER, "", amount)))


# -- commands and answers -----------------------------------------------------------------------


def test_it_stands_where_it_was_told_to_go(tmp_path: Path) -> None:
    replies = talk(tmp_path / "f", beginning(), wire.To(t=10.3), wire.To(t=4.0), opens(12.0), wire.To(t=14.0))
    assert [reply.t for reply in replies] == [0.0, 10.25, 10.25, 12.0, 14.0]
    assert [reply.error for reply in replies] == [""] * 5


def test_what_happened_is_told_once(tmp_path: Path) -> None:
    purge = wire.Do(act=wire.GivenAct.of(5.0, Handling(Act.PURGE, "low")))
    replies = talk(tmp_path / "f", beginning(), purge, wire.To(t=9.0), wire.Ask(what="happenings"))
    lost = Happening(Kind.REFRIGERANT_LOST, 5.0, 0.002)
    assert [[each.happening for each in reply.happened] for reply in replies] == [[], [lost], [], []]
    assert replies[3].ok == [{"kind": "refrigerant was lost", "at_s": 5.0, "amount": 0.002, "where": ""}]


def test_what_happens_as_time_passes_rides_in_the_next_answer(tmp_path: Path) -> None:
    replies = talk(tmp_path / "f", beginning(), opens(0.0), wire.To(t=3600.0))
    assert [each.kind for each in replies[2].happened] == [Kind.LIQUID_TO_COMPRESSOR]


def test_an_act_that_can_not_be_done_is_answered_in_words_and_nothing_breaks(tmp_path: Path) -> None:
    zero = wire.Do(act=wire.GivenAct.of(5.0, Handling(Act.ZERO)))
    replies = talk(tmp_path / "f", beginning(), zero, wire.To(t=9.0))
    assert replies[1].error == "hands can't zero here"
    assert replies[2].t == 9.0


def test_an_act_that_comes_late_is_done_in_its_place(tmp_path: Path) -> None:
    truth = wire.Ask(what="truth")
    in_time = talk(tmp_path / "a", beginning(), opens(10.0), opens(30.0, 0.2), wire.To(t=50.0), truth)
    late = talk(tmp_path / "b", beginning(), opens(30.0, 0.2), wire.To(t=50.0), opens(10.0), truth)
    assert late[3].t == 50.0
    assert late[-1].ok == in_time[-1].ok


def test_an_act_that_comes_late_and_can_not_be_done_says_so_too(tmp_path: Path) -> None:
    zero = wire.Do(act=wire.GivenAct.of(5.0, Handling(Act.ZERO)))
    replies = talk(tmp_path / "f", beginning(), wire.To(t=9.0), zero)
    assert (replies[2].t, replies[2].error) == (9.0, "hands can't zero here")


def test_what_is_done_again_is_as_it_was(tmp_path: Path) -> None:
    acts = (wire.GivenAct.of(3.0, Handling(Act.OPEN_CYLINDER)), wire.GivenAct.of(9.0, Handling(Act.ZERO)))
    again = wire.Retrace(acts=acts, t=77.0)
    truth = wire.Ask(what="truth")
    zero = wire.Do(act=acts[1])
    first = talk(tmp_path / "a", beginning(), opens(3.0), zero, wire.To(t=77.0), truth)
    second = talk(tmp_path / "b", beginning(), again, truth)
    assert second[-1] == first[-1]
    assert told(tmp_path / "a", "suction_line")[-1] == told(tmp_path / "b", "suction_line")[-1]


def test_a_channel_is_read_and_one_that_shows_nothing_says_so(tmp_path: Path) -> None:
    ask = [wire.Ask(what="reading", channel=name) for name in ("outdoor_db", "cylinder_weight", "nonsense")]
    replies = talk(tmp_path / "f", beginning(), *ask)
    assert replies[1].ok == pytest.approx(290.0, abs=0.5)
    assert replies[2].error == "nothing stands on the scale"
    assert replies[3].error == "'nonsense' is no channel"


def test_the_saturation_of_a_side_that_no_gauge_has_is_refused_and_the_unit_goes_on(tmp_path: Path) -> None:
    ask = [wire.Ask(what="saturation", channel=name) for name in ("hose_vacuum", "low")]
    replies = talk(tmp_path / "f", beginning(), *ask)
    assert replies[1].error == "'hose_vacuum' is no side; there are: low, high"
    assert replies[2].error == ""


@pytest.mark.parametrize(
    "bad",
    [
        b"\n", b"{\n", b"[]\n", b'{"command":"sing"}\n', b'{"command":"to","t":-1}\n',
        b'{"command":"to","t":NaN}\n',
        b'{"command":"to","t":1,"x":1}\n', b'{"command":"to","t":1e300}\n', b"[" * 100_000 + b"\n", b"\xff\n",
        b'{"command":"do","act":{"t":1,"act":"sing"}}\n', b'{"command":"ask","what":"passphrase"}\n',
    ],
)  # fmt: skip
def test_a_line_that_is_no_command_is_answered_with_an_error(tmp_path: Path, bad: bytes) -> None:
    replies = talk(tmp_path / "f", bad, beginning(), bad, wire.To(t=2.0))
    assert replies[0].error
    assert replies[2].error
    assert replies[3].t == 2.0


@given(st.binary(max_size=120))
def test_any_bytes_are_answered(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    feed = tmp_path_factory.getbasetemp() / "any"
    lines = data.count(b"\n") + (not data.endswith(b"\n") and bool(data))
    assert len(talk(feed, data)) == lines


def test_a_line_longer_than_the_limit_is_refused_and_its_rest_too(tmp_path: Path) -> None:
    replies = talk(tmp_path / "f", b" " * (wire.LONGEST_LINE_BYTES + 5) + b"\n", wire.Ask(what="truth"))
    assert "longer than" in replies[0].error
    assert "begin first" in replies[-1].error


def test_a_command_before_the_unit_is_set_up_is_refused(tmp_path: Path) -> None:
    assert "begin first" in talk(tmp_path / "f", wire.To(t=1.0))[0].error


@given(
    st.floats(0.0, 1e6), st.sampled_from(list(Act)), st.text(max_size=20), st.none() | st.floats(-1e9, 1e9)
)
def test_a_command_is_read_as_it_was_written(t_s: float, act: Act, at: str, amount: float | None) -> None:
    sent = wire.Do(act=wire.GivenAct.of(t_s, Handling(act, at, amount)))
    read = wire.read_command(wire.written(sent))
    assert read == sent
    assert isinstance(read, wire.Do)
    assert read.act.handling == Handling(act, at, amount)


def test_what_a_lesson_drew_arrives() -> None:
    drawn = [Graded(Fault.PROBE_OFF, 0.5, "suction_line")]
    begin = wire.begin(ORDER.text, opened=OPENED, seed=1, start_fraction=0.0, faults=drawn)
    read = wire.read_command(wire.written(begin))
    assert isinstance(read, wire.Begin)
    assert [each.graded for each in read.faults] == drawn
    with pytest.raises(wire.BadMessage, match="can't be set up: seed"):
        wire.begin(ORDER.text, opened=OPENED, seed=-1)


@pytest.mark.parametrize("lesson", shelf.paths())
def test_the_unit_of_every_lesson_is_set_up_as_the_lesson_has_it(lesson: str) -> None:
    ready = shelf.load(lesson)
    for seed in (0, 71):
        drawn = draw(ready.lesson, seed)
        begin = wire.begin(
            ready.order.text, opened=OPENED, seed=seed, start_fraction=drawn.start_fraction,
            faults=drawn.faults, weather=drawn.weather,
        )  # fmt: skip
        sent = wire.read_command(wire.written(begin))
        assert isinstance(sent, wire.Begin)
        assert process.rig_of(ready.order, sent).scenario == beginning_of(ready, seed)


def test_time_passes_much_faster_than_it_is_told(tmp_path: Path) -> None:
    served = process.Served(tmp_path / "f", process.rig_of)

    def cost_s(command: Any) -> float:
        began = time.process_time()
        assert served.reply(wire.written(command)).error == ""
        return time.process_time() - began

    try:
        assert cost_s(beginning()) < 0.5
        cost_s(wire.Do(act=wire.GivenAct.of(1.0, Handling(Act.SWITCH_ON))))
        tens = [cost_s(wire.To(t=10.0 * step)) for step in range(1, 60)]
    finally:
        served.close()
    assert statistics.median(tens) < 0.005


# -- readings -------------------------------------------------------------------------------------


def test_readings_are_at_most_twenty_simulated_seconds_apart_and_end_where_time_stands(
    tmp_path: Path,
) -> None:
    feed = tmp_path / "f"
    talk(feed, beginning(), wire.To(t=1.0), wire.To(t=301.0), wire.To(t=301.25))
    seconds = [int(at[14:16]) * 60 + float(at[17:-1]) for at, _ in told(feed, "suction_pressure")]
    assert seconds[:2] == [0.0, 1.0]
    assert seconds[-1] == 301.0
    assert all(0.5 <= later - sooner <= 20.0 for sooner, later in pairwise(seconds))


def test_every_line_is_a_reading_and_a_channel_without_one_is_silent(tmp_path: Path) -> None:
    feed = tmp_path / "f"
    talk(feed, beginning(), wire.To(t=5.0))
    samples = [read_line(line) for line in feed.read_bytes().splitlines()]
    assert {sample.channel for sample in samples} == {
        channel for instrument in ORDER.instruments for channel in instrument.channels
    }


def test_an_act_shows_at_once(tmp_path: Path) -> None:
    feed = tmp_path / "f"
    talk(feed, beginning(), wire.To(t=5.0), opens(5.125))
    assert told(feed, "suction_line")[-1][0].endswith("05.125000Z")


def test_a_feed_that_grew_large_begins_anew(tmp_path: Path) -> None:
    feed = tmp_path / "f"
    feed.write_bytes(b"\n" * MOST_BYTES)
    talk(feed, beginning(), wire.To(t=5.0))
    assert feed.stat().st_size < 10_000
    assert (tmp_path / "f.1").stat().st_size > MOST_BYTES


def test_a_feed_that_can_not_be_written_is_said(tmp_path: Path) -> None:
    assert "can't be written there" in talk(tmp_path, beginning())[0].error
