"""What stands on the pages of a record, as plain data: sections of lines, pairs and tables.

Everything is text as it was kept, not yet cleaned for paper; cleaning is the page's work. The same
bundle gives the same content, so that a checker can lay the pages out again and compare.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Table:
    """A table: column heads with their share of the width, rows of text, and words for no rows."""

    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""
    none: str = "none"


@dataclass(frozen=True, slots=True)
class Section:
    """A headed part of the record: lines of prose, then pairs of label and value, then tables."""

    title: str
    lines: tuple[str, ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    tables: tuple[Table, ...] = ()
    plot: Plot | None = None
    charts: tuple[TimeChart, ...] = ()


@dataclass(frozen=True, slots=True)
class PlotPoint:
    """One round of the charging loop [kg, K]; a figure that was not reached is None."""

    number: int
    net_kg: float
    superheat_K: float | None
    subcooling_K: float | None
    target_K: float | None


@dataclass(frozen=True, slots=True)
class Plot:
    """Superheat and subcooling against net refrigerant moved, with the band around the target.

    `judged` is the figure the target belongs to; `tolerance_K` the half width of its band.
    """

    judged: str
    tolerance_K: float
    points: tuple[PlotPoint, ...]
    american: bool


@dataclass(frozen=True, slots=True)
class TimePoint:
    """One logged value: seconds from the first one, value in the chart's unit; a hold's start or end."""

    seconds: float
    value: float
    phase: str = ""


@dataclass(frozen=True, slots=True)
class TimeChart:
    """One channel against time, with the limits it was held against; `log` where a decade is a step."""

    title: str
    unit: str
    points: tuple[TimePoint, ...]
    limits: tuple[tuple[str, float], ...]
    log: bool


@dataclass(frozen=True, slots=True)
class CustomerPage:
    """One page for the customer, in plain words."""

    title: str
    pairs: tuple[tuple[str, str], ...]
    done: tuple[str, ...]
    watch: tuple[str, ...]
    keep: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecordContent:
    """The whole record. `word` stands on every page of a practice or demonstration record."""

    title: str
    subtitle: str
    word: str
    result: str
    exceptions: Table
    sections: tuple[Section, ...]
    annex: tuple[Section, ...]
    signing: tuple[str, ...]
    footer: str
    customer: CustomerPage
    page_size: str
    author: str = ""
    """The contractor, for the file's own description."""
    dated_utc: str = "2000-01-01T00:00:00.000000Z"
    """When the job was closed: the date of the file."""
