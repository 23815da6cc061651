"""What must hold from a case file to the ranking and the plan, whatever the figures of the trees."""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice.outcomes import open_spots
from diagnose.debrief.read import read_drive
from diagnose.errors import ImpossibleAnswers
from diagnose.job import events as e
from diagnose.job.case import read_case
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.job.steps import steps_of
from diagnose.model.story import ANSWERS, Seen, Story
from tests.scripted import Tell, telling
from tests.sheet_job import DRIVES, demo_session
from tests.shipped import LIBRARY

ROOT = Path(__file__).resolve().parents[2]
CASES = [
    path
    for path in sorted((ROOT / "tests" / "cases").glob("*.yaml"))
    if "rounds:" not in path.read_text("utf-8")
]
FEW = CASES[::17]


def some(values: list[Path]) -> pytest.MarkDecorator:
    """A few of the cases in the fast suite, all with `-m long`."""
    marked = [path if path in FEW else pytest.param(path, marks=pytest.mark.long) for path in values]
    return pytest.mark.parametrize("path", marked, ids=[path.stem for path in values])


def mirrored(text: str) -> str:
    """The same with left for right."""
    return re.sub(r"\b(left|right)\b", lambda side: {"left": "right", "right": "left"}[side[0]], text)


def story_of(text: str) -> Story:
    return read_case(LIBRARY, text.encode(), "case.yaml").story


def told(story: Story) -> Belief:
    return Belief(Car(LIBRARY, story.vehicle, story.complaints), story)


def figures(belief: Belief, mirror: bool = False) -> dict[str, tuple[float, float]]:
    """cause -> (present, to blame)."""
    names = [f"{cause.fault}@{cause.position}" for cause in belief.causes]
    pairs = zip(belief.present.tolist(), belief.to_blame.tolist(), strict=True)
    return dict(zip((mirrored(name) if mirror else name for name in names), pairs, strict=True))


def same(one: dict[str, tuple[float, float]], other: dict[str, tuple[float, float]]) -> bool:
    return one.keys() == other.keys() and np.allclose(
        [one[key] for key in one], [other[key] for key in one], rtol=0, atol=1e-9
    )


@pytest.mark.slow
@some(CASES)
def test_left_for_right_mirrors_the_ranking(path: Path) -> None:
    text = path.read_text("utf-8")
    assert same(figures(told(story_of(text))), figures(told(story_of(mirrored(text))), mirror=True))


@some(CASES)
def test_the_order_of_answers_moves_nothing(path: Path) -> None:
    story = story_of(path.read_text("utf-8"))
    turned = list(story.seen)
    random.Random(path.stem).shuffle(turned)
    other = replace(story, seen=tuple(turned), heard=tuple(reversed(story.heard)))
    belief = Belief(Car(LIBRARY, story.vehicle, story.complaints), other)
    assert same(figures(told(story)), figures(belief))


@pytest.mark.slow
@some(CASES)
def test_a_case_file_and_a_job_of_it_rank_alike(path: Path) -> None:
    case = read_case(LIBRARY, path.read_bytes(), "case.yaml")
    with Journal.passing() as journal:
        session = Session.start(LIBRARY, journal, "demo", case.workshop, steps_of(LIBRARY, case))
        before = figures(session.verdict.belief)
        assert same(figures(told(case.story)), before)
        # An answer and its undo bring everything back, to the last bit.
        check = next(
            check
            for check in LIBRARY.checks.values()
            if check.id in session.verdict.car.checks and session.spots(check)
        )
        spot = session.spots(check)[0]
        session.answer(check, [Seen(spot.finding, spot.position, "no")])
        session.undo(1)
        assert figures(session.verdict.belief) == before


