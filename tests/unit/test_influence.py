"""How far an answer moves a ranking: what is idle is found, what tells is not taken for idle."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.belief.belief import Belief
from diagnose.choice.influence import MATERIAL, bare, influence, influences, weigh, weigh_all
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story
from tests.small_trees import SMALL, compiled

#: Demo data: a question that says the same of every cause, and a part that only the rare car has.
MORE = """\
parts:
  - id: box-arm
    name: arm of the box
    where: centre
    fits: {steering: box}
    faults:
      - id: box-arm-loose
        name: loose
        chance: 0.05
        remedy: pump-up
        source: estimate
checks:
  - id: ask-the-weather
    name: ask about the weather
    set-up: talk
    minutes: 1
    how: Does it rain?
    source: estimate
    findings:
      - id: rains
        name: it rains
        points-to: {rod-end-play: 0.01, tyres-soft: 0.01, rod-end-tight: 0.01}
        false-alarm: 0.5
  - id: pull-the-box-arm
    name: pull at the arm of the box
    set-up: ground
    minutes: 2
    how: Pull at it.
    source: estimate
    findings:
      - id: arm-gives
        name: the arm gives
        points-to: {box-arm-loose: 0.9}
        false-alarm: 0.2
complaint:
  id: rattles
  name: Rattles
  leak: 0.3
  questions: [ask-the-weather, ask-tyres]
  source: estimate
  any:
    - {cause: box-arm-loose, strength: 0.5}
    - {cause: rod-end-play, strength: 0.3}
    - {cause: tyres-soft, strength: 0.6}
"""


@pytest.fixture(scope="module")
def library() -> Library:
    draft, problems = compiled({**SMALL, "more.yaml": MORE})
    assert not problems
    return draft.library


def test_influence_is_what_really_answering_moves(library: Library) -> None:
    """The most telling answer, worked out by answering each, half of what all suspects gain and lose."""
    belief = bare(library, "rattles")
    suspects = sorted(belief.car.suspects())
    moved = []
    for answer in ("yes", "no"):
        story = Story(belief.story.vehicle, (Heard("rattles"),), (Seen("ask-tyres/long-ago", None, answer),))
        after = Belief(belief.car, story).to_blame
        moved.append(float(np.abs(after[suspects] - belief.to_blame[suspects]).sum()) / 2.0)
    found = influence(belief, "ask-tyres/long-ago")
    assert found.points == pytest.approx(max(moved), rel=1e-9)
    assert found.cause == "tyres-soft-front"


def test_an_idle_question_is_listed_and_a_telling_one_is_not(library: Library) -> None:
    idle = weigh_all(library)
    assert [(complaint, check) for complaint, check, _ in idle.questions if complaint == "rattles"] == [
        ("rattles", "ask-the-weather")
    ]
    assert "ask-the-weather/rains" in {each.finding for each in idle.findings}
    assert all(found.points < MATERIAL for _, _, found in idle.questions)


def test_a_part_of_the_rare_car_is_weighed_on_a_car_that_has_it(library: Library) -> None:
    """One car of ten has the box: on any car the answer moves too little, on that one enough."""
    anywhere = influence(bare(library, "rattles"), "pull-the-box-arm/arm-gives").points
    there = influence(bare(library, "rattles", {"steering": "box"}), "pull-the-box-arm/arm-gives").points
    assert anywhere < MATERIAL < there
    found = {each.finding: each.points for each in influences(library)}
    assert found["pull-the-box-arm/arm-gives"] == pytest.approx(there)


def test_a_complaint_by_itself(library: Library) -> None:
    found = weigh(library, "rattles")
    chances = [round(p, 12) for _, p in found.suspects]
    assert chances == sorted(chances, reverse=True)
    assert set(dict(found.suspects)) == {
        "box-arm-loose",
        "rod-end-play-front-left",
        "rod-end-play-front-right",
        "tyres-soft-front",
        "tyres-soft-rear",
    }
    assert 0.0 < found.outside < 1.0
    assert [check for check, _ in found.questions] == ["ask-the-weather", "ask-tyres"]
