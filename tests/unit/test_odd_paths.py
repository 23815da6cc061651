"""Paths that are no plain file or folder, at every command that takes one: words and exit code 2, at once."""

from __future__ import annotations

import os
import signal
import socket
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import pytest

from diagnose.commands.learn import switch_back
from diagnose.commands.practice import read as read_practice
from diagnose.errors import InputError, JournalError
from diagnose.job.files import is_there, read_bytes
from diagnose.job.journal import Journal
from diagnose.job.rescue import rescue
from diagnose.library.paths import standing
from tests.fuzzing import HERE
from tests.scripted import Tell, telling

CASE = str(HERE / "plans" / "van.yaml")

#: What stands at the path, by a word for it.
ODD: Mapping[str, Callable[[Path], Path]] = {
    "a name too long": lambda folder: folder / ("a" * 300),
    "a path too long": lambda folder: folder / ("a/" * 3000),
    "a circle of links": lambda folder: _made(folder / "circle", lambda path: path.symlink_to(path)),
    "below a circle": lambda folder: _made(folder / "circle", lambda path: path.symlink_to(path)) / "x",
    "below a file": lambda folder: _made(folder / "file", lambda path: path.write_text("x")) / "x",
    "a pipe": lambda folder: _made(folder / "pipe", os.mkfifo),
    "a socket": lambda folder: _made(folder / "s", _socket),
    "a folder": lambda folder: _made(folder / "folder", Path.mkdir),
    "NUL": lambda folder: folder / "a\0b",
}

#: The command, with the path for `{}`.
COMMANDS = (
    ("rank", "{}"),
    ("rank", CASE, "--trees", "{}"),
    ("trees", "check", "{}"),
    ("trees", "draw", "wander", "--svg", "{}.svg"),
    ("angles", "{}"),
    ("angles", "--type", "--to", "{}"),
    ("debrief", "{}"),
    ("debrief", "--type", "--to", "{}"),
    ("plan", CASE, "--wishes", "{}"),
    ("sheet", CASE, "--to", "{}.html", "--replace"),
    ("jobs", "--store", "{}"),
    ("jobs", "import", "{}"),
    ("jobs", "rescue", "{}", "out"),
    ("jobs", "rescue", CASE, "{}"),
    ("workshop", "--store", "{}"),
    ("practice", "--store", "{}"),
    ("measure", "{}"),
    ("learn", "{}"),
    ("learn", "--back", "--write", "{}"),
    ("walk", "wander", "--store", "{}"),
    ("repair", "--store", "{}"),
)


def _made(path: Path, make: Callable[[Path], object]) -> Path:
    make(path)
    return path


def _socket(path: Path) -> None:
    # The name of a socket may have a hundred letters at most, so it is bound from its folder.
    here = Path.cwd()
    os.chdir(path.parent)
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(path.name)
    finally:
        os.chdir(here)


@contextmanager
def at_once() -> Iterator[None]:
    """Nothing waits for what never comes."""

    def late(*_: object) -> None:
        raise AssertionError("it waits")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(20)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Tell:
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    monkeypatch.chdir(tmp_path)
    return telling("", capsys, monkeypatch)


@pytest.mark.parametrize("odd", ["a name too long", "a pipe"])
@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_an_odd_path_is_refused_in_words(
    command: Tell, tmp_path: Path, words: tuple[str, ...], odd: str
) -> None:
    refused(command, ODD[odd](tmp_path), words)


@pytest.mark.long
@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_odd_path_is_refused_in_words(
    command: Tell, tmp_path: Path, words: tuple[str, ...], odd: str
) -> None:
    refused(command, ODD[odd](tmp_path), words)


def refused(command: Tell, path: Path, words: tuple[str, ...]) -> None:
    with at_once():
        code, out, err = command(*(word.replace("{}", str(path)) for word in words))
    # Beside the path there may be room for a file, and a folder stands for what is in it.
    beside = words[0] in ("workshop", "practice") or any("{}." in word for word in words)
    if code == 0 and (beside or path.name == "folder"):
        return
    assert code == 2, out
    assert err.strip()


def test_what_stands_at_a_path(tmp_path: Path) -> None:
    (tmp_path / "f").write_text("x")
    (tmp_path / "link").symlink_to("f")
    expected = {
        "a folder": "folder",
        "a pipe": "other",
        "a socket": "other",
        **dict.fromkeys(("a name too long", "a path too long", "a circle of links", "NUL"), "nothing"),
    }
    for name, what in expected.items():
        folder = tmp_path / name
        folder.mkdir()
        assert standing(ODD[name](folder)) == what, name
    assert standing(tmp_path / "link") == standing(tmp_path / "f") == "file"
    assert standing(Path("/dev/null")) == "other"


def test_a_device_is_no_store(tmp_path: Path) -> None:
    """SQLite takes one for an empty file, and leaves its journal beside it."""
    os.mkfifo(tmp_path / "pipe")
    for open_it in (Journal.open, rescue):
        with pytest.raises(JournalError) as caught:
            open_it(tmp_path / "pipe")
        assert str(caught.value).startswith(f"{tmp_path / 'pipe'}: this is a device or a pipe, and no file\n")
    assert [each.name for each in tmp_path.iterdir()] == ["pipe"]
    with pytest.raises(JournalError, match="a device or a pipe"):
        rescue(Path("/dev/null"))


def test_a_store_behind_a_link_to_nowhere_is_made_for_its_owner_alone(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        (tmp_path / "link.sqlite").symlink_to("far.sqlite")
        with Journal.open(tmp_path / "link.sqlite") as journal:
            journal.create("a")
        assert (tmp_path / "far.sqlite").stat().st_mode & 0o777 == 0o600
    finally:
        os.umask(mask)


def test_a_pipe_with_a_writer_is_read_and_one_without_is_empty(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with at_once():
        assert read_bytes(str(tmp_path / "pipe")) == b""
        reading, writing = os.pipe()
        os.write(writing, b"case: 1\n")
        os.close(writing)
        assert read_bytes(f"/dev/fd/{reading}") == b"case: 1\n"
        os.close(reading)
    assert len(read_bytes("/dev/zero", 1000)) == 1001


def test_the_other_files_that_are_looked_for_are_plain_ones(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "learned.yaml")
    with at_once():
        with pytest.raises(InputError, match="holds no figures"):
            switch_back(tmp_path)
        with pytest.raises(InputError, match="a device or a pipe, and no record of practice"):
            read_practice(tmp_path / "learned.yaml")
        with pytest.raises(InputError) as caught:
            is_there(tmp_path / "learned.yaml")
    assert str(caught.value).endswith("learned.yaml: is a device or a pipe, and no file; name a file")


def test_a_workshops_profile_that_is_a_pipe_is_told(command: Tell, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "workshop.yaml")
    with at_once():
        code, _, err = command("workshop")
    assert code == 2
    assert "the file cannot be read: it is a device or a pipe, and no file" in err
