"""How time grows with what is kept: python -m tests.benchmarks.load [--jobs 100000].

Prints tables: a store of many jobs is listed and its last one found; a job of many events is read and folded.
The exponent is the slope between the two largest rows, both axes in logarithms: 1 is a straight line.
"""

from __future__ import annotations

import argparse
import json
import math
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from diagnose.job.events import Entry, Noted, Opened
from diagnose.job.journal import Journal, print_time
from diagnose.job.state import fold

START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


def seconds(act: Callable[[], object]) -> float:
    """The least of three times."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return min(times)


def table(title: str, sizes: list[int], measure: Callable[[int], float]) -> None:
    """Print a row a size, and the slope at the end."""
    print(title)
    found = []
    for size in sizes:
        found.append((size, measure(size)))
        print(f"  {size:9,d}  {found[-1][1]:8.3f} s", flush=True)
    (small, before), (large, after) = found[-2:]
    print(f"  exponent {math.log(after / before) / math.log(large / small):.2f}")


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=100_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:

        def stored(size: int) -> Path:
            """A store of so many jobs of three events, a hundredth of them closed; demo."""
            path = Path(name) / f"{size}.sqlite"
            with Journal.open(path) as journal, journal._writing() as database:
                for number in range(1, size + 1):
                    database.execute("INSERT INTO job (name) VALUES (?)", (f"demo car {number}",))
                    kinds = [
                        ("opened", {"name": f"demo car {number}"}),
                        ("complaint-heard", {"complaint": "wander"}),
                    ]
                    kinds.append(
                        ("closed", {"outcome": "cured"}) if number % 100 == 0 else ("noted", {"text": "x"})
                    )
                    for step, (kind, body) in enumerate(kinds, 1):
                        told = print_time(START + timedelta(minutes=number))
                        row = (number, step, step, told, kind, json.dumps(body))
                        database.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?, ?)", row)
            return path

        def listed(size: int) -> float:
            with Journal.open(stored(size)) as journal:
                return seconds(journal.jobs)

        def resumed(size: int) -> float:
            with Journal.open(Path(name) / f"{size}.sqlite") as journal:
                return seconds(journal.last_open)

        sizes = [options.jobs // 100, options.jobs // 10, options.jobs]
        table("jobs in the store: all listed", sizes, listed)
        table("jobs in the store: the last open one found", sizes, resumed)

        def folded(size: int) -> float:
            entries = [Entry(1, START, Opened("demo"))]
            entries += [Entry(n, START, Noted(f"note {n}")) for n in range(2, size + 1)]
            with Journal.passing() as journal:
                job = journal.adopt("demo", entries)
                return seconds(lambda: fold(journal.events(job)))

        table("events in a job: read and folded", [100, 1_000, 10_000], folded)


if __name__ == "__main__":
    main()
