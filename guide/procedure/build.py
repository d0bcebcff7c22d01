"""From a well-formed file to the model: units read, channels looked up, every fault collected."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from hashlib import sha256
from typing import Final

from guide.procedure.channels import CHANNELS, Channel
from guide.procedure.model import (
    Adjust,
    Bound,
    ChangeLimit,
    ChannelAsk,
    ChargeMethod,
    Choose,
    Condition,
    Confirm,
    Direction,
    Drift,
    Hazard,
    HazardWord,
    Limit,
    Option,
    OrderFigure,
    Part,
    Procedure,
    Proof,
    Reading,
    Sign,
    Step,
    Wait,
    Weigh,
)
from guide.procedure.schema import CommonPartFile, PartFile, ProcedureFile
from guide.procedure.step_file import (
    ChangeFile,
    ChannelFile,
    ChooseFile,
    ConditionFile,
    ConfirmFile,
    FigureFile,
    LimitFile,
    StepFile,
)
from guide.procedure.strict_yaml import Path
from guide.units import Kind, Quantity, STANDARD_PRESSURE_Pa, UnitError, parse, units_of

_DIFFERENCE_OF: Final = {
    Kind.PRESSURE: Kind.PRESSURE_DIFFERENCE,
    Kind.TEMPERATURE: Kind.TEMPERATURE_DIFFERENCE,
    Kind.MASS: Kind.MASS,
}


@dataclass(frozen=True, slots=True)
class Finding:
    """A fault before it has a line: where in the file's structure, which rule, what."""

    path: Path
    rule: str
    message: str


