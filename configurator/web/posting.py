"""What a worker is started with: the shop as a seller may know it."""

from __future__ import annotations

import pickle

from attrs import evolve, field, frozen

from configurator.shop import Shop

READY, FAILED = "ready", "failed"


@frozen
class Posting:
    """What a worker is started with.

    Attributes:
        catalogue: the shop's catalogue, pickled, without what the shop pays.
        register: address of the register.
        language: of the page.
        patient: it answers what may take long.
    """

    catalogue: bytes = field(repr=False)
    register: str | None = None
    language: str | None = None
    patient: bool = False


def for_sellers(shop: Shop) -> bytes:
    """The shop's catalogue as workers have it: nothing of what the shop pays, and to whom."""
    return pickle.dumps(evolve(shop.catalogue, trade=()))
