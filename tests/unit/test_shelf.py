"""Folders of trees: what is found in them, how they lie over each other, and the compiled copy."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import IO, Any

import pytest

from diagnose.errors import LibraryError, Place, Problem
from diagnose.library import cache, shelf
from diagnose.model.check import Check, Finding, Limit, Link, Reading, SetUp
from diagnose.model.complaint import Complaint, Gate, Leaf, Use
from diagnose.model.library import Access, Condition, Fact, FactValue, FollowUp, Library, Remedy, Source
from diagnose.model.part import Fault, Life, Part
from tests.small_trees import SMALL, edited

ROPE = "tools:\n  - {id: rope, name: a rope}\n"


def write(folder: Path, files: Mapping[str, str]) -> Path:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(autouse=True)
def base(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The small library stands in for the shipped one, and the cache is a folder of the test."""
    folder = write(tmp_path / "base", SMALL)
    monkeypatch.setattr(shelf, "shipped", lambda: folder)
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "cache"))
    monkeypatch.chdir(tmp_path)
    return folder


def problems_of(*folders: Path) -> list[str]:
    with pytest.raises(LibraryError) as caught:
        shelf.load(folders, cache=False)
    return [str(problem) for problem in caught.value.problems]


# what is found --------------------------------------------------------------------------------


def test_the_shipped_library_alone() -> None:
    library = shelf.load()
    assert set(library.complaints) == {"wander", "pull"}
    assert len(library.digest) == 64


def test_files_are_found_in_any_folder_below_and_by_either_ending(tmp_path: Path) -> None:
    mine = write(
        tmp_path / "mine",
        {
            "a/b/c.yml": ROPE,
            "D.YAML": "tools:\n  - {id: lamp, name: a lamp}\n",
            "notes.txt": "\tnot a tree",
            ".hidden.yaml": "\tnot read",
            ".git/x.yaml": "\tnot read",
            "x.yaml~": "\tnot read",
        },
    )
    assert shelf.load([mine]).tools == {"helper": "a helper", "rope": "a rope", "lamp": "a lamp"}


def test_folders_lie_over_each_other_in_their_order(tmp_path: Path) -> None:
    one = write(tmp_path / "one", {"t.yaml": "tools:\n  - {id: helper, name: one}\n"})
    two = write(tmp_path / "two", {"t.yaml": "tools:\n  - {id: helper, name: two}\n"})
    assert shelf.load([one, two]).tools == {"helper": "two"}
    assert shelf.load([two, one]).tools == {"helper": "one"}


def test_a_folder_may_be_given_through_a_link(tmp_path: Path) -> None:
    write(tmp_path / "mine", {"t.yaml": ROPE})
    (tmp_path / "link").symlink_to(tmp_path / "mine")
    assert "rope" in shelf.load([tmp_path / "link"]).tools


def test_links_that_stay_inside_add_nothing_twice(tmp_path: Path) -> None:
    mine = write(tmp_path / "mine", {"a/t.yaml": ROPE})
    (mine / "t2.yaml").symlink_to(mine / "a" / "t.yaml")
    (mine / "b").symlink_to(mine / "a")
    (mine / "a" / "round").symlink_to(mine)
    assert "rope" in shelf.load([mine]).tools


def test_a_link_that_leads_outside_is_refused(tmp_path: Path) -> None:
    other = write(tmp_path / "other", {"t.yaml": ROPE})
    mine = write(tmp_path / "mine", {"t.yaml": ROPE})
    (mine / "b.yaml").symlink_to(other / "t.yaml")
    (mine / "c").symlink_to(other)
    (mine / "d.txt").symlink_to(other / "t.yaml")
    assert problems_of(mine) == [
        f"mine/{name}: this link leads outside the folder of trees\n"
        "    mend: copy what it leads to, or give that folder as one of its own"
        for name in ("b.yaml", "c")
    ]


