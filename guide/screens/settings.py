"""How a person wants the pages to look: light, units, detail, size of the numbers. Kept per folder.

None of it is part of a job: the same events are logged whatever stands here.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

FILE = "pages.json"

S = TypeVar("S", bound=StrEnum)


class Light(StrEnum):
    """Which colours."""

    DAY = "day"
    SUN = "bright sun"
    NIGHT = "night"


class System(StrEnum):
    """In which units pages ask and show."""

    ORDER = "as in the order"
    IP = "inch-pound"
    SI = "metric"


class Detail(StrEnum):
    """How much is said of a step."""

    SHORT = "short"
    STANDARD = "standard"
    TEACHING = "teaching"


@dataclass(frozen=True, slots=True)
class Settings:
    """What was chosen."""

    light: Light = Light.DAY
    system: System = System.ORDER
    detail: Detail = Detail.STANDARD
    large: bool = False

    def next_light(self) -> Settings:
        """Day, bright sun, night, and round again."""
        return replace(self, light=_after(self.light))

    def next_system(self) -> Settings:
        """The order's units, inch-pound, metric, and round again."""
        return replace(self, system=_after(self.system))

    def next_detail(self) -> Settings:
        """Short, standard, teaching, and round again."""
        return replace(self, detail=_after(self.detail))

    def other_size(self) -> Settings:
        """Large numbers, or the whole sheet."""
        return replace(self, large=not self.large)


def _after(now: S) -> S:
    values = list(type(now))
    return values[(values.index(now) + 1) % len(values)]


def read_settings(folder: Path) -> Settings:
    """What the folder keeps; the usual where it keeps nothing that can be used."""
    try:
        kept = json.loads((folder / FILE).read_bytes()[:4096])
    except (OSError, ValueError, RecursionError):
        return Settings()
    if not isinstance(kept, dict):
        return Settings()
    usual = Settings()
    return Settings(
        light=_one_of(Light, kept.get("light"), usual.light),
        system=_one_of(System, kept.get("system"), usual.system),
        detail=_one_of(Detail, kept.get("detail"), usual.detail),
        large=kept.get("large") is True,
    )


def _one_of(kind: type[S], value: object, usual: S) -> S:
    return next((member for member in kind if member.value == value), usual)


def keep_settings(folder: Path, settings: Settings) -> bool:
    """Write them where the folder exists; whether they were kept. Without them work goes on all the same."""
    if not folder.is_dir():
        return False
    beside = folder / f".{FILE}.new"
    try:
        beside.write_text(json.dumps(asdict(settings), indent=1) + "\n")
        beside.replace(folder / FILE)
    except OSError:
        return False
    return True
