"""The wheel, and processes that know nothing of this checkout."""

from __future__ import annotations

import os

CLEAN = {
    name: value
    for name, value in os.environ.items()
    if not name.startswith(("PYTHON", "VIRTUAL_ENV", "PYTEST", "CONFIGURATOR"))
}
