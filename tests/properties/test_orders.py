"""Orders, strategies and the worth of knowing, against every order, every state and plainer reckoning."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.choice.orders import (
    BLOCKS,
    FROM_TWO,
    GREEDY,
    HANDED_OVER,
    IN_FULL,
    LIKELIHOOD,
    MOST_SEARCHED,
    ODDS,
    SHARED,
    Action,
    Part,
    by_blocks,
    by_greed,
    by_odds,
    by_ratio,
    choose_rule,
    exhaustive,
    expected_cost,
    k_of_n,
    next_parts,
    opened,
    series,
    two_or_more,
    until_rejected,
)
from diagnose.choice.strategy import (
    HAND_OVER,
    MOST_STATES,
    SOMETHING_ELSE,
    STILL_THERE,
    Problem,
    Question,
    Repair,
    Strategy,
    ask_first,
    one_step,
    optimal,
    without_questions,
)
from diagnose.choice.value import (
    best_action,
    best_actions,
    bits,
    bits_after,
    evpi,
    evsi,
    net_value,
    outcomes,
    tells,
    with_test,
    without_information,
)

NEAR = 1e-9

# Whole numbers make ties, which are where rules go wrong.
percent = st.integers(0, 100).map(lambda n: n / 100)
cost = st.integers(1, 40).map(float)


def shares(least: int, most: int) -> st.SearchStrategy[list[float]]:
    """Probabilities with sum 1, some of them 0."""
    weights = st.lists(st.integers(0, 12), min_size=least, max_size=most).filter(any)
    return weights.map(lambda each: [n / sum(each) for n in each])


@st.composite
def one_fault(draw: st.DrawFn) -> list[Action]:
    """Up to five actions for a fault each; the last share is something else's."""
    return [Action(f"a{n}", p, draw(cost)) for n, p in enumerate(draw(shares(2, 6))[:-1])]


@st.composite
def several_faults(draw: st.DrawFn) -> list[Action]:
    chances = draw(st.lists(percent, min_size=1, max_size=5).filter(any))
    return [Action(f"a{n}", p, draw(cost)) for n, p in enumerate(chances)]


@st.composite
def with_set_ups(draw: st.DrawFn, actions: st.SearchStrategy[list[Action]]) -> list[Action]:
    """The actions, each behind one of those before it or none; then in any order."""
    plain = draw(actions)
    names = ["", *(each.name for each in plain)]
    deep = [replace(each, set_up=draw(st.sampled_from(names[: n + 1]))) for n, each in enumerate(plain)]
    return draw(st.permutations(deep))


def respecting(actions: Sequence[Action]) -> Iterator[tuple[Action, ...]]:
    """Every order in which no action stands before its set-up."""
    for order in itertools.permutations(actions):
        names = ["", *(each.name for each in order)]
        if all(each.set_up in names[: n + 1] for n, each in enumerate(order)):
            yield order


def states(faults: Mapping[str, float], several: bool) -> list[tuple[frozenset[str], float]]:
    """Every set of faults that may be there, given the complaint, with its probability."""
    if not several:
        alone = [(frozenset([name]), p) for name, p in faults.items()]
        return [*alone, (frozenset(["something else"]), 1.0 - sum(faults.values()))]
    found = []
    for there in itertools.product((True, False), repeat=len(faults)):
        p = math.prod(p if on else 1.0 - p for p, on in zip(faults.values(), there, strict=True))
        found.append((frozenset(itertools.compress(faults, there)), p if any(there) else 0.0))
    total = sum(p for _, p in found)
    return [(state, p / total) for state, p in found]


def counted(
    order: Sequence[Action], faults: Mapping[str, float], several: bool, hand_over: float | None = None
) -> float:
    """Expected cost of an order: what it costs in each state, by trying."""
    total = 0.0
    for state, p in states(faults, several):
        left, spent = set(state), 0.0
        for action in order:
            if left:
                ends = action.ends or {action.name}
                spent += action.cost + (action.repair if left & ends else 0.0)
                left -= ends
        total += p * (spent + (hand_over or 0.0 if left else 0.0))
    return total


