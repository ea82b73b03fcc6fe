"""OR-Tools' CP-SAT, loaded without pandas until something asks for that.

OR-Tools loads pandas for tables of variables, which nothing here makes: more than half of the 0.32
CPU seconds that it takes to load, in commands that take about one.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import Any


class _Later(ModuleType):
    """Stands for a module while another is loaded, and asks the real one from then on."""

    loading = True

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        return object if self.loading else getattr(import_module(self.__name__), name)


_later = _Later("pandas")
_stands = sys.modules.setdefault("pandas", _later) is _later
try:
    from ortools.sat.python import cp_model as cp_model  # noqa: PLC0414 - for others to import
finally:
    _later.loading = False
    if _stands:
        del sys.modules["pandas"]
