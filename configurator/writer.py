"""What a shop writes: papers, the sheets of a job, quotes for all files of a folder, new prices."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

from attrs import frozen

from configurator.build import Build
from configurator.catalogue.model import Catalogue
from configurator.machine.paths import path_of, path_or_none
from configurator.selection.values import (
    choice_of,
    require_answer,
    require_count,
    require_kind,
)

if TYPE_CHECKING:
    from configurator.answers.values import Choices
    from configurator.render.batch import Batch
    from configurator.render.look import Look
    from configurator.report.sheets import Sheets
    from configurator.suppliers.update import PriceUpdate


@frozen(eq=False, repr=False)
class Writer:
    """The shop as it writes, and looks after its prices.

    Attributes:
        catalogue: what the shop offers.
    """

    catalogue: Catalogue

    def batch(
        self,
        folder: Path | str,
        output: Path | str,
        day: dt.date,
        prefix: str = "",
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
        processes: int | None = None,
    ) -> Batch:
        """Quote every selection of a folder into another one, on all processor cores.

        Each quote is made when its result is read. A script that uses several processes keeps its
        own work under ``if __name__ == "__main__":``, as for :mod:`multiprocessing`.

        Args:
            folder: with the selections.
            output: the folder for the quotes; it is made where it is missing.
            day: day of issue.
            prefix: what stands before a file's name in its quote's number.
            page: ``A4`` or ``Letter``; None for the catalogue's.
            language: such as ``en-AU`` or ``de``; None for the catalogue's.
            templates: a folder with templates of the shop's own.
            processes: how many work at once; None for one on each core.

        Yields:
            What became of each selection, as soon as it is known.

        Raises:
            ConfiguratorError: nothing can be quoted at all, or a quote would be written over a file
                that the shop is made of.
            FileError: a folder cannot be read or made.

        Example:
            >>> jobs = shop.batch("catalogues/selections", "quotes", shop.day, processes=1)
        """
        from functools import partial

        from configurator.machine.files import make_folder
        from configurator.render.batch import Batch, jobs_of, quote_all
        from configurator.render.look import look_of
        from configurator.render.safeguard import require_spared

        require_kind("day", day, dt.date)
        if processes is not None:
            require_count("processes", processes)
        jobs = jobs_of(path_of("folder", folder), path_of("output", output), prefix)
        own = folder_of(templates)
        look_for = partial(look_of, page=page, tag=language, templates=own)
        look_for(self.catalogue.shop)  # what cannot be used is said before a folder is made
        require_spared(self.catalogue, [Path(job.output) for job in jobs], own)
        make_folder(path_of("output", output))
        return Batch(jobs, quote_all(self.catalogue, jobs, day, processes, look_for))

    def write(
        self,
        answer: Any,
        path: Path | str,
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
    ) -> None:
        """Write an answer as the ending of the file's name asks: whole or not at all.

        A quote, comparison, build budget, layout or the answer of a requote as .pdf or .html; a
        layout, mass or power answer as .svg; a quote as .xml (UBL 2.1) or .ics (its days) too; a
        build as .yaml or .json; any answer, and a selection, as .json. Sheets are for
        :meth:`write_sheets`.

        Args:
            answer: what a method of this shop or of its builds gave.
            path: the file; missing folders are made.
            page: ``A4`` or ``Letter``; None for the catalogue's.
            language: such as ``en-AU`` or ``de``; None for the catalogue's.
            templates: a folder with templates of the shop's own.

        Raises:
            ConfiguratorError: the answer cannot be written so, no paper speaks the language, or the
                file is one that the shop is made of, or any catalogue.
            FileError: it cannot be written.
            MissingLibrary: a PDF is asked for and the renderer's libraries are missing.
            TypeError: it is no answer.

        Example:
            >>> shop.write(taller.quote("Q-2041", shop.day), "quote.html")
        """
        from configurator.render.safeguard import require_spared
        from configurator.render.writing import write

        if isinstance(answer, Build):
            answer.save(path)
        else:
            require_answer(answer)
            require_spared(self.catalogue, [path_of("path", path)], folder_of(templates))
            write(answer, path_of("path", path), lambda: self._look(page, language, templates))

    def write_sheets(
        self,
        sheets: Sheets,
        folder: Path | str,
        kind: str = "pdf",
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
    ) -> None:
        """Write the sheets of a job into a folder, all of them or none.

        Args:
            sheets: what :meth:`Build.sheets` gave.
            folder: for ``job``, ``wiring``, ``cuts`` and ``orders``; made where it is missing.
            kind: ``pdf``, ``html`` or ``json``; as ``dxf`` only the panels and drilled faces of the
                cut list are written, in mm.
            page: as for :meth:`write`.
            language: as for :meth:`write`.
            templates: as for :meth:`write`.

        Raises:
            ConfiguratorError: there is no such kind, no paper speaks the language, a template
                cannot be used, there is no cut list to draw, or a file is a catalogue's.
            FileError: they cannot be written.
            MissingLibrary: PDFs are asked for and the renderer's libraries are missing.

        Example:
            >>> shop.write_sheets(taller.sheets("J-7", shop.day), "sheets", "json")
        """
        from configurator.render.sheets import write_sheets
        from configurator.report.sheets import Sheets

        require_kind("sheets", sheets, Sheets)
        require_kind("kind", kind, str)
        look = self._look(page, language, templates)
        write_sheets(
            self.catalogue, sheets, path_of("folder", folder), kind, look, folder_of(templates)
        )

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

        asked = path_or_none("supplier", supplier)
        return update_prices(self.catalogue, path_of("sheet", sheet), asked, write, accept_large)

    def export(self, path: Path | str) -> int:
        """Write all prices and costs as a sheet to change in a spreadsheet, and tell how many.

        :meth:`prices` reads it back. For the shop's eyes only.

        Args:
            path: the file, .xlsx or .csv.

        Raises:
            ConfiguratorError: the name of the file asks for something else, or is one that the
                shop is made of, or any catalogue.
            FileError: it cannot be written.

        Example:
            >>> shop.export("prices.csv") == shop.prices("prices.csv").unchanged
            True
        """
        from configurator.render.safeguard import require_spared
        from configurator.render.writing import write_as
        from configurator.suppliers import export

        require_spared(self.catalogue, [path_of("path", path)])
        write_as(
            path_of("path", path),
            {
                ".xlsx": lambda: export.as_workbook(self.catalogue),
                ".csv": lambda: export.as_csv(self.catalogue),
            },
        )
        return export.count(self.catalogue)

    def _look(self, page: str | None, language: str | None, templates: Path | str | None) -> Look:
        from configurator.render.look import look_of

        return look_of(self.catalogue.shop, page, language, folder_of(templates))


def folder_of(templates: Path | str | None) -> Path | None:
    """The folder of the shop's own templates, if any."""
    return path_or_none("templates", templates)
