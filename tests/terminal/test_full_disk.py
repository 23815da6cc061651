"""A disk full to its last byte, under a real job: what was acknowledged stays, and the job goes on."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from diagnose.job.journal import Journal

#: Small pieces to fill a disk with, down to single bytes.
PIECES = (4096, 64, 1)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 256 kB in memory."""
    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root can mount a small disk")
    here = tmp_path / "disk"
    here.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(here)], capture_output=True, text=True
    )
    if made.returncode != 0:
        pytest.skip(f"no small disk can be mounted here: {made.stderr.strip()}")
    try:
        yield here
    finally:
        subprocess.run(["umount", str(here)], check=True)


def fill(path: Path) -> None:
    """Take every byte that is left."""
    with path.open("ab", buffering=0) as stream:
        for size in PIECES:
            try:
                while stream.write(b"x" * size):
                    pass
            except OSError:
                continue


def told(store: Path, *arguments: str, lines: str) -> tuple[int, str]:
    ran = subprocess.run(
        [sys.executable, "-m", "diagnose", *arguments, "--store", str(store)],
        input=lines,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert "Traceback" not in ran.stdout + ran.stderr
    return ran.returncode, ran.stdout + ran.stderr


@pytest.mark.long
@pytest.mark.parametrize("left", [0, 600, 5000])
def test_a_disk_full_to_the_last_byte_loses_nothing_acknowledged(disk: Path, left: int) -> None:
    """left: so many bytes are free again, too few for a step: for its journal, or for part of it."""
    store = disk / "jobs.sqlite"
    assert told(store, "walk", "wander", "--name", "demo car", lines="1\n187000 km\nn\nt before\nq\n")[0] == 0
    with Journal.open(store) as journal:
        before = journal.events("job-1")
    fill(disk / "filler")
    assert os.statvfs(disk).f_bavail == 0
    os.truncate(disk / "filler", (disk / "filler").stat().st_size - left)
    code, said = told(store, "resume", lines="t lost\nq\n")
    assert code == 0  # the answer is refused, and the job may go on
    said = " ".join(said.split())
    assert "no room left on the disk" in said or "the disk did not do what was asked" in said
    assert "every answer acknowledged before is kept" in said
    with closing(sqlite3.connect(store)) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with Journal.open(store) as journal:
        assert journal.events("job-1") == before
    # With room again the job goes on, and the answer is given once more.
    (disk / "filler").unlink()
    assert told(store, "resume", lines="t kept\nq\n")[0] == 0
    with Journal.open(store) as journal:
        after = journal.events("job-1")
    assert after[: len(before)] == before
    assert [entry.event.to_dict() for entry in after[len(before) :]] == [{"event": "noted", "text": "kept"}]