@pytest.mark.long
def test_undo_brings_back_every_act_of_a_whole_job_to_the_last_bit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Answers, wheel angles, drives, a plan, repairs, later times, what is not to be had: one by one."""
    before: list[tuple[object, object]] = []
    do = Session.do

    def kept(session: Session, *events: e.Event) -> None:
        before.append((session.state, figures(session.verdict.belief)))
        do(session, *events)

    monkeypatch.setattr(Session, "do", kept)
    with Journal.passing() as journal:
        session = demo_session(journal)
        session.refer(read_drive(LIBRARY, DRIVES[0].encode(), "demo.yaml"), "good-car")
        session.feel({"wander": "no"}, days=20.0)
        session.repair(session.repaired("renew-front-dampers"))
        session.feel({"wander": "probably"})
        for act in (
            e.Cannot("rig"),
            e.PartRenewed("front-damper", None, None, 2.0),
            e.FollowedUp("four-wheel-alignment"),
            e.ComplaintHeard("front-clunk-over-bumps"),
            e.Closed("cured"),
        ):
            session.do(act)
        assert len(before) > 15
        for state, figures_ in reversed(before):
            assert session.undo(1) == 1
            again = Session(LIBRARY, journal, session.job)
            assert session.state == again.state == state
            assert figures(session.verdict.belief) == figures(again.verdict.belief) == figures_


@pytest.mark.parametrize(
    "seed", [*range(3), *(pytest.param(n, marks=pytest.mark.long) for n in range(3, 200))]
)
def test_probabilities_stay_probabilities_whatever_is_answered(seed: int) -> None:
    """Answers drawn blindly: most contradict each other, none may bring NaN or more than 1.

    Eight checks: what is observed together sets the time, and 25 drawn blindly took minutes.
    """
    chance = random.Random(seed)
    complaints = chance.sample(sorted(LIBRARY.complaints), k=chance.choice((1, 1, 2)))
    lines = ["case: 1", "vehicle: {name: demo, km: 2999999, years: 119}", "complaints:"]
    for name in complaints:
        side = ", side: left" if LIBRARY.complaints[name].sided else ""
        lines.append(f"  - {{id: {name}{side}}}")
    story = story_of("\n".join(lines) + "\n")
    car = Car(LIBRARY, story.vehicle, story.complaints)
    seen: list[Seen] = []
    belief = Belief(car, story)
    for name in chance.sample(sorted(car.checks), k=min(8, len(car.checks))):
        for spot in open_spots(belief, LIBRARY.checks[name]):
            finding = LIBRARY.findings[spot.finding]
            graded = len(finding.levels) > 1
            seen.append(
                Seen(spot.finding, spot.position, chance.choice(finding.levels if graded else ANSWERS))
            )
        try:
            belief = Belief(car, replace(story, seen=tuple(seen)))
        except ImpossibleAnswers:
            seen = list(belief.story.seen)
            continue
        for values in (belief.present, belief.to_blame, np.array([belief.outside, belief.there])):
            assert np.isfinite(values).all()
            assert ((values >= 0.0) & (values <= 1.0)).all(), (values.min(), values.max())


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Tell:
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    return telling("plan", capsys, monkeypatch)


PULL = """\
case: 1
vehicle: {name: demo, km: 150000, years: 11}
complaints: [{id: pulls-when-braking, side: left}]
"""


@pytest.mark.long
@pytest.mark.parametrize("text", [PULL])
def test_left_for_right_mirrors_the_plan(tell: Tell, tmp_path: Path, text: str) -> None:
    plans = []
    for name, of in (("one", text), ("other", mirrored(text))):
        (tmp_path / name).write_text(of, encoding="utf-8")
        code, out, _ = tell(tmp_path / name, "--json", "--stages", "2")
        assert code == 0
        plans.append(json.loads(out if name == "one" else mirrored(out)))
    assert _rounded(plans[0]) == _rounded(plans[1])


def _rounded(value: object) -> object:
    """Sums in another order may differ in the last bits; lists of equals may come in another order."""
    if isinstance(value, float):
        return round(value, 6)
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, list):
        return sorted((_rounded(each) for each in value), key=lambda each: json.dumps(each, sort_keys=True))
    return value


@pytest.mark.long
@pytest.mark.parametrize(
    "command",
    [
        "rank tests/cases/r44.yaml",
        "plan tests/plans/estate.yaml --json",
        "trees cuts wander --json",
        "trees weigh wander --json",
        "trials wander --cars 6 --workers 2 --ways own,fixed --json",
    ],
)
def test_two_processes_print_the_same(command: str) -> None:
    """Whatever the seed of hashes, and however many threads the linear algebra takes."""
    printed = set()
    for seed, threads in (("0", "1"), ("1", "2"), ("42", "1")):
        ran = subprocess.run(
            [sys.executable, "-m", "diagnose", *command.split()],
            cwd=ROOT,
            env={
                **os.environ,
                "PYTHONPATH": str(ROOT),
                "PYTHONHASHSEED": seed,
                "OPENBLAS_NUM_THREADS": threads,
            },
            capture_output=True,
            check=True,
        )
        # What a trial took in seconds is measured, not computed.
        printed.add(b"\n".join(line for line in ran.stdout.splitlines() if b"seconds" not in line))
    assert len(printed) == 1
