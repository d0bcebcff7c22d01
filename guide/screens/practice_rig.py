"""The simulated unit of a run, through the process it runs in: what the pages ask of it, what it answers."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future
from typing import Any, Final

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from guide.job.state import JobState
from guide.procedure.model import Step
from guide.rig import at_a_look
from guide.rig.acts import Handling
from guide.rig.cycles import Cycles
from guide.rig.happenings import Happening
from guide.rig.hookup import Hookup
from guide.rig.link import PATIENCE_S, CantAsk, RigLink, RigLost
from guide.rig.offers import Offer
from guide.rig.retrace import Done
from guide.rig.scenario import Scenario
from guide.screens.practice_roles import Came
from guide.screens.practice_shown import Doable

_CYCLES: Final = TypeAdapter(Cycles)
_OFFERS: Final = TypeAdapter(tuple[Offer, ...])


class _Gone(BaseModel):
    """As much of what is really so as a look needs."""

    model_config = ConfigDict(extra="ignore")
    mended: frozenset[str] = Field(default=frozenset(), max_length=50)


class RigUnit:
    """One simulated unit behind its link."""

    def __init__(self, link: RigLink, scenario: Scenario) -> None:
        self._link = link
        self._scenario = scenario

    @property
    def lost(self) -> str:
        """In words that it answers no more; empty while it does."""
        return self._link.lost

    @property
    def pid(self) -> int:
        """Its process."""
        return self._link.pid

    def again(self, acts: Sequence[Done], t_s: float) -> None:
        """Set it up anew after it broke off, as these acts leave it at a moment.

        Raises:
            RigLost: no process can be started.
        """
        self._link.again(acts, t_s)

    def to(self, t_s: float) -> tuple[Happening, ...]:
        """Let it be that time; what happened until then, as far as it is known yet."""
        self._link.to(t_s)
        return self._link.news()

    def do(self, handling: Handling, t_s: float) -> Came:
        """Do something at a moment.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        answer = self._link.do(handling, t_s)
        return Came(answer.fault, answer.happened)

    def reading(self, channel: str) -> float | None:
        """What an instrument sees now [SI]; None where there is nothing to be read.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        try:
            return self._link.read(channel)
        except CantAsk:
            return None

    def hookup(self) -> Hookup:
        """How everything stands.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        return self._link.hookup()

    def doables(self) -> tuple[Doable, ...]:
        """What hands can do now.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        offers = _OFFERS.validate_python(self._asked("possible"))
        return tuple(Doable(offer.words, offer.choices) for offer in offers if offer.choices)

    def seen(self) -> tuple[str, ...]:
        """What is connected, open and running, as one paragraph.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        return (" ".join(self.hookup().words()),)

    def sight(self, step: Step, state: JobState) -> str:
        """What somebody who looks sees at a step; nothing where nobody wrote it down.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        gone = _Gone.model_validate(self._asked("truth")).mended
        try:
            return at_a_look.seen(
                step, state, self._scenario, self.hookup(), gone=gone,
                vacuum_Pa=self.reading(at_a_look.VACUUM),
            ).words  # fmt: skip
        except KeyError:
            return ""

    def cycles(self) -> Cycles:
        """How it settles, beside a sound unit with its right charge.

        Raises:
            RigLost: the unit broke off or does not answer.
        """
        return _CYCLES.validate_python(self._asked("cycles"))

    def close(self) -> None:
        """End it."""
        self._link.close()

    def _asked(self, what: str) -> Any:
        future: Future[Any] = self._link.ask_soon(what)
        try:
            return future.result(PATIENCE_S)
        except TimeoutError as error:
            raise RigLost(
                "the simulated unit does not answer; leave the run and go on with it again"
            ) from error
