"""One and two steps ahead: outcomes are what really answering makes of them, and set-ups are counted."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice import together
from diagnose.choice.cost import OVERHEAD, Cures
from diagnose.choice.lookahead import Look, Proposal, look_ahead
from diagnose.choice.outcomes import Outcome, Spot, answers_of, look_at, look_at_together, open_spots
from diagnose.choice.together import best_together
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Vehicle
from tests.shipped import LIBRARY as SHIPPED
from tests.small_trees import SMALL, compiled

#: Two checks with the wheels off, 11 minutes away (by way of the lift), and one that can tell nothing.
MORE = """\
checks:
  - id: lever-the-ends
    name: lever the rod ends
    set-up: wheels-off
    minutes: 4
    how: Lever each end.
    source: estimate
    findings:
      - id: end-gives
        name: the end gives
        where: each-front-corner
        points-to: {rod-end-play: 0.9}
        false-alarm: 0.02
  - id: turn-the-ends
    name: turn the rod ends by hand
    set-up: wheels-off
    minutes: 3
    how: Turn each end.
    source: estimate
    findings:
      - id: end-is-stiff
        name: the end is stiff
        where: each-front-corner
        points-to: {rod-end-tight: 0.9}
        false-alarm: 0.05
  - id: weigh-the-wheels
    name: weigh the wheels
    set-up: lift
    minutes: 2
    how: Weigh each.
    source: estimate
    findings:
      - id: light
        name: a light wheel
        points-to: {tyres-soft: 0.00001}
        false-alarm: 0.5
