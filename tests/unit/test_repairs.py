"""Repairs of a job: kept, undone, exported; what they oblige to; what is believed after them."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from rich.console import Console, RenderableType

from diagnose.angles.read import read_sheets
from diagnose.cli import run
from diagnose.debrief.drive import Drive
from diagnose.debrief.read import read_drive
from diagnose.errors import InputError
from diagnose.job import events as e
from diagnose.job.export import export, import_text
from diagnose.job.journal import Journal
from diagnose.job.proof import proof_of
from diagnose.job.repairs import meant_for, standings
from diagnose.job.session import Session
from diagnose.model.story import Seen, Workshop
from diagnose.screen.desk import Look
from diagnose.screen.pages import observation_name
from diagnose.screen.repairs import SPOILS, repairs_page
from tests.shipped import LIBRARY

LINKS = "renew-front-drop-links@front"


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal.open(tmp_path / "jobs.sqlite")


def begin(journal: Journal) -> Session:
    """A demo car that clunks."""
    steps: list[list[e.Event]] = [
        [e.ComplaintHeard("front-clunk-over-bumps")],
        [e.VehicleFact("front", "strut"), e.VehicleFact("steering", "electric-rack")],
        [e.Distance(187_000.0, 12.0)],
    ]
    return Session.start(LIBRARY, journal, "demo car", Workshop(), steps)


def links(session: Session) -> list[float]:
    belief = session.verdict.belief
    return [
        float(belief.to_blame[n])
        for n, cause in enumerate(belief.causes)
        if cause.fault == "front-drop-link-play"
    ]


def test_a_repair_ends_its_causes_and_begins_a_round(journal: Journal) -> None:
    session = begin(journal)
    assert min(links(session)) > 0.1
    session.repair(session.repaired(LINKS, price=60.0, hours=0.8))
    assert len(session.story.rounds) == 1
    assert set(session.story.rounds[0].cured) == {
        ("front-drop-link-play", "front-left"),
        ("front-drop-link-play", "front-right"),
    }
    assert max(links(session)) < 1e-9
    # Nobody has driven: that it may be cured is already in it.
    there = [each.there for each in standings(session)]
    assert there[1] < there[0]


def test_a_repair_ends_what_its_parts_bring_along_and_an_alignment_sets(journal: Journal) -> None:
    session = begin(journal)
    arm = session.repaired("renew-lower-arm@front-left")
    session.repair(arm)
    (first,) = session.story.rounds
    assert ("lower-arm-rear-bush-torn", "front-left") in first.cured
    assert ("lower-arm-rear-bush-torn", "front-right") not in first.cured
    assert not [each for each in first.cured if each[0] == "front-toe-wrong"]
    session.undo(1)
    session.repair(session.repaired("renew-lower-arm@front-left", angles_set=True))
    (first,) = session.story.rounds
    assert [each for each in first.cured if each[0] == "front-toe-wrong"]


def test_a_drive_after_it_counts_in_its_round(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired(LINKS))
    session.hear("front-clunk-over-bumps", None, "", "no", "road-test")
    assert session.state.complaints[0].road_test is None
    assert session.state.rounds[0].complaints[0].road_test == "no"
    gone = session.verdict.belief.there
    session.hear("front-clunk-over-bumps", None, "", "yes", "road-test")
    assert session.verdict.belief.there > 0.9 > 0.5 > gone
    # In vain: the others are blamed more than before.
    dampers = next(row for row in session.verdict.rows if row.fault == "front-dampers-weak")
    session.undo(2)
    assert (
        dampers.to_blame > next(r for r in session.verdict.rows if r.fault == "front-dampers-weak").to_blame
    )


def test_undone_it_is_as_before(journal: Journal) -> None:
    session = begin(journal)
    before = [(row.id, row.to_blame) for row in session.verdict.rows]
    session.repair(session.repaired(LINKS))
    session.undo(1)
    assert session.story.rounds == ()
    assert [(row.id, row.to_blame) for row in session.verdict.rows] == before


@pytest.mark.slow
def test_it_goes_on_where_it_was_after_three_stages(journal: Journal, tmp_path: Path) -> None:
    session = begin(journal)
    complaint = "front-clunk-over-bumps"
    for typed, felt in (
        (LINKS, "yes"),
        ("renew-front-roll-bar-bushes", "probably"),
        ("renew-front-dampers", "no"),
    ):
        session.repair(session.repaired(typed, grade="demo"))
        session.hear(complaint, None, "", felt, "road-test")
    rounds = [(each.there, each.driven) for each in standings(session)]
    assert len(rounds) == 4
    assert rounds[3][0] < rounds[2][0]
    again = Session(LIBRARY, journal, session.job)
    assert again.story == session.story
    other = Journal.open(tmp_path / "other.sqlite")
    moved = Session(LIBRARY, other, import_text(other, export(journal, session.job), "job.yaml"))
    assert moved.story == session.story
    assert [(each.there, each.driven) for each in standings(moved)] == rounds


def test_checks_can_be_done_again_after_a_repair(journal: Journal) -> None:
    session = begin(journal)
    check = LIBRARY.checks["hold-the-drop-links-loaded"]
    click = "hold-the-drop-links-loaded/click-under-the-hand"
    session.answer(check, [Seen(click, "front-left", "yes"), Seen(click, "front-right", "no")])
    assert check.id in session.verdict.done
    session.repair(session.repaired(LINKS))
    assert check.id not in session.verdict.done
    assert session.spots(check)
    # What was seen of the old link stays with the old link.
    assert session.story.seen[0].answer == "yes"
    session.answer(check, [Seen(click, "front-left", "no"), Seen(click, "front-right", "no")])
    assert {each.answer for each in session.story.seen_now} == {"no"}
    at = next(
        n for n, c in enumerate(session.verdict.car.causes) if c.id == "front-drop-link-play-front-left"
    )
    assert session.verdict.belief.present[at] > 0.5
    assert session.verdict.belief.now[at] < 0.03


def test_what_is_owed_stands_until_it_is_done(journal: Journal) -> None:
    session = begin(journal)
    assert session.obligations == []
    session.repair(session.repaired("renew-outer-tie-rod-end@front-left", one_use=True))
    owed = [each.id for each in session.obligations]
    assert owed[0] == "front-toe"
    assert "new-locking-nuts" not in owed
    session.do(e.FollowedUp("front-toe"))
    assert "front-toe" not in [each.id for each in session.obligations]
    # The next repair owes it again.
    session.hear("front-clunk-over-bumps", None, "", "yes", "road-test")
    session.repair(session.repaired("renew-outer-tie-rod-end@front-right", angles_set=False))
    assert "front-toe" in [each.id for each in session.obligations]
    session.repair(session.repaired("renew-outer-tie-rod-end@front-right", angles_set=True))
    assert "front-toe" not in [each.id for each in session.obligations]


def test_a_whole_alignment_does_what_it_covers(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired("renew-outer-tie-rod-end@front-left"))
    session.repair(session.repaired("renew-lower-arm@front-left"))
    owed = [each.id for each in session.obligations]
    assert "four-wheel-alignment" in owed
    assert "front-toe" not in owed
    session.do(e.FollowedUp("four-wheel-alignment"))
    assert not {"four-wheel-alignment", "front-toe"} & {each.id for each in session.obligations}
    session.hear("front-clunk-over-bumps", None, "", "yes", "road-test")
    session.repair(session.repaired("renew-outer-tie-rod-end@front-right"))
    assert "front-toe" in [each.id for each in session.obligations]


def test_every_follow_up_that_spoils_a_drive_is_one() -> None:
    assert set(LIBRARY.follow_ups) >= SPOILS


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("renew-front-drop-link", "did you mean 'renew-front-drop-links'"),
        (
            "renew-outer-tie-rod-end",
            "renew-outer-tie-rod-end@front-left, renew-outer-tie-rod-end@front-right",
        ),
        ("renew-outer-tie-rod-end@rear", "does not say which"),
    ],
)
def test_a_remedy_must_be_one_of_this_car(journal: Journal, typed: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        begin(journal).repaired(typed)


# The command -------------------------------------------------------------------------------------------


@pytest.fixture
def store(tmp_path: Path, journal: Journal) -> str:
    begin(journal)
    return str(tmp_path / "jobs.sqlite")


def tell(capsys: pytest.CaptureFixture[str], store: str, *words: str) -> tuple[int, str, str]:
    code = run(["repair", "--store", store, *words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out, err


@pytest.mark.slow
def test_the_command_tells_the_job_round_by_round(store: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = tell(capsys, store)
    assert code == 0
    assert "as it was brought" in out
    code, out, _ = tell(capsys, store, LINKS, "--price", "60", "--hours", "0.8")
    assert "not driven" in out
    assert "140 cu" in out
    assert "Still to be done:" in out
    code, out, _ = tell(capsys, store, "--felt", "no")
    assert "Cured for good: in" in out
    code, out, _ = tell(capsys, store, "--felt", "yes", "--json")
    found = json.loads(out)
    assert found["format"] == "handling-diagnose/repairs/1"
    assert [each["driven"] for each in found["rounds"]] == [True, True]
    assert found["rounds"][1]["repairs"][0]["price"] == 60.0
    assert found["rounds"][1]["spent"] == pytest.approx(140.0)
    assert 0.03 < found["new-is-bad"]["front-drop-link-play-front-left"] < 0.5
    assert found["to-blame"][0]["cause"] == "front-dampers-weak"


@pytest.mark.slow
def test_a_whole_alignment_can_be_told_where_only_the_toe_is_owed(
    store: str, capsys: pytest.CaptureFixture[str]
) -> None:
    tell(capsys, store, "renew-outer-tie-rod-end@front-left")
    _, out, _ = tell(capsys, store, "--json")
    assert "front-toe" in json.loads(out)["obligations"]
    code, out, _ = tell(capsys, store, "--done", "four-wheel-alignment", "--json")
    assert code == 0
    assert not {"front-toe", "four-wheel-alignment"} & set(json.loads(out)["obligations"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["renew-front-drop-link"], "did you mean"),
        (["--felt", "no"], "nothing was repaired yet"),
        (["--done", "front-toe"], "'front-toe' is not owed"),
        (["--complaint", "wander"], "--complaint goes with --felt"),
        (["--price", "12"], "go with a remedy"),
        (["--price", "dear", LINKS], "not an amount"),
        (["--job", "job-77"], "job-77"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_is_kept(
    words: list[str], says: str, store: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = tell(capsys, store, *words)
    assert code == 2
    assert says in err
    assert Session(LIBRARY, Journal.open(Path(store)), "job-1").state.rounds == ()


# A drive told ------------------------------------------------------------------------------------------

DRIVE = """\
debrief: 1
who: A
legs:
  - leg: rough
    noticed:
      - {words: clunk from the front, complaint: front-clunk-over-bumps, rating: 3}
