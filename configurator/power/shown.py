"""The figures of the power picture as people read them, rounded here and nowhere else.

Terminal, JSON, quote, comparison and sheets show these. What is drawn, needed or lost is rounded
up, what is there, given or carried is rounded down, so that no figure comforts falsely. A, Ah, V,
W, hours and days to a tenth; shares, percent, metres and volts of drop to a hundredth.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import attrs

from configurator.power.cables import Cable
from configurator.power.circuits import CircuitRow
from configurator.power.picture import Consumer, InverterState, PanelState, PowerPicture

__all__ = ["available", "drawn", "shown", "shown_cable", "shown_circuit"]

_TENTH, _HUNDREDTH = Decimal("0.1"), Decimal("0.01")


def drawn(number: Decimal) -> Decimal:
    """What is drawn, needed or takes time: to a tenth, rounded up."""
    return number.quantize(_TENTH, rounding=ROUND_CEILING)


def available(number: Decimal) -> Decimal:
    """What is there, given or carried, and how long it lasts: to a tenth, rounded down."""
    return number.quantize(_TENTH, rounding=ROUND_FLOOR)


def shown(picture: PowerPicture) -> PowerPicture:
    """The picture with every figure as people read it; conditions are for the exact one."""
    return attrs.evolve(
        picture,
        consumers=tuple(map(_consumer, picture.consumers)),
        idle=drawn(picture.idle),
        daily=drawn(picture.daily),
        average_rate=_if_known(available, picture.average_rate),
        capacity=available(picture.capacity),
        usable=available(picture.usable),
        discharge=available(picture.discharge),
        peak=available(picture.peak),
        charge_limit=available(picture.charge_limit),
        solar_daily=available(picture.solar_daily),
        solar_share=_if_known(_share, picture.solar_share),
        vehicle_amps=available(picture.vehicle_amps),
        vehicle_daily=available(picture.vehicle_daily),
        mains_amps=available(picture.mains_amps),
        days_alone=_if_known(available, picture.days_alone),
        days_sun=_if_known(available, picture.days_sun),
        days_driving=_if_known(available, picture.days_driving),
        recharge_driving=_if_known(drawn, picture.recharge_driving),
        recharge_mains=_if_known(drawn, picture.recharge_mains),
        inverter=None if picture.inverter is None else _inverter(picture.inverter),
        worst=drawn(picture.worst),
        worst_low=drawn(picture.worst_low),
        worst_hours=_if_known(available, picture.worst_hours),
        battery_needed=drawn(picture.battery_needed),
        solar_needed=_if_known(drawn, picture.solar_needed),
        array_amps=_if_known(drawn, picture.array_amps),
        panel_volts=_if_known(drawn, picture.panel_volts),
        panels=tuple(map(_panel, picture.panels)),
        full=drawn(picture.full),
        isolator=_if_known(drawn, picture.isolator),
        circuits=tuple(map(shown_circuit, picture.circuits)),
    )


def shown_circuit(row: CircuitRow) -> CircuitRow:
    """A circuit with every figure as people read it."""
    return attrs.evolve(
        row,
        amps=drawn(row.amps),
        run=_if_known(_lost, row.run),
        cable=shown_cable(row.cable),
        better=shown_cable(row.better),
        most=shown_cable(row.most),
        percent=_if_known(_lost, row.percent),
        total=_if_known(_lost, row.total),
    )


def shown_cable(cable: Cable | None) -> Cable | None:
    """A cable with its drop and what it carries as people read them."""
    if cable is None:
        return None
    return attrs.evolve(cable, drop=_lost(cable.drop), carries=available(cable.carries))


def _consumer(consumer: Consumer) -> Consumer:
    return attrs.evolve(consumer, amps=drawn(consumer.amps), daily=drawn(consumer.daily))


def _inverter(inverter: InverterState) -> InverterState:
    return attrs.evolve(
        inverter,
        load=drawn(inverter.load),
        largest=drawn(inverter.largest),
        surge_needed=drawn(inverter.surge_needed),
        nominal=drawn(inverter.nominal),
        low=drawn(inverter.low),
    )


def _panel(panel: PanelState) -> PanelState:
    return attrs.evolve(panel, hot=available(panel.hot), needed=drawn(panel.needed))


def _lost(number: Decimal) -> Decimal:
    return number.quantize(_HUNDREDTH, rounding=ROUND_CEILING)


def _share(number: Decimal) -> Decimal:
    return number.quantize(_HUNDREDTH, rounding=ROUND_FLOOR)


def _if_known(rounded: Callable[[Decimal], Decimal], number: Decimal | None) -> Decimal | None:
    return None if number is None else rounded(number)
