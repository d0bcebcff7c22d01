"""Which numbers a drawn unit may be drawn from."""

from __future__ import annotations

from typing import Final

HIGHEST_SEED: Final = 2_147_483_647
"""From 0 to this: what every reader of such a file holds in 32 bits (PROPOSED)."""
