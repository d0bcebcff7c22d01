"""A unit that is no plant: what the process, the link and the retracing of a run need, and nothing else.

`python -m tests.rig.standin --feed FILE` serves it as `guide.rig.process` serves a rig.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from types import MappingProxyType

from guide.errors import ChargewrightError
from guide.job.order import Order
from guide.rig import process, wire
from guide.rig.acts import Act, Handling
from guide.rig.cycles import Corners, Cycles
from guide.rig.faults import Fault, Graded
from guide.rig.happenings import Happening, Kind
from guide.rig.hookup import Hookup, Hose
from guide.rig.offers import Offer
from guide.rig.port import NoSuchChannel
from guide.rig.rig import Truth

LAG_S = 60.0
FLOW_kg_per_s = 0.005


class Refused(ChargewrightError):
    """What the stand-in's hands can't do."""


@dataclass
class StandIn:
    """Liquid runs in while its cylinder is open; everything it shows follows what is in it, with a lag."""

    seed: int
    kg: float
    elapsed_s: float = 0.0
    felt_kg: float = 0.0
    open: float = 0.0
    happenings: tuple[Happening, ...] = ()
    grid_s: float = 0.0

    def pass_time(self, seconds: float) -> None:
        self.elapsed_s += seconds
        while self.grid_s + 1.0 <= self.elapsed_s:
            self.grid_s += 1.0
            self.kg += FLOW_kg_per_s * self.open
            self.felt_kg += (self.kg - self.felt_kg) / LAG_S
            if self.kg > 5.0 and not self.happenings:
                self._happen(Kind.LIQUID_TO_COMPRESSOR, self.kg, self.grid_s)

    def do(self, handling: Handling) -> tuple[Happening, ...]:
        before = len(self.happenings)
        match handling.act:
            case Act.OPEN_CYLINDER:
                self.open = 1.0 if handling.amount is None else handling.amount
            case Act.CLOSE_CYLINDER:
                self.open = 0.0
            case Act.PURGE:
                self._happen(Kind.REFRIGERANT_LOST, 0.002, self.elapsed_s)
            case _:
                raise Refused(f"hands can't {handling.act.value} here")
        return self.happenings[before:]

    def _happen(self, kind: Kind, amount: float, at_s: float) -> None:
        self.happenings += (Happening(kind, at_s, amount),)

    def read(self, channel: str) -> float:
        if channel == "cylinder_weight":
            raise NoSuchChannel("nothing stands on the scale")
        wobble = (hash((self.seed, self.elapsed_s)) % 1000) / 1e5
        if channel.endswith("pressure") or channel.endswith("vacuum"):
            return 800_000.0 + 1000.0 * self.felt_kg + wobble
        return 290.0 + 0.1 * self.felt_kg + wobble

    def shown_saturation_K(self, side: str) -> float | None:
        return 280.0 if side == "low" else None

    @property
    def hookup(self) -> Hookup:
        hose = Hose()
        return Hookup(
            low=hose, high=hose, centre=Hose("C-1"), low_hand=0.0, high_hand=0.0, on_scale="C-1",
            cylinder_open=self.open, for_liquid=True, pump_joined=False, pump_runs=False, machine_runs=False,
            regulator_Pa=0.0, runs=True, locked=False, opened=False, clamped=frozenset({"suction_line"}),
            set_for="R-410A",
        )  # fmt: skip

    def possible(self) -> tuple[Offer, ...]:
        return (Offer("Open the cylinder", (("a crack", Handling(Act.OPEN_CYLINDER, "", 0.1)),)),)

    def truth(self) -> Truth:
        return Truth(
            charge_kg=self.kg, right_charge_kg=4.0, superheat_K=None, subcooling_K=None,
            target_superheat_K=None,
            target_subcooling_K=None, air_kg=0.0, water_kg=0.0, lost_kg=0.0, in_hoses_kg=0.0,
            moved_kg=MappingProxyType({"C-1": self.kg}), faults=(Graded(Fault.WET, 0.5),),
            mended=frozenset({"leak"}), found=(), why_none="",
        )  # fmt: skip

    def cycles(self) -> Cycles:
        return Cycles("R-410A", Corners(9e5, 285.0, 350.0, 2.5e6, 309.0 + self.kg), None)


def stand_in(order: Order, begin: wire.Begin) -> StandIn:
    """A stand-in for the unit of an order."""
    start = 0.9 if begin.start_fraction is None else begin.start_fraction
    return StandIn(begin.seed, float(order.nameplate_charge.si) * start)


if __name__ == "__main__":
    sys.exit(process.main(stand_in))
