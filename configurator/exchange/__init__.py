"""Quotes and orders as open-standard documents, which other programs read."""
