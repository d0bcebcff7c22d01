"""An order typed in a form, written as the text of an order file: there is one way in. Pure."""

from __future__ import annotations

import re
from dataclasses import replace

import yaml

from guide.job.order import Order
from guide.procedure.facts import FACTS
from guide.screens.ask import Ask, Choice, pick, quantity, text
from guide.screens.filling import Filling

_METERING = ("fixed orifice", "thermostatic valve", "electronic valve")
_COLLAR = ("water_capacity", "tare")
_OF_CYLINDERS = frozenset({"order", "cylinder", "contents", "recovery", *(f"recovery.{k}" for k in _COLLAR)})
_WHERE = re.compile(r"^this order:\d+:\d+: ([\w.]+): (.*)$", re.DOTALL)


def _choices(*words: str) -> tuple[Choice, ...]:
    return tuple(Choice(word, word) for word in words)


def offered_from(last: Order | None) -> dict[str, str]:
    """What the last order of this folder says of company and tools: nobody types that twice."""
    if last is None:
        return {}
    full = [c for c in last.cylinders if c.contents != "empty"]
    empty = [c for c in last.cylinders if c.contents == "empty"]
    return {
        "company.name": last.company,
        "scale.id": last.scale_id,
        "scale.division": last.scale_division.typed,
        "site.release_when_purging_hoses": last.release_when_purging,
        "cylinder": full[0].id if full else "",
        "recovery": empty[0].id if empty else "",
    }


def order_asks(procedures: tuple[tuple[str, str], ...]) -> tuple[Ask, ...]:
    """The fields of an order; a key is the place in the file."""
    return (
        text("order", "Order number"),
        pick("procedure", "Procedure", tuple(Choice(key, title) for key, title in procedures), picked=0),
        text("reason", "Why this work"),
        text("customer.name", "Customer"),
        text("customer.address", "Address"),
        text("appliance.place", "Place of the unit", note="roof unit 3"),
        text("appliance.id", "Unit's number", note="its tag"),
        text("appliance.model", "Model", needed=False, note="may stay empty"),
        text("appliance.serial", "Serial number", needed=False, note="may stay empty"),
        text("appliance.refrigerant", "Refrigerant", note="from the nameplate"),
        quantity("appliance.nameplate_charge", "Nameplate charge", "lb+oz", note="8 0, or 3.63kg"),
        pick("appliance.metering", "Metering", _choices(*_METERING)),
        pick("appliance.application", "Kind of system", _choices(*FACTS["application"].values)),
        pick("appliance.receiver", "Liquid receiver", _choices(*FACTS["receiver"].values)),
        pick("appliance.capacity", "Capacity", _choices(*FACTS["capacity"].values)),
        quantity("appliance.target_superheat", "Maker's superheat", "dF", needed=False, note="if given"),
        quantity("appliance.target_subcooling", "Maker's subcooling", "dF", needed=False, note="if given"),
        quantity("site.altitude", "Altitude of site", "ft"),
        pick("site.release_when_purging_hoses", "Hose purge, by law", _choices("allowed", "forbidden")),
        text("company.name", "Your company"),
        text("scale.id", "Scale"),
        quantity("scale.division", "Scale division", "oz", start="0.5"),
        text("cylinder", "Cylinder"),
        pick("contents", "It holds", _choices("virgin", "reclaimed", "recycled", "recovered")),
        text("recovery", "Recovery cylinder", needed=False, note="may stay empty"),
        quantity("recovery.water_capacity", "its WC", "lb", needed=False, note="on its collar"),
        quantity("recovery.tare", "its tare, TW", "lb", needed=False, note="on its collar"),
    )


def order_filling(procedures: tuple[tuple[str, str], ...], last: Order | None = None) -> Filling:
    """An order to be filled in, with what the last one says of company and tools."""
    offered = offered_from(last)
    asks = tuple(_begun(ask, offered.get(ask.key, "")) for ask in order_asks(procedures))
    return Filling.of(asks)


def _begun(ask: Ask, start: str) -> Ask:
    if not start:
        return ask
    if ask.choices:
        values = [choice.value for choice in ask.choices]
        return replace(ask, picked=values.index(start) if start in values else None)
    return replace(ask, start=start)


def order_text(filling: Filling, nature: str) -> str:
    """The filled-in fields as the text of an order file."""
    document: dict[str, object] = {"order": filling.text("order"), "nature": nature}
    for ask in filling.asks:
        value = filling.text(ask.key)
        if not value or ask.key in _OF_CYLINDERS:
            continue
        group, _, name = ask.key.partition(".")
        if not name:
            document[group] = value
        else:
            entries = document.setdefault(group, {})
            assert isinstance(entries, dict)
            entries[name] = value
    refrigerant = filling.text("appliance.refrigerant")
    cylinders = [
        {"id": filling.text("cylinder"), "refrigerant": refrigerant, "contents": filling.text("contents")}
    ]
    if filling.text("recovery"):
        collar = {key: filling.text(f"recovery.{key}") for key in _COLLAR if filling.text(f"recovery.{key}")}
        cylinders.append(
            {"id": filling.text("recovery"), "refrigerant": refrigerant, "contents": "empty", **collar}
        )
    document["cylinders"] = cylinders
    return yaml.safe_dump(document, sort_keys=False, allow_unicode=True, width=1000)


def fault_in(filling: Filling, words: str) -> Filling | None:
    """The fields with the reader's refusal under the one it speaks of, or None where it is none of them."""
    found = _WHERE.match(words)
    if found is None:
        return None
    place, what = found[1], found[2]
    keys = {ask.key for ask in filling.asks}
    if place in keys:
        return filling.with_fault(place, what)
    if place.startswith("cylinders"):
        if not place.startswith("cylinders.1"):
            return filling.with_fault("cylinder", what)
        key = place.removeprefix("cylinders.1.")
        return filling.with_fault(f"recovery.{key}" if key in _COLLAR else "recovery", what)
    if place == "site":
        return filling.with_fault("site.altitude", what)
    return None
