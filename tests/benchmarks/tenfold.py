"""A library of many times the shipped size: python -m tests.benchmarks.tenfold [--times 10].

The shipped complaints, parts and checks are copied under new ids, each copy whole in itself; facts,
conditions, set-ups, tools and sources are shared. Printed are, in processes of their own: checking the
folder, loading it from YAML and from the compiled copy, the first question and the first check of a walk, and
the memory at the end. The exponent is the slope between the two largest rows, both axes in logarithms: 1 is a
straight line.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from diagnose.library.shelf import shipped
from tests.benchmarks.load import slope

KINDS = ("complaints", "parts", "checks")

#: Keys whose values name what all copies share.
SHARED = {"access", "area", "cautions", "fits", "follow-ups", "lifts", "needs", "set-up", "source"}

RUN = """
import resource, time
from pathlib import Path
start = time.process_time()
{act}
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""

LOAD = "from diagnose.library.shelf import load; load([Path(each) for each in {folder!r}], cache={cache})"
CHECK = """
from diagnose.library.shelf import check, shipped
assert check(Path(*({folder!r} or [shipped()]))) == []
"""
WALK = """
import io, sys
sys.stdin, sys.stdout, out = io.StringIO({typed!r}), io.StringIO(), sys.stdout
from diagnose.cli import run
assert run(["walk", "wander", *(f"--trees={each}" for each in {folder!r})]) == 0
shown, sys.stdout = sys.stdout.getvalue(), out
assert {words!r} in shown, shown
"""


def ids_of(value: Any) -> Iterator[str]:
    """Every id by which other rows may name a row: of a complaint, mechanism, part, fault, remedy, check."""
    if isinstance(value, dict):
        for key in ("id", "mechanism"):
            if isinstance(value.get(key), str):
                yield value[key]
        for key, each in value.items():
            if key not in ("findings", "access", "follow-ups"):
                yield from ids_of(each)
    elif isinstance(value, list):
        for each in value:
            yield from ids_of(each)


def renamed(value: Any, ids: set[str], mark: str) -> Any:
    """The same with each of these ids marked, wherever it stands but beside what is shared."""
    if isinstance(value, dict):
        return {renamed(key, ids, mark): _value(key, each, ids, mark) for key, each in value.items()}
    if isinstance(value, list):
        return [renamed(each, ids, mark) for each in value]
    row, slash, rest = str(value).partition("/")
    return f"{row}-{mark}{slash}{rest}" if row in ids else value


def _value(key: str, value: Any, ids: set[str], mark: str) -> Any:
    if key in ("name", "about") and isinstance(value, str):
        return f"{value} {mark}"
    return value if key in SHARED else renamed(value, ids, mark)


def copies(folder: Path, times: int) -> Path:
    """A folder to lay over the shipped trees, by which they are so many times as large."""
    files = {
        path.relative_to(shipped()): yaml.load(path.read_text("utf-8"), yaml.CBaseLoader)  # all of it text
        for kind in KINDS
        for path in sorted((shipped() / kind).glob("*.yaml"))
    }
    ids = {name for value in files.values() for name in ids_of(value)}
    for number in range(2, times + 1):
        mark = f"copy-{number}"
        for path, value in files.items():
            target = folder / path.with_stem(f"{path.stem}-{mark}")
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(
                yaml.dump(renamed(value, ids, mark), Dumper=yaml.CSafeDumper, allow_unicode=True), "utf-8"
            )
    return folder


def process(act: str, environ: dict[str, str]) -> tuple[float, float]:
    """Seconds of the processor without the start of Python, and megabytes at most."""
    ran = subprocess.run(
        [sys.executable, "-c", RUN.format(act=act)], env=environ, check=True, capture_output=True, text=True
    )
    seconds, memory = ran.stdout.split()
    return float(seconds), float(memory)


def _walk(typed: str, words: str) -> str:
    return WALK.replace("{typed!r}", repr(typed)).replace("{words!r}", repr(words))


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=10)
    options = parser.parse_args()
    sizes = [1, max(options.times // 3, 2), options.times]
    acts = {
        "checked": CHECK,
        "loaded from YAML": LOAD.replace("{cache}", "False"),
        "loaded for the first time": LOAD.replace("{cache}", "True"),
        "loaded from its compiled copy": LOAD.replace("{cache}", "True"),
        "first question": _walk("\n", "not known >"),
        "first check": _walk("\n\n\n150000 km, 11 years\n\nc\nc\n", "answer > c"),
    }
    with tempfile.TemporaryDirectory() as name:
        start = time.perf_counter()
        folders = {size: [str(copies(Path(name) / str(size), size))] for size in sizes[1:]} | {1: []}
        print(f"copies written in {time.perf_counter() - start:.0f} s")
        for title, act in acts.items():
            print(title)
            found = []
            for size in sizes:
                environ = {
                    **os.environ,
                    "DIAGNOSE_CACHE": f"{name}/cache",
                    "DIAGNOSE_STORE": f"{name}/jobs.sqlite",
                }
                seconds, memory = process(act.replace("{folder!r}", repr(folders[size])), environ)
                found.append((size, seconds))
                print(f"  {size:3d} times  {seconds:8.2f} s  {memory:6.0f} MB", flush=True)
            print(f"  exponent {slope(found):.2f}")


if __name__ == "__main__":
    main()