"""

DRAFT, PROBLEMS = compiled({**SMALL, "more.yaml": MORE})
assert not PROBLEMS
LIBRARY: Library = DRAFT.library
VEHICLE = Vehicle(facts={"steering": "rack"}, km=250_000.0)
STORY = Story(VEHICLE, (Heard("wander"),), (Seen("ask-tyres/long-ago", None, "probably"),))
CAR = Car(LIBRARY, VEHICLE, STORY.complaints)
BELIEF = Belief(CAR, STORY)
#: Numbers of all its causes.
EVERY = np.arange(len(BELIEF.causes))


def ahead(
    set_up: str = "talk",
    workshop: Workshop | None = None,
    done: Collection[str] = (),
    only: Collection[str] | None = None,
    belief: Belief = BELIEF,
) -> Look:
    shop = workshop or Workshop()
    return look_ahead(belief, Cures(belief.car, shop), shop, set_up, done, only)


def look(
    set_up: str = "talk",
    workshop: Workshop | None = None,
    done: Collection[str] = (),
    only: Collection[str] | None = None,
) -> dict[str, Proposal]:
    return {each.check: each for each in ahead(set_up, workshop, done, only).proposals}


def believed(*seen: Seen) -> Belief:
    return Belief(CAR, Story(VEHICLE, STORY.heard, (*STORY.seen, *seen)))


def chance(after: Belief) -> float:
    """P(the answers that it has beside those of the story)."""
    return math.exp(float(after.answer.log_evidence[0] - BELIEF.answer.log_evidence[0]))


def answered(check: str, spot: Spot | None, level: int) -> list[Seen]:
    """The answers of a check that show just this outcome."""
    seen = []
    for each in open_spots(BELIEF, LIBRARY.checks[check]):
        finding = LIBRARY.findings[each.finding]
        answer = "no"
        if each == spot:
            answer = "yes" if finding.levels == ("yes",) else finding.levels[level - 1]
        seen.append(Seen(each.finding, each.position, answer))
    return seen


def test_every_check_is_looked_at() -> None:
    assert set(look()) == {"rock-the-steering", "lever-the-ends", "turn-the-ends", "weigh-the-wheels"}


@pytest.mark.parametrize("check", sorted(look()))
def test_the_outcomes_of_a_check_are_all_there_is(check: str) -> None:
    outcomes = look()[check].outcomes
    assert sum(outcome.probability for outcome in outcomes) == pytest.approx(1.0, abs=1e-9)
    assert all(0.0 < outcome.probability <= 1.0 for outcome in outcomes)
    mean = sum(outcome.probability * outcome.present for outcome in outcomes)
    assert np.allclose(mean, BELIEF.present, atol=1e-9)


EXACT = [
    pytest.param(check, outcome, id=f"{check}: {outcome.name}, {outcome.spot and outcome.spot.position}")
    for check, proposal in sorted(look().items())
    for outcome in proposal.outcomes
    if outcome.level >= 0 and not (outcome.spot and LIBRARY.findings[outcome.spot.finding].repeats)
]


@pytest.mark.parametrize(("check", "outcome"), EXACT)
def test_an_outcome_is_what_answering_so_would_make_of_it(check: str, outcome: Outcome) -> None:
    after = believed(*answered(check, outcome.spot, outcome.level))
    # Only the one that a technician cannot tell apart is coarser: a repeat answered "no" is unsure.
    assert outcome.probability == pytest.approx(chance(after), rel=1e-9)
    assert list(outcome.present) == pytest.approx(list(after.present), abs=1e-9)


@pytest.mark.parametrize(("check", "outcome"), EXACT)
def test_its_answers_can_be_given(check: str, outcome: Outcome) -> None:
    spots = open_spots(BELIEF, LIBRARY.checks[check])
    assert answers_of(BELIEF, spots, outcome) == answered(check, outcome.spot, outcome.level)


@pytest.mark.parametrize("check", sorted(look()))
def test_a_table_holds_all_that_answering_would_make_of_it(check: str) -> None:
    (table,) = look_at(BELIEF, [(LIBRARY.checks[check], open_spots(BELIEF, LIBRARY.checks[check]))], EVERY)
    for row, outcome in enumerate(table.outcomes(EVERY, len(EVERY))):
        if outcome.level >= 0 and not (outcome.spot and LIBRARY.findings[outcome.spot.finding].repeats):
            after = believed(*answered(check, outcome.spot, outcome.level))
            assert list(table.blame[row]) == pytest.approx(list(after.to_blame), abs=1e-9)
            assert table.outside[row] == pytest.approx(after.outside, abs=1e-9)
            assert table.there[row] == pytest.approx(after.there, abs=1e-9)


def test_both_or_more_of_them_is_one_outcome() -> None:
    several = [o for o in look()["lever-the-ends"].outcomes if o.level < 0]
    assert [o.name for o in several] == ["several of these"]
    both = believed(*(Seen("lever-the-ends/end-gives", place) for place in ("front-left", "front-right")))
    assert several[0].probability == pytest.approx(chance(both), rel=1e-6)
    with pytest.raises(ValueError, match="not one answer each"):
        answers_of(BELIEF, open_spots(BELIEF, LIBRARY.checks["lever-the-ends"]), several[0])


# Several checks together --------------------------------------------------------------------------------

SETS = [("lever-the-ends", "turn-the-ends"), ("rock-the-steering", "turn-the-ends", "lever-the-ends")]


@pytest.mark.slow
@pytest.mark.parametrize("names", SETS)
def test_checks_together_are_what_answering_all_would_make_of_them(names: tuple[str, ...]) -> None:
    spots = [open_spots(BELIEF, LIBRARY.checks[name]) for name in names]
    alone = look_at(
        BELIEF,
        [(LIBRARY.checks[name], open_ones) for name, open_ones in zip(names, spots, strict=True)],
        EVERY,
    )
    outcomes = [table.outcomes(EVERY, len(EVERY)) for table in alone]
    joint = look_at_together(BELIEF, spots, EVERY)
    # Every outcome can come here, so that they stand in their order; the last of each is "not done".
    assert joint.cells.shape == tuple(len(each) + 1 for each in outcomes)
    whole = joint.rows.present[joint.cells[(-1,) * len(names)]]
    assert list(whole) == pytest.approx(list(BELIEF.present), abs=1e-9)
    for axis in range(len(names)):
        done = joint.p.take(range(joint.p.shape[axis] - 1), axis).sum(axis=axis)
        assert done == pytest.approx(joint.p.take(-1, axis), abs=1e-9)
    compared = 0
    for cell in np.ndindex(joint.cells.shape):
        shown = [
            (name, outcomes[axis][at])
            for axis, (name, at) in enumerate(zip(names, cell, strict=True))
            if at < len(outcomes[axis])
        ]
        if not all(_plain(outcome) for _, outcome in shown):
            continue
        row = joint.cells[cell]
        if row < 0:
            continue
        after = believed(*(each for name, o in shown for each in answered(name, o.spot, o.level)))
        compared += 1
        assert joint.rows.p[row] == pytest.approx(chance(after), rel=1e-8)
        assert list(joint.rows.present[row]) == pytest.approx(list(after.present), abs=1e-8)
        assert list(joint.rows.blame[row]) == pytest.approx(list(after.to_blame), abs=1e-8)
        assert joint.rows.outside[row] == pytest.approx(after.outside, abs=1e-8)
        assert joint.rows.there[row] == pytest.approx(after.there, abs=1e-8)
    assert compared >= 15


def test_a_policy_of_several_is_never_dearer_than_its_first_check_alone() -> None:
    """And where no check pays alone, what several save together is more than any of them does."""
    cures = Cures(BELIEF.car, Workshop())
    look = look_ahead(BELIEF, cures, Workshop(), "talk")
    found = best_together(BELIEF, cures, Workshop(), "talk", look)
    if found.check is not None:
        alone = next(each for each in look.proposals if each.check == found.check.check)
        assert found.check.cost <= alone.cost + 1e-9
    assert found.saving >= max(0.0, *(each.saving for each in look.proposals)) - 1e-9 or found.saving == 0.0


def test_several_at_no_cost_are_worth_as_much_as_any_one() -> None:
    """With checks that take nearly no time, no policy costs more than its first check alone."""
    free = replace(Workshop(), labour_rate=1e-6)
    cures = Cures(BELIEF.car, replace(Workshop(), labour_rate=100.0))
    look = look_ahead(BELIEF, cures, free, "talk")
    found = best_together(BELIEF, cures, free, "talk", look)
    assert found.check is not None
    others = [each for each in look.proposals if each.check != found.check.check]
    assert all(found.check.cost <= each.cost + 1e-6 for each in others)


@pytest.mark.parametrize("complaint", ["clunk-when-steering", "heavier-one-way", "leans-to-one-side"])
def test_where_it_hardly_matters_which_begins_the_one_that_saves_most_for_its_cost_does(
    complaint: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    facts = {fact.id: fact.values[0].id for fact in SHIPPED.facts.values()}
    vehicle = Vehicle(facts=facts, km=190_000.0, years=12)
    side = "left" if SHIPPED.complaints[complaint].sided else None
    belief = Belief(Car(SHIPPED, vehicle, {complaint: side}), Story(vehicle, (Heard(complaint, side),)))
    cures = Cures(belief.car, Workshop())
    look = look_ahead(belief, cures, Workshop(), "ground")
    rates = {each.check: each.rate for each in look.proposals}

    def begins(alike: float) -> Proposal:
        monkeypatch.setattr(together, "ALIKE", alike)
        found = best_together(belief, cures, Workshop(), "ground", look).check
        assert found is not None
        return found

    part = together.ALIKE
    usual, cheapest = begins(part), begins(0.0)
    assert rates[usual.check] > rates[cheapest.check]
    assert usual.saving_minutes == pytest.approx(Workshop().minutes(look.now - usual.cost))
    assert (1.0 - part) * cheapest.saving <= usual.saving < cheapest.saving


def _plain(outcome: Outcome) -> bool:
    """True if it is what certain answers say: neither "several" nor an event felt once more."""
    again = outcome.spot is not None and LIBRARY.findings[outcome.spot.finding].repeats
    return outcome.level >= 0 and not again


# Minutes ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("set_up", "check", "change", "minutes"),
    [
        ("talk", "rock-the-steering", 2.0, 7.0),
        ("ground", "rock-the-steering", 0.0, 5.0),
        ("talk", "lever-the-ends", 11.0, 15.0),  # by way of the lift: 6 and 5, not 12
        ("wheels-off", "lever-the-ends", 0.0, 4.0),
        ("lift", "lever-the-ends", 5.0, 9.0),
        ("wheels-off", "weigh-the-wheels", 5.0, 7.0),
    ],
)
def test_a_change_of_set_up_counts(set_up: str, check: str, change: float, minutes: float) -> None:
    proposal = look(set_up)[check]
    assert (proposal.change, proposal.minutes) == (change, minutes)


def test_being_there_already_saves_the_change() -> None:
    there, away = look("wheels-off", only=["lever-the-ends"]), look("talk", only=["lever-the-ends"])
    difference = there["lever-the-ends"].saving_minutes - away["lever-the-ends"].saving_minutes
    assert difference == pytest.approx(11.0)


# What is left out, and what is worth nothing ------------------------------------------------------------


@pytest.mark.parametrize(
    ("cannot", "left"),
    [
        ("rock-the-steering", {"lever-the-ends", "turn-the-ends", "weigh-the-wheels"}),
        ("helper", {"lever-the-ends", "turn-the-ends", "weigh-the-wheels"}),
        ("wheels-off", {"rock-the-steering", "weigh-the-wheels"}),
        ("lift", {"rock-the-steering", "lever-the-ends", "turn-the-ends"}),
    ],
)
def test_what_the_workshop_cannot_do_is_left_out(cannot: str, left: set[str]) -> None:
    assert set(look(workshop=Workshop(cannot=frozenset({cannot})))) == left


def test_what_is_done_is_left_out() -> None:
    assert set(look(done=["lever-the-ends", "weigh-the-wheels"])) == {"rock-the-steering", "turn-the-ends"}


def test_only_narrows() -> None:
    assert set(look(only=["turn-the-ends", "ask-tyres"])) == {"turn-the-ends"}
    assert look(only=[]) == {}


def test_a_check_that_this_car_does_not_allow_is_left_out() -> None:
    vehicle = Vehicle(facts={"steering": "box"})
    story = Story(vehicle, (Heard("wander"),))
    car = Car(LIBRARY, vehicle, story.complaints)
    proposals = ahead(belief=Belief(car, story)).proposals
    # No rocking with a box, and no tight rod ends that could be turned.
    assert {p.check for p in proposals} == {"ask-tyres", "lever-the-ends", "weigh-the-wheels"}


def test_a_check_that_cannot_change_anything_never_saves() -> None:
    for set_up in ("talk", "lift", "wheels-off"):
        (proposal,) = ahead(set_up, only=["weigh-the-wheels"]).proposals
        cost = proposal.minutes + OVERHEAD
        assert proposal.saving_minutes == pytest.approx(-cost, abs=0.01)
        assert proposal.saving == pytest.approx(-Workshop().labour(cost), abs=0.02)
        assert proposal.told == pytest.approx(0.0, abs=0.01)
        assert proposal.rate < 0.01


@pytest.mark.parametrize(("check", "outcome"), EXACT)
def test_after_an_outcome_it_costs_what_the_belief_then_says(check: str, outcome: Outcome) -> None:
    """What follows is the best course of cures from there, and no more looking."""
    proposal = look()[check]
    number = [(o.spot, o.level) for o in proposal.outcomes].index((outcome.spot, outcome.level))
    after = believed(*answered(check, outcome.spot, outcome.level))
    assert proposal.after[number] == pytest.approx(ahead(only=[], belief=after).course.cost, rel=1e-4)


@pytest.mark.parametrize("check", sorted(look()))
def test_a_check_costs_its_minutes_and_what_follows(check: str) -> None:
    found = ahead()
    (proposal,) = [each for each in found.proposals if each.check == check]
    follows = sum(o.probability * after for o, after in zip(proposal.outcomes, proposal.after, strict=True))
    assert proposal.cost == pytest.approx(100.0 * (proposal.minutes + OVERHEAD) / 60.0 + follows)
    assert proposal.saving == pytest.approx(found.now - proposal.cost)
    assert proposal.saving_minutes == pytest.approx(60.0 * proposal.saving / 100.0)


def test_more_is_told_by_what_shows_more() -> None:
    """The same check, half as sharp, tells less; and no check tells less than nothing."""
    blunt = MORE.replace("{rod-end-play: 0.9}", "{rod-end-play: 0.45}")
    draft, problems = compiled({**SMALL, "more.yaml": blunt})
    assert not problems
    car = Car(draft.library, VEHICLE, STORY.complaints)
    (less,) = ahead(only=["lever-the-ends"], belief=Belief(car, STORY)).proposals
    (more,) = ahead(only=["lever-the-ends"]).proposals
    assert 0.0 < less.told < more.told
    assert all(each.told >= -1e-9 for each in ahead().proposals)


def test_what_pays_comes_first_and_then_by_what_it_saves_for_its_cost() -> None:
    for set_up in ("talk", "ground", "lift", "wheels-off"):
        rates = [each.rate for each in ahead(set_up).proposals]
        assert [round(rate, 9) for rate in rates] == sorted((round(rate, 9) for rate in rates), reverse=True)
    assert ahead("wheels-off").proposals[0].check == "lever-the-ends"  # the car stands there


def test_the_rate_is_what_is_saved_before_cost_over_the_cost() -> None:
    for proposal in look().values():
        cost = proposal.minutes + OVERHEAD
        assert proposal.merit == pytest.approx(proposal.saving_minutes + proposal.told)
        assert proposal.rate == pytest.approx((proposal.merit + cost) / cost)


# A cure first -------------------------------------------------------------------------------------------


def test_a_cure_first_costs_its_sound_part_a_drive_and_what_follows_if_it_fails() -> None:
    """With nothing to look at it is the course of cures; looking after it can only be had for less."""
    surely = believed(*(Seen("lever-the-ends/end-gives", place) for place in ("front-left", "front-right")))
    found = ahead(belief=surely, done=["lever-the-ends"])
    assert found.first is not None
    cures = Cures(CAR, Workshop())
    cure = cures.all[found.first]
    assert set(cure.causes) & set(surely.order()[:2])
    sound = math.prod(1.0 - float(surely.present[n]) for n in cure.causes)
    failed = 1.0 - surely.cured(cure.causes)
    least = cure.money * sound + 100.0 * 0.5
    assert least < found.cure_first < least + 1000.0 * failed + 200.0


def test_without_a_check_the_course_is_all_there_is() -> None:
    found = ahead(only=[])
    assert found.proposals == ()
    assert found.first is None
    assert found.now == found.course.cost
    assert found.cure == (found.course.order[0] if found.course.order else None)


# Money and minutes --------------------------------------------------------------------------------------


def test_savings_grow_with_the_rate_of_labour_minutes_do_not() -> None:
    cheap, dear = Workshop(labour_rate=50.0), Workshop(labour_rate=150.0)
    low, high = look(workshop=cheap), look(workshop=dear)
    for check in low:
        assert high[check].saving == pytest.approx(3.0 * low[check].saving)
        assert high[check].saving_minutes == pytest.approx(low[check].saving_minutes)


def test_spots_already_answered_are_not_asked_again() -> None:
    seen = (*STORY.seen, Seen("lever-the-ends/end-gives", "front-left", "no"))
    belief = Belief(CAR, Story(VEHICLE, STORY.heard, seen))
    assert open_spots(belief, LIBRARY.checks["lever-the-ends"]) == [
        Spot("lever-the-ends/end-gives", "front-right")
    ]
    assert open_spots(belief, LIBRARY.checks["ask-tyres"]) == []


def test_a_repeat_of_a_complaint_not_heard_is_not_asked() -> None:
    story = Story(VEHICLE, (Heard("pull", "left"),))
    belief = Belief(Car(LIBRARY, VEHICLE, story.complaints), story)
    asked = {spot.finding for spot in open_spots(belief, LIBRARY.checks["rock-the-steering"])}
    assert "rock-the-steering/wander-felt" not in asked
    assert "rock-the-steering/wander-felt" in {
        spot.finding for spot in open_spots(BELIEF, LIBRARY.checks["rock-the-steering"])
    }
