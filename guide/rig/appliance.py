"""The simulated system that stands for the appliance of an order."""

from __future__ import annotations

from typing import Final

from guide.charging.round import Metering
from guide.job.order import Order
from guide.procedure.model import OrderFigure
from guide.rig.circuit import SOUND, Trouble
from guide.rig.simple_plant import Setting, SimplePlant

START_FRACTION: Final = 0.90
SEED: Final = 1


def plant_for(
    order: Order, *, seed: int = SEED, start_fraction: float = START_FRACTION, trouble: Trouble = SOUND
) -> SimplePlant:
    """The simulated system that an order's appliance stands for, at `start_fraction` of its right charge.

    Its right charge is the nameplate's with what the line set adds; `trouble` shows once it is opened.
    """
    appliance = order.appliance()
    charge = order.figure(OrderFigure.WEIGH_IN_CHARGE) or order.nameplate_charge
    return SimplePlant(
        Setting(
            curve=appliance.curve,
            right_charge_kg=float(charge.si),
            site_pressure_Pa=appliance.site_pressure_Pa,
            start_fraction=start_fraction,
            valve=appliance.metering is not Metering.FIXED_ORIFICE,
            target_superheat_K=appliance.target_superheat_K,
            target_subcooling_K=appliance.target_subcooling_K,
            seed=seed,
            trouble=trouble,
            target_table=appliance.target_table,
        )
    )