@dataclass(frozen=True)
class Job:
    """Actions that may share faults and set-ups, and what may be wrong."""

    actions: list[Action]
    faults: dict[str, float]
    several: bool
    hand_over: float | None

    def cost(self, order: Sequence[Action]) -> float:
        return expected_cost(order, several=self.several, faults=self.faults, hand_over=self.hand_over)

    def left(self, actions: Sequence[Action]) -> float:
        """P(the complaint is still there after all of these)."""
        ended = {name for each in actions for name in each.ends}
        return sum(p for state, p in states(self.faults, self.several) if state - ended)

    def orders(self) -> list[tuple[Action, ...]]:
        """All that may be done, up to where no more can be ended, or else the car may be handed over."""
        found: list[tuple[Action, ...]] = [()]
        for order in found:
            names = ["", *(each.name for each in order)]
            found += [
                (*order, each) for each in self.actions if each.name not in names and each.set_up in names
            ]
        if self.hand_over is None:
            never = self.left(self.actions)
            found = [order for order in found if self.left(order) <= never + 1e-12]
        return found


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Up to four actions, half of the time for a fault of its own each: then the plain rules get the job."""
    several = draw(st.booleans())
    chances = draw(st.lists(percent, min_size=4, max_size=4).filter(any) if several else shares(5, 5))
    faults = {f"f{n}": p for n, p in enumerate(chances[:4])}
    own = draw(st.booleans())
    repair = st.just(0.0) if draw(st.booleans()) else st.sampled_from([0.0, 5.0, 30.0])
    actions = []
    for n in range(draw(st.integers(1, 4))):
        some = st.sets(st.sampled_from(sorted(faults)), max_size=2)
        ends = {f"f{n}"} if own else draw(some)
        actions.append(Action(f"a{n}", 0.0, draw(cost), ends=frozenset(ends), repair=draw(repair)))
    behind = with_set_ups(st.just(actions)) if draw(st.booleans()) else st.just(actions)
    return Job(draw(behind), faults, several, draw(st.none() | st.integers(1, 120).map(float)))


# What an order costs.


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_the_cost_of_an_order_equals_counting_states(job: Job) -> None:
    for order in job.orders()[:6]:
        expected = counted(order, job.faults, job.several, job.hand_over)
        assert job.cost(order) == pytest.approx(expected, abs=NEAR)


@settings(max_examples=60, deadline=None)
@given(st.lists(percent, min_size=1, max_size=5).filter(any))
def test_two_or_more_equals_counting_states(chances: list[float]) -> None:
    faults = {f"f{n}": p for n, p in enumerate(chances)}
    expected = sum(p for state, p in states(faults, several=True) if len(state) > 1)
    assert two_or_more(chances) == pytest.approx(expected, abs=NEAR)


# The rules, each where it holds.


@settings(max_examples=60, deadline=None)
@given(one_fault())
def test_likelihood_over_cost_is_best_for_one_fault(actions: list[Action]) -> None:
    best = min(map(expected_cost, itertools.permutations(actions)))
    assert expected_cost(by_ratio(actions)) == pytest.approx(best, abs=NEAR)


@settings(max_examples=60, deadline=None)
@given(several_faults())
def test_odds_over_cost_is_best_for_several_faults(actions: list[Action]) -> None:
    best = min(expected_cost(order, several=True) for order in itertools.permutations(actions))
    assert expected_cost(by_odds(actions), several=True) == pytest.approx(best, abs=NEAR)


def test_likelihood_over_cost_is_not_best_for_several_faults() -> None:
    """P(any) = .95. b first: 5 + 10 * .90 / .95; a first: 10 + 5 * .50 / .95."""
    a, b = Action("a", 0.9, 10.0), Action("b", 0.5, 5.0)
    assert by_ratio([a, b]) == (b, a)
    assert expected_cost([b, a], several=True) == pytest.approx(14.473684, abs=5e-7)
    assert by_odds([a, b]) == (a, b)
    assert expected_cost([a, b], several=True) == pytest.approx(12.631579, abs=5e-7)


@settings(max_examples=100, deadline=None)
@given(with_set_ups(one_fault()))
def test_blocks_are_best_behind_set_ups_for_one_fault(actions: list[Action]) -> None:
    best = min(map(expected_cost, respecting(actions)))
    assert expected_cost(by_blocks(actions)) == pytest.approx(best, abs=NEAR)


@settings(max_examples=100, deadline=None)
@given(with_set_ups(several_faults()))
def test_blocks_are_best_behind_set_ups_for_several_faults(actions: list[Action]) -> None:
    best = min(expected_cost(order, several=True) for order in respecting(actions))
    # A certain fault is reckoned with as very nearly certain.
    assert expected_cost(by_blocks(actions, several=True), several=True) == pytest.approx(best, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(one_fault() | several_faults())
def test_without_set_ups_blocks_are_the_plain_rules(actions: list[Action]) -> None:
    assert by_blocks(actions) == by_ratio(actions)
    unsure = [replace(each, p=min(each.p, 0.99)) for each in actions]
    assert by_blocks(unsure, several=True) == by_odds(unsure)


@settings(max_examples=60, deadline=None)
@given(with_set_ups(one_fault()), st.data())
def test_a_set_up_is_opened_just_before_it_is_needed(actions: list[Action], data: st.DataObject) -> None:
    wanted = data.draw(st.lists(st.sampled_from(actions), unique=True))
    order = opened(wanted, actions)
    expected_cost(order)  # which refuses an action before its set-up
    above = {each.name: each.set_up for each in actions}
    assert not order or order[-1] in wanted
    for action, after in itertools.pairwise(order):
        assert action in wanted or above[after.name] == action.name
    # What was wanted stays in its order, but for what had to be done sooner as a set-up.
    set_ups = {each.set_up for each in order}
    assert [each for each in order if each in wanted and each.name not in set_ups] == [
        each for each in wanted if each.name not in set_ups
    ]


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_greed_ends_all_that_can_be_ended(job: Job) -> None:
    order = by_greed(job.actions, several=job.several, faults=job.faults)
    job.cost(order)  # which refuses an action before its set-up
    assert job.left(order) == pytest.approx(job.left(job.actions), abs=NEAR)


def test_greed_goes_on_where_two_faults_are_certain() -> None:
    """Neither action by itself lets the complaint go."""
    a, b = Action("a", 1.0, 2.0), Action("b", 1.0, 1.0)
    assert by_greed([a, b], several=True) == (b, a)


@settings(max_examples=60, deadline=None)
@given(several_faults())
def test_greed_goes_by_odds_where_no_fault_is_shared(actions: list[Action]) -> None:
    greedy = by_greed(actions, several=True)
    assert greedy == tuple(each for each in by_odds(actions) if each.p > 0.0)


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_greed_costs_at_most_four_times_the_best_at_equal_costs(job: Job) -> None:
    actions = [replace(each, cost=1.0, repair=0.0, set_up="") for each in job.actions]
    faults = {name: p / max(1.0, sum(job.faults.values())) for name, p in job.faults.items()}
    greedy, best = by_greed(actions, faults=faults), exhaustive(actions, faults=faults)
    # Only what can be ended at all counts: the rest adds the same to each action of both.
    never = best.left
    over_greedy = expected_cost(greedy, faults=faults) - never * len(greedy)
    over_best = best.cost - never * len(best.order)
    assert over_greedy <= 4.0 * over_best + NEAR


# The rule that is chosen.


@settings(max_examples=120, deadline=None)
@given(jobs())
def test_no_order_is_better_than_the_chosen_one(job: Job) -> None:
    plan = choose_rule(
        job.actions,
        two_or_more=0.5 if job.several else 0.05,
        faults=job.faults,
        hand_over=job.hand_over,
    )
    assert plan.cost == pytest.approx(counted(plan.order, job.faults, job.several, job.hand_over), abs=1e-7)
    assert plan.cost <= min(map(job.cost, job.orders())) + 1e-6
    assert plan.left == pytest.approx(job.left(plan.order), abs=1e-7)
    if job.hand_over is None:
        assert plan.left == pytest.approx(job.left(job.actions), abs=1e-7)


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_the_search_finds_the_best_order(job: Job) -> None:
    plan = exhaustive(job.actions, several=job.several, faults=job.faults, hand_over=job.hand_over)
    assert plan.rule == IN_FULL
    assert plan.cost == pytest.approx(counted(plan.order, job.faults, job.several, job.hand_over), abs=NEAR)
    assert plan.cost == pytest.approx(min(map(job.cost, job.orders())), abs=NEAR)


def test_two_actions_that_share_no_fault_beat_the_likeliest_one() -> None:
    """Left and right together end everything; by p / cost the wide one comes first, and then both.

    1 + .48 + .24 against 1 + .50.
    """
    faults = {"f1": 0.24, "f2": 0.26, "f3": 0.26, "f4": 0.24}
    left = Action("left", 0.50, 1.0, ends=frozenset({"f1", "f2"}))
    wide = Action("wide", 0.52, 1.0, ends=frozenset({"f2", "f3"}))
    right = Action("right", 0.50, 1.0, ends=frozenset({"f3", "f4"}))
    by_rule = by_ratio([left, wide, right])
    assert by_rule == (wide, left, right)
    assert expected_cost(by_rule, faults=faults) == pytest.approx(1.72, abs=NEAR)
    plan = choose_rule([left, wide, right], two_or_more=0.0, faults=faults)
    assert plan.names == ("left", "right")
    assert plan.cost == pytest.approx(1.50, abs=NEAR)
    assert plan.rule == SHARED


def test_two_actions_may_pay_together_of_which_neither_does_alone() -> None:
    """Handing over costs 13. One action: 4 + .7 * 13 = 13.1. Both: 4 + .7 * 4 + .4 * 13 = 12."""
    a, b = Action("a", 0.3, 4.0), Action("b", 0.3, 4.0)
    assert expected_cost([a], hand_over=13.0) == pytest.approx(13.1, abs=NEAR)
    plan = choose_rule([a, b], two_or_more=0.0, hand_over=13.0)
    assert plan.names == ("a", "b")
    assert plan.cost == pytest.approx(12.0, abs=NEAR)
    # Behind a set-up that ends nothing it is the same: 2 + 4 + .5 * 20 = 16.
    lift, c = Action("lift", 0.0, 2.0), Action("c", 0.5, 4.0, set_up="lift")
    plan = choose_rule([c, lift], two_or_more=0.0, hand_over=20.0)
    assert plan.names == ("lift", "c")
    assert plan.cost == pytest.approx(16.0, abs=NEAR)


def test_a_plan_names_the_rule_it_was_made_by() -> None:
    a, b = Action("a", 0.5, 1.0), Action("b", 0.4, 1.0)
    assert choose_rule([a, b], two_or_more=FROM_TWO).rule == LIKELIHOOD
    assert choose_rule([a, b], two_or_more=FROM_TWO + 0.01).rule == ODDS
    assert choose_rule([a, replace(b, set_up="a")], two_or_more=0.0).rule == BLOCKS
    assert choose_rule([a, replace(b, repair=1.0)], two_or_more=0.0, hand_over=9.0).rule == HANDED_OVER
    assert choose_rule([a, replace(b, ends=frozenset({"a"}))], two_or_more=0.0).rule == SHARED
    many = [Action(f"m{n}", 0.0, 1.0, ends=frozenset({"a"})) for n in range(MOST_SEARCHED)]
    assert choose_rule([a, *many], two_or_more=0.0).rule == GREEDY
    # A shared fault that cannot be there takes no search.
    apart = [Action(f"m{n}", 0.0, 1.0, ends=frozenset({"never", f"f{n}"})) for n in range(MOST_SEARCHED + 1)]
    faults = {"never": 0.0, **{f"f{n}": n / 100 for n in range(len(apart))}}
    plan = choose_rule(apart, two_or_more=0.0, faults=faults)
    assert (plan.rule, plan.names[:2]) == (LIKELIHOOD, ("m12", "m11"))


def test_one_fault_with_more_than_certainty_is_scaled() -> None:
    """.8 and .4 become 2/3 and 1/3: 3 + 1/3 * 1."""
    plan = choose_rule([Action("a", 0.8, 3.0), Action("b", 0.4, 3.0)], two_or_more=0.0)
    assert plan.names == ("a", "b")
    assert plan.cost == pytest.approx(4.0, abs=NEAR)
    assert plan.left == pytest.approx(0.0, abs=NEAR)


# Questions.


@st.composite
def questions(draw: st.DrawFn, name: str, faults: Sequence[str]) -> Question:
    rows = {fault: draw(shares(2, 2)) for fault in faults}
    likelihood = {
        answer: {fault: row[n] for fault, row in rows.items()} for n, answer in enumerate(("yes", "no"))
    }
    return Question(name, float(draw(st.integers(0, 10))), likelihood)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    chances = draw(shares(3, 3))
    faults = {"f0": chances[0], "f1": chances[1]}
    success = st.sampled_from([0.0, 0.5, 0.9, 1.0])
    repairs = [
        Repair(
            f"r{n}",
            float(draw(st.integers(0, 20))),
            {name: draw(success) for name in (*faults, SOMETHING_ELSE)},
            extra=float(draw(st.integers(0, 5))),
        )
        for n in range(draw(st.integers(1, 3)))
    ]
    asked = [draw(questions(f"q{n}", (*faults, SOMETHING_ELSE))) for n in range(draw(st.integers(0, 2)))]
    return Problem(faults, tuple(repairs), tuple(asked), hand_over=float(draw(st.integers(1, 80))))


def whole(problem: Problem) -> dict[str, float]:
    rest = 1.0 - sum(problem.faults.values())
    return {**problem.faults, SOMETHING_ELSE: rest if rest > 1e-12 else 0.0}


def least(
    problem: Problem, belief: Mapping[str, float], repairs: Sequence[Repair], asked: Sequence[Question]
) -> float:
    """The least expected cost from this belief on, by trying everything that is left."""

    def then(weights: Mapping[str, float], tried: Repair | Question) -> float:
        total = sum(weights.values())
        if total < 1e-12:
            return 0.0
        after = {fault: weight / total for fault, weight in weights.items()}
        rest = [each for each in repairs if each is not tried], [each for each in asked if each is not tried]
        return total * least(problem, after, *rest)

    costs = [problem.hand_over]
    for repair in repairs:
        fails = {fault: p * (1.0 - repair.success[fault]) for fault, p in belief.items()}
        costs.append(repair.cost + repair.extra * (1.0 - sum(fails.values())) + then(fails, repair))
    for question in asked:
        answers = [
            {fault: p * row[fault] for fault, p in belief.items()} for row in question.likelihood.values()
        ]
        costs.append(question.cost + sum(then(weights, question) for weights in answers))
    return min(costs)


def followed(strategy: Strategy, problem: Problem, fault: str) -> float:
    """What a strategy costs on average where this is the fault."""
    if strategy.do == HAND_OVER:
        return problem.hand_over
    for repair in problem.repairs:
        if repair.name == strategy.do:
            success = repair.success[fault]
            spent = repair.cost + success * repair.extra
            if success < 1.0:
                spent += (1.0 - success) * followed(strategy.after(STILL_THERE), problem, fault)
            return spent
    question = next(each for each in problem.questions if each.name == strategy.do)
    return question.cost + sum(
        row[fault] * followed(strategy.after(answer), problem, fault)
        for answer, row in question.likelihood.items()
        if row[fault] > 0.0
    )


@settings(max_examples=60, deadline=None)
@given(problems())
def test_no_strategy_is_better_than_the_optimal_one(problem: Problem) -> None:
    best = optimal(problem)
    assert best.cost == pytest.approx(
        least(problem, whole(problem), problem.repairs, problem.questions), abs=NEAR
    )
    spent = sum(p * followed(best, problem, fault) for fault, p in whole(problem).items() if p > 0.0)
    assert best.cost == pytest.approx(spent, abs=NEAR)
    assert best.cost <= without_questions(problem).cost + NEAR
    assert best.cost <= problem.hand_over


@st.composite
def askable(draw: st.DrawFn) -> tuple[list[Action], Question, float]:
    actions = [replace(each, repair=draw(st.sampled_from([0.0, 9.0]))) for each in draw(one_fault())[:3]]
    question = draw(questions("question", [*(each.name for each in actions), SOMETHING_ELSE]))
    return actions, question, float(draw(st.integers(1, 80)))


def as_problem(actions: Sequence[Action], question: Question, hand_over: float) -> Problem:
    repairs = tuple(Repair(f"do {each.name}", each.cost, {each.name: 1.0}, each.repair) for each in actions)
    return Problem({each.name: each.p for each in actions}, repairs, (question,), hand_over)


@settings(max_examples=100, deadline=None)
@given(askable())
def test_one_step_ahead_is_never_below_the_optimum(case: tuple[list[Action], Question, float]) -> None:
    actions, question, hand_over = case
    problem = as_problem(actions, question, hand_over)
    asked = one_step(actions, question, hand_over=hand_over)
    now = choose_rule(actions, two_or_more=0.0, hand_over=hand_over)
    assert now.cost == pytest.approx(without_questions(problem).cost, abs=NEAR)
    assert asked.cost >= optimal(problem).cost - NEAR
    # A question is worth no less than nothing but what it costs.
    assert asked.cost <= now.cost + question.cost + NEAR
    assert sum(chance for _, chance, _ in asked.plans) == pytest.approx(1.0, abs=NEAR)

    first = ask_first(actions, [question], hand_over=hand_over)
    if first is None:
        assert asked.cost >= now.cost - NEAR
    else:
        assert first == asked and asked.cost < now.cost


@settings(max_examples=60, deadline=None)
@given(askable(), percent)
def test_a_question_that_tells_nothing_costs_what_it_costs(
    case: tuple[list[Action], Question, float], yes: float
) -> None:
    actions, question, hand_over = case
    faults = question.likelihood["yes"]
    idle = Question("idle", 2.5, {"yes": dict.fromkeys(faults, yes), "no": dict.fromkeys(faults, 1.0 - yes)})
    now = choose_rule(actions, two_or_more=0.0, hand_over=hand_over)
    assert one_step(actions, idle, hand_over=hand_over).cost == pytest.approx(now.cost + 2.5, abs=NEAR)
    assert ask_first(actions, [idle], hand_over=hand_over) is None


def test_one_step_ahead_does_not_see_questions_that_pay_only_together() -> None:
    """Two bits tell which of two repairs is right, one of them nothing: 2 + 10 against 10 + .5 * 10."""
    faults = dict.fromkeys(("00", "01", "10", "11"), 0.25)
    alike, unlike = {"00": 1.0, "11": 1.0}, {"01": 1.0, "10": 1.0}
    bits_asked = tuple(
        Question(f"bit {n}", 1.0, {value: {f: float(f[n] == value) for f in faults} for value in "01"})
        for n in (0, 1)
    )
    repairs = (Repair("even", 10.0, alike), Repair("odd", 10.0, unlike))
    problem = Problem(faults, repairs, bits_asked)
    assert without_questions(problem).cost == pytest.approx(15.0, abs=NEAR)
    assert optimal(problem).cost == pytest.approx(12.0, abs=NEAR)
    actions = [
        Action("even", 0.0, 10.0, ends=frozenset(alike)),
        Action("odd", 0.0, 10.0, ends=frozenset(unlike)),
    ]
    assert ask_first(actions, bits_asked, faults=faults) is None


def test_an_action_may_name_a_fault_that_cannot_be_there() -> None:
    """After yes it is f1, after no f2; f0 was never possible: 1 + 5 either way."""
    actions = [
        Action("a", 0.0, 5.0, ends=frozenset({"f0", "f1"})),
        Action("b", 0.0, 5.0, ends=frozenset({"f2"})),
    ]
    question = Question("q", 1.0, {"yes": {"f1": 1.0}, "no": {"f2": 1.0}})
    asked = one_step(actions, question, faults={"f0": 0.0, "f1": 0.5, "f2": 0.5})
    assert asked.cost == pytest.approx(6.0, abs=NEAR)
    assert [(answer, plan.names) for answer, _, plan in asked.plans] == [("yes", ("a",)), ("no", ("b",))]


# The worth of knowing.


@dataclass(frozen=True)
class Decision:
    prior: list[float]
    utility: list[list[float]]
    likelihood: list[list[float]]


@st.composite
def decisions(draw: st.DrawFn) -> Decision:
    prior = draw(shares(2, 4))
    row = st.lists(st.integers(-50, 50).map(float), min_size=len(prior), max_size=len(prior))
    seen = draw(st.integers(1, 3))
    columns = [draw(shares(seen, seen)) for _ in prior]
    return Decision(
        prior, draw(st.lists(row, min_size=1, max_size=4)), [list(row) for row in zip(*columns, strict=True)]
    )


@settings(max_examples=80, deadline=None)
@given(decisions())
def test_a_test_is_worth_between_nothing_and_perfect_information(case: Decision) -> None:
    prior, utility, likelihood = case.prior, case.utility, case.likelihood
    now, informed = without_information(prior, utility), with_test(prior, utility, likelihood)
    assert now - NEAR <= informed <= now + evpi(prior, utility) + NEAR
    worth = evsi(prior, utility, likelihood)
    assert worth == pytest.approx(informed - now, abs=NEAR)
    assert net_value(prior, utility, likelihood, 3.0) == pytest.approx(informed - now - 3.0, abs=NEAR)
    if len(set(best_actions(prior, utility, likelihood))) == 1:
        assert worth == pytest.approx(0.0, abs=NEAR)
    # Deciding by the best action for each outcome reaches it.
    chance, posterior = outcomes(prior, likelihood)
    acts = best_actions(prior, utility, likelihood)
    reached = sum(
        p * sum(u * q for u, q in zip(utility[act], after, strict=True))
        for p, act, after in zip(chance, acts, posterior, strict=True)
    )
    assert reached == pytest.approx(informed, abs=NEAR)
    assert chance @ posterior == pytest.approx(prior, abs=NEAR)


@settings(max_examples=60, deadline=None)
@given(decisions())
def test_a_test_leaves_no_more_bits_than_there_were(case: Decision) -> None:
    before, after = bits(case.prior), bits_after(case.prior, case.likelihood)
    assert -NEAR <= after <= before + NEAR
    assert before <= math.log2(len(case.prior)) + NEAR
    every, none = tells(range(len(case.prior))), tells(["alike"] * len(case.prior))
    assert bits_after(case.prior, every) == pytest.approx(0.0, abs=NEAR)
    assert bits_after(case.prior, none) == pytest.approx(before, abs=NEAR)
    assert evsi(case.prior, case.utility, every) == pytest.approx(evpi(case.prior, case.utility), abs=NEAR)
    assert evsi(case.prior, case.utility, none) == pytest.approx(0.0, abs=NEAR)


def test_of_equal_actions_the_first_is_best_whatever_the_rounding() -> None:
    """.1 + .2 is a little more than .3."""
    assert best_action([0.1, 0.2, 0.7], [[0.3, 0.3, 0.3], [1.0, 1.0, 0.0]]) == 0


# Inspecting parts.


@st.composite
def parts(draw: st.DrawFn) -> list[Part]:
    return [Part(f"p{n}", draw(percent), draw(cost)) for n in range(draw(st.integers(1, 4)))]


def worlds(given_parts: Sequence[Part]) -> Iterator[tuple[dict[str, bool], float]]:
    """Every way in which the parts may work or not, with its probability."""
    for works in itertools.product((True, False), repeat=len(given_parts)):
        pairs = list(zip(given_parts, works, strict=True))
        p = math.prod(part.works if on else 1.0 - part.works for part, on in pairs)
        yield {part.name: on for part, on in pairs}, p


@settings(max_examples=100, deadline=None)
@given(parts(), st.data())
def test_the_next_parts_are_best_to_start_with(given_parts: list[Part], data: st.DataObject) -> None:
    need = data.draw(st.integers(1, len(given_parts)))
    cheapest, starts = k_of_n(given_parts, need)
    found = next_parts(given_parts, need)
    assert found and set(found) <= set(starts)

    def spent(works: Mapping[str, bool], pick: int) -> float:
        left, missing, total = list(given_parts), need, 0.0
        while 0 < missing <= len(left):
            part = next_parts(left, missing)[pick]
            left.remove(part)
            missing -= works[part.name]
            total += part.cost
        return total

    # Going on by them until it is known costs the least in expectation, whichever of them is taken.
    for pick in (0, -1):
        followed_by = sum(p * spent(works, pick) for works, p in worlds(given_parts))
        assert followed_by == pytest.approx(cheapest, abs=NEAR)


@settings(max_examples=100, deadline=None)
@given(parts())
def test_the_first_bad_part_ends_a_series(given_parts: list[Part]) -> None:
    def counted_cost(order: Sequence[Part]) -> float:
        total = 0.0
        for works, p in worlds(order):
            for part in order:
                total += p * part.cost
                if not works[part.name]:
                    break
        return total

    assert until_rejected(given_parts) == pytest.approx(counted_cost(given_parts), abs=NEAR)
    best = min(map(counted_cost, itertools.permutations(given_parts)))
    assert until_rejected(series(given_parts)) == pytest.approx(best, abs=NEAR)
    assert k_of_n(given_parts, need=len(given_parts))[0] == pytest.approx(best, abs=NEAR)


# What is refused.

A = Action("a", 0.5, 1.0)
SURE = Question("q", 1.0, {"yes": {"f": 1.0}, "no": {"f": 0.0}})
MANY = [Action(f"m{n}", 0.01, 1.0) for n in range(MOST_SEARCHED + 1)]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Action("a", 1.5, 1.0), "a: probability 1.5 is not in 0..1"),
        (lambda: Action("a", math.nan, 1.0), "a: probability nan is not in 0..1"),
        (lambda: Action("a", 0.5, 0.0), "a: cost 0.0 is not above 0, or repair 0.0 below 0"),
        (lambda: choose_rule([A], two_or_more=1.5), "probability 1.5 is not in 0..1"),
        (lambda: choose_rule([A, A], two_or_more=0.0), "two actions are called a"),
        (
            lambda: choose_rule([A], two_or_more=0.0, hand_over=math.inf),
            "handing over costs inf, not above 0 and finite",
        ),
        (lambda: exhaustive([A], hand_over=0.0), "handing over costs 0.0, not above 0 and finite"),
        (lambda: expected_cost([A], hand_over=math.nan), "handing over costs nan, not above 0 and finite"),
        (lambda: expected_cost([replace(A, set_up="b")]), "a stands before its set-up b"),
        (
            lambda: by_blocks([replace(A, set_up="b")]),
            "a needs the set-up b, which is not among the actions",
        ),
        (
            lambda: by_blocks([replace(A, set_up="b"), Action("b", 0.1, 1.0, set_up="a")]),
            "a: its set-ups need one another",
        ),
        (
            lambda: expected_cost([replace(A, ends=frozenset({"f"}))]),
            "a ends f, which has no probability",
        ),
        (
            lambda: expected_cost([A], faults={"f": 0.7}),
            "one fault out of several: the probabilities sum to 1.2, above 1",
        ),
        (lambda: expected_cost([replace(A, p=0.0)], several=True), "no fault can be there"),
        (lambda: two_or_more([0.0]), "no fault can be there"),
        (lambda: exhaustive(MANY), "13 actions are too many to search; at most 12"),
        (lambda: Part("p", 0.5, 0.0), "p: probability 0.5 or cost 0.0 out of range"),
        (lambda: expected_cost([A, A]), f"two actions are called {A.name}"),
        (lambda: Repair("r", 1.0, {"f": 1.1}), "r: success 1.1 with f is not in 0..1"),
        (lambda: Repair("r", 1.0, {"f": -0.1}), "r: success -0.1 with f is not in 0..1"),
        (lambda: Part("p", 1.01, 1.0), "p: probability 1.01 or cost 1.0 out of range"),
        (lambda: Part("p", -0.01, 1.0), "p: probability -0.01 or cost 1.0 out of range"),
        (lambda: next_parts([Part("p", 0.5, 1.0)], need=2), "2 of 1 parts"),
        (
            lambda: Question("q", 1.0, {"yes": {"f": math.nan}, "no": {"f": 0.5}}),
            "q: the answers with f do not sum to 1",
        ),
        (
            lambda: Question("q", 1.0, {"yes": {"f": 0.5}, "no": {"f": 0.4}}),
            "q: the answers with f do not sum to 1",
        ),
        (lambda: Problem({"g": 1.0}, (), (SURE,)), "q says nothing of g"),
        (
            lambda: Problem({"f": 0.7, "g": 0.4}, ()),
            "the probabilities of one fault out of a list are not in 0..1 with sum at most 1",
        ),
        (
            lambda: optimal(Problem({"f": 1.0}, (Repair("r", 1.0, {"f": 0.9}),))),
            "no repair ends every fault for certain, and the car cannot be handed over",
        ),
        (
            lambda: optimal(Problem({"f": 1.0}, tuple(Repair(f"r{n}", 1.0, {"f": 1.0}) for n in range(17)))),
            f"131072 states are too many to search; at most {MOST_STATES}",
        ),
        (lambda: bits([0.5, 0.4]), "the probabilities of the states are not in 0..1 with sum 1"),
        (lambda: bits([[1.0]]), "a distribution has shape (states,), not (1, 1)"),
        (lambda: evpi([0.5, 0.5], [[1.0]]), "utility has shape (actions, 2), not (1, 1)"),
        (lambda: evpi([1.0], [[math.inf]]), "a utility is not finite"),
        (
            lambda: bits_after([1.0], [[0.5], [0.4]]),
            "the likelihoods of the outcomes are not in 0..1 with sum 1 for each state",
        ),
        (lambda: bits_after([1.0], [[0.5, 0.5]]), "likelihood has shape (outcomes, 1), not (1, 2)"),
        (lambda: with_test([1.0], [[1.0]], [[1.0]], cost=math.nan), "a cost of nan is not finite"),
        (lambda: net_value([1.0], [[1.0]], [[1.0]], cost=math.inf), "a cost of inf is not finite"),
    ],
)
def test_what_is_refused(call: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError) as refused:
        call()
    assert str(refused.value) == message


@pytest.mark.parametrize(("count", "rule"), [(MOST_SEARCHED, SHARED), (MOST_SEARCHED + 1, GREEDY)])
def test_up_to_twelve_actions_that_share_a_fault_are_searched_in_full(count: int, rule: str) -> None:
    actions = [Action(f"a{n}", 0.0, 1.0 + n, ends=frozenset({f"f{n}"})) for n in range(count - 1)]
    actions.append(Action("both", 0.0, 3.0, ends=frozenset({"f0", "f1"})))
    faults = {f"f{n}": 0.9 / count for n in range(count - 1)}
    assert choose_rule(actions, two_or_more=0.0, faults=faults).rule == rule
