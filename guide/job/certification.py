"""Whether a technician's certification, as they state it, covers the work. Words to show, never a bar.

* 40 CFR 82.161: type I small appliances; type II medium-, high- and very high-pressure appliances
  except small appliances; type III low-pressure appliances; Universal all of them. FOUND
  (`reference/regulations.md` section 1.7, sources S13 and S72).
* A small appliance holds five pounds or less, charged and sealed in the factory (40 CFR 82.152). MEMORY.
* Regulation (EU) 2024/573 Article 10 with Implementing Regulation (EU) 2024/2215: certificates A1, A2,
  B, C, D, E. That they exist is FOUND (S38); what the letters allow is not, so they stand as text only.
"""

from __future__ import annotations

import re
from decimal import Decimal
from enum import StrEnum
from typing import Final

from guide.job.order import Order
from guide.refrigerant.catalogue import PressureClass

SMALL_APPLIANCE: Final = "small appliance"
SMALL_APPLIANCE_MOST_kg: Final = Decimal("2.26796185")
"""Five pounds [kg]; 40 CFR 82.152, MEMORY."""


class Certification(StrEnum):
    """What a stated certification says, as far as it can be judged."""

    TYPE_I = "type I"
    TYPE_II = "type II"
    TYPE_III = "type III"
    UNIVERSAL = "Universal"
    EUROPEAN = "European certificate"
    NONE = "none"
    OTHER = "not known"


_TYPE = re.compile(r"\btype[ -]*(iii|ii|i|3|2|1)\b")
_TYPES: Final = {
    "i": Certification.TYPE_I, "1": Certification.TYPE_I, "ii": Certification.TYPE_II,
    "2": Certification.TYPE_II, "iii": Certification.TYPE_III, "3": Certification.TYPE_III,
}  # fmt: skip
_EUROPEAN = re.compile(r"\b(eu|european|2024/2215|2015/2067|category|certificate (a1|a2|b|c|d|e))\b")
_NONE = re.compile(r"(none|no|n/a|-|–)\b|$|[-–]$")


def stated(text: str) -> frozenset[Certification]:
    """What a certification says, as it was typed; several types may stand in one text."""
    said = " ".join(text.casefold().split())
    if "universal" in said:
        return frozenset({Certification.UNIVERSAL})
    types = frozenset(_TYPES[each] for each in _TYPE.findall(said))
    if types:
        return types
    if _EUROPEAN.search(said):
        return frozenset({Certification.EUROPEAN})
    return frozenset({Certification.NONE if _NONE.match(said) else Certification.OTHER})


def wanted(order: Order) -> Certification:
    """The type of 40 CFR 82.161 that the order's appliance asks for."""
    small = SMALL_APPLIANCE in order.application.casefold()
    if small and order.nameplate_charge.si <= SMALL_APPLIANCE_MOST_kg:
        return Certification.TYPE_I
    if order.refrigerant.pressure_class is PressureClass.LOW:
        return Certification.TYPE_III
    return Certification.TYPE_II


def against_work(order: Order, certification_type: str) -> tuple[str, ...]:
    """What speaks against this certification for this work: whole sentences, none when it is covered.

    Only real work is judged: on a pretend system nobody handles refrigerant.
    """
    if order.nature != "real":
        return ()
    has, needs = stated(certification_type), wanted(order)
    if has & {Certification.UNIVERSAL, Certification.EUROPEAN, needs}:
        return ()
    what = f"{order.refrigerant.designation} here is a {_KIND[needs]} (40 CFR 82.161: {needs} or Universal)"
    if Certification.NONE in has:
        return (f"no certification is stated; {what}.",)
    if Certification.OTHER in has:
        return (f"certification “{certification_type}” can't be judged; {what}.",)
    return (f"certified for {', '.join(sorted(has))}; {what}.",)


_KIND: Final = {
    Certification.TYPE_I: "small appliance",
    Certification.TYPE_II: "medium-, high- or very high-pressure appliance",
    Certification.TYPE_III: "low-pressure appliance",
}