"""


@pytest.mark.slow
def test_a_debrief_is_kept_in_its_round(
    store: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tell(capsys, store, LINKS)
    path = tmp_path / "drive.yaml"
    path.write_text(DRIVE, encoding="utf-8")
    code = run(["debrief", str(path), "--job", "last", "--store", store])
    out, err = capsys.readouterr()
    assert (code, err) == (0, "")
    assert "Left to blame" in out
    session = Session(LIBRARY, Journal.open(Path(store)), "job-1")
    assert session.state.drives[0][0] == 1
    assert session.state.rounds[0].complaints[0].road_test == "yes"
    assert session.verdict.belief.there > 0.9
    code = run(["debrief", str(path), "--job", "last", "--store", store, "--json"])
    assert json.loads(capsys.readouterr().out)["repairs"]["rounds"][1]["driven"] is True
    assert run(["debrief", "--blank", "--job", "last", "--store", store]) == 2


# Some time later ---------------------------------------------------------------------------------------

CLUNK = "front-clunk-over-bumps"


def test_back_after_days_is_an_observation_of_its_own(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired(LINKS))
    session.feel({CLUNK: "no"})
    gone = session.verdict.belief.there
    session.feel({CLUNK: "yes"}, 5.0)
    first, later = session.story.rounds
    assert (first.heard[0].answer, later.heard[0].answer, later.days) == ("no", "yes", 5.0)
    assert session.verdict.belief.there > 0.9 > 0.5 > gone
    # Checks can be done again, and what they show is of the car as it is now.
    assert session.state.done_now == ()
    # The same time told again amends it; undone, all is as before.
    session.feel({CLUNK: "probably"}, 5.0)
    assert [each.answer for each in session.story.rounds[1].heard] == ["probably"]
    session.undo(2)
    assert session.verdict.belief.there == pytest.approx(gone, abs=1e-12)


@pytest.mark.slow
def test_gone_after_weeks_proves_more(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired(LINKS))
    session.feel({CLUNK: "no"})
    once = proof_of(session).share
    session.do(e.Closed("cured"))
    session.feel({CLUNK: "no"}, 30.0, 2000.0)
    assert session.state.closed is None
    weeks = proof_of(session).share
    assert weeks.for_good > once.for_good
    assert weeks.holds > once.holds
    for share in (once, weeks):
        assert share.owed + share.never + share.left == pytest.approx(1.0, abs=1e-9)
        # What a round ended may have come back by a new part that failed.
        assert sum(share.rounds) >= share.owed - 1e-9


@pytest.mark.slow
def test_what_was_never_tightened_is_suspected_first(journal: Journal) -> None:
    """Told as done in the same visit, or before the later drive, it is settled; afterwards is too late."""

    def bad(done: str) -> float:
        session = begin(journal)
        session.repair(session.repaired(LINKS, one_use=True))
        session.feel({CLUNK: "no"})
        if done == "in time":
            session.do(e.FollowedUp("wheel-retorque"))
        session.feel({CLUNK: "yes"}, 60.0)
        if done == "too late":
            session.do(e.FollowedUp("wheel-retorque"))
        belief = session.verdict.belief
        return max(belief.new_is_bad(number) for number in belief.car.renewed)

    assert bad("never") == bad("too late") > bad("in time")


def test_a_layout_told_after_the_repair_may_rule_its_part_out(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired("renew-strut-top-mounts"))
    session.feel({CLUNK: "no"})
    session.feel({CLUNK: "no"}, 9.0)
    session.do(e.VehicleFact("front", "double-wishbone"))
    assert not [c for c in session.verdict.car.causes if c.fault.startswith("strut-top-mount")]
    assert 0.0 < proof_of(session).share.left < 1.0


def test_times_are_told_in_their_order(journal: Journal) -> None:
    session = begin(journal)
    with pytest.raises(InputError, match="nothing was repaired yet"):
        session.feel({CLUNK: "no"}, 5.0)
    session.repair(session.repaired(LINKS))
    session.feel({CLUNK: "no"}, 5.0)
    with pytest.raises(InputError, match="3 days after the repair lie before the 5 days told of last"):
        session.feel({CLUNK: "no"}, 3.0)
    assert len(session.state.rounds) == 2


def test_one_that_faded_had_several_causes(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired(LINKS))
    session.feel({CLUNK: "yes"})
    links = [n for n, c in enumerate(session.verdict.belief.causes) if c.fault == "front-drop-link-play"]
    still = session.verdict.belief.present[links].max()
    session.feel({CLUNK: "faded"})
    belief = session.verdict.belief
    assert belief.present[links].max() > still + 0.1
    assert belief.there > 0.9
    assert belief.to_blame[links].max() < 1e-9


def test_every_observation_has_its_name_in_every_round(journal: Journal) -> None:
    session = begin(journal)
    check = LIBRARY.checks["hold-the-drop-links-loaded"]
    click = "hold-the-drop-links-loaded/click-under-the-hand"
    session.answer(check, [Seen(click, "front-left", "yes")])
    session.repair(session.repaired(LINKS))
    session.feel({CLUNK: "faded"})
    session.feel({CLUNK: "yes"}, 5.0)
    names = [observation_name(LIBRARY, key) for key, _ in session.verdict.belief.observations]
    assert names == [
        "the complaint (clunk from the front over bumps)",
        "hold the drop links while the body is rocked: a click under the hand at this link, front left, "
        "before a repair",
        "the complaint after a repair (clunk from the front over bumps)",
        "that it faded (clunk from the front over bumps)",
        "the complaint after a repair (clunk from the front over bumps)",
    ]


# Drives beside each other ------------------------------------------------------------------------------


def console_text(page: RenderableType) -> str:
    out = io.StringIO()
    Console(file=out, width=80).print(page)
    return out.getvalue()


def drive(rating: float, who: str = "A") -> Drive:
    text = (
        f"debrief: 1\nwho: {who}\npressures: set\nroad: dry\nload: driver\nreference: same-car-before\n"
        f"legs:\n  - leg: rough\n    noticed:\n      - {{complaint: {CLUNK}, rating: {rating}}}\n"
    )
    return read_drive(LIBRARY, text.encode(), "demo")


def test_a_drive_rated_better_by_more_than_scatter_has_faded(journal: Journal) -> None:
    session = begin(journal)
    session.tell(drive(3))
    session.repair(session.repaired(LINKS))
    said, _ = session.tell(drive(6))
    assert [each.answer for each in said] == ["faded"]
    assert session.story.rounds[0].heard[0].answer == "faded"
    (change,) = proof_of(session).drives[0].changes
    assert (change.change, change.verdict, change.difference) == ("better", "clear", 3.0)
    # One point is scatter: it is still there, and that is all.
    session.tell(drive(4))
    assert session.story.rounds[0].heard[0].answer == "yes"


@pytest.mark.slow
def test_a_reference_stands_beside_every_drive_of_the_job(journal: Journal) -> None:
    session = begin(journal)
    session.refer(drive(9), "good-car")
    page = console_text(repairs_page(session, Look(True, 80)))
    assert "Kept to compare with: a drive of a car known to be good" in page
    session.refer(drive(8), "same-car-before")
    assert proof_of(session).drives == ()
    session.tell(drive(3))
    of_before, beside = proof_of(session).drives
    assert (of_before.of, beside.of) == ("before", "good-car")
    assert of_before.changes[0].difference == -5.0
    assert beside.changes[0].difference == -6.0
    # After a repair the job's own drive before it is the one to compare with.
    session.repair(session.repaired(LINKS))
    assert proof_of(session).drives == ()
    session.tell(drive(9), days=20.0)
    assert proof_of(session).drives[0].changes[0].difference == 6.0
    assert session.state.rounds[1].days == 20.0
    assert session.state.drives[-1][0] == 2


def test_readings_and_angles_stand_side_by_side(journal: Journal) -> None:
    session = begin(journal)
    check = LIBRARY.checks["hold-the-drop-links-loaded"]
    click = "hold-the-drop-links-loaded/click-under-the-hand"
    session.answer(check, [Seen(click, "front-left", "yes"), Seen(click, "front-right", "no")])
    session.repair(session.repaired(LINKS))
    session.answer(check, [Seen(click, "front-left", "no")])
    sheet = (
        "angles: 1\nspecification:\n  front: {toe: {low: 0d05', high: 0d15'}}\n"
        "before:\n  front: {left: {toe: 0d40'}, right: {toe: 0d10'}}\n"
        "after:\n  front: {left: {toe: 0d10'}, right: {toe: 0d10'}}\n"
    )
    session.measure(read_sheets(sheet.encode(), "demo.yaml").sheets)
    proof = proof_of(session)
    assert proof.readings == ((Seen(click, "front-left"), Seen(click, "front-left", "no")),)
    toe = next(one for one in proof.angles if one.spot.side == "left")
    assert (toe.before.verdict, toe.after.verdict) == ("out", "in")


@pytest.mark.slow
def test_the_page_says_what_it_comes_to_for_the_owner(
    store: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    tell(capsys, store, LINKS, "--price", "60", "--hours", "0.5")
    _, out, _ = tell(capsys, store, "--felt", "yes")
    said = " ".join(out.split())
    assert "Not cured: the complaint is there in" in said
    assert "Spent so far: 110 cu (parts 60 cu, 0.5 hours of work)." in said
    assert "On the drive nothing has changed for that money." in said
    assert "before more money is spent on parts" in said
    tell(capsys, store, "renew-front-dampers", "--price", "240", "--hours", "2")
    tell(capsys, store, "--felt", "no")
    _, out, _ = tell(
        capsys, store, "--felt", "no", "--after-days", "40", "--after-km", "3000", "--by", "driver"
    )
    said = " ".join(out.split())
    assert "40 days, 3000 km after" in said
    assert "Cured for good: in" in said
    assert "What ended it: " in said
    assert "That it is cured for good, and by this work, is" in said
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.slow
def test_a_last_word_against_all_before_is_to_be_driven_again(
    store: str, capsys: pytest.CaptureFixture[str]
) -> None:
    session = Session(LIBRARY, Journal.open(Path(store)), "job-1")
    session.repair(session.repaired("renew-front-dampers", price=240.0))
    for days in (40.0, 60.0, 95.0):
        session.feel({CLUNK: "no"}, days)
    _, out, _ = tell(capsys, store, "--felt", "yes", "--after-days", "100")
    said = " ".join(out.split())
    assert "was gone, and is back (100 days after the repair)" in said
    assert "speaks against this word: drive it once more" in said
    assert "Next stage" not in said


@pytest.mark.slow
def test_json_md_names_every_key_of_a_proof(
    store: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = Session(LIBRARY, Journal.open(Path(store)), "job-1")
    check = LIBRARY.checks["hold-the-drop-links-loaded"]
    click = "hold-the-drop-links-loaded/click-under-the-hand"
    session.tell(drive(3))
    session.answer(check, [Seen(click, "front-left", "yes")])
    session.repair(session.repaired(LINKS, price=60.0))
    session.answer(check, [Seen(click, "front-left", "no")])
    session.tell(drive(9))
    _, out, _ = tell(capsys, store, "--felt", "no", "--after-days", "12", "--json")
    found = json.loads(out)
    assert [each["days"] for each in found["rounds"]] == [None, None, 12.0]
    assert found["rounds"][2]["felt"] == {CLUNK: "no"}
    proof = found["proof"]
    assert proof["ended-by-repairs"] + proof["never-there"] + proof["still-there"] == pytest.approx(1.0)
    assert proof["drives"][0]["changes"][0]["verdict"] == "clear"
    assert proof["readings"][0]["now"] == {"answer": "no", "reading": None}
    assert proof["owner"]
    text = (Path(__file__).resolve().parents[2] / "docs" / "json.md").read_text("utf-8")
    part = text[text.index("repairs/1`\n") :].partition("\n## ")[0]
    keys = {*found, *found["rounds"][0], *proof, *proof["readings"][0], *proof["drives"][0]}
    keys |= {"axle", "side", "angle", "verdict", "value", "reading"}
    assert {key for key in keys - {"format"} if f"`{key}`" not in part} == set()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--after-days", "5"], "go with --felt"),
        ([LINKS, "--felt", "no", "--after-days", "0"], "is not a time after a repair"),
        (["--felt", "no", "--after-km", "50"], "nothing was repaired yet"),
    ],
)
def test_a_time_that_cannot_be_is_refused(
    words: list[str], says: str, store: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = tell(capsys, store, *words)
    assert code == 2
    assert says in err
    assert Session(LIBRARY, Journal.open(Path(store)), "job-1").state.rounds == ()


def test_what_comes_along_with_a_repair_is_not_what_it_was_meant_for(journal: Journal) -> None:
    session = begin(journal)
    session.repair(session.repaired("renew-lower-arm@front-left", angles_set=True))
    ((repair,),) = (one.repairs for one in session.state.rounds)
    meant = meant_for(LIBRARY, repair)
    assert set(meant) < set(repair.ends)
    assert {LIBRARY.faults[end.partition("@")[0]].remedy for end in meant} == {"renew-lower-arm"}
