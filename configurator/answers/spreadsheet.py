"""Texts in the cells of tables that spreadsheets open."""

from __future__ import annotations


def plain_cell(text: str) -> str:
    """The text so that no spreadsheet takes it for a formula.

    One that begins as a formula does gets an apostrophe before it, which spreadsheets hide.
    """
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
