"""Do the tests notice small mistakes? A random sample of mutants of the rooms that reckon.

Run: python -m tests.benchmarks.mutants geometry [--size 100] [--seed 1] [--log FILE] [--only FILE]

Each mutant is one small mistake in one module (tests/mutating.py), put there as the module is imported: no
file is changed. It is run in a process of its own against the tests that enter the function in which it
stands, the quick ones first, and is killed by the first one that fails, or by taking far more time than
those tests take. What survives is printed. A mutant that no test can tell from the original is in
tests/benchmarks/equal_mutants.yaml, with the reason, and is counted apart: rates stand without and with it.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from math import sqrt
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest
import yaml
from hypothesis import Phase, settings

from tests.mutating import Mutant, mutants, sample

__all__ = ["main", "wilson"]

ROOT = Path(__file__).resolve().parents[2]
EQUAL = Path(__file__).with_name("equal_mutants.yaml")

#: Room -> the tests that may serve it: those that import it, but for processes and other libraries.
ROOMS = {
    "geometry": "unit/geometry unit/shake unit/angles/test_derive.py unit/angles/test_doubts.py",
    "plan": "unit/plan properties/test_plans.py reference/test_replacement.py reference/test_weibull.py",
    "choice": "unit/test_course.py unit/test_influence.py unit/test_lookahead.py unit/test_verdict.py "
    "unit/test_repaired.py unit/test_narrow.py unit/test_answers.py unit/practice/test_practice.py "
    "properties/test_orders.py properties/test_regret.py reference/test_troubleshooting.py "
    "reference/test_value_of_information.py",
    "belief": "unit/test_belief.py unit/test_evidence.py unit/test_network.py unit/test_narrow.py "
    "unit/test_ordering.py unit/test_rounds.py unit/test_repaired.py unit/test_verdict.py "
    "unit/test_influence.py unit/test_readings.py unit/faulttree/test_fault_tree.py properties/test_exact.py "
    "properties/test_fold_together.py properties/test_rounds_properties.py reference/test_noisy_or.py "
    "reference/test_plackett.py reference/test_explaining_away.py reference/test_fault_trees.py",
}

#: What comes of a mutant; the last three are named in equal_mutants.yaml, which says what they mean.
KINDS = ("killed", "survived", "same", "speed", "estimate")

QUIET = ["-q", "-x", "-mnot long", "-n0", "-pno:cacheprovider", "--assert=plain", "--tb=no", "--no-header"]
HEAVY = "numpy networkx rich rapidfuzz prompt_toolkit hypothesis.strategies jsonschema"


class Import(SourceFileLoader):
    """Finds and loads one module, with a mistake in it."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self.code = code

    def find_spec(self, name: str, *_: object) -> ModuleSpec | None:
        return spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def get_code(self, fullname: str) -> CodeType:
        return self.code


class Shared:
    """Trees compiled once for all: the rooms tried have no part in that. A plugin of pytest."""

    cache = tempfile.mkdtemp(prefix="diagnose-mutants-")

    def pytest_sessionstart(self) -> None:
        os.environ["DIAGNOSE_CACHE"] = self.cache


class Wanted(Shared):
    """The tests wanted, in this order."""

    def __init__(self, order: Sequence[str]) -> None:
        self.order = {name: number for number, name in enumerate(order)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (each for each in items if each.nodeid in self.order), key=lambda item: self.order[item.nodeid]
        )


class Watch(Shared):
    """Which functions of a room each test enters, and its seconds of the processor."""

    def __init__(self, room: str) -> None:
        self.folder = str(ROOT / "diagnose" / room) + os.sep
        self.seconds: dict[str, float] = {}
        self.entered: dict[str, list[tuple[str, int]]] = {}
        self.failed: list[str] = []

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        seen: set[CodeType] = set()

        def called(frame: FrameType, event: str, argument: object) -> None:
            seen.add(frame.f_code)

        start = time.process_time()
        sys.settrace(called)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            self.seconds[item.nodeid] = time.process_time() - start
            self.entered[item.nodeid] = [
                (Path(code.co_filename).stem, code.co_firstlineno)
                for code in seen
                if code.co_filename.startswith(self.folder)
            ]

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)