def test_a_name_that_only_starts_like_the_folder_is_outside(tmp_path: Path) -> None:
    other = write(tmp_path / "mine-too", {"t.yaml": ROPE})
    mine = write(tmp_path / "mine", {"t.yaml": ROPE})
    (mine / "b.yaml").symlink_to(other / "t.yaml")
    assert len(problems_of(mine)) == 1


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda path: None,
            "mine: there is no such folder\n    mend: give the folder that holds the tree files",
        ),
        (
            lambda path: path.write_text(ROPE),
            "mine: this is not a folder\n    mend: give the folder that holds the tree files",
        ),
        (
            lambda path: path.mkdir(),
            "mine: the folder holds no tree file\n    mend: tree files end in .yaml or .yml",
        ),
    ],
    ids=["missing", "a file", "empty"],
)
def test_a_folder_that_cannot_be_used(tmp_path: Path, make: object, message: str) -> None:
    assert callable(make)
    make(tmp_path / "mine")
    assert problems_of(tmp_path / "mine") == [message]
    assert [str(problem) for problem in shelf.check(tmp_path / "mine")] == [message]


def test_a_pipe_is_no_tree_and_does_not_block(tmp_path: Path) -> None:
    mine = write(tmp_path / "mine", {"t.yaml": ROPE})
    os.mkfifo(mine / "pipe.yaml")
    assert problems_of(mine) == ["mine/pipe.yaml: this is not a plain file\n    mend: take it away"]


def test_a_file_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    mine = write(tmp_path / "mine", {"t.yaml": ROPE})
    really_open = Path.open

    def refuse(path: Path, mode: str) -> IO[Any]:
        if path.name == "t.yaml":
            raise PermissionError(13, "Permission denied")
        return really_open(path, mode)

    monkeypatch.setattr(Path, "open", refuse)
    assert problems_of(mine) == [
        "mine/t.yaml: the file cannot be read: Permission denied\n    mend: make it readable, or take it away"
    ]


def test_a_folder_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    mine = write(tmp_path / "mine", {"t.yaml": ROPE, "in/u.yaml": ROPE})
    really_scan = os.scandir

    # Refused by the call itself, since taking the rights away would not stop root.
    def refuse(path: str) -> Any:
        if Path(path) == mine / "in":
            raise PermissionError(13, "Permission denied", str(path))
        return really_scan(path)

    monkeypatch.setattr(os, "scandir", refuse)
    assert problems_of(mine) == [
        "mine/in: the folder cannot be read: Permission denied\n    mend: make it readable, or take it away"
    ]


