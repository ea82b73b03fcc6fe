"""New prices change the figures of a catalogue's text and not one byte besides.

``PRICE_LISTS`` says how many catalogues are drawn.
"""

from __future__ import annotations

import csv
import io
import os
from decimal import Decimal
from pathlib import Path
from random import Random

from hypothesis import given, settings, strategies as st

from configurator import open_shop
from tests.support.catalogue_texts import typed
from tests.support.commands import TODAY

COUNT = int(os.environ.get("PRICE_LISTS", "1000"))


def test_a_thousand_catalogues_change_at_the_figures_alone(tmp_path: Path) -> None:
    file, sheet = tmp_path / "catalogue.yaml", tmp_path / "prices.csv"
    seen: set[int] = set()
    figures = 0

    @settings(max_examples=COUNT, deadline=None, database=None, derandomize=True)
    @given(st.integers(0, 10**9))
    def check(seed: int) -> None:
        nonlocal figures
        text, dice = typed(seed), Random(seed)
        file.write_bytes(text.content)
        shop = open_shop(file, TODAY)
        assert shop.export(sheet) == len(text.amounts)
        some = dice.sample(text.amounts, dice.randint(0, len(text.amounts)))
        new = {old: Decimal(dice.randrange(10**7)) / 100 for old in some}
        sheet.write_text(replaced(sheet.read_text("utf-8-sig"), new), "utf-8")
        found = shop.prices(sheet, write=True)
        assert (found.refused, found.unknown, found.lacking) == ((), (), ())
        changed = {old: value for old, value in new.items() if old != value}
        assert {c.old.amount: c.new.amount for c in found.changes} == changed
        assert text.same_but_for(file.read_bytes(), changed)
        if seed % 10 == 0:
            assert not open_shop(file, TODAY).prices(sheet, write=True).changes
        seen.add(seed)
        figures += len(changed)

    check()
    assert len(seen) > COUNT * 0.9
    assert figures > COUNT * 2


def replaced(table: str, new: dict[Decimal, Decimal]) -> str:
    """The sheet with other amounts in the places of those that have one."""
    head, *rows = csv.reader(io.StringIO(table))
    written = io.StringIO()
    changed = ([*row[:5], *(other(cell, new) for cell in row[5:])] for row in rows)
    csv.writer(written).writerows([head, *changed])
    return written.getvalue()


def other(cell: str, new: dict[Decimal, Decimal]) -> str:
    return str(new.get(Decimal(cell), cell)) if cell else cell
