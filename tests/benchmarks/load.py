"""How time grows with what is kept: python -m tests.benchmarks.load [--jobs 100000].

Prints tables: a store of many invented jobs of some 48 events each (demo) is listed, searched and resumed; a
job of many events is read and folded. The exponent is the slope between the two largest rows, both axes in
logarithms: 1 is a straight line.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from diagnose.job.events import Entry, Noted, Opened
from diagnose.job.journal import Journal, print_time
from diagnose.job.lookup import Wanted, look_up
from diagnose.job.state import fold
from diagnose.library.shelf import load
from diagnose.model.library import Library
from tests.benchmarks.shelf import job

START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

#: Different jobs in a store; the others are like one of them, under another name at another time.
MODELS = 500


def seconds(act: Callable[[], object], times: int = 3) -> float:
    """The least of some times."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        took.append(time.perf_counter() - start)
    return min(took)


def table(title: str, sizes: list[int], measure: Callable[[int], float]) -> None:
    """Print a row a size, and the slope at the end."""
    print(title)
    found = []
    for size in sizes:
        found.append((size, measure(size)))
        print(f"  {size:9,d}  {found[-1][1]:8.3f} s", flush=True)
    print(f"  exponent {slope(found):.2f}")


def slope(found: list[tuple[int, float]]) -> float:
    """Of the last two rows, (size, what it took), in logarithms."""
    (small, before), (large, after) = found[-2:]
    return math.log(after / before) / math.log(large / small)


def fill(path: Path, library: Library, size: int) -> None:
    """A store of so many jobs, written as a program without glances wrote it."""
    chance = random.Random(1)
    models = []
    for number in range(min(MODELS, size)):
        rows = [(each.step, each.time, each.event.to_dict()) for each in job(library, number, chance)]
        models.append([(step, time_, row.pop("event"), json.dumps(row)) for step, time_, row in rows])
    with Journal.open(path) as journal, journal.writing() as database:
        for number in range(1, size + 1):
            name, later = f"demo car {number}", timedelta(minutes=7 * number)
            database.execute("INSERT INTO job (name) VALUES (?)", (name,))
            for at, (step, time_, kind, body) in enumerate(models[number % len(models)], 1):
                text = json.dumps({**json.loads(body), "name": name}) if at == 1 else body
                row = (number, at, step, print_time(time_ + later), kind, text)
                database.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)


def jobs(library: Library, most: int) -> None:
    """Tables of stores up to this size."""
    sizes = [most // 100, most // 10, most]
    with tempfile.TemporaryDirectory() as name:

        def opened(size: int) -> Journal:
            return Journal.open(Path(name) / f"{size}.sqlite")

        def first(size: int) -> float:
            fill(Path(name) / f"{size}.sqlite", library, size)
            with opened(size) as journal:
                return seconds(lambda: look_up(library, journal, Wanted(), 50), 1)

        def looked(wanted: Wanted) -> Callable[[int], float]:
            def measure(size: int) -> float:
                with opened(size) as journal:
                    return seconds(lambda: look_up(library, journal, wanted, 50))

            return measure

        def resumed(size: int) -> float:
            with opened(size) as journal:
                return seconds(journal.last_open)

        def called(*arguments: str) -> Callable[[int], float]:
            def measure(size: int) -> float:
                environ = {**os.environ, "DIAGNOSE_STORE": str(Path(name) / f"{size}.sqlite")}
                command = [sys.executable, "-m", "diagnose", *arguments]
                return seconds(lambda: subprocess.run(command, env=environ, capture_output=True, check=True))

            return measure

        table("jobs in the store: looked at for the first time", sizes, first)
        table("the last 50 listed", sizes, looked(Wanted()))
        table("searched by words", sizes, looked(Wanted(car=("car", "17"))))
        table("searched by complaint, closed", sizes, looked(Wanted(complaint="wander", closed=True)))
        table("the last open one found", sizes, resumed)
        table("`diagnose jobs`, the whole command", sizes, called("jobs"))
        table("`diagnose jobs --car 17`, the whole command", sizes, called("jobs", "--car", "17"))
        print(f"bytes in the largest store: {(Path(name) / f'{most}.sqlite').stat().st_size:,d}")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=100_000)
    options = parser.parse_args()
    jobs(load(), options.jobs)

    def folded(size: int) -> float:
        entries = [Entry(1, START, Opened("demo"))]
        entries += [Entry(n, START, Noted(f"note {n}")) for n in range(2, size + 1)]
        with Journal.passing() as journal:
            name = journal.adopt("demo", entries)
            return seconds(lambda: fold(journal.events(name)))

    table("events in a job: read and folded", [100, 1_000, 10_000], folded)


if __name__ == "__main__":
    main()
