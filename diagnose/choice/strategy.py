"""What to do after every answer: the best strategy of repairs and questions, for small problems.

One fault out of a list is there. A question may be put before a repair; a repair may fail although it
is the right one; the car may be handed over. `optimal` looks at every course that this can take, so it
serves small problems and as the measure of quicker rules. `one_step` is such a rule: it asks what a
question is worth if after its answer only repairs follow.

A repair that failed is evidence: each fault is weighed by its chance to have outlived it, 1 - success,
and the weights are brought back to 1. The faults that it ends become less likely, and all others more,
in the proportions that they had. The same repair again would fail again, so each is done once.

Sources: D. Heckerman, J. Breese, K. Rommelse (1995), for one step ahead; M. Vomlelova, J. Vomlel (2003),
for strategies of actions and questions as trees, and why the best one is hard to find.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from diagnose.choice.orders import Action, Plan, choose_rule, faults_of

__all__ = [
    "HAND_OVER",
    "MOST_STATES",
    "SOMETHING_ELSE",
    "STILL_THERE",
    "Asked",
    "Branch",
    "Problem",
    "Question",
    "Repair",
    "Strategy",
    "ask_first",
    "one_step",
    "optimal",
    "without_questions",
]

#: The fault that is not in the list; it has what the others lack to 1.
SOMETHING_ELSE = "something else"

#: What a strategy does when it gives up.
HAND_OVER = "hand over"

#: What is seen after a repair that failed.
STILL_THERE = "still there"

#: The most states (repairs done, answers given) that are searched.
MOST_STATES = 100_000

#: Probabilities and shares of a cost below this are rounding.
NOTHING = 1e-12


@dataclass(frozen=True, slots=True)
class Repair:
    """A repair, after which it is seen whether the complaint has gone.

    cost: 0 or more. success: fault -> 0..1, P(it ends the complaint | this fault); 0 for those not
    named. extra: 0 or more, paid besides if it ends the complaint. Raises ValueError.
    """

    name: str
    cost: float
    success: Mapping[str, float]
    extra: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.cost < math.inf or not 0.0 <= self.extra < math.inf:
            raise ValueError(f"{self.name}: a cost is below 0 or not finite")
        for fault, chance in self.success.items():
            if not 0.0 <= chance <= 1.0:
                raise ValueError(f"{self.name}: success {chance} with {fault} is not in 0..1")


@dataclass(frozen=True, slots=True)
class Question:
    """A question or check that changes nothing on the car.

    cost: 0 or more. likelihood: answer -> fault -> P(answer | fault), 0..1, sum 1 over the answers for
    every fault. Raises ValueError.
    """

    name: str
    cost: float
    likelihood: Mapping[str, Mapping[str, float]]

    def __post_init__(self) -> None:
        if not 0.0 <= self.cost < math.inf:
            raise ValueError(f"{self.name}: cost {self.cost} is below 0 or not finite")
        for fault in {name for row in self.likelihood.values() for name in row}:
            chances = [row.get(fault, 0.0) for row in self.likelihood.values()]
            # Asked this way round, so that nan is refused too.
            if not (min(chances) >= 0.0 and abs(sum(chances) - 1.0) <= 1e-9):
                raise ValueError(f"{self.name}: the answers with {fault} do not sum to 1")

    def of(self, answer: str, fault: str) -> float:
        """P(answer | fault). Raises ValueError for a fault that the question does not know."""
        if not any(fault in row for row in self.likelihood.values()):
            raise ValueError(f"{self.name} says nothing of {fault}")
        return self.likelihood[answer].get(fault, 0.0)


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault out of a list, what may be done, and what it costs to hand the car over.

    faults: fault -> P(it is this one), sum at most 1; the rest is `SOMETHING_ELSE`, which no repair ends
    unless it names it. hand_over: above 0; without one the repairs must end every fault for certain.
    Names differ. Raises ValueError.
    """

    faults: Mapping[str, float]
    repairs: tuple[Repair, ...]
    questions: tuple[Question, ...] = ()
    hand_over: float = math.inf

    def __post_init__(self) -> None:
        weights = _with_rest(self.faults)
        names = [each.name for each in self.repairs] + [each.name for each in self.questions]
        if len(set(names)) < len(names):
            raise ValueError("two repairs or questions have one name")
        if not self.hand_over > 0.0:
            raise ValueError(f"handing over costs {self.hand_over}, not above 0")
        for question in self.questions:
            for fault in weights:
                for answer in question.likelihood:
                    question.of(answer, fault)


