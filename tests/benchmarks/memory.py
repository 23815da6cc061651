"""Memory over one long walk: python -m tests.benchmarks.memory [--answers 1000].

One job of a demo car: a check, each fifth time the one proposed, is answered with nothing seen, or with its
first finding seen, twelve checks long; then all of it is taken back and begun anew with another complaint
beside the first. Every act stays in the journal. Printed is the memory in use after so many answers
(/proc/self/statm, Linux).
"""

from __future__ import annotations

import argparse
import gc
import os
import random
import time
from pathlib import Path

from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.library.shelf import load
from diagnose.model.story import Seen, Workshop

#: Checks answered before they are taken back.
LONG = 12


def megabytes() -> float:
    """Memory of this process that is in use."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def main() -> None:
    """Print a row every hundred answers."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--answers", type=int, default=1000)
    options = parser.parse_args()
    library, chance = load(), random.Random(1)
    start = time.perf_counter()
    with Journal.passing() as journal:
        steps = [[e.ComplaintHeard("wander")], [e.VehicleFact("front", "strut"), e.Distance(150_000.0, 11.0)]]
        session = Session.start(library, journal, "demo", Workshop(), steps)
        acts = done = 0
        for number in range(1, options.answers + 1):
            if acts == 0:
                others = [name for name in library.complaints if not library.complaints[name].sided]
                session.do(e.ComplaintHeard(chance.choice(others)))
                acts = 1
            verdict = session.verdict
            check = session.check_now() if number % 5 == 0 else None
            if check is None:
                left = [name for name in verdict.car.checks if name not in session.state.done]
                check = library.checks[chance.choice(left)] if left else None
            spots = session.spots(check) if check is not None else []
            if check is None or not spots or done == LONG:
                session.undo(acts)
                acts = done = 0
                continue
            seen = chance.random() < 0.1
            answers = []
            for at, spot in enumerate(spots):
                finding = library.findings[spot.finding]
                answer = finding.levels[0] if seen and not at else finding.none
                answers.append(
                    Seen(
                        spot.finding,
                        spot.position,
                        answer if len(finding.levels) > 1 else ("yes" if seen and not at else "no"),
                    )
                )
            session.answer(check, answers)
            acts, done = acts + 1, done + 1
            if number % 100 == 0 or number in (1, 25, 50):
                events = len(journal.events(session.job))
                print(
                    f"{number:6,d} answers  {events:7,d} events  {megabytes():7.1f} MB  "
                    f"{time.perf_counter() - start:6.0f} s",
                    flush=True,
                )


if __name__ == "__main__":
    main()
