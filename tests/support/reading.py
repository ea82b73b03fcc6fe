"""Catalogues read once for all tests that do not ask how they are read."""

from functools import lru_cache

from configurator.catalogue.reading import parse_catalogue

read_once = lru_cache(maxsize=8)(parse_catalogue)
"""The same text of the same file is the same catalogue, which nothing can change."""
