"""A shop's first catalogue: the files that it begins with, and what fills them in."""

VEHICLES = ("single-cab", "extra-cab", "dual-cab")
"""The classes of vehicle that it can have."""
