"""What hints cost."""

from __future__ import annotations

from typing import Final

HINT_NAMES: Final = ("pointer", "rule", "answer")
"""The three hints of a step; `act` of a Practised event (what: hint)."""
HINT_COSTS: Final = (1, 2, 4)
"""Points for a pointer, a rule, an answer (PROPOSED): asking early and little costs little."""
