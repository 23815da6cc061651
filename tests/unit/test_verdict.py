"""Where the search stands: ranking, what to do next and why, what is unsafe, what to cure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.choice import decide as deciding
from diagnose.choice import verdict as judging
from diagnose.choice.cost import OVERHEAD, remedy_money
from diagnose.choice.decide import FAIR_PART, MOST_QUESTIONS
from diagnose.choice.lookahead import look_ahead
from diagnose.choice.orders import Action, Plan, choose_rule
from diagnose.choice.verdict import Verdict
from diagnose.library.shelf import load
from diagnose.model.complaint import Complaint, Gate, Leaf
from diagnose.model.library import Library
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Vehicle
from diagnose.trials.walk import Search, State, Step
from tests.small_cars import Look, Row, SmallCar, library_of
from tests.small_trees import SMALL, compiled, edited

LIBRARY, SHIPPED = compiled(SMALL)[0].library, load()
RACK = Vehicle(facts={"steering": "rack"}, km=100_000.0)
MOVES, PLAY, STIFF = (f"rock-the-steering/{f}" for f in ("end-moves", "rim-play", "how-stiff"))
TOLD = Story(RACK, (Heard("wander"),))
LOOSE = replace(
    TOLD,
    seen=(
        Seen(MOVES, "front-left", "yes"),
        Seen(MOVES, "front-right", "no"),
        Seen(PLAY, None, "past the inspection limit", 15.0),
    ),
)


def judge(
    story: Story = TOLD,
    set_up: str = "talk",
    workshop: Workshop | None = None,
    library: Library = LIBRARY,
    done: tuple[str, ...] = (),
    before: Story | None = None,
) -> Verdict:
    car = Car(library, story.vehicle, story.complaints)
    belief = Belief(car, before) if before else None
    return Verdict(car, story, workshop or Workshop(), set_up, belief, done)


# The ranking --------------------------------------------------------------------------------------------


def test_the_most_to_blame_comes_first() -> None:
    rows = judge(LOOSE).rows
    assert rows[0].id == "rod-end-play-front-left"
    blame = [round(row.to_blame, 12) for row in rows]
    assert blame == sorted(blame, reverse=True)
    first = rows[0]
    assert (first.fault, first.part, first.position) == ("rod-end-play", "rod-end", "front-left")
    assert first.name == "outer rod end: play in the socket"
    assert first.danger == "stop"


def test_moved_is_the_change_by_the_last_step() -> None:
    verdict = judge(LOOSE, before=TOLD)
    earlier = Belief(verdict.car, TOLD)
    for row in verdict.rows:
        assert row.moved == pytest.approx(row.probability - float(earlier.present[row.number]))
        assert row.blame_moved == pytest.approx(row.to_blame - float(earlier.to_blame[row.number]))


def test_the_first_step_has_moved_from_the_prior() -> None:
    for row in judge().rows:
        assert row.moved == pytest.approx(row.probability - row.prior)
        assert row.blame_moved == 0.0


def test_a_check_settles_a_cause_that_it_shows_surely_with_few_false_alarms() -> None:
    rows = {row.id: row for row in judge().rows}
    play = rows["rod-end-play-front-left"]
    assert (play.settles, play.settle_minutes) == ("rock-the-steering", 7.0)
    assert play.per_minute == pytest.approx(play.to_blame / 7.0)
    # How stiff it is shows a tight end in 80 of 100, yet 10 of 100 sound ones as well; the tyres' false
    # alarms are worse.
    assert rows["tyres-soft-front"].settles is None
    assert rows["tyres-soft-front"].per_minute == 0.0


def test_what_is_done_or_cannot_be_done_settles_nothing() -> None:
    for verdict in (
        judge(done=("rock-the-steering",)),
        judge(workshop=Workshop(cannot=frozenset({"helper"}))),
    ):
        assert all(row.settles is None or row.settles != "rock-the-steering" for row in verdict.rows)


def test_the_money_of_a_cure_is_in_the_rates_of_the_workshop() -> None:
    """0.7 h and 40 min of toe, and 35 for the part; parts keep their ratio to labour."""
    row = judge().rows[0]
    assert row.fault == "rod-end-play"
    assert row.cure_money == pytest.approx(100.0 * (0.7 + 40 / 60) + 35.0)
    dear = judge(workshop=Workshop("crowns", 200.0)).rows[0]
    assert dear.cure_money == pytest.approx(2.0 * row.cure_money)
    assert dear.per_money == pytest.approx(dear.to_blame / dear.cure_money)


@pytest.mark.parametrize(
    ("present", "to_blame", "explained"),
    [(0.5, 0.2, True), (0.49, 0.9, False), (0.9, 0.19, False), (0.6, 0.3, True)],
)
def test_what_was_found_explains_it_if_it_is_there_and_has_a_fair_share(
    present: float, to_blame: float, explained: bool
) -> None:
    """As likely there as not, and one share in five of the blame (estimates)."""
    verdict = judge()
    some = replace(verdict.rows[0], probability=present, to_blame=to_blame)
    verdict.__dict__["rows"] = (replace(some, probability=0.1, to_blame=0.1), some)
    assert verdict.explained is explained


# The next check -----------------------------------------------------------------------------------------


def test_a_question_that_does_not_pay_is_not_put_first() -> None:
    draft, problems = compiled(
        edited(("checks.yaml", "points-to: {tyres-soft: 0.6}", "points-to: {tyres-soft: 0.01}"))
    )
    assert not problems
    verdict = judge(library=draft.library)
    assert verdict.next is not None
    assert verdict.next.check == "rock-the-steering"


def test_away_from_the_driver_the_best_check_comes_first() -> None:
    verdict = judge(set_up="ground")
    assert verdict.next is not None
    assert verdict.next.check == "rock-the-steering"


def test_an_answered_question_is_not_put_again() -> None:
    story = replace(TOLD, seen=(Seen("ask-tyres/long-ago", None, "no"),))
    verdict = judge(story, done=("ask-tyres",))
    assert verdict.next is not None
    assert verdict.next.check == "rock-the-steering"


def without_questions() -> Library:
    wander = replace(LIBRARY.complaints["wander"], questions=())
    return replace(LIBRARY, complaints={**LIBRARY.complaints, "wander": wander})


def slow(minutes: float) -> Library:
    """The library with a rocking that takes so long, and no question."""
    rocking = replace(LIBRARY.checks["rock-the-steering"], minutes=minutes)
    return replace(without_questions(), checks={**LIBRARY.checks, "rock-the-steering": rocking})


def test_once_it_is_explained_a_check_must_pay() -> None:
    late = judge(LOOSE, library=slow(900.0), set_up="ground")
    assert late.explained
    assert late.proposals[0].saving <= 0.0
    assert late.next is None


# Why ----------------------------------------------------------------------------------------------------

DEMO = Vehicle()
#: Two faults alike, raising the noise nearly always, each with a cure of its own.
ALIKE = {"one": Row("cure-one", 0.1, 0.9), "two": Row("cure-two", 0.1, 0.9)}


def cures(*hours: float) -> dict[str, tuple[float, float]]:
    """Cures of these hours, without parts."""
    return {f"cure-{name}": (each, 0.0) for name, each in zip(("one", "two", "three"), hours, strict=False)}


def verdict_on(
    library: Library, set_up: str = "talk", seen: tuple[Seen, ...] = (), done: tuple[str, ...] = ()
) -> Verdict:
    return judge(Story(DEMO, (Heard("noise"),), seen), set_up, library=library, done=done)


def least(library: Library, *checks: str) -> float:
    """The least expected money if only these checks are at hand, by counting every search."""
    findings = {name: each for name, each in library.findings.items() if each.check in checks}
    few = {each: library.checks[each] for each in checks}
    return SmallCar(replace(library, checks=few, findings=findings)).least()


def test_what_pays_is_done() -> None:
    look = {"look": Look("ground", 3.0, 0.02, {"one": 0.9})}
    library = library_of(cures(4.0, 4.0), ALIKE, look, 0.01)
    made = verdict_on(library).decision
    assert made.because == "pays"
    assert made.check is not None
    assert made.check.saving > 0.0
    assert made.cure is None
    assert least(library, "look") < least(library) - 50.0


@pytest.mark.parametrize("set_up", ["talk", "ground"])
def test_the_driver_is_asked_while_he_is_there(set_up: str) -> None:
    """Though a look at the car would save more for its cost."""
    looks = {
        "ask": Look("talk", 1.0, 0.4, {"one": 0.5}),
        "look": Look("ground", 1.0, 0.01, {"one": 0.95}),
    }
    verdict = verdict_on(library_of(cures(4.0, 4.0), ALIKE, looks, 0.01), set_up)
    rates = {each.check: each.rate for each in verdict.proposals}
    assert 1.0 < rates["ask"] < rates["look"]
    assert (verdict.proposals[0].check, verdict.decision.because) == {
        "talk": ("ask", "asks"),
        "ground": ("look", "pays"),
    }[set_up]
    assert verdict.next is verdict.proposals[0]


def test_the_talk_stays_short() -> None:
    """After so many questions a look that saves more for its cost comes first."""
    asks = {f"ask-{n}": Look("talk", 1.0, 0.2, {"one": 0.7}) for n in range(MOST_QUESTIONS + 1)}
    looks = {**asks, "look": Look("ground", 1.0, 0.01, {"one": 0.95})}
    library = library_of(cures(4.0, 4.0), ALIKE, looks, 0.01)
    # Answers that say nothing leave the belief as it is.
    unsure = tuple(Seen(f"{each}/seen", None, "cannot-tell") for each in asks)
    for count in (MOST_QUESTIONS - 1, MOST_QUESTIONS):
        made = verdict_on(library, seen=unsure[:count], done=tuple(asks)[:count]).decision
        assert made.because == ("asks" if count < MOST_QUESTIONS else "pays")


def test_a_question_of_another_complaint_is_not_put() -> None:
    looks = {"ask": Look("talk", 1.0, 0.2, {"one": 0.7})}
    library = library_of(cures(4.0, 4.0), ALIKE, looks, 0.01)
    noise = replace(library.complaints["noise"], questions=())
    assert verdict_on(library).decision.because == "asks"
    assert verdict_on(replace(library, complaints={"noise": noise})).proposals == []


def test_what_would_spoil_the_others_comes_first() -> None:
    looks = {
        "pressures": Look("ground", 8.0, 0.2, {"one": 0.5}, first=True),
        "look": Look("ground", 1.0, 0.01, {"one": 0.95}),
    }
    verdict = verdict_on(library_of(cures(4.0, 4.0), ALIKE, looks, 0.01))
    first, other = verdict.proposals
    assert (first.check, verdict.decision.because) == ("pressures", "first")
    assert FAIR_PART <= first.rate < other.rate
    done = verdict_on(
        verdict.library, seen=(Seen("pressures/seen", None, "no"),), done=("pressures",), set_up="ground"
    )
    assert done.decision.because == "pays"


def test_what_spoils_the_others_waits_if_it_is_hardly_worth_anything() -> None:
    looks = {
        "pressures": Look("ground", 30.0, 0.3, {"one": 0.01}, first=True),
        "look": Look("ground", 1.0, 0.01, {"one": 0.95}),
    }
    assert verdict_on(library_of(cures(4.0, 4.0), ALIKE, looks, 0.01)).decision.because == "pays"


def test_two_checks_that_only_pay_together() -> None:
    """One shows that it is either of the two, the other which: alone each is worth less than it costs."""
    looks = {
        "either": Look("lift", 20.0, 0.02, {"one": 0.7, "two": 0.7}),
        "which": Look("lift", 20.0, 0.05, {"two": 0.7}),
    }
    rare = {"one": Row("cure-one", 0.05, 0.9), "two": Row("cure-two", 0.05, 0.9)}
    library = library_of(cures(3.4, 1.7), rare, looks, 0.03)
    assert least(library, "either") == least(library, "which") == least(library)
    assert least(library, "either", "which") < least(library) - 20.0
    verdict = verdict_on(library)
    made = verdict.decision
    assert all(each.saving < 0.0 for each in made.look.proposals)
    assert made.because == "with another"
    assert made.check is not None
    # Two checks, each outcome followed to its end: that is all there is, so it is exact.
    assert made.check.cost == pytest.approx(least(library, "either", "which"), rel=1e-3)
    assert made.check.saving > 20.0


#: Three faults alike behind one change of set-up, 14 minutes away.
SHARED = library_of(
    cures(0.9, 0.9, 0.9),
    {name: Row(f"cure-{name}", 0.03, 0.9) for name in ("one", "two", "three")},
    {f"at-{name}": Look("wheels-off", 3.0, 0.05, {name: 0.6}) for name in ("one", "two", "three")},
    0.06,
)


def test_a_set_up_that_only_pays_when_three_checks_share_it() -> None:
    at = tuple(SHARED.checks)
    assert least(SHARED, at[0]) == pytest.approx(least(SHARED))
    assert least(SHARED, at[0], at[1]) == pytest.approx(least(SHARED))
    assert least(SHARED, *at) < least(SHARED) - 20.0
    verdict = verdict_on(SHARED)
    made = verdict.decision
    assert made.because == "with another"
    assert made.check is not None
    assert made.check.cost == pytest.approx(least(SHARED, *at), rel=1e-3)
    assert verdict.visit is not None
    legs = verdict.visit.legs
    assert legs[0].check == made.check.check
    assert {leg.check for leg in legs} == set(at)
    assert [(leg.minutes, leg.change) for leg in legs] == [(17.0, 14.0), (3.0, 0.0), (3.0, 0.0)]


def test_a_check_of_a_visit_is_reached_if_none_before_it_showed_anything() -> None:
    visit = verdict_on(SHARED).visit
    assert visit is not None
    car = Car(SHARED, DEMO, {"noise": None})
    seen: list[Seen] = []
    before = Belief(car, Story(DEMO, (Heard("noise"),)))
    for leg in visit.legs:
        now = Belief(car, Story(DEMO, (Heard("noise"),), tuple(seen)))
        p = math.exp(float(now.answer.log_evidence[0] - before.answer.log_evidence[0]))
        assert leg.reached == pytest.approx(p)
        seen.append(Seen(f"{leg.check}/seen", None, "no"))


def dear(minutes: float) -> Library:
    """A check, two idle ones, and cures so dear that the job would be handed on."""
    idle = Look("ground", 60.0, 0.5, {"two": 0.01})
    looks = {"look": Look("ground", minutes, 0.1, {"one": 0.7}), "idle": idle, "idle-too": idle}
    rare = {"one": Row("cure-one", 0.02, 0.9), "two": Row("cure-two", 0.02, 0.9)}
    return library_of(cures(6.6, 6.6), rare, looks, 0.06)


@pytest.mark.parametrize(
    ("part", "proposed"), [(0.5, True), (1.05 * FAIR_PART, True), (0.95 * FAIR_PART, False)]
)
def test_before_a_job_is_handed_on_a_fair_part_of_the_cost_is_enough(part: float, proposed: bool) -> None:
    usual = verdict_on(dear(5.0)).decision.look.proposals[0]
    change, cost = usual.change, usual.minutes + OVERHEAD
    made = verdict_on(dear(usual.rate * cost / part - OVERHEAD - change)).decision
    look = made.look.proposals[0]
    assert look.check == "look"
    assert look.rate == pytest.approx(part)
    assert look.saving < 0.0
    assert made.look.course.order == ()
    assert (made.check is not None) == proposed
    assert made.because == ("unsolved" if proposed else "")
    assert made.cure is None


def test_a_check_alone_in_its_set_up_is_no_visit() -> None:
    """The two others there would take an hour each and show next to nothing."""
    verdict = verdict_on(dear(1.0))
    assert verdict.next is not None
    assert verdict.next.check == "look"
    assert [p.check for p in verdict.proposals[1:]] == ["idle", "idle-too"]
    assert verdict.visit is None


@pytest.mark.parametrize(("saving", "because"), [(-0.5, "unsolved"), (0.0, "unsolved"), (0.5, "pays")])
def test_what_saves_anything_pays(saving: float, because: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """By however little money: only what saves none is done for want of anything better."""
    verdict = verdict_on(dear(5.0))
    look = verdict.decision.look
    assert look.cure is None
    first, *rest = look.proposals
    some = replace(look, proposals=(replace(first, saving=saving, saving_minutes=saving), *rest))
    assert some.proposals[0].rate >= FAIR_PART
    monkeypatch.setattr(deciding, "look_ahead", lambda *_: some)
    monkeypatch.setattr(deciding, "best_together", lambda *_: deciding.Together())
    made = deciding.decide(verdict.belief, verdict.cures, verdict.workshop, "ground")
    assert made.check is not None
    assert (made.check.check, made.because) == ("look", because)


def test_curing_at_once_where_that_is_cheaper() -> None:
    """A cheap cure for what is nearly always behind it, and a check that takes an hour."""
    looks = {"look": Look("lift", 60.0, 0.05, {"one": 0.9})}
    faults = {"one": Row("cure-one", 0.4, 0.9), "two": Row("cure-two", 0.01, 0.9)}
    library = library_of(cures(0.3, 3.0), faults, looks, 0.01)
    verdict = verdict_on(library)
    made = verdict.decision
    assert (made.check, made.because) == (None, "")
    assert made.cure is not None
    assert verdict.cures.all[made.cure].remedy == "cure-one"
    assert least(library, "look") == pytest.approx(least(library))
    assert verdict.next is None
    assert verdict.conclusion.steps[0][0].remedy == "cure-one"


def test_a_cure_first_and_looking_only_if_that_fails() -> None:
    """The check pays, but hardly ever comes to be needed: the cheap cure goes before it."""
    looks = {"look": Look("ground", 5.0, 0.02, {"two": 0.9})}
    faults = {"one": Row("cure-one", 0.4, 0.9), "two": Row("cure-two", 0.1, 0.9)}
    library = library_of(cures(0.2, 6.0), faults, looks, 0.05)
    verdict = verdict_on(library)
    made = verdict.decision
    assert least(library, "look") < least(library) - 5.0
    assert made.check is None
    assert made.cure is not None
    assert verdict.cures.all[made.cure].remedy == "cure-one"
    assert made.look.cure_first < made.look.course.cost
    after = verdict.car.after(verdict.cures.all[made.cure].causes)
    then = Verdict(after, verdict.belief.story, Workshop(), "talk", cures=verdict.cures).decision
    assert then.check is not None
    assert then.check.check == "look"


def test_when_everything_is_done_it_is_time_to_decide() -> None:
    for verdict in (
        judge(workshop=Workshop(cannot=frozenset(LIBRARY.checks))),
        judge(done=tuple(LIBRARY.checks)),
    ):
        made = verdict.decision
        assert verdict.next is None
        assert verdict.proposals == []
        assert verdict.visit is None
        assert made.because == ""
        assert made.cure == made.look.course.order[0]
    # Where no cure pays either, the job is handed on.
    nothing = tuple(Seen(finding, None, "no") for finding in dear(5.0).findings)
    made = verdict_on(dear(5.0), seen=nothing, done=tuple(dear(5.0).checks)).decision
    assert (made.check, made.cure, made.because) == (None, None, "")


# Who stands first ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("chance", "close"), [(0.1, True), (0.08, True), (0.06, False), (0.02, False)])
def test_faults_that_might_as_well_stand_first_are_named(chance: float, close: bool) -> None:
    """Figures are good to a factor of 1.5: 0.08 may be as likely as 0.1, 0.06 is not."""
    faults = {
        "one": ALIKE["one"],
        "two": Row("cure-two", chance, 0.9),
        "three": Row("cure-three", 0.001, 0.9),
    }
    verdict = verdict_on(library_of(cures(1.0, 1.0, 1.0), faults, {}, 0.01))
    assert verdict.rows[0].fault == "one"
    assert [row.fault for row in verdict.close_call] == (["two"] if close else [])


def test_left_and_right_of_one_fault_are_no_close_call() -> None:
    loose = Complaint("wander", "wanders", Gate("any", 1, (Leaf("rod-end-play", 0.5),), leak=0.01))
    verdict = judge(library=replace(LIBRARY, complaints={"wander": loose}))
    first, second, *_ = verdict.rows
    assert first.fault == second.fault
    assert first.to_blame == pytest.approx(second.to_blame)
    assert verdict.close_call == ()


def test_who_stands_first_is_no_matter_where_nobody_is_suspected() -> None:
    faults = {"one": Row("cure-one", 0.002, 0.9), "two": Row("cure-two", 0.002, 0.9)}
    verdict = verdict_on(library_of(cures(1.0, 1.0), faults, {}, 0.5))
    assert verdict.rows[0].to_blame < 0.05
    assert verdict.close_call == ()


# Not fit to drive ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answer", "told"),
    [("yes", True), ("probably", True), ("cannot-tell", False), ("probably-not", False), ("no", False)],
)
def test_a_finding_that_makes_the_car_unfit(answer: str, told: bool) -> None:
    verdict = judge(replace(TOLD, seen=(Seen(MOVES, "front-left", answer),)))
    assert ("The joint is about to part." in verdict.unfit) == told


def test_a_graded_finding_that_makes_the_car_unfit() -> None:
    files = edited(("checks.yaml", "        none: easy\n", "        none: easy\n        unfit: It binds.\n"))
    draft, problems = compiled(files)
    assert not problems
    for answer, told in (("stiff", True), ("very stiff", True), ("easy", False), ("no", False)):
        verdict = judge(replace(TOLD, seen=(Seen(STIFF, None, answer),)), library=draft.library)
        assert ("It binds." in verdict.unfit) == told


def test_a_dangerous_fault_interrupts_once_it_is_more_likely_than_not() -> None:
    reason = "outer rod end: play in the socket (front left): do not drive when the stud can be pulled out."
    verdict = judge(LOOSE)
    assert verdict.rows[0].probability > 0.5
    assert reason in verdict.unfit
    mild = judge()
    assert all(row.probability < 0.5 for row in mild.rows if row.danger == "stop")
    assert mild.unfit == ()


# What does not fit together -----------------------------------------------------------------------------


def test_answers_that_do_not_fit_name_the_one_to_look_at_again() -> None:
    seen = (
        Seen(MOVES, "front-left", "yes"),
        Seen(MOVES, "front-right", "yes"),
        Seen(PLAY, None, "inside all limits", 2.0),
    )
    draft, problems = compiled(
        edited(("checks.yaml", "rod-end-play: [0.5, 0.25]", "rod-end-play: [0.5, 0.49]"))
    )
    assert not problems
    verdict = judge(replace(TOLD, seen=seen), library=draft.library)
    assert verdict.conflict is not None
    assert verdict.belief.observations[verdict.conflict.suspect][0] == PLAY
    assert judge(LOOSE).conflict is None


# The conclusion -----------------------------------------------------------------------------------------


def test_a_conclusion_is_the_cures_that_are_cheaper_to_do_than_to_leave() -> None:
    verdict = judge(LOOSE)
    conclusion = verdict.conclusion
    cure, remedy, there, blame, alone = conclusion.steps[0]
    assert (remedy.id, cure.place) == ("renew-rod-end", "front-left")
    play, tight = (verdict.car.network.index[f"rod-end-{f}-front-left"] for f in ("play", "tight"))
    assert set(cure.causes) == {play, tight}
    present, to_blame = verdict.belief.present, verdict.belief.to_blame
    assert there == pytest.approx(1.0 - (1.0 - present[play]) * (1.0 - present[tight]))
    assert blame == pytest.approx(1.0 - (1.0 - to_blame[play]) * (1.0 - to_blame[tight]))
    assert alone == pytest.approx(verdict.belief.cured([play, tight]))
    causes = [n for step in conclusion.steps for n in step[0].causes]
    assert conclusion.chance == pytest.approx(verdict.belief.cured(causes))
    assert conclusion.chance >= alone - 1e-12
    assert conclusion.outside == pytest.approx(verdict.belief.outside)
    assert not {row.number for row in conclusion.behind} & set(causes)


def test_what_must_follow_is_paid_once() -> None:
    both = replace(LOOSE, seen=(Seen(MOVES, "front-left"), Seen(MOVES, "front-right"), *LOOSE.seen[2:]))
    conclusion = judge(both).conclusion
    places = {step[0].place for step in conclusion.steps if step[1].id == "renew-rod-end"}
    assert places == {"front-left", "front-right"}
    assert [each.id for each in conclusion.follow_ups] == ["toe"]
    others = [step[1] for step in conclusion.steps if step[1].id != "renew-rod-end"]
    assert conclusion.minutes == pytest.approx(2 * 42 + 40 + sum(r.hours * 60 for r in others))
    expected = 100.0 * conclusion.minutes / 60 + 2 * 35 + sum(r.parts for r in others)
    assert conclusion.money == pytest.approx(expected)


ALIGNMENT = (
    "tables.yaml",
    "minutes: 40, parts: 0, source: common-practice}\n",
    "minutes: 40, parts: 0, source: common-practice}\n"
    "  - {id: alignment, name: set all, minutes: 60, parts: 9, covers: toe, source: estimate}\n",
)


def test_what_other_work_covers_is_not_paid_beside_it() -> None:
    # Demo: the rod ends oblige to the toe (40 min), the tyres to all angles (60 min), which include it.
    edits = ALIGNMENT, ("parts.yaml", "hours: 0.1, parts: 0,", "hours: 0.1, parts: 0, follow-ups: alignment,")
    library = compiled(edited(*edits))[0].library
    both = replace(
        TOLD,
        seen=(
            Seen(MOVES, "front-left", "yes"),
            Seen(MOVES, "front-right", "no"),
            Seen("ask-tyres/long-ago", None, "yes"),
        ),
    )
    conclusion = judge(both, library=library).conclusion
    assert {step[1].id for step in conclusion.steps} == {"renew-rod-end", "pump-up"}
    assert [each.id for each in conclusion.follow_ups] == ["alignment"]
    ends = sum(step[1].id == "renew-rod-end" for step in conclusion.steps)
    assert conclusion.minutes == pytest.approx(ends * 42 + 6 + 60)
    assert conclusion.money == pytest.approx(100.0 * conclusion.minutes / 60 + ends * 35 + 9)


def test_a_remedy_does_not_pay_what_its_own_work_covers() -> None:
    edits = ALIGNMENT, ("parts.yaml", "follow-ups: toe", "follow-ups: [toe, alignment]")
    library = compiled(edited(*edits))[0].library
    money = remedy_money(library, library.remedies["renew-rod-end"], Workshop())
    assert money == pytest.approx(100.0 * (42 + 60) / 60 + 35 + 9)


def steps(verdict: Verdict) -> list[str]:
    return [cure.remedy for cure, *_ in verdict.conclusion.steps]


def test_one_fault_is_cured_in_the_order_of_likelihood_over_cost() -> None:
    faults = {name: Row(f"cure-{name}", chance, 0.9) for name, chance in (("one", 0.012), ("two", 0.01))}
    verdict = verdict_on(library_of(cures(3.0, 0.5), faults, {}, 0.001))
    assert verdict.conclusion.rule == "likelihood over cost: one fault"
    assert steps(verdict) == ["cure-two", "cure-one"]
    alike = verdict_on(library_of(cures(0.5, 0.5), faults, {}, 0.001))
    assert steps(alike) == ["cure-one", "cure-two"]


def test_several_faults_are_cured_in_the_order_of_odds_over_cost() -> None:
    """Likelihood over cost would begin with the other one; whoever counts both orders finds this cheaper."""
    faults = {"one": Row("cure-one", 0.6, 0.999), "two": Row("cure-two", 0.85, 0.999)}
    verdict = verdict_on(library_of(cures(0.9, 1.65), faults, {}, 0.001))
    assert verdict.conclusion.rule == "odds over cost: several faults at once"
    assert 0.6 / (90.0 + 50.0) > 0.85 / (165.0 + 50.0)
    assert steps(verdict) == ["cure-two", "cure-one"]
    ways = {order: SmallCar(verdict.library).expected(in_turn(order)) for order in ((0, 1), (1, 0))}
    assert ways[1, 0] < ways[0, 1]


def in_turn(order: tuple[int, ...]) -> Search:
    """These cures one after the other, and then handing on."""

    def search(state: State) -> Step:
        left = [n for n in order if not set(state.cures.all[n].causes) <= state.car.cured]
        return Step(cure=left[0]) if left else Step()

    return search


def test_there_is_always_something_to_do_first() -> None:
    """Even where nothing is worth curing, the one most to blame is named."""
    quiet = Story(replace(RACK, km=20_000.0), (Heard("wander", None, "probably-not"),))
    verdict = judge(quiet)
    conclusion = verdict.conclusion
    assert len(conclusion.steps) == 1
    assert verdict.rows[0].number in conclusion.steps[0][0].causes


def test_a_pair_is_one_unit_and_a_car_is_another() -> None:
    draft, problems = compiled(edited(("parts.yaml", "    per: each\n", "    per: pair\n")))
    assert not problems
    conclusion = judge(LOOSE, library=draft.library).conclusion
    assert conclusion.steps[0][0].place == "front"
    assert len(conclusion.steps[0][0].causes) == 4
    money = remedy_money(draft.library, draft.library.remedies["renew-rod-end"], Workshop())
    assert conclusion.steps[0][0].money == pytest.approx(money)
    soft = replace(LOOSE, seen=(Seen("ask-tyres/long-ago"),))
    places = {cure.place for cure in judge(soft).cures.all if cure.remedy == "pump-up"}
    assert places == {"car"}


def test_the_rule_is_chosen_by_how_many_faults_may_act(monkeypatch: pytest.MonkeyPatch) -> None:
    """P(two or more act | one does), counted over all that may act, what is outside the trees included."""
    verdict = judge(LOOSE)
    prospects = verdict.prospects
    acting = float(prospects.acting[0])
    chances = [*(float(each) * acting for each in prospects.blame[0]), float(prospects.outside[0]) * acting]
    none = math.prod(1.0 - p for p in chances)
    one = sum(p / (1.0 - p) for p in chances) * none
    told = []

    def choosing(actions: Sequence[Action], *, two_or_more: float) -> Plan:
        told.append(two_or_more)
        return choose_rule(actions, two_or_more=two_or_more)

    monkeypatch.setattr(judging, "choose_rule", choosing)
    assert verdict.conclusion.steps
    assert told == [pytest.approx((1.0 - none - one) / (1.0 - none), rel=1e-9)]


def test_the_money_put_on_danger_is_the_cheaper_of_two() -> None:
    """Put right unseen a part that is sound in one of ten is wasted; left, two hours at 100, at its blame."""
    verdict = judge()
    cures, car = verdict.cures, verdict.car
    number = car.network.index["rod-end-play-front-left"]
    money = 100.0 * (0.7 + 40 / 60) + 35.0
    for present, blame, expected in ((0.9, 0.8, 0.1 * money), (0.1, 0.05, 0.05 * 200.0), (0.9, 0.0, 0.0)):
        there, blamed = np.zeros((1, len(car.causes))), np.zeros((1, len(car.causes)))
        there[0, number], blamed[0, number] = present, blame
        assert float(cures.danger(there, blamed)[0]) == pytest.approx(expected)


@pytest.mark.slow
def test_a_check_that_was_not_looked_at_is_told_what_it_is_worth_all_the_same() -> None:
    """As a look ahead at every check has it, against the same other courses as the proposals."""
    facts = {fact.id: fact.values[0].id for fact in SHIPPED.facts.values()}
    vehicle = Vehicle(facts=facts, km=190_000.0, years=12)
    done = ("set-tyre-pressures",)
    verdict = judge(Story(vehicle, (Heard("vague-steering"),)), "ground", library=SHIPPED, done=done)
    every = look_ahead(verdict.belief, verdict.cures, Workshop(), "ground", done, most=1000).proposals
    looked_at = {each.check for each in verdict.proposals}
    others = [each for each in every if each.check not in looked_at]
    assert len(looked_at) < len(every)
    for each in (others[0], others[-1]):
        found = verdict.proposal(each.check)
        assert found is not None
        assert (found.cost, found.told) == pytest.approx((each.cost, each.told))
        assert found.saving == pytest.approx(verdict.decision.look.now - found.cost)
        assert [o.name for o in found.outcomes] == [o.name for o in each.outcomes]
    assert verdict.proposal(verdict.proposals[0].check) is verdict.proposals[0]
    assert verdict.proposal(done[0]) is None
