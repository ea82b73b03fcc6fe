"""Selections side by side."""