@dataclass(slots=True)
class Builder:
    """Builds the model and notes what can't be built; the model counts only when `findings` is empty."""

    findings: list[Finding] = field(default_factory=list)

    def procedure(self, file: ProcedureFile, source: bytes) -> Procedure:
        """The model of a checked file; `source` are the bytes it came from."""
        return Procedure(
            id=file.id,
            title=file.title,
            revision=file.revision,
            status=file.status,
            approved_on="" if file.approved is None else file.approved.date,
            approved_by="" if file.approved is None else file.approved.by,
            applies=conditions(file.applies),
            needs=file.needs,
            needs_order=file.needs_order,
            sources=tuple(file.sources.items()),
            parts=tuple(self.part(part, ("parts", at)) for at, part in enumerate(file.parts)),
            on_abort=self.part(file.on_abort, ("on_abort",)),
            sha256=sha256(source).hexdigest(),
            source=source,
        )

    def part(self, part: PartFile | CommonPartFile, path: Path) -> Part:
        """The model of one part that stands at `path`."""
        steps = tuple(self._step(step, (*path, "steps", at)) for at, step in enumerate(part.steps))
        return Part(part.id, part.title, steps)

    def _step(self, step: StepFile, path: Path) -> Step:
        return Step(
            id=step.id,
            do=step.do,
            proof=self._proof(step, path),
            why=step.why or "",
            hazards=tuple(
                Hazard(HazardWord(word), text) for one in step.hazards for word, text in one.items()
            ),
            when=conditions(step.when),
            hold=step.hold,
        )

    def _proof(self, step: StepFile, path: Path) -> Proof:
        measured = self._measured_proof(step, path)
        if measured is not None:
            return measured
        if step.confirm is not None:
            return _confirm(step.confirm)
        if step.weigh is not None:
            target = None if step.weigh.target is None else OrderFigure(step.weigh.target.order)
            if target not in (None, OrderFigure.WEIGH_IN_CHARGE):
                self._note(
                    (*path, "weigh", "target"),
                    "limit-unit",
                    f"'{target}' is no weight; the target of a weighing is weigh_in_charge",
                )
            return Weigh(Direction(step.weigh.direction), target, step.weigh.repeat)
        if step.choose is not None:
            return _choose(step.choose)
        if step.sign is not None:
            return Sign(step.sign.meaning)
        raise AssertionError(step.id)  # the schema demands exactly one proof

    def _measured_proof(self, step: StepFile, path: Path) -> Reading | Wait | Adjust | None:
        if step.reading is not None:
            at = (*path, "reading")
            asks = self._channels(step.reading.channels, at)
            return Reading(asks, self._limits(step.reading.limits, at))
        if step.wait is not None:
            at = (*path, "wait")
            seconds = self._seconds(step.wait.at_least, (*at, "at_least"))
            asks = self._channels(step.wait.channels, at)
            return Wait(
                seconds, asks, self._limits(step.wait.limits, at), self._changes(step.wait.changes, at)
            )
        if step.adjust is not None:
            at = (*path, "adjust")
            return Adjust(
                ChargeMethod(step.adjust.method),
                self._seconds(step.adjust.settle, (*at, "settle")),
                self._channels(step.adjust.channels, at),
                self._quantity(
                    step.adjust.tolerance, Kind.TEMPERATURE_DIFFERENCE, (*at, "tolerance"), "unknown-unit"
                ),
                step.adjust.source,
            )
        return None

    def _channels(self, asks: Iterable[ChannelFile], path: Path) -> tuple[ChannelAsk, ...]:
        built = (self._channel(ask, (*path, "channels", at)) for at, ask in enumerate(asks))
        return tuple(ask for ask in built if ask is not None)

    def _channel(self, ask: ChannelFile, path: Path) -> ChannelAsk | None:
        channel = self._known(ask.channel, (*path, "channel"))
        if channel is None:
            return None
        unit = ask.unit or channel.unit_ip
        if unit not in units_of(channel.kind):
            self._note(
                (*path, "unit"),
                "unknown-unit",
                f"'{unit}' is no unit of {channel.name} ({channel.kind}); "
                f"write one of {', '.join(units_of(channel.kind))}",
            )
        low = self._quantity(ask.from_ or channel.low, channel.kind, (*path, "from"), "unknown-unit")
        high = self._quantity(ask.to or channel.high, channel.kind, (*path, "to"), "unknown-unit")
        settled = self._seconds(ask.settled, (*path, "settled")) if ask.settled else 0
        if low is None or high is None:
            return None
        if low.si >= high.si:
            self._note(
                path, "range", f"from {low.typed} to {high.typed} is no range; put the lower value first"
            )
        return ChannelAsk(channel.name, ask.ask or channel.label, unit, low, high, settled)

    def _limits(self, limits: Iterable[LimitFile], path: Path) -> tuple[Limit, ...]:
        built = (self._limit(limit, (*path, "limits", at)) for at, limit in enumerate(limits))
        return tuple(limit for limit in built if limit is not None)

    def _limit(self, limit: LimitFile, path: Path) -> Limit | None:
        channel = self._known(limit.channel, (*path, "channel"))
        if channel is None:
            return None
        bound = Bound.AT_MOST if limit.at_most is not None else Bound.AT_LEAST
        text = limit.at_most if limit.at_most is not None else limit.at_least
        key = "at_most" if limit.at_most is not None else "at_least"
        value: Quantity | OrderFigure | None
        if isinstance(text, FigureFile):
            value = self._figure(OrderFigure(text.order), channel, (*path, key))
        else:
            value = self._quantity(text or "", channel.kind, (*path, key), "limit-unit")
        return None if value is None else Limit(channel.name, bound, value, limit.source)

    def _figure(self, figure: OrderFigure, channel: Channel, path: Path) -> OrderFigure | None:
        kind = Kind.MASS if figure is OrderFigure.WEIGH_IN_CHARGE else Kind.PRESSURE
        if channel.kind is not kind:
            self._note(path, "limit-unit", f"'{figure}' is a {kind}, but {channel.name} is a {channel.kind}")
            return None
        return figure

    def _changes(self, changes: Iterable[ChangeFile], path: Path) -> tuple[ChangeLimit, ...]:
        built = (self._change(change, (*path, "changes", at)) for at, change in enumerate(changes))
        return tuple(change for change in built if change is not None)

    def _change(self, change: ChangeFile, path: Path) -> ChangeLimit | None:
        channel = self._known(change.channel, (*path, "channel"))
        gas = None
        if change.gas_temperature is not None:
            gas = self._known(change.gas_temperature, (*path, "gas_temperature"))
        if channel is None or (change.gas_temperature is not None and gas is None):
            return None
        if gas is not None and (gas.kind is not Kind.TEMPERATURE or channel.kind is not Kind.PRESSURE):
            self._note(
                (*path, "gas_temperature"),
                "limit-unit",
                f"{channel.name} by {gas.name}: only a pressure is carried to a temperature",
            )
        key = "rise_at_most" if change.rise_at_most is not None else "fall_at_most"
        text = change.rise_at_most if change.rise_at_most is not None else change.fall_at_most
        kind = _DIFFERENCE_OF.get(channel.kind)
        if kind is None:
            self._note((*path, "channel"), "limit-unit", f"the change of a {channel.kind} is not judged")
            return None
        at_most = self._quantity(text or "", kind, (*path, key), "limit-unit")
        if at_most is None:
            return None
        if at_most.si <= 0:
            self._note((*path, key), "range", f"'{at_most.typed}' is no change; write one above zero")
        drift = Drift.RISE if change.rise_at_most is not None else Drift.FALL
        return ChangeLimit(channel.name, drift, at_most, change.source, None if gas is None else gas.name)

    def _known(self, name: str, path: Path) -> Channel | None:
        channel = CHANNELS.get(name)
        if channel is None:
            near = get_close_matches(name, CHANNELS, n=3, cutoff=0.5) or list(CHANNELS)[:3]
            self._note(path, "unknown-channel", f"channel '{name}' is not known; near it: {', '.join(near)}")
        return channel

    def _seconds(self, text: str, path: Path) -> int:
        quantity = self._quantity(text, Kind.DURATION, path, "unknown-unit")
        if quantity is None:
            return 0
        if quantity.si <= 0 or quantity.si > 7 * 86_400 or quantity.si != int(quantity.si):
            self._note(path, "duration", f"'{text}' is no time to wait; write whole seconds up to 7 days")
        return int(quantity.si)

    def _quantity(self, text: str, kind: Kind, path: Path, rule: str) -> Quantity | None:
        try:
            # A gauge pressure stands here at the standard atmosphere; `at_site` reads it again where
            # the work is.
            return parse(text, kind, site_pressure_Pa=STANDARD_PRESSURE_Pa)
        except UnitError as error:
            self._note(path, rule, str(error))
            return None

    def _note(self, path: Path, rule: str, message: str) -> None:
        self.findings.append(Finding(path, rule, message))


def conditions(given: tuple[ConditionFile, ...] | None) -> tuple[Condition, ...]:
    """Conditions of the file as conditions of the model."""
    return tuple(
        Condition(one.fact, one.is_ if one.is_ is not None else one.is_not or (), one.is_ is None)
        for one in given or ()
    )


def _confirm(proof: ConfirmFile) -> Confirm:
    return Confirm(proof.ask, proof.accept, proof.refuse, proof.if_refused or "", proof.fact)


def _choose(proof: ChooseFile) -> Choose:
    options = tuple(Option(one.key, one.text, conditions(one.when)) for one in proof.options)
    return Choose(proof.ask, proof.fact, options)
