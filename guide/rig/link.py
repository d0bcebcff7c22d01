"""The program's side of a rig that runs in a process of its own: sent to by a thread, never waited for long.

`to` only says how late it is and returns at once; the rest gives a future, or waits for it a bounded time. A
rig that broke off or does not answer is `lost` in words, and `again` starts another and has it do what the
job's events tell.
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, Final

from pydantic import TypeAdapter, ValidationError

from guide.errors import ChargewrightError
from guide.instruments.feed import Feed
from guide.rig import sender, wire
from guide.rig.acts import Handling
from guide.rig.happenings import Happening
from guide.rig.hookup import Hookup
from guide.rig.offers import Offer
from guide.rig.retrace import LONGEST_RUN_S, Done, cut_s, handling_of, practised

if TYPE_CHECKING:
    from guide.rig.rig import Truth  # the plant belongs to the process, so the screens do not load it

COMMAND: Final = (sys.executable, "-P", "-m", "guide.rig.process")
ANSWER_S: Final = 15.0
"""Longest time the rig may take for one answer [s of real time] (PROPOSED); usually it takes milliseconds."""
REDOING_S: Final = 2e-4
"""Beside that, for each simulated second that is gone through again [s] (CALCULATED: 9e-5 where it flows)."""
PATIENCE_S: Final = 20.0
"""Longest time a call here waits: a whole start and an answer (PROPOSED)."""


class RigLost(ChargewrightError):
    """The rig's process broke off, or does not answer."""


class CantAsk(ChargewrightError):
    """The rig has no answer to this now: why."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of an act: the rig's time [s], why it could not be done (or nothing), what happened."""

    t_s: float
    fault: str
    happened: tuple[Happening, ...]


@dataclass(slots=True)
class _Sent:
    """One command on its way; a `To` may still be given a later time while it waits."""

    command: wire.Command
    future: Future[wire.Reply]


