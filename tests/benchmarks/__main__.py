"""Run every benchmark of this folder, each in a process of its own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def main() -> None:
    """Run them one after the other, in the order of their names."""
    for file in sorted(Path(__file__).parent.glob("[a-z]*.py")):
        print(f"== {file.stem}", flush=True)
        subprocess.run([sys.executable, "-m", f"tests.benchmarks.{file.stem}"], check=True)


if __name__ == "__main__":
    main()
