"""How long it takes from a cold start of the command to its first question and to its first check.

python -m tests.benchmarks.start: prints the figures of whole processes, with the compiled library in the
cache and without; beside them an empty Python process, which is the floor.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 10
FIRST_CHECK = "\n".join(["wanders", "1", "1", "1", "150000 km, 11 years", "n", "q", ""])


def seconds(command: list[str], typed: str, environ: dict[str, str]) -> float:
    """Wall time of one process."""
    start = time.perf_counter()
    subprocess.run(command, input=typed, text=True, env=environ, check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    """Print medians and worst times."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        environ = {**os.environ, "DIAGNOSE_CACHE": str(place / "cache")}
        walk = [sys.executable, "-m", "diagnose", "walk"]

        def fresh(name: str, *, cold: bool) -> dict[str, str]:
            cache = {"DIAGNOSE_CACHE": str(place / name)} if cold else {}
            return {**environ, **cache, "DIAGNOSE_STORE": str(place / f"{name}.sqlite")}

        cases = {
            "an empty Python process": ([sys.executable, "-c", ""], "", False),
            "first question, library in the cache": (walk, "q\n", False),
            "first question, empty cache": (walk, "q\n", True),
            "first check, library in the cache": (walk, FIRST_CHECK, False),
        }
        print(f"Python {sys.version.split()[0]}, {ROUNDS} rounds each")
        for title, (command, typed, cold) in cases.items():
            seconds(command, typed, fresh("warm-up", cold=cold))
            name = title.replace(" ", "-")
            times = [seconds(command, typed, fresh(f"{name}-{n}", cold=cold)) for n in range(ROUNDS)]
            print(f"  {title:42s} median {statistics.median(times):5.2f} s, worst {max(times):5.2f} s")


if __name__ == "__main__":
    main()
