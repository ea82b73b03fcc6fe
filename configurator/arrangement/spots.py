"""Where an item went, and what two of them may not share; common to both searches."""

from __future__ import annotations

from functools import lru_cache

from attrs import frozen

from configurator.arrangement.rooms import Block, Item, Shape, Support

__all__ = ["Spot", "along", "kept_out", "overhang", "pairs"]


@frozen
class Spot:
    """Where an item went: its way to stand, what it stands on, and the corner of its body, mm."""

    shape: Shape
    support: Support
    x: int
    y: int
    z: int


def overhang(item: Item, size: int) -> int:
    """How far the item may stand over a bed's edge: its middle stays above the bed."""
    return min(item.overhang, size // 2)


@lru_cache(maxsize=65536)
def pairs(one: Shape, other: Shape) -> tuple[tuple[Block, Block], ...]:
    """Blocks of two shapes that may not overlap, none of them implied by another pair."""
    found: dict[tuple[Block, Block], None] = {}
    if one.exclusive or other.exclusive:
        found[one.clear, other.clear] = None
    else:
        found[one.clear, other.body] = None
        if other.clear != other.body:
            found[one.body, other.clear] = None
            if one.clear == one.body:
                del found[one.clear, other.body]
    for block in one.keeps[1:]:
        found[block, other.body] = None
    for block in other.keeps[1:]:
        found[one.body, block] = None
    return tuple(found)


def kept_out(under: Shape, shape: Shape, at: int = 0) -> range:
    """Heights that a unit may not have above one it stands on: in that one's top clearance.

    Args:
        under: how the lower unit stands.
        shape: how the upper unit stands.
        at: the lower unit's height, mm.
    """
    block = shape.clear if under.exclusive or shape.exclusive else shape.body
    top, end = at + under.size[2], at + under.clear[5]
    return range(top - block[5] + 1, end - block[4]) if top < end else range(0)


def along(block: Block, way: tuple[int, int]) -> Block:
    """The block with everything it sweeps on its way."""
    return (
        block[0] + min(0, way[0]),
        block[1] + max(0, way[0]),
        block[2] + min(0, way[1]),
        block[3] + max(0, way[1]),
        block[4],
        block[5],
    )
