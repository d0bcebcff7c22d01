"""A stream at the linear prompt: said, accepted with an empty line, asked about, lost."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from guide.instruments.feed import Feed
from guide.instruments.readings import Readings
from guide.job import payloads as p
from guide.job.order import read_order
from guide.journal.store import Journal
from guide.plain.filling import Form, fill
from guide.plain.hearing import STANDS_S, Listening
from guide.screens.ask import Ask, quantity
from guide.screens.filling import Filling
from guide.screens.live import channel_of
from tests.cli_call import ROOT, call
from tests.plain.program import INSTRUMENTS
from tests.plain.said import Said
from tests.plain.terminal import END, Person
from tests.plain.test_at_a_terminal import answers, goes_on, program, signs_in
from tests.screens.small_job import ORDER, PASSPHRASE

PRESSURE = {"src": "G-1", "ch": "suction_pressure", "unit": "psi", "ref": "gauge", "q": "good"}
VACUUM = {"src": "V-1", "ch": "hose_vacuum", "unit": "micron", "ref": "abs", "q": "good"}


class Source:
    """An instrument's program: writes its value to a file five times a second until it is switched off."""

    def __init__(self, path: Path, line: dict[str, str], value: str) -> None:
        self.path, self.line, self.value, self.more = path, line, value, ""
        self.path.touch()

    @contextmanager
    def on(self) -> Iterator[Source]:
        over = threading.Event()
        thread = threading.Thread(target=self._write, args=(over,), daemon=True)
        thread.start()
        try:
            yield self
        finally:
            over.set()
            thread.join(2.0)

    def _write(self, over: threading.Event) -> None:
        while not over.wait(0.2):
            with self.path.open("a") as file:
                file.write(json.dumps({"v": 1, **self.line, "val": self.value}) + "\n" + self.more)


@pytest.fixture
def source(tmp_path: Path) -> Source:
    return Source(tmp_path / "feed.ndjson", PRESSURE, "118.4")


@pytest.fixture
def readings(source: Source) -> Iterator[Readings]:
    followed = Readings(Feed(str(source.path)))
    yield followed
    followed.close()


PRESSURE_ASKED = (quantity("suction_pressure", "Suction", "psig"),)


def asked(
    readings: Readings, *given: str, asks: tuple[Ask, ...] = PRESSURE_ASKED, pause_s: float = 0.0
) -> tuple[Said, Filling]:
    """One field asked of somebody who gives these answers, once the stream has been heard."""
    order = read_order((ORDER.format(place="Roof", nature="practice") + INSTRUMENTS).encode(), "order.yaml")
    said = Said(*given, pause_s=pause_s)
    form = Form(Filling.of(asks, order.site_pressure_Pa))
    channel = channel_of(asks[0])
    assert channel is not None
    with Listening(readings) as listening:
        hearing = listening.to(order, seconds=lambda: said.seconds)
        for _ in range(200):
            if readings.live(order, channel, asks[0].unit) is not None:
                break
            time.sleep(0.05)
        fill(said, form, hearing=hearing)
    return said, form.filling


def test_an_empty_line_accepts_the_value_that_was_said(source: Source, readings: Readings) -> None:
    with source.on():
        said, filling = asked(readings, "")

    assert "live 118.4, steady" in said.words[-1]
    value = filling.accepted["suction_pressure"]
    assert (value.source, value.instrument, value.typed) == ("stream", "G-1", "118.4 psig")
    assert value.line_sha256 is not None


def test_a_value_said_a_while_ago_is_said_anew_before_it_can_be_accepted(
    source: Source, readings: Readings
) -> None:
    with source.on():
        said, filling = asked(readings, f"+{STANDS_S + 1}", "")

    assert "That value was said a while ago. Now:" in said.words
    assert filling.accepted["suction_pressure"].source == "stream"


def test_the_word_live_says_the_value_again(source: Source, readings: Readings) -> None:
    with source.on():
        said, _ = asked(readings, "live", "LIVE", "")

    assert sum("empty line accepts it):" in words for words in said.words) == 3


def test_a_typed_value_far_from_the_live_one_is_asked_about_once(source: Source, readings: Readings) -> None:
    with source.on():
        said, filling = asked(readings, "130", "")

    (question,) = (words for words in said.words if "more apart than both can be off" in words)
    assert question.endswith("An empty line keeps what you typed.")
    assert filling.text("suction_pressure") == "130psig"
    assert not filling.accepted


def test_a_typed_weight_is_held_against_the_scale(source: Source, readings: Readings) -> None:
    source.line, source.value = {"src": "S-1", "ch": "cylinder_weight", "unit": "lb", "q": "good"}, "22.03"
    asks = (quantity("before", "Weight before", "lb+oz"),)
    with source.on():
        said, filling = asked(readings, "40 0", "<", "22 0.5", asks=asks)

    assert sum("more apart than both can be off" in words for words in said.words) == 1
    assert filling.text("before") == "22lb0.5oz"


