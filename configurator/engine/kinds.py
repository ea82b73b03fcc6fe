"""The kinds of constraints that a check has no words of its own for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from configurator.engine.constraint import Kind

MORE: tuple[Kind, ...] = ()
"""In addition to rules, limits, fit, masses and ratings, which checks tell in detail. Every search
knows them, and a check asks each of their constraints what it has against a selection."""
