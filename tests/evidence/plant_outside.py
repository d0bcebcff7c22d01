"""Where the model leaves the band of a published figure, and why: one sentence each.

A test holds this list to what the table shows, either way: a row that leaves its band without standing here
fails, and so does one that stands here and came back. Nothing is tuned to make a row disappear.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

WHY: Final[Mapping[str, str]] = {}
