"""The workshop's profile: kept whole, read with places, and every mistake in it told."""

from __future__ import annotations

import stat
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.errors import WorkshopError
from diagnose.job.profile import forget, profile_path, read_profile, remember_lack, write_profile
from diagnose.model.story import Workshop
from tests.shipped import LIBRARY

HEAD = (
    "# The workshop's profile: new jobs begin with it. `diagnose workshop` shows and changes it;\n"
    "# so may you, but a comment of yours is gone with the next change made there.\n"
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "workshop.yaml"


def refused(path: Path, text: str) -> str:
    """What is told of such a file, with the folder left out."""
    path.write_text(text, encoding="utf-8")
    with pytest.raises(WorkshopError) as told:
        read_profile(LIBRARY, path)
    return str(told.value).replace(f"{path.parent}/", "")


# Where, and what is kept --------------------------------------------------------------------------------


def test_it_lies_beside_the_jobs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert profile_path(Path("/somewhere/own.sqlite")) == Path("/somewhere/workshop.yaml")
    assert profile_path(tmp_path) == tmp_path / "workshop.yaml"
    monkeypatch.setenv("DIAGNOSE_STORE", "/elsewhere/jobs.sqlite")
    assert profile_path() == Path("/elsewhere/workshop.yaml")


def test_without_a_file_there_is_none(path: Path) -> None:
    assert read_profile(LIBRARY, path) is None


def test_the_file_reads_as_a_person_would_write_it(path: Path) -> None:
    write_profile(path, Workshop("EUR", 95.0, frozenset({"rig", "helper"})))
    assert path.read_text(encoding="utf-8") == (
        f"{HEAD}workshop: 1\nlabour-rate: 95\ncurrency: EUR\nlacks:\n  - helper\n  - rig\n"
    )


@pytest.mark.parametrize(
    "workshop",
    [
        Workshop(),
        Workshop("EUR", 82.5, frozenset({"rig"})),
        Workshop("no"),
        Workshop("# 'n\": \\"),
        Workshop("€ {x}"),
        Workshop("90"),
        Workshop(labour_rate=1e-7),
        Workshop(labour_rate=0.1 + 0.2),
        Workshop(labour_rate=100_000.0),
    ],
    ids=str,
)
def test_what_is_written_is_read_again(path: Path, workshop: Workshop) -> None:
    write_profile(path, workshop)
    assert read_profile(LIBRARY, path) == workshop


@pytest.mark.parametrize(
    ("text", "workshop"),
    [
        ("workshop: 1\n", Workshop()),
        ("workshop: 1\nlacks: rig\n", Workshop(cannot=frozenset({"rig"}))),
        ("workshop: 1\nlacks: []\n", Workshop()),
        ("currency: ' a  b '\nworkshop: 1\nlabour-rate: 60\n", Workshop("a b", 60.0)),
    ],
)
def test_what_is_left_out_stands_at_its_default(path: Path, text: str, workshop: Workshop) -> None:
    path.write_text(text, encoding="utf-8")
    assert read_profile(LIBRARY, path) == workshop


def test_one_more_lack_leaves_the_rest_as_it_was(path: Path) -> None:
    remember_lack(LIBRARY, path, "rig")
    assert read_profile(LIBRARY, path) == Workshop(cannot=frozenset({"rig"}))
    write_profile(path, Workshop("EUR", 95.0, frozenset({"rig"})))
    remember_lack(LIBRARY, path, "helper")
    assert read_profile(LIBRARY, path) == Workshop("EUR", 95.0, frozenset({"rig", "helper"}))


# Writing ------------------------------------------------------------------------------------------------


def test_a_write_that_fails_leaves_the_old_file(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_profile(path, Workshop("EUR", 95.0))
    before = path.read_bytes()

    def no_room(number: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", no_room)
    with pytest.raises(WorkshopError) as told:
        write_profile(path, Workshop("cu", 1.0))
    assert str(told.value) == (
        f"{path}: the file cannot be written: No space left on device\n"
        "    mend: mend its rights, or keep jobs and profile in another folder with --store or DIAGNOSE_STORE"
    )
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == [path]


def test_the_new_file_stands_in_the_old_ones_place_at_once(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until the new one is on the disk, whoever reads finds the old one whole."""
    old, new = Workshop("EUR", 95.0), Workshop("EUR", 96.0)
    write_profile(path, old)
    seen = []
    monkeypatch.setattr("os.fsync", lambda number: seen.append(read_profile(LIBRARY, path)))
    write_profile(path, new)
    assert seen == [old, new]  # the file written aside, then the folder with the change of name


def test_a_link_stays_a_link(path: Path, tmp_path: Path) -> None:
    real = tmp_path / "elsewhere" / "kept.yaml"
    path.symlink_to(real)
    write_profile(path, Workshop("EUR"))
    assert path.is_symlink()
    assert read_profile(LIBRARY, real) == Workshop("EUR")


def test_the_folder_is_made_and_the_file_readable_by_the_usual_rights(tmp_path: Path) -> None:
    path = tmp_path / "new" / "workshop.yaml"
    write_profile(path, Workshop())
    other = tmp_path / "other"
    other.write_text("", encoding="utf-8")
    assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE(other.stat().st_mode)


def test_forgetting(path: Path) -> None:
    forget(path)  # nothing to forget is no mistake
    write_profile(path, Workshop("EUR"))
    forget(path)
    assert not path.exists()


def test_a_file_of_somebody_elses_is_not_deleted(path: Path) -> None:
    path.write_text("opening-hours: 8 to 5\n", encoding="utf-8")
    with pytest.raises(WorkshopError) as told:
        forget(path)
    assert str(told.value) == (
        f"{path}: this does not look like a workshop's profile: it has no key 'workshop'\n"
        "    mend: look at it, and mend or delete it yourself"
    )
    assert path.exists()


# Mistakes -----------------------------------------------------------------------------------------------


def test_all_mistakes_are_told_at_once_with_line_and_column(path: Path) -> None:
    text = "workshop: 2\nlabour-rate: 95,50\ncurency: EUR\nlacks:\n  - rgi\n  - Lift\n  - helper\n  - zzzzz\n"
    assert refused(path, text) == (
        "workshop.yaml:1:11: 'workshop' must be 1, not '2'\n"
        "    1 | workshop: 2\n"
        "      |           ^\n"
        "    mend: write one of: 1\n"
        "workshop.yaml:2:14: 'labour-rate' must be a number of money per hour above 0, at most 100000, "
        "not '95,50'\n"
        "    2 | labour-rate: 95,50\n"
        "      |              ^^^^^\n"
        "    mend: write the decimal point as a point: 95.50\n"
        "workshop.yaml:3:1: a workshop's profile has no key 'curency'\n"
        "    3 | curency: EUR\n"
        "      | ^^^^^^^\n"
        "    mend: did you mean 'currency'?\n"
        "workshop.yaml:5:5: there is no set-up or tool 'rgi'\n"
        "    5 |   - rgi\n"
        "      |     ^^^\n"
        "    mend: did you mean 'rig'?\n"
        "workshop.yaml:6:5: an entry of 'lacks' must be an id, not 'Lift'\n"
        "    6 |   - Lift\n"
        "      |     ^^^^\n"
        "    mend: write lower-case letters and digits joined by single hyphens, such as outer-tie-rod-end\n"
        "workshop.yaml:8:5: there is no set-up or tool 'zzzzz'\n"
        "    8 |   - zzzzz\n"
        "      |     ^^^^^\n"
        "    mend: `diagnose workshop --has zzzzz` takes it off; if it is of trees of yours, name them "
        "with --trees"
    )


def test_a_check_is_not_a_thing_to_lack(path: Path) -> None:
    check = next(each for each in LIBRARY.checks if each not in {**LIBRARY.set_ups, **LIBRARY.tools})
    told = refused(path, f"workshop: 1\nlacks: {check}\n").splitlines()
    assert told[0] == f"workshop.yaml:2:8: {check!r} is a check, not a set-up or tool"
    assert told[-1] == "    mend: write what it needs and you lack: `diagnose trees show` tells"


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("", "workshop.yaml: the file is empty", "write at least one key with a value, or delete the file"),
        ("lacks: rig\n", "workshop.yaml:1:1: a workshop's profile needs 'workshop'", "add `workshop: ...`"),
        (
            "- rig\n",
            "workshop.yaml:1:1: the file must be a workshop's profile (keys with values), not a list",
            "lacks",
        ),
        ("workshop: 1\n\tlacks: rig\n", "workshop.yaml:2:1: a tab stands here", "use spaces, never tabs"),
        (
            "workshop: 1\nlacks: {rig: yes}\n",
            "workshop.yaml:2:8: 'lacks' must be ids of set-ups and tools, not keys with values",
            "write a list such as [rig, helper]",
        ),
        (
            "workshop: 1\ncurrency: moneymoney\n",
            "workshop.yaml:2:11: 'currency' has 10 characters, more than 8",
            "say it shorter",
        ),
    ],
)
def test_other_mistakes_of_form(path: Path, text: str, first: str, last: str) -> None:
    told = refused(path, text).splitlines()
    assert told[0] == first
    assert told[-1].startswith("    mend: ") and told[-1].endswith(last)


def test_what_is_no_text_and_what_is_no_file(path: Path) -> None:
    path.write_bytes(b"workshop: 1\ncurrency: \xff\n")
    with pytest.raises(WorkshopError, match=r"workshop\.yaml:2:11: byte 0xFF in line 2 is not UTF-8"):
        read_profile(LIBRARY, path)
    path.unlink()
    path.mkdir()
    with pytest.raises(WorkshopError, match="the file cannot be read: Is a directory"):
        read_profile(LIBRARY, path)


def test_an_id_of_other_trees_can_be_let_pass(path: Path) -> None:
    workshop = replace(Workshop(), cannot=frozenset({"rig", "long-bar"}))
    write_profile(path, workshop)
    with pytest.raises(WorkshopError, match="there is no set-up or tool 'long-bar'"):
        read_profile(LIBRARY, path)
    assert read_profile(LIBRARY, path, ["long-bar"]) == workshop