def test_a_file_that_is_too_large_is_not_read_to_its_end(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    with (mine / "t.yaml").open("wb") as stream:
        stream.truncate(10**12)  # a hole of a terabyte
    assert problems_of(mine) == [
        "mine/t.yaml: the file has more than 2,000,000 bytes\n    mend: split it into several files"
    ]


def test_files_elsewhere_are_named_with_their_whole_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = write(tmp_path / "mine", {"t.yaml": "tols: []\n"})
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
    (problem,) = shelf.check(Path("..") / "mine")
    assert problem.place == Place(str(mine / "t.yaml"), 1, 1)


def test_a_file_name_cannot_write_to_the_terminal(tmp_path: Path) -> None:
    mine = write(tmp_path / "mine", {"red\x1b[31m.yaml": "tols: []\n"})
    (problem,) = shelf.check(mine)
    assert problem.place.file == "mine/red\ufffd[31m.yaml"


# all problems at once -------------------------------------------------------------------------


def test_every_problem_of_every_file_in_file_order(tmp_path: Path) -> None:
    mine = write(
        tmp_path / "mine",
        {
            "b.yaml": "tools:\n  - {id: Rope, name: a rope}\n",
            "a.yaml": "tols: []\nremedies:\n\t- x\n",
            "c/d.yaml": "conditions:\n  - {id: x, ask: why, name: y, source: guess}\n",
        },
    )
    assert "\n".join(problems_of(mine)) == (
        "mine/a.yaml:3:1: a tab stands here\n"
        "    3 |  - x\n"
        "      | ^\n"
        "    mend: use spaces, never tabs\n"
        "mine/b.yaml:2:10: 'id' must be an id, not 'Rope'\n"
        "    2 |   - {id: Rope, name: a rope}\n"
        "      |          ^^^^\n"
        "    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end"
    )
    # With the first file mended, the names are judged as well.
    write(mine, {"a.yaml": "tools: []\n"})
    assert [problem.place for problem in shelf.check(mine)] == [
        Place("mine/b.yaml", 2, 10),
        Place("mine/c/d.yaml", 2, 40),
    ]


def test_a_check_of_an_authors_folder_looks_at_it_together_with_the_shipped_one(tmp_path: Path) -> None:
    mine = write(tmp_path / "mine", {"t.yaml": "changes:\n  - {between: [talk, lift], minutes: 4}\n"})
    assert shelf.check(mine) == []
    write(mine, {"t.yaml": "changes:\n  - {between: [talk, lit], minutes: 4}\n"})
    assert shelf.check(mine) == [
        Problem(
            Place("mine/t.yaml", 2, 22),
            "a change names unknown set-up 'lit'",
            "did you mean 'lift'?",
            "  - {between: [talk, lit], minutes: 4}",
            3,
        )
    ]


def test_the_shipped_folder_is_checked_alone(base: Path) -> None:
    assert shelf.check(base) == []
    assert shelf.check(Path("base")) == []


def test_the_same_row_in_two_layers_is_no_mistake(tmp_path: Path) -> None:
    assert shelf.check(write(tmp_path / "copy", SMALL)) == []


# where the shipped trees are ------------------------------------------------------------------


def test_in_a_checkout_the_trees_are_beside_the_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    folder = shelf.shipped()
    assert folder.name in ("trees", "_trees")
    assert (folder / "tables.yaml").is_file()


def test_in_an_installed_package_they_are_inside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    monkeypatch.setattr(shelf, "__file__", str(tmp_path / "site" / "diagnose" / "library" / "shelf.py"))
    with pytest.raises(LibraryError) as caught:
        shelf.shipped()
    package = tmp_path / "site" / "diagnose"
    assert str(caught.value) == (
        f"{package / '_trees'}: the shipped trees are missing\n    mend: install the program again"
    )
    (tmp_path / "site" / "trees").mkdir(parents=True)
    assert shelf.shipped() == tmp_path / "site" / "trees"
    (package / "_trees").mkdir(parents=True)  # what others put beside a package is not ours
    assert shelf.shipped() == package / "_trees"


# the compiled copy ----------------------------------------------------------------------------


def copies(tmp_path: Path) -> list[Path]:
    return sorted((tmp_path / "cache").iterdir())


def refuse(*_: object) -> object:
    raise AssertionError("the trees were read again")


def places(library: Library) -> list[Place]:
    rows: list[Any] = [*library.parts.values(), *library.faults.values(), *library.checks.values()]
    rows += [*library.findings.values(), *library.complaints.values(), *library.remedies.values()]
    rows += [*library.facts.values(), *library.conditions.values(), *library.set_ups.values()]
    rows += [*library.follow_ups.values(), *library.sources.values(), *library.mechanisms.values()]
    rows += [*library.access.values()]
    found = [row.place for row in rows]
    found += [link.place for finding in library.findings.values() for link in finding.links]
    found += [branch.place for gate in library.mechanisms.values() for branch in gate.branches]
    return found


def test_a_second_start_takes_the_copy_and_it_is_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = shelf.load()
    assert len(copies(tmp_path)) == 1
    monkeypatch.setattr(shelf, "_compile", refuse)
    second = shelf.load()
    assert second == first
    assert second.digest == first.digest
    assert places(second) == places(first)
    assert list(second.faults) == list(first.faults)  # the order of rows is kept


def test_a_copy_needs_neither_parser_nor_graph(tmp_path: Path) -> None:
    shelf.load()
    program = (
        "import sys\n"
        "from pathlib import Path\n"
        "from diagnose.library import shelf\n"
        "shelf.shipped = lambda: Path('base')\n"
        "shelf.load()\n"
        "print([name for name in ('yaml', 'networkx', 'rapidfuzz', 'platformdirs') if name in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        env={**os.environ, "PYTHONPATH": str(Path(shelf.__file__).parents[2])},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "[]\n"


def test_a_change_in_a_file_makes_a_new_copy(tmp_path: Path, base: Path) -> None:
    before = shelf.load()
    write(base, edited(("tables.yaml", "name: a helper", "name: two helpers")))
    after = shelf.load()
    assert after.tools == {"helper": "two helpers"}
    assert after.digest != before.digest
    assert len(copies(tmp_path)) == 2


def test_a_file_that_is_renamed_or_split_makes_a_new_copy(base: Path) -> None:
    before = shelf.load().digest
    (base / "pull.yaml").rename(base / "pull-2.yaml")
    assert shelf.load().digest != before


def test_the_order_of_folders_is_part_of_the_key(tmp_path: Path) -> None:
    one = write(tmp_path / "one", {"t.yaml": "tools:\n  - {id: helper, name: one}\n"})
    two = write(tmp_path / "two", {"t.yaml": "tools:\n  - {id: helper, name: two}\n"})
    assert shelf.load([one, two]).digest != shelf.load([two, one]).digest
    assert shelf.load([one, two]).tools == {"helper": "two"}


def test_places_follow_the_current_directory_and_not_the_copy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf.load()
    monkeypatch.chdir(tmp_path / "base")
    monkeypatch.setattr(shelf, "_compile", refuse)
    assert shelf.load().faults["tyres-soft"].place == Place("parts.yaml", 26, 9)


def test_without_the_cache_nothing_is_written(tmp_path: Path) -> None:
    shelf.load(cache=False)
    assert not (tmp_path / "cache").exists()


def test_trees_with_problems_leave_no_copy(tmp_path: Path) -> None:
    mine = write(tmp_path / "mine", {"t.yaml": "tols: []\n"})
    with pytest.raises(LibraryError):
        shelf.load([mine])
    assert not (tmp_path / "cache").exists()


def test_nothing_is_left_beside_the_copy(tmp_path: Path) -> None:
    shelf.load()
    (copy,) = copies(tmp_path)
    assert copy.name.startswith("library-") and copy.name.endswith(".json")


def with_checksum(stored: object) -> bytes:
    body = json.dumps(stored).encode()
    return hashlib.sha256(body).hexdigest().encode() + b"\n" + body


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: b"",
        lambda data: data[: len(data) // 2],
        lambda data: data[:-1],
        lambda data: data.replace(b"rod-end", b"rod-emd"),
        lambda data: b"\x80\x04not json at all",
        lambda data: data.split(b"\n", 1)[0] + b"\n",
        lambda data: b"\xff" + data,
        lambda data: with_checksum({"a": 1}),
        lambda data: with_checksum([]),
        lambda data: with_checksum(["another key", json.loads(data.split(b"\n", 1)[1])[1]]),
        lambda data: with_checksum([json.loads(data.split(b"\n", 1)[1])[0], [[["short"]]] * 14]),
        lambda data: with_checksum([json.loads(data.split(b"\n", 1)[1])[0], None]),
    ],
)
def test_a_damaged_or_foreign_copy_is_passed_over_and_mended(
    tmp_path: Path, damage: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert callable(damage)
    first = shelf.load()
    (copy,) = copies(tmp_path)
    copy.write_bytes(damage(copy.read_bytes()))
    assert shelf.load() == first
    monkeypatch.setattr(shelf, "_compile", refuse)
    assert shelf.load() == first


def test_a_copy_of_another_version_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    first = shelf.load()
    monkeypatch.setattr(cache, "FORMAT", cache.FORMAT + 1)
    assert cache.get(first.digest, []) is None
    assert shelf.load() == first


def test_a_cache_that_cannot_be_written_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "file" / "cache"))
    assert shelf.load() == shelf.load(cache=False)
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / ("long" * 100)))
    assert shelf.load() == shelf.load(cache=False)


