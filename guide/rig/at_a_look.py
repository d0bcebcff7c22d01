"""What is seen at a step at a simulated unit as it is now, whether the unit is here or in a process."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from guide.job.state import JobState
from guide.procedure.model import Step
from guide.rig.faults import Graded
from guide.rig.hookup import Hookup
from guide.rig.look import Sight
from guide.rig.port import NoSuchChannel
from guide.rig.rig import Rig
from guide.rig.scenario import Scenario
from guide.rig.sights import sight

VACUUM = "system_vacuum"


@dataclass(frozen=True, slots=True)
class Now:
    """What is wrong now: the faults of the start without those that are gone."""

    faults: tuple[Graded, ...]


def now(faults: Iterable[Graded], gone: Collection[str]) -> Now:
    """What is wrong now; `gone` names faults that were cleaned, seated anew or mended."""
    return Now(tuple(each for each in faults if each.fault.value not in gone))


def seen(
    step: Step, state: JobState, scenario: Scenario, hookup: Hookup, *, gone: Collection[str],
    vacuum_Pa: float | None,
) -> Sight:  # fmt: skip
    """What is seen at a step.

    Raises:
        KeyError: nobody wrote what is seen at this step, or the step asks for nothing seen.
    """
    present = now(scenario.faults, gone)
    return sight(step, scenario, present, state, hookup=hookup, vacuum_Pa=vacuum_Pa)


def seen_at(rig: Rig, step: Step, state: JobState) -> Sight:
    """The same at a unit that is here.

    Raises:
        KeyError: as `seen`.
    """
    try:
        vacuum_Pa: float | None = rig.read(VACUUM)
    except NoSuchChannel:
        vacuum_Pa = None
    return seen(step, state, rig.scenario, rig.hookup, gone=rig.truth().mended, vacuum_Pa=vacuum_Pa)