class RigLink:
    """Starts the rig of `begin`, has it do `acts`, and lets it run from there; its readings go to `feed`.

    Nothing waits for the start: commands queue behind it.

    Raises:
        RigLost: no process can be started, or the file for the readings can't be made.
    """

    def __init__(
        self, begin: wire.Begin, feed: Path, acts: Sequence[Done] = (), *, t_s: float = 0.0,
        command: Sequence[str] = COMMAND,
    ) -> None:  # fmt: skip
        self._begin = begin
        self._feed = feed
        self._command = (*command, "--feed", str(feed))
        self._happened: deque[Happening] = deque()
        self._lock = threading.Lock()
        self._waiting_to: _Sent | None = None
        self._queue: SimpleQueue[_Sent | None] = SimpleQueue()
        self.lost = ""
        self.fault = ""
        """What the last command was answered where it could not be followed; empty while all is well."""
        self._start(acts, t_s)

    @property
    def pid(self) -> int:
        """The rig's process."""
        return self._process.pid

    @property
    def ready(self) -> bool:
        """Whether the unit is set up (or lost): until then whoever asks waits for its start."""
        return self._set_up.future.done()

    def follow(self, keep: Path | None = None) -> Feed:
        """A feed of the rig's readings; with `keep` its lines are kept, as for any feed."""
        return Feed(str(self._feed), keep, lines_a_second=sender.LINES_A_SECOND)

    def to(self, t_s: float) -> None:
        """Say that it is `t_s` after the opening, and return at once; of those that wait the last counts.

        Past the 30 days that a run may take, the unit stands still.
        """
        command = wire.To(t=min(t_s, LONGEST_RUN_S))
        with self._lock:
            if self._waiting_to is not None:
                self._waiting_to.command = command
                return
            self._waiting_to = self._put(command)

    def do_soon(self, handling: Handling, t_s: float) -> Future[Answer]:
        """Have an act done at `t_s`, as the log tells it; the answer comes as a future."""
        try:
            command = wire.Do(act=wire.GivenAct.of(cut_s(t_s), handling_of(practised(handling))))
        except ValidationError:
            refused: Future[Answer] = Future()
            refused.set_result(Answer(t_s, "that can't be done at this unit any more; begin anew", ()))
            return refused
        return self._later(command, _answer)

    def do(self, handling: Handling, t_s: float) -> Answer:
        """Have an act done at `t_s`.

        Raises:
            RigLost: the rig broke off or does not answer.
        """
        answer: Answer = _wait(self.do_soon(handling, t_s))
        return answer

    def ask_soon(self, what: str, channel: str = "") -> Future[Any]:
        """What is so now, as the plain values of JSON, as a future."""
        command = wire.Ask.model_validate({"what": what, "channel": channel})
        return self._later(command, _asked)

    def hookup(self) -> Hookup:
        """How hoses, valves, machines and sensors stand.

        Raises:
            RigLost: the rig broke off or does not answer.
        """
        return TypeAdapter(Hookup).validate_python(_wait(self.ask_soon("hookup")))

    def possible(self) -> tuple[Offer, ...]:
        """What hands can do now.

        Raises:
            RigLost: the rig broke off or does not answer.
        """
        return TypeAdapter(tuple[Offer, ...]).validate_python(_wait(self.ask_soon("possible")))

    def truth(self) -> Truth:
        """What is really so.

        Raises:
            RigLost: the rig broke off or does not answer.
        """
        from guide.rig.rig import Truth

        return TypeAdapter(Truth).validate_python(_wait(self.ask_soon("truth")))

    def read(self, channel: str) -> float:
        """What an instrument on this channel would see now [K, Pa absolute, kg].

        Raises:
            RigLost: it broke off. CantAsk: nothing is to be read there now.
        """
        return float(_wait(self.ask_soon("reading", channel)))

    def saturation_K(self, side: str) -> float | None:
        """What the gauge of a side (low, high) shows as saturation, for the refrigerant it is set to.

        Raises:
            RigLost: the rig broke off or does not answer. CantAsk: there is no such gauge.
        """
        shown: float | None = _wait(self.ask_soon("saturation", side))
        return shown

    def happenings(self) -> tuple[Happening, ...]:
        """All that happened so far.

        Raises:
            RigLost: the rig broke off or does not answer.
        """
        given = _wait(self.ask_soon("happenings"))
        return tuple(wire.GivenHappening.model_validate(each).happening for each in given)

    def news(self) -> tuple[Happening, ...]:
        """What happened as time passed, since the last call; what came of an act stands in its answer."""
        found = []
        with contextlib.suppress(IndexError):
            while True:
                found.append(self._happened.popleft())
        return tuple(found)

    def again(self, acts: Sequence[Done], t_s: float) -> None:
        """Start the rig anew and bring it to `t_s` by what was done, whatever became of the one before.

        Raises:
            RigLost: no process can be started.
        """
        self._end()
        self._happened.clear()
        self.lost = self.fault = ""
        self._start(acts, t_s)

    def close(self) -> None:
        """End the rig."""
        self.lost = self.lost or "the simulated unit was put away"
        self._end()

    # -- the thread ---------------------------------------------------------------------------

    def _start(self, acts: Sequence[Done], t_s: float) -> None:
        again = _again(acts, t_s) if acts or t_s > 0 else None
        try:
            self._feed.parent.mkdir(parents=True, exist_ok=True)
            self._feed.touch(mode=0o600)
            said = self._feed.with_name(self._feed.name + ".said")
            with said.open("wb") as says:
                self._process = subprocess.Popen(  # noqa: S603 - our own module, no shell
                    self._command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=says,
                    start_new_session=True,
                )  # fmt: skip
        except OSError as error:
            raise RigLost(
                f"{self._feed}: the simulated unit can't be started there ({error.strerror})"
            ) from error
        with self._lock:
            self._set_up = self._put(self._begin)
            if again is not None:
                self._set_up = self._put(again)
        self._thread = threading.Thread(
            target=self._talk, args=(self._process, self._queue), name="rig", daemon=True
        )
        self._thread.start()

    def _end(self) -> None:
        with self._lock:
            self._waiting_to = None
            self._queue, old = SimpleQueue(), self._queue
        old.put(None)
        self._process.kill()
        self._process.wait()
        self._thread.join(2.0)

    def _put(self, command: wire.Command) -> _Sent:
        sent = _Sent(command, Future())
        if self.lost:
            sent.future.set_exception(RigLost(self.lost))
        else:
            self._queue.put(sent)
        return sent

    def _later(self, command: wire.Command, take: Callable[[wire.Reply], Any]) -> Future[Any]:
        with self._lock:
            self._waiting_to = None  # a later time must not overtake this
            reply = self._put(command).future
        found: Future[Any] = Future()

        def handed(done: Future[wire.Reply]) -> None:
            if not found.set_running_or_notify_cancel():
                return  # nobody waits for it any more
            try:
                found.set_result(take(done.result()))
            except ChargewrightError as error:
                found.set_exception(error)

        reply.add_done_callback(handed)
        return found

    def _talk(self, process: subprocess.Popen[bytes], queue: SimpleQueue[_Sent | None]) -> None:
        """Send what waits, one after the other; once the rig is lost, say so of each."""
        lost = ""
        while (sent := queue.get()) is not None:
            with self._lock:
                if self._waiting_to is sent:
                    self._waiting_to = None
                command = sent.command
            if not lost:
                try:
                    sent.future.set_result(self._heard(command, _exchange(process, command)))
                    continue
                except RigLost as error:
                    lost = str(error)
                    if queue is self._queue:  # else it was ended on purpose
                        self.lost = lost
            sent.future.set_exception(RigLost(lost))

    def _heard(self, command: wire.Command, reply: wire.Reply) -> wire.Reply:
        self.fault = reply.error
        if reply.error and isinstance(command, wire.Begin | wire.Retrace):
            raise RigLost(f"the simulated unit can't be set up: {reply.error}")
        if not isinstance(command, wire.Do):
            self._happened.extend(each.happening for each in reply.happened)
        return reply


