"""The shipped trees: sound, big enough, sourced, and right about stories that leave no doubt."""

from __future__ import annotations

from pathlib import Path

import pytest

import diagnose
from diagnose.belief.belief import Belief, Car
from diagnose.job.case import Case, read_case
from diagnose.library.shelf import check, shipped
from diagnose.measure import measure
from diagnose.model.complaint import Complaint, leaves
from diagnose.model.part import Fault
from tests.shipped import LIBRARY

ROOT = Path(diagnose.__file__).parents[1]
CASES = sorted((ROOT / "tests" / "cases").glob("*.yaml"))
BUILT_IN = {"common-practice", "estimate"}


# The library --------------------------------------------------------------------------------------------


def test_the_shipped_files_have_no_problem() -> None:
    assert [str(problem) for problem in check(shipped())] == []


@pytest.mark.parametrize("fault", LIBRARY.faults.values(), ids=lambda fault: fault.id)
def test_every_cause_is_sourced_curable_and_to_be_seen(fault: Fault) -> None:
    assert fault.source
    assert set(fault.source) <= {*LIBRARY.sources, *BUILT_IN}
    assert LIBRARY.remedies[fault.remedy].source
    seen = [f for f in LIBRARY.findings.values() if any(link.target == fault.id for link in f.links)]
    assert seen, "no finding points to it"
    assert bool(fault.danger) == bool(fault.danger_when)


def test_every_figure_names_where_it_comes_from() -> None:
    known = {*LIBRARY.sources, *BUILT_IN}
    tables = (
        LIBRARY.checks,
        LIBRARY.findings,
        LIBRARY.remedies,
        LIBRARY.set_ups,
        LIBRARY.complaints,
        LIBRARY.facts,
    )
    for table in tables:
        for row in table.values():
            assert row.source, row.id
            assert set(row.source) <= known, row.id
    for finding in LIBRARY.findings.values():
        if finding.reading is not None:
            for limit in finding.reading.limits:
                assert limit.source, finding.id


@pytest.mark.parametrize("complaint", LIBRARY.complaints.values(), ids=lambda complaint: complaint.id)
def test_every_complaint_has_words_causes_a_leak_and_questions(complaint: Complaint) -> None:
    assert len(complaint.says) >= 3
    assert list(leaves(complaint.top))
    assert 0.0 < complaint.top.leak < 0.3
    assert complaint.questions
    assert all(LIBRARY.checks[name].set_up == "talk" for name in complaint.questions)


def test_work_under_a_raised_car_carries_a_caution() -> None:
    raised = {s for s in LIBRARY.set_ups if s.startswith(("lift", "jacked", "wheels-off"))}
    assert raised
    bare = [c.id for c in LIBRARY.checks.values() if c.set_up in raised and not c.cautions]
    assert bare == []


# Cases whose end is known -------------------------------------------------------------------------------


def case_of(path: Path) -> Case:
    return read_case(LIBRARY, path.read_bytes(), path.name)


def test_there_are_cases() -> None:
    assert len(CASES) >= 20
    assert len({case_of(path).id for path in CASES}) == len(CASES)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_case_reads_and_has_a_ranking(path: Path) -> None:
    """No rank is pinned: nothing in the trees is set to please a single case."""
    case = case_of(path)
    assert case.id == path.stem
    assert case.confirmed is not None
    assert case.confirmed.source
    belief = Belief(Car(LIBRARY, case.story.vehicle, case.story.complaints), case.story)
    assert belief.order()
    assert 0.0 < belief.outside < 1.0


@pytest.mark.slow
@pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, id=path.stem, marks=[pytest.mark.long] if n % 13 else [])
        for n, path in enumerate(CASES)
    ],
)
def test_a_case_can_be_measured(path: Path) -> None:
    found = measure(LIBRARY, case_of(path))
    assert found.of > 0
    for rank in (found.rank_told, found.rank_before, found.rank_all):
        assert rank is None or 1 <= rank <= found.of
    if found.walk is not None:
        assert found.walk.minutes >= 0.0
        assert found.walk.checks >= found.walk.set_ups


# Stories that leave no doubt (demo data, made up) -------------------------------------------------------

#: id -> (case, the fault that must stand first, its position).
STORIES: dict[str, tuple[str, str, str]] = {
    "an inner joint that knocks under the fingers, the rack still": (
        """\
case: 1
vehicle: {name: demo hatchback, km: 190000, front: strut, steering: electric-column-rack}
complaints: [{id: vague-steering}]
answers:
  - check: rock-the-steering-rack
    findings: {rod-waits-for-rack: {front-left: yes}}
    others: no
  - check: squeeze-the-bellows
    findings: {knock-under-fingers: {front-left: yes}}
    others: no
""",
        "inner-tie-rod-joint-play",
        "front-left",
    ),
    "an outer end that clicks, with a step under the fingertips": (
        """\
case: 1
vehicle: {name: demo van, km: 210000, front: strut, steering: hydraulic-rack}
complaints: [{id: wander}]
answers:
  - check: rock-the-steering-rack
    findings: {outer-end-shifts: {front-right: yes}}
    others: no
  - check: fingertips-along-the-chain
    findings: {step-at-rod-end: {front-right: yes}}
    others: no
""",
        "outer-tie-rod-end-play",
        "front-right",
    ),
    "a torn bush seen, felt with the lever, and the wheel moving on the brake": (
        """\
case: 1
vehicle: {name: demo estate, km: 160000, front: strut}
complaints: [{id: wander}]
answers:
  - check: rock-on-the-brake
    findings: {wheel-goes-fore-and-aft: {front-left: yes}}
    others: no
  - check: look-at-the-arm-bushes
    findings: {torn-or-off-centre: {front-left: yes}}
    others: no
  - check: lever-the-rear-bush
    findings: {free-or-twice-the-give: {front-left: yes}}
    others: no
""",
        "lower-arm-rear-bush-torn",
        "front-left",
    ),
    "a shake in a band of speed, and much weight missing on the balancer": (
        """\
case: 1
vehicle: {name: demo saloon, km: 60000}
complaints: [{id: shimmy}]
answers:
  - check: ask-speed-band
    findings: {band-and-fades-above: yes}
  - check: balance-the-front-wheels
    findings: {imbalance: {front-left: felt on any car}}
    others: no
""",
        "wheel-out-of-balance",
        "front-left",
    ),
    "a coil broken in its seat, that corner low and leaning in": (
        """\
case: 1
vehicle: {name: demo city car, km: 140000, front: strut}
complaints: [{id: front-camber-one-side, side: right}]
answers:
  - check: look-at-the-front-springs
    findings: {broken-or-out-of-seat: {front-right: yes}}
    others: no
  - check: measure-front-height
    findings: {front-corner-low: {front-right: past the limit}}
    others: no
""",
        "front-spring-broken",
        "front-right",
    ),
}


@pytest.mark.parametrize("name", STORIES)
def test_the_cause_that_a_plain_story_names_stands_first(name: str) -> None:
    text, fault, position = STORIES[name]
    story = read_case(LIBRARY, text.encode(), name).story
    belief = Belief(Car(LIBRARY, story.vehicle, story.complaints), story)
    ranked = [(belief.causes[n].fault, belief.causes[n].position) for n in belief.order()]
    assert ranked[0] == (fault, position), ranked[:4]
    assert float(belief.present[belief.order()[0]]) > 0.6