def test_a_copy_that_is_a_folder_is_passed_over(tmp_path: Path) -> None:
    first = shelf.load()
    (copy,) = copies(tmp_path)
    copy.unlink()
    copy.mkdir()
    assert shelf.load() == first
    assert [path.name for path in copies(tmp_path)] == [copy.name]


def test_only_the_last_copies_are_kept(tmp_path: Path) -> None:
    library = shelf.load(cache=False)
    other = tmp_path / "cache" / "not-ours.json"
    other.parent.mkdir()
    other.write_text("{}")
    for number in range(12):
        mine = write(tmp_path / "mine", {"t.yaml": f"tools:\n  - {{id: t{number}, name: x}}\n"})
        shelf.load([mine])
        for copy in copies(tmp_path):
            os.utime(copy, (copy.stat().st_mtime - 10,) * 2)  # time passes
    assert library is not None
    assert other.exists()
    assert len(copies(tmp_path)) == 8 + 1


def test_the_cache_is_in_the_platforms_folder_unless_told_otherwise(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert cache.folder() == tmp_path / "cache"
    monkeypatch.delenv("DIAGNOSE_CACHE")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    assert "handling-diagnose" in str(cache.folder())


def test_a_copy_holds_every_field_of_the_model() -> None:
    # A field that the model gains must be packed too, and FORMAT counted up.
    shelf.load()
    (copy,) = Path(os.environ["DIAGNOSE_CACHE"]).iterdir()
    tables = json.loads(copy.read_bytes().split(b"\n", 1)[1])[1]
    parts, faults, checks, findings, remedies, set_ups, _, complaints, *small = tables
    facts, conditions, follow_ups, access, sources, *_ = small
    reading = findings[3][8]
    top = complaints[1][2]
    mechanism, leaf, use = top[3][0], top[3][0][3][0], complaints[0][2][3][2]
    with_place = [
        (Part, parts[0]),
        (Fault, faults[0]),
        (Check, checks[0]),
        (Finding, findings[0]),
        (Link, findings[0][5][0]),
        (Remedy, remedies[0]),
        (SetUp, set_ups[0]),
        (Complaint, complaints[0]),
        (Fact, facts[0]),
        (Condition, conditions[0]),
        (FollowUp, follow_ups[0]),
        (Access, access[0]),
        (Source, sources[0]),
        (Gate, mechanism[1:]),
        (Leaf, leaf[1:]),
        (Use, use[1:]),
    ]
    for row, stored in with_place:
        assert len(stored) == len(fields(row)) + 2, row  # a place is three numbers
    without = [(Life, faults[0][5]), (Reading, reading), (Limit, reading[2][0]), (FactValue, facts[0][2][0])]
    for row, stored in without:
        assert len(stored) == len(fields(row)), row
    # Mechanisms are found in their complaints, and the digest is the key.
    assert len(tables) == len(fields(Library)) - 2


def test_the_copy_keeps_the_layouts_of_branches(tmp_path: Path) -> None:
    edits = (
        ("pull.yaml", "tyres-soft, strength: 0.5}", "tyres-soft, strength: 0.5, fits: {steering: rack}}"),
        ("pull.yaml", "strength: 0.8}", "strength: 0.8, fits: {steering: [rack, box]}}"),
        ("wander.yaml", "      strength: 0.9\n", "      strength: 0.9\n      fits: {steering: rack}\n"),
    )
    folder = write(tmp_path / "mine", edited(*edits))
    first = shelf.load([folder])
    assert shelf.load([folder]) == first == shelf.load([folder], cache=False)
    assert first.mechanisms["two-soft"].fits == {"steering": ("rack",)}
