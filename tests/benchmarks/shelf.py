"""How long the list of jobs and the report of a shop take, over many invented jobs (demo).

    python -m tests.benchmarks.shelf [JOBS]

Each job has a complaint, twelve checks with their answers, and mostly a repair and a drive after it.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from diagnose.job import events as e
from diagnose.job.events import Entry, Event, Opened
from diagnose.job.journal import Journal
from diagnose.job.overview import overviews
from diagnose.job.shop import report
from diagnose.job.state import fold
from diagnose.library.shelf import load
from diagnose.model.library import Library

CHECKS = 12


def job(library: Library, number: int, chance: random.Random) -> list[Entry]:
    """One invented job."""
    time_ = datetime(2024, 1, 1, 8, tzinfo=UTC) + timedelta(hours=5 * number)
    complaint = chance.choice(list(library.complaints)[:20])
    fault = chance.choice(list(library.faults.values())[:25])
    steps: list[list[Event]] = [
        [Opened(f"demo car {number}")],
        [e.ComplaintHeard(complaint, words="invented")],
        [e.VehicleFact("front", "strut")],
        [e.Distance(chance.randrange(50, 300) * 1000.0, float(chance.randrange(2, 20)))],
    ]
    for check in chance.sample(list(library.checks.values()), CHECKS):
        answers = [e.Answered(finding, None, "no") for finding in check.findings[:3]]
        steps += [[e.Turned(check.id)], [*answers, e.CheckDone(check.id)]]
    if chance.random() < 0.8:
        gone = chance.random() < 0.7
        ends = (f"{fault.id}@front-left",)
        steps += [
            [e.Repaired(fault.remedy, "front-left", ends, price=float(chance.randrange(20, 200)), hours=1.0)],
            [e.ComplaintHeard(complaint, answer="no" if gone else "yes", by="road-test")],
        ]
        if chance.random() < 0.8:
            steps.append([e.Closed("cured" if gone else "handed on")])
    return [Entry(n, time_ + timedelta(minutes=n), each) for n, some in enumerate(steps, 1) for each in some]


def timed(name: str, act: Callable[[], object]) -> None:
    """Say how long it takes, the first time and again."""
    took = []
    for _ in range(2):
        start = time.perf_counter()
        act()
        took.append(time.perf_counter() - start)
    print(f"{name:<34} {took[0]:6.2f} s, again {took[1]:6.2f} s")


def main(count: int) -> None:
    """Make the jobs, and time what is done with them."""
    library, chance = load(), random.Random(1)
    with tempfile.TemporaryDirectory() as folder, Journal.open(Path(folder) / "jobs.sqlite") as journal:
        for number in range(count):
            journal.adopt(f"demo car {number}", job(library, number, chance))
        events = sum(row.events for row in journal.jobs())
        print(f"{count} jobs, {events} events")
        timed("ids, names and states", journal.jobs)
        timed("the list of jobs", lambda: overviews(library, journal))
        timed("the report", lambda: report(library, overviews(library, journal)))
        timed("every event decoded and folded", lambda: [fold(journal.events(r.id)) for r in journal.jobs()])


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
