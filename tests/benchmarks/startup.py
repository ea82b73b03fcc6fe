"""Cold commands against a bare import of three libraries: ``price`` at most 2.5 times as long,
``check`` 3 times.

The program needs jsonschema no more; it stays in the measure, so that ratios can be compared.

CPU time of whole processes, the least of many runs taken in turn, with compiled bytecode in
place as it is after installing. Time on the wall is printed too; on a busy machine only CPU time
means much.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from configurator.catalogue.reading import shipped

RUNS = 25
SELECTIONS = shipped("catalogues") / "selections"
BARE = [sys.executable, "-c", "import attrs, cattrs, jsonschema"]
MEASURED = {
    name: [str(Path(sys.executable).with_name("configurator")), *arguments]
    for name, arguments in {
        "price touring": ("price", str(SELECTIONS / "touring.yaml")),
        "price contractor": ("price", str(SELECTIONS / "contractor.yaml")),
        "check touring": ("check", str(SELECTIONS / "touring.yaml")),
        "quote touring": (
            "quote",
            str(SELECTIONS / "touring.yaml"),
            "-o",
            "quote.pdf",
            "--replace",
        ),
        "--help": ("--help",),
    }.items()
}


def once(command: list[str], environment: dict[str, str]) -> tuple[float, float]:
    """CPU seconds and seconds on the wall of one process, which writes beside its bytecode."""
    home = environment["PYTHONPYCACHEPREFIX"]
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, env=environment, cwd=home, stdout=subprocess.DEVNULL, check=True)
    after, end = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return cpu, end - start


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as bytecode:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": bytecode}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        commands = {"bare": BARE, **MEASURED}
        for command in commands.values():
            once(command, environment)
        runs = [{n: once(c, environment) for n, c in commands.items()} for _ in range(RUNS)]
    best = {n: (min(r[n][0] for r in runs), min(r[n][1] for r in runs)) for n in commands}
    bare_cpu, bare_wall = best.pop("bare")
    print(f"bare imports: {bare_cpu * 1000:.0f} ms of CPU, {bare_wall * 1000:.0f} ms on the wall")
    for name, (cpu, wall) in best.items():
        print(f"{name}: {cpu / bare_cpu:.2f} times in CPU time, {wall / bare_wall:.2f} on the wall")
    print("wanted: price at most 2.5, check at most 3")


if __name__ == "__main__":
    main()
