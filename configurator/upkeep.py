"""What an opened shop does to look after its catalogue: list it, and keep its prices up to date."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from attrs import frozen

from configurator.build import choice_of
from configurator.writer import Writer

if TYPE_CHECKING:
    from configurator.answers.values import Choices
    from configurator.suppliers.update import PriceUpdate


@frozen(eq=False, repr=False)
class Upkeep(Writer):
    """The shop as it looks after its catalogue."""

    def list(self, *choices: str) -> Choices:
        """The choices, all by default, with their options, ids and prices, tax as in the catalogue.

        Args:
            choices: ids of the choices asked about.

        Raises:
            ConfiguratorError: there is no such choice.

        Example:
            >>> shop.list("canopy-height").choices[0].options[0].title
            'Low, 700 mm'
        """
        from configurator.answers.values import Choices

        asked = [choice_of(self.catalogue, choice) for choice in choices]
        return Choices.of(self.catalogue, asked or self.catalogue.by_id.values())

    def prices(
        self,
        sheet: Path | str,
        supplier: Path | str | None = None,
        *,
        write: bool = False,
        accept_large: bool = False,
    ) -> PriceUpdate:
        """What a supplier's price list changes in the catalogue, and what it lacks.

        Figures are those in force on the shop's day. Written, they are in the catalogue's file, at
        the places of the old ones; nothing else in it changes. Open the shop again for them to
        count. For the shop's eyes only.

        Args:
            sheet: the list, .xlsx, .ods or .csv.
            supplier: the map of this supplier's lists; None for a sheet of :meth:`export`.
            write: whether to write the new figures: all of them, or none.
            accept_large: whether to write changes too that are larger than the map allows;
                without it, they keep everything from being written.

        Raises:
            SheetError: the list or the map cannot be used.
            CatalogueError: a figure cannot be replaced.
            FileError: a file cannot be read or written.

        Example:
            >>> found = shop.prices("cold-supply.csv", "cold-supply.yaml")
            >>> [(str(change.old), str(change.new)) for change in found.changes]
            [('AUD 809.00', 'AUD 842.00')]
        """
        from configurator.suppliers.writing import update_prices

        asked = None if supplier is None else Path(supplier)
        return update_prices(self.catalogue, Path(sheet), asked, write, accept_large)

    def export(self, path: Path | str) -> int:
        """Write all prices and costs as a sheet to change in a spreadsheet, and tell how many.

        :meth:`prices` reads it back. For the shop's eyes only.

        Args:
            path: the file, .xlsx or .csv.

        Raises:
            ConfiguratorError: the name of the file asks for something else.
            FileError: it cannot be written.

        Example:
            >>> shop.export("prices.csv") == shop.prices("prices.csv").unchanged
            True
        """
        from configurator.render.writing import write_as
        from configurator.suppliers import own

        write_as(
            Path(path),
            {
                ".xlsx": lambda: own.as_workbook(self.catalogue),
                ".csv": lambda: own.as_csv(self.catalogue),
            },
        )
        return own.count(self.catalogue)
