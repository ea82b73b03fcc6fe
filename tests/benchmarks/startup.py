"""Cold commands against a bare import of three libraries: ``price`` at most 2.5 times as long,
``check`` 3 times.

The program needs jsonschema no more; it stays in the measure, so that ratios can be compared.

CPU time of whole processes, the least of many runs taken in turn, with compiled bytecode in
place as it is after installing. Time on the wall is printed too; on a busy machine only CPU time
means much.

A warm ``check`` is of a new build from an open shop; it is set against all the CPU time of the same
process up to the end of its first check.
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
WARM = """
import sys, time
from configurator import open_shop
shop = open_shop()
shop.build(sys.argv[1]).check()
times = [time.process_time()]
for _ in range(int(sys.argv[2])):
    build = shop.build(sys.argv[1])
    start = time.process_time()
    build.check()
    times.append(time.process_time() - start)
print(times[0], min(times[1:]))
"""


def warm(selection: str, environment: dict[str, str]) -> tuple[float, float]:
    """CPU seconds of a first check with all that goes before it, and of a warm one, the least."""
    command = [sys.executable, "-c", WARM, str(SELECTIONS / selection), str(RUNS)]
    ran = subprocess.run(command, env=environment, capture_output=True, check=True, text=True)
    cold, again = map(float, ran.stdout.split())
    return cold, again


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
        checks = {n: warm(f"{n}.yaml", environment) for n in ("touring", "wish")}
    best = {n: (min(r[n][0] for r in runs), min(r[n][1] for r in runs)) for n in commands}
    bare_cpu, bare_wall = best.pop("bare")
    print(f"bare imports: {bare_cpu * 1000:.0f} ms of CPU, {bare_wall * 1000:.0f} ms on the wall")
    for name, (cpu, wall) in best.items():
        print(f"{name}: {cpu / bare_cpu:.2f} times in CPU time, {wall / bare_wall:.2f} on the wall")
    for name, (cold, again) in checks.items():
        print(
            f"warm check of {name}: {again * 1000:.1f} ms of CPU, {again / cold:.3f} of a cold one"
        )
    print("wanted: price at most 2.5, check at most 3")


if __name__ == "__main__":
    main()
