"""Gauge pressures of a procedure where the work is: above the atmosphere of that site."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from guide.procedure.model import ChannelAsk, Limit, OrderFigure
from guide.units import Quantity, is_gauge, parse


def at_site(quantity: Quantity, site_pressure_Pa: Decimal) -> Quantity:
    """The quantity as it holds under an atmosphere of `site_pressure_Pa` [Pa absolute].

    A procedure is read without a site, so its gauge pressures stand at the standard atmosphere; what was
    written (`typed`) is read again here. Anything else comes back unchanged.

    Raises:
        UnitError: the site pressure is no atmosphere, or the gauge pressure lies below vacuum there.
    """
    if not is_gauge(quantity.unit):
        return quantity
    return parse(quantity.typed, quantity.kind, site_pressure_Pa=site_pressure_Pa)


def ask_at_site(ask: ChannelAsk, site_pressure_Pa: Decimal) -> ChannelAsk:
    """The ask with its plausible range as it holds at the site.

    Raises:
        UnitError: as `at_site`.
    """
    return replace(ask, low=at_site(ask.low, site_pressure_Pa), high=at_site(ask.high, site_pressure_Pa))


def limit_at_site(limit: Limit, site_pressure_Pa: Decimal) -> Limit:
    """The limit with its value as it holds at the site; a figure of the order stays one.

    Raises:
        UnitError: as `at_site`.
    """
    if isinstance(limit.value, OrderFigure):
        return limit
    return replace(limit, value=at_site(limit.value, site_pressure_Pa))
