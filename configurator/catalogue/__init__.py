"""The catalogue: its values (:mod:`~configurator.catalogue.model`) and their reading."""