def _again(acts: Sequence[Done], t_s: float) -> wire.Retrace:
    try:
        return wire.Retrace(acts=wire.acts_to_send(tuple(acts)), t=min(t_s, LONGEST_RUN_S))
    except ValidationError as error:
        raise RigLost(f"a run with {len(acts)} acts is too long to be done again; begin anew") from error


def _exchange(process: subprocess.Popen[bytes], command: wire.Command) -> wire.Reply:
    assert process.stdin is not None
    assert process.stdout is not None
    # a rig that hangs is ended, which ends the reading too
    again_s = command.t if isinstance(command, wire.Retrace) else 0.0
    watch = threading.Timer(ANSWER_S + REDOING_S * again_s, process.kill)
    watch.daemon = True
    watch.start()
    try:
        process.stdin.write(wire.written(command))
        process.stdin.flush()
        line = process.stdout.readline(wire.LONGEST_LINE_BYTES + 1)
        if line.endswith(b"\n"):
            return wire.read_reply(line)
    except (OSError, ValueError, wire.BadMessage) as error:
        process.kill()
        raise RigLost(f"{_WORDS} ({type(error).__name__})") from error
    finally:
        watch.cancel()
    raise RigLost(f"{_WORDS} (its process ended with {process.wait()})")


_WORDS: Final = "the simulated unit broke off; start it again, and it goes on where the log has it"


def _answer(reply: wire.Reply) -> Answer:
    return Answer(reply.t, reply.error, tuple(each.happening for each in reply.happened))


def _asked(reply: wire.Reply) -> Any:
    if reply.error:
        raise CantAsk(reply.error)
    return reply.ok


def _wait(future: Future[Any]) -> Any:
    try:
        return future.result(PATIENCE_S)
    except TimeoutError as error:
        raise RigLost("the simulated unit does not answer; start it again") from error
