"""A damaged store: what can be read of it comes out, as it was told, and the file stays as it is."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from diagnose.job.events import Noted, Turned
from diagnose.job.journal import Journal
from diagnose.job.rescue import rescue
from tests.scripted import Tell, telling


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A store of twelve jobs over many pages; demo."""
    path = tmp_path / "jobs.sqlite"
    with Journal.open(path) as journal:
        for number in range(1, 13):
            steps = [[Turned("rock"), Noted(f"{number}/{n} " + "x" * 300)] for n in range(40)]
            journal.create(f"demo car {number}", steps=steps)
    return path


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    return telling("jobs", capsys, monkeypatch)


def whole(path: Path) -> dict[str, list[object]]:
    with Journal.open(path) as journal:
        return {row.id: list(journal.events(row.id)) for row in journal.jobs()}


def test_a_sound_store_is_saved_whole(path: Path) -> None:
    told = whole(path)
    assert {saved.id: list(saved.entries) for saved in rescue(path)} == told
    assert all(saved.whole and saved.unused == 0 for saved in rescue(path))
    assert [saved.name for saved in rescue(path)][:2] == ["demo car 1", "demo car 2"]


@pytest.mark.parametrize("seed", range(12))
def test_what_is_saved_is_what_was_told_wherever_the_damage_is(path: Path, seed: int) -> None:
    """Pages of the file, but the first, overwritten at random; SQLite's page here has 4096 bytes."""
    told, chance = whole(path), random.Random(seed)
    data = bytearray(path.read_bytes())
    pages = len(data) // 4096
    for page in chance.sample(range(1, pages), k=3):
        data[page * 4096 : (page + 1) * 4096] = chance.choice((bytes(4096), chance.randbytes(4096)))
    path.write_bytes(data)
    found = rescue(path)
    assert len(found) >= 11
    for saved in found:
        assert list(saved.entries) == told[saved.id][: len(saved.entries)]
        assert not saved.whole or len(saved.entries) == len(told[saved.id])
    assert path.read_bytes() == bytes(data)


def test_one_event_that_cannot_be_read_costs_what_follows_it(
    path: Path, command: Tell, tmp_path: Path
) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        database.execute("DROP TRIGGER event_is_final")
        database.execute("UPDATE event SET body = '{' WHERE job = 3 AND number = 21")
    code, out, _ = command("rescue", path, tmp_path / "saved")
    assert code == 1
    told = (
        "job-3 demo car 3: not whole; its first 19 events saved, 62 behind a gap are left out "
        f"12 of 12 jobs written to {tmp_path / 'saved'}, 11 of them whole. "
        "`diagnose jobs import FILE` brings each back, into a new store with --store or DIAGNOSE_STORE."
    )
    # However it is folded.
    assert out.split() == told.split()
    # What was saved is imported, and is the same.
    new = tmp_path / "new.sqlite"
    assert command("import", tmp_path / "saved" / "job-3.yaml", "--store", new)[0] == 0
    with Journal.open(new) as journal:
        assert len(journal.events("job-1")) == 19
    # Nothing is written over.
    assert command("rescue", path, tmp_path / "saved")[0] == 2


def test_what_is_no_store_is_told(tmp_path: Path, command: Tell) -> None:
    none, text = tmp_path / "none.sqlite", tmp_path / "text.sqlite"
    text.write_text("not a store\n" * 900, encoding="utf-8")
    code, _, err = command("rescue", none, tmp_path / "saved")
    assert (code, err) == (
        2,
        f"diagnose: {none}: cannot be read (No such file or directory)\n"
        "    mend: name the file of the damaged store\n",
    )
    code, _, err = command("rescue", text, tmp_path / "saved")
    assert (code, err) == (
        2,
        f"diagnose: {text}: nothing in it can be read as a store of jobs\n"
        "    mend: see whether there is a copy of it, or an export of each job\n",
    )
