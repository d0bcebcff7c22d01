"""Superheat and subcooling from a pressure and a line temperature."""

from __future__ import annotations

from guide.charging.refusal import finite
from guide.refrigerant.saturation import Curve


def superheat_K(curve: Curve, *, suction_pressure_Pa: float, suction_line_K: float) -> float:
    """Return line temperature minus dew temperature [K]; negative means the readings disagree.

    Pressure absolute [Pa]. With glide, superheat counts from the dew point (standard practice,
    MEMORY). Both readings belong to the suction service valve, where the target table applies.

    Raises:
        FigureError: for a reading that is not finite.
        OutOfRange: for a pressure outside the curve.
    """
    finite("suction pressure", suction_pressure_Pa)
    return finite("suction line temperature", suction_line_K) - curve.dew_temperature_K(suction_pressure_Pa)


def subcooling_K(curve: Curve, *, liquid_pressure_Pa: float, liquid_line_K: float) -> float:
    """Return bubble temperature minus line temperature [K]; negative means no full liquid, or a bad reading.

    Pressure absolute [Pa]. With glide, subcooling counts from the bubble point (standard practice,
    MEMORY).

    Raises:
        FigureError: for a reading that is not finite.
        OutOfRange: for a pressure outside the curve.
    """
    finite("liquid pressure", liquid_pressure_Pa)
    return curve.bubble_temperature_K(liquid_pressure_Pa) - finite("liquid line temperature", liquid_line_K)
