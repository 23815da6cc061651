"""A compiled library in the user's cache folder, so that a start need not read YAML.

One file for each library: a line with a checksum, then JSON with plain positional lists. Nothing
in it is executed. A file that is damaged, of another version or cannot be written is passed over.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import json
import os
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from diagnose.errors import NOWHERE, Place
from diagnose.library.paths import standing
from diagnose.model.check import Check, Finding, Limit, Link, Reading, SetUp
from diagnose.model.complaint import Complaint, Gate, Leaf, Use, gates
from diagnose.model.library import Access, Condition, Fact, FactValue, FollowUp, Library, Remedy, Source
from diagnose.model.part import Fault, Life, Part

__all__ = ["FORMAT", "folder", "get", "put"]

#: Counts up with every change of what the lists below hold.
FORMAT = 10

#: Libraries kept; the ones that have not been used for longest go first.
_KEPT = 8


def folder() -> Path:
    """Where compiled libraries lie: `$DIAGNOSE_CACHE`, or the platform's cache folder."""
    given = os.environ.get("DIAGNOSE_CACHE")
    if given:
        return Path(given)
    import platformdirs  # here: it costs more than reading the cache

    return platformdirs.user_cache_path("handling-diagnose")


def get(digest: str, files: Sequence[str]) -> Library | None:
    """The library with that digest, or None if there is no good copy.

    files: the names to show for its files, in the order in which `put` was given them.
    """
    collecting = gc.isenabled()
    gc.disable()  # many small objects and no garbage: a third of the time otherwise
    try:
        path = folder() / _name(digest)
        if standing(path) != "file":
            return None
        head, _, body = path.read_bytes().partition(b"\n")
        if head.decode("ascii") != hashlib.sha256(body).hexdigest():
            return None
        stored = json.loads(body)
        if stored[0] != _key(digest):
            return None
        library = _Unpacker(files).library(stored[1], digest)
    except Exception:  # whatever is wrong with a copy, the trees themselves are there
        return None
    finally:
        if collecting:
            gc.enable()
    with contextlib.suppress(OSError):
        os.utime(path)  # the last ones used are kept
    return library


def put(library: Library, files: Sequence[str]) -> None:
    """Keep a copy of the library under its digest; does nothing where that is not possible."""
    try:
        stored = [_key(library.digest), _Packer(files).library(library)]
        body = json.dumps(stored, separators=(",", ":"), ensure_ascii=True).encode("ascii")
        where = folder()
        where.mkdir(parents=True, exist_ok=True)
        path = where / _name(library.digest)
        aside = where / f".{path.name}.{os.getpid()}.{time.monotonic_ns()}"
        try:
            with aside.open("xb") as stream:
                stream.write(hashlib.sha256(body).hexdigest().encode("ascii") + b"\n" + body)
            aside.replace(path)
        finally:
            aside.unlink(missing_ok=True)
        _thin_out(where)
    except OSError:
        return


