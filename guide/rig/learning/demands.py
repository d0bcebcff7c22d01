"""What hands must have done before a step can be said to be done: claims held against deeds.

Steps are known by the words they begin with: they come from common parts, and their numbers differ from
procedure to procedure. More lenient than what a careful technician does (`guide.rig.doing`): only what
nobody can leave out and still say that the step is done.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from guide.rig.acts import Act, Handling
from guide.rig.learning.lesson import Item
from guide.rig.learning.run import Deed
from guide.rig.spoken import spoken


@dataclass(frozen=True, slots=True)
class Wanted:
    """One deed: any of these acts, at a place where one is named.

    With `against`, something that may stand so already: it is missing only where the last of the acts and
    their opposites was an opposite.
    """

    acts: tuple[Act, ...]
    at: str = ""
    against: tuple[Act, ...] = ()

    def met_by(self, deed: Deed) -> bool:
        """Whether a deed is one of these."""
        return deed.handling.act in self.acts and (not self.at or deed.handling.at == self.at)

    def stands(self, done: Sequence[Deed]) -> bool:
        """Whether it stands so after these deeds, taking it that it did at the start."""
        turns = (*self.acts, *self.against)
        last = next(
            (d for d in reversed(done) if d.handling.act in turns and self.at in {"", d.handling.at}), None
        )
        return last is None or last.handling.act in self.acts

    @property
    def words(self) -> str:
        """The deed in words, such as "open the shut-off at the low-side port"."""
        return " or ".join(spoken(Handling(act, self.at)) for act in self.acts)


@dataclass(frozen=True, slots=True)
class Demand:
    """What a step claims: deeds that must be there; `since`: after the last of these acts, if there was one.

    `before`: acts that must not have come before the deeds. `seen` narrows it to answers that begin so.
    """

    do: str
    wanted: tuple[Wanted, ...]
    item: Item = Item.ORDER
    since: tuple[Act, ...] = ()
    before: tuple[Act, ...] = ()
    seen: str = ""


def _at(act: Act, *places: str) -> tuple[Wanted, ...]:
    return tuple(Wanted((act,), place) for place in places)


def _any(*acts: Act, at: str = "") -> tuple[Wanted, ...]:
    return (Wanted(acts, at),)


def _shut(act: Act, against: Act) -> tuple[Wanted, ...]:
    return tuple(Wanted((act,), place, (against,)) for place in ("low", "high"))


DEMANDS: Final = (
    Demand(
        "SWITCH the unit off at its control.", (Wanted((Act.SWITCH_OFF,), against=(Act.SWITCH_ON,)),),
        Item.SAFETY,
    ),
    Demand("LOCK the disconnect of the unit open.", _any(Act.LOCK), Item.SAFETY),
    Demand("UNLOCK the disconnect.", (Wanted((Act.UNLOCK,), against=(Act.LOCK,)),)),
    Demand("LOOK at the air filter.", _any(Act.CLEAN, at="filter"), Item.CLEANLINESS, seen="was dirty"),
    Demand(
        "LOOK at the outdoor coil all round.", _any(Act.CLEAN, at="outdoor coil"), Item.CLEANLINESS,
        seen="cleaned now",
    ),
    Demand("ZERO the gauges in the open air.", _any(Act.ZERO), before=(Act.OPEN_SHUTOFF,)),
    Demand("STAND the cylinder on the scale", _any(Act.STAND)),
    Demand("CONNECT the hoses to suction and liquid port.", _at(Act.JOIN, "low", "high")),
    Demand("EVACUATE the hoses with the port", _any(Act.START_PUMP), before=(Act.OPEN_SHUTOFF,)),
    Demand("PURGE each hose with a breath", _at(Act.PURGE, "low", "high"), before=(Act.OPEN_SHUTOFF,)),
    Demand("OPEN the shut-offs at both ports", _at(Act.OPEN_SHUTOFF, "low", "high"), since=(Act.JOIN,)),
    Demand(
        "TEST the hose joints for leaks.", _any(Act.SMELL_OUT), Item.CLEANLINESS, since=(Act.OPEN_SHUTOFF,)
    ),
    Demand("CLOSE both hand valves of the manifold.", _shut(Act.CLOSE_HAND_VALVE, Act.OPEN_HAND_VALVE)),
    Demand("START the unit", _any(Act.SWITCH_ON)),
    Demand("TURN the cylinder so that liquid", _any(Act.TURN_FOR_LIQUID)),
    Demand("CLOSE the cylinder valve.", (Wanted((Act.CLOSE_CYLINDER,), against=(Act.OPEN_CYLINDER,)),)),
    Demand("SHUT the shut-off at the liquid port.", _at(Act.CLOSE_SHUTOFF, "high")),
    Demand(
        "OPEN both hand valves of the manifold", _at(Act.OPEN_HAND_VALVE, "low", "high"),
        since=(Act.CLOSE_SHUTOFF,),
    ),
    Demand("SHUT the shut-off at the suction port.", _at(Act.CLOSE_SHUTOFF, "low")),
    Demand("DISCONNECT both hoses at the ports.", _at(Act.PART, "low", "high")),
    Demand("TEST both ports for leaks before", _any(Act.SMELL_OUT), Item.CLEANLINESS, since=(Act.PART,)),
    Demand("OPEN the circuit cold", _any(Act.OPEN_CIRCUIT)),
    Demand("FIT a new filter-drier.", _any(Act.MEND), since=(Act.OPEN_CIRCUIT,)),
    Demand("CONNECT the nitrogen hose to both sides", _at(Act.JOIN, "nitrogen")),
    Demand("PRESSURIZE the circuit to 45 psig", _any(Act.SET_REGULATOR)),
    Demand(
        "TEST every joint with bubble solution.", _any(Act.SMELL_OUT), Item.CLEANLINESS,
        since=(Act.SET_REGULATOR,),
    ),
    Demand("CONNECT the pump to both sides", _at(Act.JOIN, "vacuum pump")),
    Demand("EVACUATE the circuit for as long as", _any(Act.START_PUMP)),
    Demand(
        "SHUT the valve between circuit and pump.",
        _any(Act.STOP_PUMP, Act.CLOSE_HAND_VALVE, Act.CLOSE_SHUTOFF), since=(Act.START_PUMP,),
    ),
    Demand("TEST every joint for leaks under refrigerant.", _any(Act.SMELL_OUT), Item.CLEANLINESS),
)  # fmt: skip
"""Each with the words its step begins with."""

SAFETY_STEPS: Final = (
    "LOCK the disconnect", "PROVE the voltage tester", "TEST every conductor", "DISCHARGE the capacitors",
    "MEASURE the voltage across", "LOOK at your lock", "WEAR eye protection",
)  # fmt: skip
"""Steps whose leaving out is a matter of safety, whatever they lose else."""
CLEAN_STEPS: Final = (
    "TEST the hose joints", "TEST both ports", "FIT the caps", "LABEL", "TEST every joint",
    "COVER every open end",    "FIT a new filter-drier", "WEIGH the cylinder a last time",
)  # fmt: skip


def demand_of(do: str, seen: str = "") -> Demand | None:
    """What a step of these words demands of the hands, given what was seen there; or None."""
    return next(
        (each for each in DEMANDS if do.startswith(each.do) and seen.startswith(each.seen)),
        None,
    )


@dataclass(frozen=True, slots=True)
class Gap:
    """What a claim lacks: not done at all, or done (`late`) after what it had to come before."""

    wanted: Wanted
    late: Deed | None = None


def gaps(demand: Demand, until_seq: int, done: Sequence[Deed]) -> tuple[Gap, ...]:
    """What is missing for a claim made by the event `until_seq`, given everything hands have done."""
    earlier = [deed for deed in done if deed.seq < until_seq]
    since = max((deed.seq for deed in earlier if deed.handling.act in demand.since), default=-1)
    out = []
    for wanted in demand.wanted:
        if wanted.against:
            if not wanted.stands(earlier):
                out.append(Gap(wanted))
            continue
        first = next((deed for deed in earlier if deed.seq > since and wanted.met_by(deed)), None)
        if first is None:
            out.append(Gap(wanted))
            continue
        spoiled = next((deed for deed in earlier if deed.handling.act in demand.before), None)
        if spoiled is not None and spoiled.seq < first.seq:
            out.append(Gap(wanted, late=first))
    return tuple(out)