def test_a_typed_value_near_the_live_one_is_taken_as_typed(source: Source, readings: Readings) -> None:
    with source.on():
        said, filling = asked(readings, "118.9")

    assert not any("more apart" in words for words in said.words)
    assert not filling.accepted


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"q": "uncertain"}, "bad: its source calls it uncertain"),
        ({"t": "2020-01-01T00:00:00Z"}, "stale: too old to use"),
    ],
)
def test_what_is_not_good_is_said_and_not_accepted(
    source: Source, readings: Readings, change: dict[str, str], words: str
) -> None:
    source.line = {**PRESSURE, **change}
    with source.on():
        said, filling = asked(readings, "", "118")

    assert any(words in each for each in said.words)
    assert any("nothing typed yet" in each for each in said.words)
    assert not filling.accepted


def test_refused_lines_are_said_once_however_many_come(source: Source, readings: Readings) -> None:
    source.more = "nonsense\n"
    with source.on():
        said, _ = asked(readings, "live", "live", "live", "", pause_s=0.5)

    (news,) = (words for words in said.words if words.startswith("Stream:"))
    assert "lines refused" in news


def asks_until_it_is_said(person: Person, words: str) -> None:
    """A stream may begin later than the field is asked for: ask again until its value is there."""
    end = time.monotonic() + 20.0
    while words not in person.hears("): "):
        assert time.monotonic() < end, f"never said {words!r}"
        time.sleep(0.1)
        person.types("live")


def test_a_value_of_the_stream_is_accepted_at_a_terminal_and_logged_as_such(tmp_path: Path) -> None:
    data = tmp_path / "data"
    vacuum = Source(tmp_path / "feed.ndjson", VACUUM, "400")
    with vacuum.on(), program(data, "Harbour School, roof unit 3", str(vacuum.path)) as person:
        signs_in(person)
        goes_on(person)
        answers(
            person, ("WARNING (1 of 2)", "read"), ("CAUTION (2 of 2)", "read"), ("What do you wear?", "1")
        )
        person.hears("Readings come from a stream.")
        asks_until_it_is_said(person, "live 400, steady")
        person.types("")
        person.hears("Logged")
        person.hears("Which way?")
        person.presses(END)
        person.ends()
    with Journal.open(data / "journal.db", read_only=True) as journal:
        payloads = [p.read_payload(event.kind, event.body) for event in journal.events("J-0007")]
    (read,) = (each for each in payloads if isinstance(each, p.Read))
    assert (read.readings[0].source, read.readings[0].instrument) == ("stream", "V-1")


def test_run_takes_a_stream_in_the_plain_prompt_too(tmp_path: Path) -> None:
    feed = tmp_path / "feed.ndjson"
    feed.touch()
    order = str(ROOT / "jobs" / "harbour-school-unit-3.yaml")
    with Person(
        "-m", "guide", "run", order, "--plain", "--readings", str(feed), data=tmp_path / "data"
    ) as person:
        answers(
            person,
            ("Your name", "Ana Ruiz"), ("Short name", "ana"), ("Certification", "1"), ("Its number", ""),
            ("Passphrase", PASSPHRASE), ("The same again", PASSPHRASE),
        )  # fmt: skip
        person.hears("J-0001, Harbour School, roof unit 3.")
        person.presses(END)
        assert person.ends() == 0


def test_a_stream_on_standard_input_leaves_the_terminal_to_the_person(tmp_path: Path) -> None:
    line = json.dumps({"v": 1, **PRESSURE, "val": "118.4"})
    piped = (
        "import os, sys, time\n"
        "taking, giving = os.pipe()\n"
        "if os.fork() == 0:\n"
        "    os.close(taking)\n"
        f"    while os.write(giving, {line.encode()!r} + b'\\n'):\n"
        "        time.sleep(0.2)\n"
        "os.close(giving)\n"
        "os.dup2(taking, 0)\n"
        "os.execv(sys.executable, [sys.executable, '-m', 'guide', *sys.argv[1:]])"
    )
    order = str(ROOT / "jobs" / "harbour-school-unit-3.yaml")
    with Person("-c", piped, "run", order, "--plain", "--readings", "-", data=tmp_path / "data") as person:
        person.hears("Your name")
        person.types("Ana Ruiz")
        person.hears("Short name")
        person.presses(b"\x03")
        assert person.ends() == 0


def test_the_keyboard_is_no_stream(tmp_path: Path) -> None:
    order = str(ROOT / "jobs" / "harbour-school-unit-3.yaml")
    with Person("-m", "guide", "run", order, "--plain", "--readings", "-", data=tmp_path / "data") as person:
        person.hears("needs a terminal, and a pipe into it")
        assert person.ends() == 2


def test_a_passphrase_cannot_come_from_where_the_stream_comes_from(tmp_path: Path) -> None:
    order = str(ROOT / "jobs" / "harbour-school-unit-3.yaml")
    answer = call("run", order, "--plain", "--readings", "-", "--passphrase-fd", "0", data=tmp_path)

    assert (answer.code, "another descriptor" in answer.err) == (2, True)