def _thin_out(where: Path) -> None:
    copies = sorted(where.glob("library-*.json"), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in copies[_KEPT:]:
        path.unlink(missing_ok=True)


def _name(digest: str) -> str:
    return f"library-{_key(digest)[:32]}.json"


def _key(digest: str) -> str:
    """SHA-256 over everything that a copy depends on: the trees, the program and this format."""
    import diagnose

    program = [str(getattr(diagnose, "__version__", "")), str(FORMAT)]
    # In a checkout the program changes without its version: let its files count too.
    package = Path(__file__).parent.parent
    for room in ("library", "model"):
        with os.scandir(package / room) as entries:
            for entry in sorted(entries, key=lambda entry: entry.name):
                if entry.name.endswith(".py"):
                    status = entry.stat()
                    program.append(f"{room}/{entry.name} {status.st_size} {status.st_mtime_ns}")
    return hashlib.sha256("\n".join((*program, digest)).encode()).hexdigest()


# packing --------------------------------------------------------------------------------------
# Each row becomes a list of its fields in the order of the model's class; places come last, as
# number of the file, line and column. Mechanisms are not stored: they stand in their complaints.


class _Packer:
    def __init__(self, files: Sequence[str]) -> None:
        self.files = {name: number for number, name in enumerate(files)}

    def place(self, place: Place) -> tuple[int, int, int]:
        return (self.files.get(place.file, -1), place.line, place.column)

    def library(self, library: Library) -> list[Any]:
        place = self.place
        return [
            [
                (row.id, row.name, row.where, _open(row.fits), *place(row.place))
                for row in library.parts.values()
            ],
            [
                (
                    row.id,
                    row.part,
                    row.name,
                    row.where,
                    row.remedy,
                    None if row.life is None else (row.life.shape, row.life.km, row.life.years),
                    row.chance,
                    row.mates,
                    dict(row.lifts),
                    _open(row.fits),
                    row.danger,
                    row.danger_when,
                    row.source,
                    row.inspection,
                    row.inspection_when,
                    *place(row.place),
                )
                for row in library.faults.values()
            ],
            [
                (
                    row.id,
                    row.name,
                    row.set_up,
                    row.minutes,
                    row.how,
                    row.findings,
                    row.needs,
                    row.cautions,
                    _open(row.fits),
                    row.source,
                    row.first,
                    row.only_for,
                    *place(row.place),
                )
                for row in library.checks.values()
            ],
            [
                (
                    row.id,
                    row.check,
                    row.name,
                    row.levels,
                    row.false_alarm,
                    [(link.target, link.kind, link.detection, *place(link.place)) for link in row.links],
                    row.where,
                    row.none,
                    None if row.reading is None else _reading(row.reading),
                    row.repeats,
                    row.hit,
                    row.unfit,
                    row.of_complaint,
                    row.source,
                    *place(row.place),
                )
                for row in library.findings.values()
            ],
            [
                (
                    row.id,
                    row.name,
                    row.per,
                    row.hours,
                    row.parts,
                    row.follow_ups,
                    row.cautions,
                    row.watch,
                    row.source,
                    row.access,
                    row.covers,
                    *place(row.place),
                )
                for row in library.remedies.values()
            ],
            [
                (row.id, row.name, row.enter, row.leave, row.source, row.driven, *place(row.place))
                for row in library.set_ups.values()
            ],
            [(one, other, minutes) for (one, other), minutes in library.changes.items()],
            [
                (
                    row.id,
                    row.name,
                    self.gate(row.top),
                    row.about,
                    row.area,
                    row.says,
                    row.sided,
                    row.questions,
                    row.heard,
                    row.felt,
                    row.source,
                    *place(row.place),
                )
                for row in library.complaints.values()
            ],
            [
                (
                    row.id,
                    row.ask,
                    [(value.id, value.name, value.share) for value in row.values],
                    row.source,
                    *place(row.place),
                )
                for row in library.facts.values()
            ],
            [
                (row.id, row.ask, row.name, row.source, *place(row.place))
                for row in library.conditions.values()
            ],
            [
                (
                    row.id,
                    row.name,
                    row.minutes,
                    row.parts,
                    row.source,
                    row.covers,
                    row.mends,
                    *place(row.place),
                )
                for row in library.follow_ups.values()
            ],
            [
                (row.id, row.name, row.per, row.hours, row.within, row.source, *place(row.place))
                for row in library.access.values()
            ],
            [(row.id, row.name, row.url, row.note, *place(row.place)) for row in library.sources.values()],
            dict(library.cautions),
            dict(library.tools),
            dict(library.areas),
        ]

    def gate(self, gate: Gate) -> list[Any]:
        branches = [
            ["leaf", branch.fault, branch.strength, branch.at, _open(branch.fits), *self.place(branch.place)]
            if isinstance(branch, Leaf)
            else ["use", branch.mechanism, branch.strength, _open(branch.fits), *self.place(branch.place)]
            if isinstance(branch, Use)
            else self.gate(branch)
            for branch in gate.branches
        ]
        return [
            "gate",
            gate.kind,
            gate.need,
            branches,
            gate.id,
            gate.name,
            gate.leak,
            gate.strength,
            _open(gate.fits),
            gate.source,
            *self.place(gate.place),
        ]


def _open(fits: Any) -> dict[str, list[str]]:
    return {fact: list(values) for fact, values in fits.items()}


def _reading(reading: Reading) -> list[Any]:
    limits = [(limit.value, limit.name, limit.source) for limit in reading.limits]
    return [reading.quantity, reading.unit, limits, reading.below, reading.direction, reading.repeatability]


class _Unpacker:
    def __init__(self, files: Sequence[str]) -> None:
        self.files = files

    def place(self, number: int, line: int, column: int) -> Place:
        return NOWHERE if number < 0 else Place(self.files[number], line, column)

    def library(self, stored: list[Any], digest: str) -> Library:
        place = self.place
        (
            parts,
            faults,
            checks,
            findings,
            remedies,
            set_ups,
            changes,
            complaints,
            facts,
            conditions,
            follow_ups,
            access,
            sources,
            cautions,
            tools,
            areas,
        ) = stored
        trees = {row[0]: self.complaint(row) for row in complaints}
        return Library(
            parts={
                name: Part(name, title, where, _close(fits), place(*at))
                for name, title, where, fits, *at in parts
            },
            faults={
                name: Fault(
                    name,
                    part,
                    title,
                    where,
                    remedy,
                    None if life is None else Life(*life),
                    chance,
                    mates,
                    lifts,
                    _close(fits),
                    danger,
                    when,
                    tuple(source),
                    item,
                    item_when,
                    place(*at),
                )
                for (
                    name,
                    part,
                    title,
                    where,
                    remedy,
                    life,
                    chance,
                    mates,
                    lifts,
                    fits,
                    danger,
                    when,
                    source,
                    item,
                    item_when,
                    *at,
                ) in faults
            },
            checks={
                name: Check(
                    name,
                    title,
                    set_up,
                    minutes,
                    how,
                    tuple(found),
                    tuple(needs),
                    tuple(warnings),
                    _close(fits),
                    tuple(source),
                    first,
                    tuple(only),
                    place(*at),
                )
                for (
                    name,
                    title,
                    set_up,
                    minutes,
                    how,
                    found,
                    needs,
                    warnings,
                    fits,
                    source,
                    first,
                    only,
                    *at,
                ) in checks
            },
            findings={row[0]: self.finding(row) for row in findings},
            remedies={
                name: Remedy(
                    name,
                    title,
                    per,
                    hours,
                    money,
                    tuple(after),
                    tuple(warnings),
                    watch,
                    tuple(source),
                    tuple(opened),
                    tuple(covers),
                    place(*at),
                )
                for (
                    name,
                    title,
                    per,
                    hours,
                    money,
                    after,
                    warnings,
                    watch,
                    source,
                    opened,
                    covers,
                    *at,
                ) in remedies
            },
            set_ups={
                name: SetUp(name, title, enter, leave, tuple(source), driven, place(*at))
                for name, title, enter, leave, source, driven, *at in set_ups
            },
            changes={(one, other): minutes for one, other, minutes in changes},
            complaints=trees,
            mechanisms={gate.id: gate for tree in trees.values() for gate in gates(tree.top) if gate.id},
            facts={
                name: Fact(
                    name,
                    ask,
                    tuple(FactValue(*value) for value in values),
                    tuple(source),
                    place(*at),
                )
                for name, ask, values, source, *at in facts
            },
            conditions={
                name: Condition(name, ask, title, tuple(source), place(*at))
                for name, ask, title, source, *at in conditions
            },
            follow_ups={
                name: FollowUp(
                    name, title, minutes, money, tuple(source), tuple(covers), tuple(mends), place(*at)
                )
                for name, title, minutes, money, source, covers, mends, *at in follow_ups
            },
            access={
                name: Access(name, title, per, hours, within, tuple(source), place(*at))
                for name, title, per, hours, within, source, *at in access
            },
            sources={
                name: Source(name, title, url, note, place(*at)) for name, title, url, note, *at in sources
            },
            cautions=cautions,
            tools=tools,
            areas=areas,
            digest=digest,
        )

    def finding(self, row: list[Any]) -> Finding:
        place = self.place
        (
            name,
            check,
            title,
            levels,
            false_alarm,
            links,
            where,
            none,
            reading,
            repeats,
            hit,
            unfit,
            of_complaint,
            source,
            *at,
        ) = row
        return Finding(
            name,
            check,
            title,
            tuple(levels),
            tuple(false_alarm),
            tuple(
                Link(target, kind, tuple(detection), place(*where_link))
                for target, kind, detection, *where_link in links
            ),
            where,
            none,
            None if reading is None else _close_reading(*reading),
            repeats,
            hit,
            unfit,
            of_complaint,
            tuple(source),
            place(*at),
        )

    def complaint(self, row: list[Any]) -> Complaint:
        name, title, top, about, area, says, sided, questions, heard, felt, source, *at = row
        return Complaint(
            name,
            title,
            self.gate(top),
            about,
            area,
            tuple(says),
            sided,
            tuple(questions),
            tuple(heard),
            tuple(felt),
            tuple(source),
            self.place(*at),
        )

    def gate(self, row: list[Any]) -> Gate:
        _, kind, need, stored, name, title, leak, strength, fits, source, *at = row
        branches: list[Leaf | Use | Gate] = []
        for branch in stored:
            if branch[0] == "leaf":
                _, fault, chance, where, on, *spot = branch
                branches.append(Leaf(fault, chance, where, _close(on), self.place(*spot)))
            elif branch[0] == "use":
                _, mechanism, chance, on, *spot = branch
                branches.append(Use(mechanism, chance, _close(on), self.place(*spot)))
            else:
                branches.append(self.gate(branch))
        return Gate(
            kind,
            need,
            tuple(branches),
            name,
            title,
            leak,
            strength,
            _close(fits),
            tuple(source),
            self.place(*at),
        )


def _close(fits: dict[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return {fact: tuple(values) for fact, values in fits.items()}


def _close_reading(
    quantity: str, unit: str, limits: list[Any], below: str, direction: str, repeatability: float
) -> Reading:
    return Reading(
        quantity,
        unit,
        tuple(Limit(value, name, tuple(source)) for value, name, source in limits),
        below,
        direction,
        repeatability,
    )
