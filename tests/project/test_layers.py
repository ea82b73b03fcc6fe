"""Imports point one way, and only the edges touch files, clock, locale or environment.

Every import counts: at the top, inside a function, and for type checking only. A new module gets
its place in LAYERS; where that is hard to say, the module may be doing two things.
"""

from __future__ import annotations

import ast
import graphlib

import pytest

from tests.support import source
from tests.support.source import MODULES, imports, tree

LAYERS: dict[str, str] = {
    "ground": "errors money words shapes machine",
    "catalogue": "catalogue findings",
    "selection": "selection",
    "facts": "fit mass layout power pricing cutting",
    "engine": "engine",
    "answers in words": "checking budget suppliers",
    "reports": "report drawing answers",
    "renderings": "render exchange",
    "register": "register requoting",
    "doors": "schemas build_changes build starter writer shop web cli __init__ __main__",
}
"""From the ground up: each folder or file imports from its own layer and from those below it."""

EDGES = {
    "machine.workers": "shares work among processes",
    "shapes.shipped": "reads the package's own schemas",
    "schemas.__main__": "writes the derived schemas",
    "catalogue.folder": "finds the other files of a catalogue",
    "catalogue.reading": "reads catalogue files and finds the shipped ones",
    "selection.attachments": "reads PDFs that carry a selection",
    "selection.reading": "reads selection files",
    "render.batch": "has work shared among processes, and writes files",
    "render.dxf": "loads ezdxf",
    "machine.files": "writes files",
    "machine.paths": "makes paths of what a caller gives",
    "render.html": "pours into templates",
    "render.language": "reads translations",
    "render.look": "reads the shop's own templates",
    "render.pdf": "hears what the renderer logs",
    "render.renderer": "loads WeasyPrint and the fonts",
    "render.pictures": "reads the shop's logo and measures pictures",
    "render.sheets": "pours into templates",
    "render.safeguard": "looks at files that are there already",
    "render.templates": "reads templates and runs a shop's own",
    "render.writing": "says which files are written",
    "register": "keeps quotes in a database, and writes copies of it",
    "requoting": "shares work among processes or a cluster, and writes what is done",
    "suppliers.export": "writes and reads sheets of prices",
    "suppliers.reading": "unpacks workbooks, reads price lists and their maps",
    "suppliers.writing": "writes new prices into catalogue files",
    "build_changes": "saves selections",
    "build": "offers papers, which are made outside",
    "machine.cp_sat": "has Python load a library without another",
    "writer": "reads price lists, and writes what it is asked to",
    "starter": "writes a shop's first catalogue",
    "shop": "reads what it is given, and asks what day it is",
    "render.control": "takes the place of the standard streams",
    "render.text": "asks how wide the terminal is",
    "web": "the page at the counter",
    "cli": "the command line",
    "__init__": "offers the readers to Python",
    "__main__": "the command line",
}
"""Modules and folders that may touch the outside, and what for. All others are pure."""

OWN_DATA = {"machine.cp_sat", "shapes.shipped"}
"""Those that touch only what ships with the package, or how a library of its own is loaded: pure
modules may use them."""

OUTSIDE = set[str]().union(
    ("asyncio", "ctypes", "getpass", "glob", "http", "importlib", "io", "locale", "logging"),
    ("multiprocessing", "os", "pathlib", "platform", "random", "secrets", "shutil", "signal"),
    ("socket", "sqlite3", "subprocess", "sys", "tempfile", "time", "urllib", "uuid"),
    ("webbrowser", "click", "concurrent", "font_source_sans_pro", "jinja2", "PIL", "pypdf", "rich"),
    (
        "weasyprint",
        "ezdxf",
        "starlette",
        "uvicorn",
        "sqlalchemy",
        "alembic",
        "platformdirs",
        "distributed",
    ),
)
"""Libraries that a pure module does not import."""

CALLS = frozenset({"breakpoint", "eval", "exec", "input", "open", "print"})
"""Built-in functions that a pure module does not call."""

