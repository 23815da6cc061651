"""Bad input that finds its own way, at every door that reads a structure: python -m tests.benchmarks.grow
[--door trees] [--seconds 120] [--seed 1].

Prints how many steps of the program the good texts take, how many were reached from them by keeping what
reached a new one, and everything that must not be: a traceback, a number out of its range.
"""

from __future__ import annotations

import argparse

from tests.corpus import grown
from tests.fuzzing import DOORS

#: Doors whose inputs have a structure to find one's way in; the shipped trees take too long when traced.
STRUCTURED = tuple(door for door in DOORS if door not in ("trees, shipped", "complaints in words"))


def main() -> None:
    """Try the doors, and fail if anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=120.0, help="for each door")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--door", action="append", choices=STRUCTURED)
    options = parser.parse_args()
    wrong = 0
    for door in options.door or STRUCTURED:
        told = grown(door, options.seed, inputs=10**9, seconds=options.seconds)
        for what in told.wrong[:3]:
            print(f"  {door}: {what[:600]}", flush=True)
        wrong += len(told.wrong)
        print(
            f"{door:20s} {told.inputs:7,d} inputs, {told.taken:6,d} taken; "
            f"steps {told.good:5,d} of the good texts, {told.steps:5,d} reached; "
            f"{told.kept:4d} texts kept; slowest {told.slowest:5.2f} s",
            flush=True,
        )
    raise SystemExit(f"{wrong} must not be" if wrong else 0)


if __name__ == "__main__":
    main()