@dataclass(frozen=True, slots=True)
class Branch:
    """What may be seen after a step, its probability there, and what to do then."""

    seen: str
    probability: float
    then: Strategy


@dataclass(frozen=True, slots=True)
class Strategy:
    """What to do now (the name of a repair or question, or `HAND_OVER`), and then.

    cost: expected from here on. branches: the answers that can come; after a repair `STILL_THERE`, if it
    can fail: when the complaint has gone, it is over.
    """

    do: str
    cost: float
    branches: tuple[Branch, ...] = ()

    def after(self, seen: str) -> Strategy:
        """What to do once this is seen. Raises KeyError if it cannot be."""
        for branch in self.branches:
            if branch.seen == seen:
                return branch.then
        raise KeyError(seen)


def optimal(problem: Problem) -> Strategy:
    """The strategy of least expected cost, by dynamic programming over what is done and answered.

    With P(still there) and P(answer) as the history leaves them:

        cost of a repair   = its cost + extra * P(gone) + P(still there) * cost from there on
        cost of a question = its cost + sum over answers of P(answer) * cost from there on

    Each at most once. Of equal ones it hands over, then repairs before it asks, in the order given.
    Raises ValueError for more than `MOST_STATES` states, and where nothing ends the complaint for
    certain and it cannot be handed over.
    """
    repairs, questions = problem.repairs, problem.questions
    prior = _with_rest(problem.faults)
    states = 2 ** len(repairs) * math.prod(1 + len(each.likelihood) for each in questions)
    if states > MOST_STATES:
        raise ValueError(f"{states} states are too many to search; at most {MOST_STATES}")

    def weights(done: int, given: tuple[str | None, ...]) -> dict[str, float]:
        """P(fault, and all this happened): failures and answers each count once, in any order."""
        found = dict(prior)
        for fault in found:
            for n, repair in enumerate(repairs):
                if done >> n & 1:
                    found[fault] *= 1.0 - repair.success.get(fault, 0.0)
            for question, answer in zip(questions, given, strict=True):
                if answer is not None:
                    found[fault] *= question.of(answer, fault)
        return found

    @cache
    def best(done: int, given: tuple[str | None, ...]) -> Strategy:
        now = weights(done, given)
        total = sum(now.values())
        found = Strategy(HAND_OVER, problem.hand_over)
        for n, repair in enumerate(repairs):
            if not done >> n & 1:
                gone = sum(w * repair.success.get(fault, 0.0) for fault, w in now.items()) / total
                ways = [(STILL_THERE, 1.0 - gone, done | 1 << n, given)]
                found = cheaper(found, repair.name, repair.cost + repair.extra * gone, ways)
        for n, question in enumerate(questions):
            if given[n] is None:
                ways = []
                for answer in question.likelihood:
                    chance = sum(w * question.of(answer, fault) for fault, w in now.items()) / total
                    ways.append((answer, chance, done, (*given[:n], answer, *given[n + 1 :])))
                found = cheaper(found, question.name, question.cost, ways)
        return found

    def cheaper(
        found: Strategy, do: str, cost: float, ways: list[tuple[str, float, int, tuple[str | None, ...]]]
    ) -> Strategy:
        branches = tuple(
            Branch(seen, chance, best(done, given)) for seen, chance, done, given in ways if chance > NOTHING
        )
        cost += sum(each.probability * each.then.cost for each in branches)
        return Strategy(do, cost, branches) if cost < found.cost * (1.0 - NOTHING) else found

    strategy = best(0, (None,) * len(questions))
    if math.isinf(strategy.cost):
        raise ValueError("no repair ends every fault for certain, and the car cannot be handed over")
    return strategy


