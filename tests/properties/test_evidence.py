"""What the model promises of causes that have nothing to do with it, and of more of the same evidence.

The statements are derived in docs/method.md, section 5; here they are held against the shipped trees and all
known cases. Noisy-OR and virtual evidence: J. Pearl, Probabilistic Reasoning in Intelligent Systems, 1988.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from diagnose.belief.belief import Belief, Car
from diagnose.belief.network import finding_key
from diagnose.choice.outcomes import Spot, open_spots
from diagnose.model.check import Finding
from diagnose.model.complaint import Gate, Leaf
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story
from tests.properties.test_whole_pipeline import CASES, figures, same, story_of
from tests.shipped import LIBRARY

#: From the surest no to the surest yes.
ANSWERS = ("no", "probably-not", "cannot-tell", "probably", "yes")

NEW = "demo-fault"

#: One of the cases in the fast suite, all with `-m long`.
some = pytest.mark.parametrize(
    "path",
    [path if path.stem == "f17" else pytest.param(path, marks=pytest.mark.long) for path in CASES],
    ids=[path.stem for path in CASES],
)


def believed(library: Library, story: Story) -> Belief:
    return Belief(Car(library, story.vehicle, story.complaints), story)


@cache
def of_case(path: Path) -> Belief:
    return believed(LIBRARY, story_of(path.read_text("utf-8")))


# A cause that has nothing to do with it ------------------------------------------------------------------


def with_cause(complaint: str, strength: float, chance: float) -> Library:
    """The shipped library with one more cause, of a part of its own, under the top of this complaint."""
    fault = next(each for each in LIBRARY.faults.values() if each.where == "front" and not each.fits)
    part = replace(LIBRARY.parts[fault.part], id="demo-part", name="demo part", fits={})
    fault = replace(fault, id=NEW, part=part.id, life=None, chance=chance, mates=1.0, lifts={})
    heard = LIBRARY.complaints[complaint]
    others = heard.top.branches if heard.top.kind == "any" else (heard.top,)
    new = (*others, Leaf(NEW, strength))
    top = replace(heard.top, branches=new) if heard.top.kind == "any" else Gate("any", 1, new)
    return replace(
        LIBRARY,
        parts={**LIBRARY.parts, part.id: part},
        faults={**LIBRARY.faults, NEW: fault},
        complaints={**LIBRARY.complaints, complaint: replace(heard, top=top)},
    )


@some
def test_a_cause_under_a_complaint_that_was_not_told_changes_nothing(path: Path) -> None:
    before = of_case(path)
    other = next(name for name in LIBRARY.complaints if name not in before.story.complaints)
    belief = believed(with_cause(other, 0.9, 0.4), before.story)
    found = figures(belief)
    alone = found.pop(f"{NEW}@front", (0.4, 0.0))
    # The new one is as likely as before anything was told, and blamed for nothing.
    assert alone == pytest.approx((0.4, 0.0), abs=1e-12)
    assert same(figures(before), found)
    assert (belief.outside, belief.there) == pytest.approx((before.outside, before.there), abs=1e-9)


@some
def test_a_cause_under_the_same_complaint_shares_the_blame_alike(path: Path) -> None:
    """Under an OR that was told of, all others go the same part of the way back to where they would be had it
    not been told: none rises above both, and what else was seen of them counts as before."""
    before = of_case(path)
    complaint = next(iter(before.story.complaints))
    belief = believed(with_cause(complaint, 0.5, 0.3), before.story)
    heard = tuple(
        replace(each, answer="cannot-tell") if each.complaint == complaint else each
        for each in before.story.heard
    )
    # What repeats the complaint observes it as well.
    seen = tuple(each for each in before.story.seen if LIBRARY.findings[each.finding].repeats != complaint)
    silent = replace(before.story, heard=heard, seen=seen)
    without = believed(LIBRARY, silent).present
    keep = [n for n, cause in enumerate(belief.causes) if cause.fault != NEW]
    now, then = belief.present[keep], before.present
    far = int(np.argmax(np.abs(without - then)))
    share = (now[far] - then[far]) / (without[far] - then[far])
    assert 0.0 < share < 1.0
    assert now == pytest.approx(share * without + (1 - share) * then, abs=1e-9)


# More of the same evidence -------------------------------------------------------------------------------


def asked(belief: Belief, seed: str, most: int) -> Iterator[tuple[Finding, Spot]]:
    """Some findings of this car that are still to be answered, each at one place."""
    chance = random.Random(seed)
    for name in chance.sample(sorted(belief.car.checks), k=len(belief.car.checks)):
        for spot in open_spots(belief, LIBRARY.checks[name])[:1]:
            yield LIBRARY.findings[spot.finding], spot
            most -= 1
            if not most:
                return


def after(belief: Belief, *seen: Seen) -> NDArray[np.float64]:
    """Every cause, there and to blame, once these were answered as well."""
    found = belief.seeing(seen)
    return np.array([*found.present, *found.to_blame])


def one_way(steps: list[NDArray[np.float64]], near: float | NDArray[np.float64] = 1e-9) -> bool:
    """True if each figure goes up all the way, or down, or stays; near: how far it may turn back."""
    moves = [later - earlier for earlier, later in pairwise(steps)]
    up = np.all([move > -near for move in moves], axis=0)
    down = np.all([move < near for move in moves], axis=0)
    return bool(np.all(up | down))


def how_near(belief: Belief) -> NDArray[np.float64]:
    """How exact each figure of `after` is. Only what a cause with several ways up is to blame
    is not: the ways are taken as independent (docs/method.md, section 6)."""
    network = belief.car.network
    ways = np.zeros(len(belief.causes))
    for key in network.blame:
        for each in network.nodes[key].inputs:
            cause = network.cause_of(each.source)
            if cause is not None and cause < len(ways):
                ways[cause] += 1
    return np.concatenate([np.full(len(ways), 1e-9), np.where(ways > 1, 2e-4, 1e-9)])


@some
def test_a_surer_answer_moves_every_cause_the_same_way_and_further(path: Path) -> None:
    belief = of_case(path)
    for finding, spot in asked(belief, path.stem, 12):
        steps = [after(belief, Seen(spot.finding, spot.position, each)) for each in ANSWERS]
        assert one_way(steps, how_near(belief)), finding.id
        assert steps[2] == pytest.approx(np.array([*belief.present, *belief.to_blame]), abs=1e-9)


@some
def test_what_points_to_one_cause_alone_weighs_what_the_tree_says(path: Path) -> None:
    """Whatever else was told: the odds move by P(answer | fault) / P(answer | not), so never the wrong way.
    What points to several causes may lower one of them: another one then explains what is there."""
    belief = of_case(path)
    network = belief.car.network
    tried = 0
    for finding, spot in asked(belief, path.stem, 60):
        node = network.nodes.get(finding_key(spot.finding, spot.position))
        inputs = node.inputs if node is not None and len(finding.levels) == 1 and not finding.reading else ()
        if len(inputs) != 1 or not isinstance(inputs[0].source, int):
            continue
        (one,) = inputs
        missed, quiet = 1.0 - one.chances[0], 1.0 - finding.false_alarm[0]
        # Noisy-OR of one: P(not seen | the fault) = missed * quiet.
        for answer, factor in (("no", missed), ("yes", (1.0 - missed * quiet) / (1.0 - quiet))):
            now = belief.seeing([Seen(spot.finding, spot.position, answer)]).present[one.source]
            was = belief.present[one.source]
            assert now / (1 - now) == pytest.approx(factor * was / (1 - was), rel=1e-9), finding.id
            assert (factor >= 1.0) is (answer == "yes")
        tried += 1
    assert tried


@some
def test_a_reading_further_out_is_at_least_as_suspicious(path: Path) -> None:
    """For every cause that each further band speaks for more: the bands between share a reading out by its
    spread, and the further it is out, the more goes to the bands beyond."""
    belief = of_case(path)
    readings = [(f, spot) for f, spot in asked(belief, path.stem, 200) if f.reading is not None][:3]
    for finding, spot in readings:
        assert finding.reading is not None
        low, high = (op(each.value for each in finding.reading.limits) for op in (min, max))
        out = max(high - low, finding.reading.repeatability, abs(high) * 0.1, 0.1)
        points = np.linspace(low - 2 * out, high + 2 * out, 25)
        if finding.reading.direction == "under":
            points = points[::-1]
        bands = [finding.none, *finding.levels]
        sure = [after(belief, Seen(spot.finding, spot.position, each)) for each in bands]
        rising = np.all([later >= earlier for earlier, later in pairwise(sure)], axis=0)
        steps = [after(belief, Seen(spot.finding, spot.position, bands[0], float(at))) for at in points]
        for earlier, later in pairwise(steps):
            assert (later[rising] >= earlier[rising] - 1e-9).all(), finding.id


@some
def test_a_second_observer_who_says_the_same_turns_nothing_back(path: Path) -> None:
    """The driver's word and then a road test; a finding and then one that repeats it."""
    belief = of_case(path)
    story, complaint = belief.story, next(iter(belief.story.complaints))
    heard = [each for each in story.heard if each.complaint != complaint]
    for answer in ("yes", "no"):
        steps = []
        for count in range(3):
            said = [Heard(complaint, None, answer, by) for by in ("driver", "road-test")[:count]]
            told = replace(story, heard=(Heard(complaint, None, "cannot-tell"), *said, *heard))
            found = Belief(belief.car, told)
            steps.append(np.array([*found.present, *found.to_blame]))
        assert one_way(steps)
    for finding in LIBRARY.findings.values():
        target = LIBRARY.findings.get(finding.repeats)
        if (
            target is None
            or target.where
            or len(target.levels) > 1
            or target.id not in belief.car.network.nodes
        ):
            continue
        if any(each.finding in (target.id, finding.id) for each in story.seen):
            continue
        for answer in ("probably", "probably-not"):
            one, two = Seen(target.id, None, answer), Seen(finding.id, None, answer)
            now = np.array([*belief.present, *belief.to_blame])
            assert one_way([now, after(belief, one), after(belief, one, two)]), finding.id
