"""Bad input in bulk: python -m tests.benchmarks.fuzz --inputs 100000 [--door trees] [--seconds 60].

With --behind, what a door took is given to the commands behind it too (slow).
Prints for each door how many spoiled texts were taken and refused, how long the slowest took, the memory at
the end, and everything that must not be: a traceback, a number that is not finite taken, more than 10 s.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import tempfile
import time
from pathlib import Path

from tests.behind import behind
from tests.fuzzing import DOORS, tried

#: A process that takes more than this fails (bytes).
MEMORY = 500_000_000


def main() -> None:
    """Try the doors, and fail if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000, help="for each door")
    parser.add_argument("--first", type=int, default=0, help="number of the first input")
    parser.add_argument("--door", action="append", choices=tuple(DOORS))
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop a door after so long")
    parser.add_argument(
        "--behind", action="store_true", help="carry out the commands behind the door on what it took (slow)"
    )
    options = parser.parse_args()
    wrong, folder = 0, Path(tempfile.mkdtemp())
    for door in options.door or DOORS:
        found: list[int] = []
        start, done, taken, refused, slowest = time.monotonic(), 0, 0, 0, 0.0
        while done < options.inputs and time.monotonic() - start < options.seconds:
            count = min(100, options.inputs - done)
            then = behind(door, folder) if options.behind else None
            told = tried(door, options.first + done, count, longest=60.0 if then else 10.0, then=then)
            done += count
            taken, refused, slowest = taken + told.taken, refused + told.refused, max(slowest, told.slowest)
            for number, what in told.wrong:
                wrong += 1
                if len(found) < 5:
                    found.append(number)
                    print(f"  {door} {number}: {what[:300]!r}", flush=True)
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
        if most > MEMORY:
            wrong += 1
            print(f"  {door}: {most / 1e6:.0f} MB of memory")
        print(
            f"{door:20s} {done:7,d} inputs: {taken:6,d} taken, {refused:7,d} refused; "
            f"slowest {slowest:5.2f} s, memory {most / 1e6:4.0f} MB",
            flush=True,
        )
    shutil.rmtree(folder)
    raise SystemExit(f"{wrong} must not be" if wrong else 0)


if __name__ == "__main__":
    main()
