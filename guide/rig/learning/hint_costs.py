"""What hints cost."""

from __future__ import annotations

from typing import Final

HINT_COSTS: Final = (1, 2, 4)
"""Points for a pointer, a rule, an answer (PROPOSED): asking early and little costs little."""