def without_questions(problem: Problem) -> Strategy:
    """The best strategy of repairs alone; raises ValueError as `optimal` does."""
    return optimal(replace(problem, questions=()))


# One step ahead, for any number of actions.


@dataclass(frozen=True, slots=True)
class Asked:
    """A question put first: the expected cost with it, and for each answer that can come, in the order of
    the question, (answer, its probability, the plan after it, in which each p is that after the answer).
    """

    question: str
    cost: float
    plans: tuple[tuple[str, float, Plan], ...]


def one_step(
    actions: Sequence[Action],
    question: Question,
    *,
    faults: Mapping[str, float] | None = None,
    hand_over: float | None = None,
) -> Asked:
    """What it costs to put this question and then to go by the best order of actions for its answer.

        ECO = cost of the question + sum over answers of P(answer) * cost of the best order after it

    (expected cost of observation, Heckerman, Breese and Rommelse 1995), with one fault, which bears the
    name of its action unless `faults` are given; what their sum lacks to 1 is `SOMETHING_ELSE`. Worth
    asking if it is below the cost of `choose_rule` now. It does not see questions that pay only together
    with others. Raises ValueError as `choose_rule` does, and for a fault that the question does not know.
    """
    prior = faults_of(actions, faults)
    total = max(1.0, sum(prior.values()))
    weights = _with_rest({name: p / total for name, p in prior.items()})
    plans = []
    cost = question.cost
    for answer in question.likelihood:
        joint = {fault: w * question.of(answer, fault) for fault, w in weights.items()}
        chance = sum(joint.values())
        if chance <= NOTHING:
            continue
        # A fault that cannot be there stays in the list: an action may still name it.
        after = dict.fromkeys(prior, 0.0) | {name: min(p / chance, 1.0) for name, p in joint.items()}
        known = [replace(each, p=after.get(each.name, each.p)) for each in actions]
        # What is left over is not to be shared out among the actions: it stays in the list of faults.
        plan = choose_rule(known, two_or_more=0.0, faults=after, hand_over=hand_over)
        plans.append((answer, chance, plan))
        cost += chance * plan.cost
    return Asked(question.name, cost, tuple(plans))


def ask_first(
    actions: Sequence[Action],
    questions: Sequence[Question],
    *,
    faults: Mapping[str, float] | None = None,
    hand_over: float | None = None,
) -> Asked | None:
    """The question of least expected cost, if it is below that of asking nothing; else None.

    Of equal questions the first. After every answer it is to be asked anew. Raises ValueError as
    `one_step` does.
    """
    best = None
    least = choose_rule(actions, two_or_more=0.0, faults=faults, hand_over=hand_over).cost
    for question in questions:
        asked = one_step(actions, question, faults=faults, hand_over=hand_over)
        if asked.cost < least * (1.0 - NOTHING):
            best, least = asked, asked.cost
    return best


def _with_rest(faults: Mapping[str, float]) -> dict[str, float]:
    """The faults that can be there, with what they lack to 1. Raises ValueError."""
    total = sum(faults.values())
    if any(not 0.0 <= p <= 1.0 for p in faults.values()) or total > 1.0 + 1e-9:
        raise ValueError("the probabilities of one fault out of a list are not in 0..1 with sum at most 1")
    weights = {name: p for name, p in faults.items() if p > 0.0}
    if 1.0 - total > 1e-9:
        weights[SOMETHING_ELSE] = weights.get(SOMETHING_ELSE, 0.0) + 1.0 - total
    return weights
