"""Picks that crowd a canopy, on which solvers have failed."""

HARD = """
add-on=air-compressor add-on=certificate add-on=stone-film add-on=touch-up
add-on=vehicle-feed battery=lfp-300 box-right=right-600-drawer canopy-height=1000mm
canopy-length=1400mm canopy-style=part-tray chest-fridge=chest-50 colour=graphite-texture
door-layout=long-both-barn door-locks=central drawers=wide-220:3 drawers=wide-300:3
finish=powder-texture fridge-slide=straight-short fuse-panel=ways-6 gas=locker-two-4
headboard=no-headboard inverter=inverter-600 kitchen=gas-sink-long lights=strip-dimmer
lining=carpet monitor=touch-screen mudguards=moulded oven=oven-large pantry=pantry-540
power-cupboard=cupboard-small sheet=tread-2-5mm shelves=chair-slot shelves=crate-rack
shelves=oven-shelf suspension=gvm-large tail-lights=led-guarded tray-floor=plain
tray-length=1800mm tray-sides=no-sides tray-style=heavy tray-width=1780mm
upright-fridge=upright-130 vehicle=large-dual vehicle-charger=dc-20 vents=door-louvre:2
vents=filter-fan water-pump=pump-11 water-tank=front-45
"""
"""A room on which OR-Tools 9.15 raises IndexError where it looks for symmetries."""