def apart(act: Callable[[], Any], seconds: int) -> Any:
    """What `act` gives in a process of its own, or None if it died or took so much of the processor."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
        resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
        try:
            with os.fdopen(writing, "w") as out:
                json.dump(act(), out)
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as told:
        text = told.read()
    os.waitpid(child, 0)
    return json.loads(text) if text else None


def watched(room: str) -> dict[str, Any]:
    """The tests of a room: seconds of each, and the functions that it enters."""

    def act() -> dict[str, Any]:
        watch = Watch(room)
        files = [f"tests/{each}" for each in ROOMS[room].split()]
        pytest.main([each for each in QUIET if each != "-x"] + files, plugins=[watch])
        return {"seconds": watch.seconds, "entered": watch.entered, "failed": watch.failed}

    found = apart(act, 3600)
    if not found or not found["seconds"] or found["failed"]:
        sys.exit(f"the tests of {room} fail without any mutant: {found and found['failed']}")
    return dict(found)


def serving(mutant: Mutant, tests_: dict[str, Any], most: float) -> list[str]:
    """The tests that enter its function (its module, if it stands outside of all), the quick ones first.

    Then the others of their files: what a file reckons once counts as entered by its first test only.
    """
    stem = mutant.module.partition("/")[2]
    seconds = tests_["seconds"]

    def enters(name: str) -> bool:
        places = tests_["entered"][name]
        return any(at == stem and (not mutant.first or line == mutant.first) for at, line in places)

    # What is reckoned as the module is imported no test enters, but any may use.
    first = sorted(filter(enters, seconds), key=seconds.__getitem__) or sorted(
        seconds, key=seconds.__getitem__
    )
    files = {each.partition("::")[0] for each in first}
    rest = sorted((set(seconds) - set(first)), key=seconds.__getitem__)
    found, spent = [], 0.0
    for name in [*first, *(each for each in rest if each.partition("::")[0] in files)]:
        spent += seconds[name]
        if found and spent > most:
            break
        found.append(name)
    return found


def survives(mutant: Mutant, order: Sequence[str], seconds: float) -> bool:
    """Whether all these tests pass with the mistake in place."""
    name = f"diagnose.{mutant.module.replace('/', '.')}"
    path = str(ROOT / "diagnose" / f"{mutant.module}.py")

    def act() -> int:
        sys.meta_path.insert(0, Import(name, path, mutant.code()))
        # The quickest file alone first: collecting the others takes longer than its tests.
        quickest = order[0].partition("::")[0]
        for files in ({quickest}, {each.partition("::")[0] for each in order} - {quickest}):
            here = [each for each in order if each.partition("::")[0] in files]
            code = pytest.main([*QUIET, *sorted(files)], plugins=[Wanted(here)]) if here else 0
            if code:
                return int(code)
        return 0

    return not order or apart(act, int(5 + 2 * seconds)) == 0


def wilson(hits: int, of: int) -> tuple[float, float]:
    """The 95 % score interval of a proportion (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927)."""
    z = 1.959964
    part = hits / of
    middle = (part + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * sqrt(part * (1 - part) / of + z * z / (4 * of * of))
    return middle - half, middle + half


def main() -> None:
    """Try a sample of mutants of one room."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--size", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most", type=float, default=20.0, help="seconds of tests for one mutant")
    parser.add_argument("--log", type=Path, help="one line of JSON for each; what stands there is done")
    parser.add_argument("--only", help="those in a file of names, one a line", type=Path)
    told = parser.parse_args()
    os.chdir(ROOT)
    # No shrinking, no memory, the same examples each time; `tests` registered its own when imported.
    phases = [Phase.explicit, Phase.generate]
    settings.register_profile(
        "quick", deadline=None, max_examples=25, derandomize=True, database=None, phases=phases
    )
    for each in HEAVY.split():
        importlib.import_module(each)
    every = [
        mutant
        for path in sorted((ROOT / "diagnose" / told.room).glob("[!_]*.py"))
        for mutant in mutants(f"{told.room}/{path.stem}", path.read_text("utf-8"), str(path))
    ]
    drawn = sample(every, told.size, told.seed)
    if told.only:
        names = set(told.only.read_text("utf-8").splitlines())
        drawn = [each for each in every if each.name in names]
    equal = {each["mutant"]: each["kind"] for each in yaml.safe_load(EQUAL.read_text("utf-8"))}
    there = {each.name for each in every}
    for name in equal:
        if name.startswith(f"{told.room}/") and name not in there:
            print(f"no longer there, take it out of {EQUAL.name}: {name}")
    served = watched(told.room)
    print(f"{len(every)} mutants, {len(drawn)} drawn; {len(served['seconds'])} tests", flush=True)
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    known = {}
    if told.log and told.log.exists():
        known = {
            row["name"]: row["what"] for row in map(json.loads, told.log.read_text("utf-8").splitlines())
        }
    for mutant in drawn:
        if mutant.name in known and mutant.name not in equal:
            counts[mutant.module][known[mutant.name]] += 1
            counts["all"][known[mutant.name]] += 1
            continue
        order = serving(mutant, served, told.most)
        spent = sum(served["seconds"][each] for each in order)
        what = equal.get(mutant.name) or ("survived" if survives(mutant, order, spent) else "killed")
        counts[mutant.module][what] += 1
        counts["all"][what] += 1
        if what == "survived":
            print(f"survived, line {mutant.line}, {len(order)} tests: {mutant.name}", flush=True)
        if told.log:
            with told.log.open("a", encoding="utf-8") as log:
                log.write(json.dumps({"name": mutant.name, "kind": mutant.kind, "what": what}) + "\n")
    shutil.rmtree(Shared.cache, ignore_errors=True)
    for module in [*sorted(set(counts) - {"all"}), "all"]:
        killed, survived, *apart_ = (counts[module][what] for what in KINDS)
        line = f"{module:24}" + "".join(f" {what} {counts[module][what]:3}" for what in KINDS)
        for of in {killed + survived, killed + survived + sum(apart_)}:
            low, high = wilson(killed, of) if of else (0.0, 1.0)
            line += f"   {killed}/{of}: {killed / max(of, 1):.0%} ({low:.0%} to {high:.0%})"
        print(line)


if __name__ == "__main__":
    main()
