"""Wheel-angle sheets in a job: kept, laid over, undone, exported; partial ones are used as far as they go."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.angles.evidence import ANSWERED, said
from diagnose.angles.sheet import Sheet, Sheets, Spot
from diagnose.angles.write import sheet_yaml
from diagnose.cli import run
from diagnose.errors import InputError
from diagnose.job import events as e
from diagnose.job.export import export, import_text
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.job.sheets import answered, effect, laid_over, sheets_of
from diagnose.model.story import Workshop
from tests.reference.test_angle_situations import figures, sheet
from tests.shipped import LIBRARY

BENT = sheet(camber=(-2.2, -0.5))
MENDED = replace(sheet(), when="after")


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal.open(tmp_path / "jobs.sqlite")


def begin(journal: Journal, complaint: str = "front-camber-one-side", side: str | None = "left") -> Session:
    heard = {"event": "complaint-heard", "complaint": complaint, "side": side, "words": "it leans"}
    layout = e.VehicleFact("front", "strut")
    steps = [[e.ComplaintHeard.from_dict(heard)], [layout]]
    return Session.start(LIBRARY, journal, "demo car", Workshop(), steps)


def sheets(before: Sheet | None = None, after: Sheet | None = None) -> Sheets:
    last = after or before or Sheet()
    return Sheets(before, after, specification=last.specification)


# In the job --------------------------------------------------------------------------------------------


def test_a_sheet_is_kept_with_what_it_answers_in_one_step(journal: Journal) -> None:
    session = begin(journal)
    steps, before = session.state.steps, session.verdict.rows[0].id
    found = session.measure(sheets(BENT))
    assert session.state.steps == steps + 1
    assert session.sheets.before is not None
    assert session.sheets.before.value(Spot("front", "left", "camber")) == pytest.approx(
        BENT.value(Spot("front", "left", "camber")), abs=1e-9
    )
    told = {(each.finding, each.position) for each in session.story.seen}
    assert told == {(each.finding, each.position) for each in found.answers}
    assert set(found.checks) <= set(session.state.done)
    assert session.verdict.rows[0].id == "front-strut-bent-front-left" != before


def test_undone_it_is_as_if_it_had_not_been_read(journal: Journal) -> None:
    session = begin(journal)
    before = [(row.id, row.to_blame) for row in session.verdict.rows]
    session.measure(sheets(BENT))
    session.undo(1)
    assert session.sheets == Sheets()
    assert session.story.seen == ()
    assert [(row.id, row.to_blame) for row in session.verdict.rows] == before


def test_a_later_sheet_stands_beside_the_first(journal: Journal) -> None:
    session = begin(journal)
    session.measure(sheets(BENT))
    session.measure(sheets(after=MENDED))
    assert session.sheets.before is not None
    assert session.sheets.after is not None
    # The story is still that of the car as it was brought.
    leans = {s.position: s.reading for s in session.story.seen if s.finding.endswith("leans-in-here")}
    assert leans["front-left"] == pytest.approx(0.95, abs=1e-6)


def test_resumed_and_imported_it_is_the_same(journal: Journal, tmp_path: Path) -> None:
    session = begin(journal)
    session.measure(sheets(BENT, MENDED))
    again = Session(LIBRARY, journal, session.job)
    assert again.sheets == session.sheets
    assert again.story == session.story
    other = Journal.open(tmp_path / "other.sqlite")
    job = import_text(other, export(journal, session.job), "job.yaml")
    moved = Session(LIBRARY, other, job)
    assert moved.sheets == session.sheets
    assert moved.story == session.story


def test_a_second_reading_shows_what_does_not_repeat(journal: Journal) -> None:
    session = begin(journal, "front-toe-out-of-range", None)
    with pytest.raises(InputError, match="needs a first"):
        session.measure(sheets(sheet(toe=(0.4, 0.1))), again=True)
    session.measure(sheets(sheet(toe=(0.4, 0.1))))
    moves = "read-the-angles-twice/toe-does-not-repeat"
    assert moves not in {each.finding for each in session.story.seen}
    session.measure(sheets(sheet(toe=(0.15, 0.1))), again=True)
    assert {each.finding: each.answer for each in session.story.seen}[moves] == "yes"
    # What the page makes of it counts it.
    found = effect(LIBRARY, session.verdict.car, session.story, session.sheets)
    assert list(found.with_it.to_blame) == pytest.approx(list(session.verdict.belief.to_blame), abs=1e-9)
    # Read a third time and alike, it does repeat.
    session.measure(sheets(sheet(toe=(0.15, 0.1))), again=True)
    assert {each.finding: each.answer for each in session.story.seen}[moves] == "no"


def test_an_empty_sheet_and_a_partial_one_stop_nothing(journal: Journal) -> None:
    session = begin(journal)
    assert session.measure(sheets(Sheet())).answers == ()
    one = Sheet(front=BENT.front, specification=figures())
    found = session.measure(sheets(one))
    assert {each.check for each in found.answers} < set(ANSWERED)
    assert any("rear" in each for each in found.left_open)
    assert session.check_now() is not None


@pytest.mark.parametrize("spot", [spot for spot, _ in BENT.values()])
def test_each_missing_value_is_named_or_not_needed(spot: Spot) -> None:
    """Without it nothing is made up: the answers are a part of those with it, or rest on the mate alone."""
    told = {"front-camber-one-side": "left"}
    whole, less = (said(LIBRARY, one, told) for one in (BENT, BENT.with_value(spot, None)))
    assert {each.finding for each in less.answers} <= {each.finding for each in whole.answers}
    if spot.angle != "height":
        assert set(less.left_open) > set(whole.left_open) or less.answers == whole.answers


# What it does ------------------------------------------------------------------------------------------


def test_what_the_new_sheet_clears_and_what_it_does_not(journal: Journal) -> None:
    session = begin(journal)
    car = session.verdict.car
    found = effect(LIBRARY, car, session.story, sheets(BENT, MENDED))
    assert found.now is not None
    at = {cause.id: number for number, cause in enumerate(car.causes)}
    strut = at["front-strut-bent-front-left"]
    assert found.without.to_blame[strut] < found.with_it.to_blame[strut]
    # A strut that is bent keeps its included angle: with that right again it is cleared.
    assert found.now.to_blame[strut] < found.with_it.to_blame[strut] / 20.0
    joint = at["lower-ball-joint-play-front-left"]
    assert found.now.to_blame[joint] > found.with_it.to_blame[joint]


def test_one_measurement_has_no_after(journal: Journal) -> None:
    session = begin(journal)
    found = effect(LIBRARY, session.verdict.car, session.story, sheets(BENT))
    assert found.now is None
    assert found.latest is found.with_it


def test_checks_that_the_car_does_not_have_are_left_out(journal: Journal) -> None:
    session = begin(journal)
    told = answered(LIBRARY, sheets(BENT), session.verdict.car)
    assert all(each.check in session.verdict.car.checks for each in told.answers)
    # It is asked only of a pull.
    assert "weigh-the-angles-against-the-pull" not in told.checks
    pulls = begin(journal, "pull-to-one-side")
    assert "weigh-the-angles-against-the-pull" in answered(LIBRARY, sheets(BENT), pulls.verdict.car).checks


def test_what_a_new_file_does_not_tell_of_the_car_stays() -> None:
    known = sheets(BENT)
    bare = Sheets(after=Sheet(when="after", front=MENDED.front))
    whole = laid_over(known, bare)
    assert whole.specification == known.specification
    assert whole.before == known.before
    assert whole.after is not None
    assert whole.after.specification == known.specification
    assert sheets_of(sheet_yaml(whole)) == sheets_of(sheet_yaml(sheets_of(sheet_yaml(whole))))
    assert sheets_of("") == Sheets()


# The command -------------------------------------------------------------------------------------------


def command(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(["angles", *words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.slow
def test_the_command_says_what_the_angles_make_of_a_complaint(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sheet.yaml"
    path.write_text(sheet_yaml(sheets(BENT, MENDED)), encoding="utf-8")
    told = (str(path), "--complaint", "front-camber-one-side", "--side", "left")
    code, out, _ = command(capsys, *told)
    assert code == 0
    assert "What the angles say of: Camber out at one front wheel" in out
    assert "Spoken against by the angles:" in out
    assert "Cleared by the new sheet:" in out
    assert max(len(line) for line in out.splitlines()) <= 80
    code, out, _ = command(capsys, *told, "--json")
    found = json.loads(out)["ranking"]
    assert found["cleared"][0] == "front-strut-bent-front-left"
    assert "front-strut-bent-front-left" not in found["ruled-out"]
    assert {"finding", "position", "answer", "reading"} <= set(found["answers"][2])
    assert sum(each["with"] for each in found["causes"]) > 0.5


def test_the_command_keeps_a_sheet_in_a_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], journal: Journal
) -> None:
    job = begin(journal).job
    path = tmp_path / "sheet.yaml"
    path.write_text(sheet_yaml(sheets(BENT)), encoding="utf-8")
    store = str(tmp_path / "jobs.sqlite")
    code, out, _ = command(capsys, str(path), "--job", "last", "--store", store)
    assert code == 0
    assert f"Kept in {job}: `diagnose resume {job}` goes on from there." in out
    assert Session(LIBRARY, Journal.open(Path(store)), job).sheets.before is not None


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--complaint", "camber-out"], "there is no complaint 'camber-out'"),
        (["--side", "left"], "--side goes with --complaint"),
        (["--again"], "--again goes with --job"),
        (["--job", "job-1", "--complaint", "wander"], "leave out --complaint"),
        (["--job", "job-9"], "job-9"),
        (["--job", "last"], "no job is open"),
    ],
)
def test_what_cannot_be_is_said_in_words(
    words: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sheet.yaml"
    path.write_text(sheet_yaml(sheets(BENT)), encoding="utf-8")
    code, _, err = command(capsys, str(path), *words, "--store", str(tmp_path / "empty.sqlite"))
    assert code == 2
    assert says in err
    assert "Traceback" not in err


def test_a_file_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    from diagnose.job.sheets import read_file

    with pytest.raises(InputError, match="cannot be read"):
        read_file(str(tmp_path / "none.yaml"))