CLOCK = frozenset({"fromtimestamp", "now", "today", "utcnow"})
"""Methods that read the clock."""


def entry(module: str, table: dict[str, str]) -> str | None:
    """The name under which the table knows the module: its own or a folder's."""
    names = [module.rsplit(".", cut)[0] for cut in range(module.count(".") + 1)]
    return next((name for name in names if name in table), None)


PLACES = {name: layer for layer, names in LAYERS.items() for name in names.split()}
ORDER = list(LAYERS)


def rank(module: str) -> int:
    known = entry(module, PLACES)
    assert known is not None, f"{module} is new: give it its layer in LAYERS of {__file__}"
    return ORDER.index(PLACES[known])


def edge(module: str) -> bool:
    return entry(module, EDGES) is not None


def test_every_module_has_one_layer_and_every_entry_a_module() -> None:
    for module in MODULES:
        rank(module)
    named = [name for names in LAYERS.values() for name in names.split()]
    assert len(named) == len(set(named))
    used = {entry(module, table) for module in MODULES for table in (PLACES, EDGES)}
    gone = {*named, *EDGES} - used
    assert not gone, f"{gone} are no modules any more: take them out of the tables"


@pytest.mark.parametrize("module", MODULES)
def test_imports_point_down(module: str) -> None:
    up = [
        inner
        for inner in imports(module)
        if inner in MODULES and inner != "__init__" and rank(inner) > rank(module)
    ]
    assert not up, f"{module} is below {up}, which it imports"


def test_nothing_but_the_command_line_imports_through_the_front_door() -> None:
    allowed = {module for module in MODULES if rank(module) == ORDER.index("doors")}
    through = {module for module in MODULES if "__init__" in imports(module)}
    assert through <= allowed


def test_no_module_leads_back_to_itself() -> None:
    """Counting every import, also those for types."""
    graph = {
        module: {
            inner
            for inner in imports(module)
            if inner in MODULES and inner not in ("__init__", module)
        }
        for module in MODULES
    }
    list(graphlib.TopologicalSorter(graph).static_order())


def test_no_folder_leads_back_to_itself() -> None:
    """Each single file counts as a folder."""
    graph: dict[str, set[str]] = {}
    for module in MODULES:
        found = {name.split(".")[0] for name in imports(module) if name in MODULES}
        graph.setdefault(module.split(".")[0], set()).update(found)
    doors = {"__init__"}  # the promised names, which only the command line imports
    leads = {folder: found - {folder} - doors for folder, found in graph.items()}
    list(graphlib.TopologicalSorter(leads).static_order())


@pytest.mark.parametrize("module", [module for module in MODULES if not edge(module)])
def test_a_pure_module_imports_nothing_that_touches_the_outside(module: str) -> None:
    found = set(imports(module))
    assert not {name.split(".")[0] for name in found} & OUTSIDE
    modules = {name for name in found if name in MODULES and name != "__init__"}
    assert not {name for name in modules - OWN_DATA if edge(name)}


@pytest.mark.parametrize("module", [module for module in MODULES if not edge(module)])
def test_a_pure_module_neither_opens_nor_prints_nor_asks_the_clock(module: str) -> None:
    for node in ast.walk(tree(module)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in CALLS, f"{module}:{node.lineno}"
        if isinstance(node, ast.Attribute):
            assert node.attr not in CLOCK, f"{module}:{node.lineno}"


def test_the_reading_of_imports_sees_every_kind(monkeypatch: pytest.MonkeyPatch) -> None:
    parsed = ast.parse("""
from typing import TYPE_CHECKING
import os.path
from configurator.render import text as terminal
from configurator.catalogue import model
if TYPE_CHECKING:
    from configurator.report.quote import Quote
def late():
    from configurator.engine import search
""")
    monkeypatch.setattr(source, "tree", lambda _: parsed)
    found = {
        "typing",
        "os.path",
        "render.text",
        "catalogue.model",
        "report.quote",
        "engine.search",
    }
    assert set(imports("anything")) == found
