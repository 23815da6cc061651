"""In what order to try repairs, with a look after each whether the complaint has gone.

What may be wrong decides which rule is the best one. With one fault, and each action for a fault of its
own, likelihood over cost; with several independent faults, odds over cost; with set-ups that stay open
once they are opened, blocks; with actions that may end the same fault, no rule but a search. Using the
first of these everywhere is the error to avoid, so a `Plan` says by which rule it was made.

An order holds as long as nothing is learnt but that its actions failed: that rescales what is left and
leaves the order as it is (except for actions that share a fault). After any other finding it must be
made anew. Parts that are only inspected, to know whether a whole works, are in the last section.

Sources (titles and pages from memory, but for Srinivas, Ottosen and Jensen, and Lin):

- one fault: J. Kadane, H. Simon, Optimal strategies for a class of constrained sequential problems
  (1977); J. Kalagnanam, M. Henrion, A comparison of decision analysis and expert rules for sequential
  diagnosis (1988); D. Heckerman, J. Breese, K. Rommelse, Decision-theoretic troubleshooting (1995). It
  is job scheduling by weight over time: W. E. Smith, Naval Res. Logist. Quart. 3 (1956) 59-66.
- several faults: S. Srinivas, A polynomial algorithm for computing the optimal repair strategy in a
  system with independent component failures (1995, arXiv 1302.4985).
- set-ups: W. A. Horn, SIAM J. Appl. Math. 23 (1972) 189-202; J. B. Sidney, Oper. Res. 23 (1975) 283-298;
  T. J. Ottosen, F. V. Jensen, The cost of troubleshooting cost clusters with inside information (2010,
  arXiv 1203.3502). With several faults: C. L. Monma, J. B. Sidney, Math. Oper. Res. 4 (1979) 215-224.
- handing over: V. Lin, Scheduling results applicable to decision-theoretic troubleshooting (2014).
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import cache

__all__ = [
    "BLOCKS",
    "FROM_TWO",
    "GREEDY",
    "HANDED_OVER",
    "IN_FULL",
    "LIKELIHOOD",
    "MOST_SEARCHED",
    "ODDS",
    "SHARED",
    "Action",
    "Part",
    "Plan",
    "by_blocks",
    "by_greed",
    "by_odds",
    "by_ratio",
    "choose_rule",
    "exhaustive",
    "expected_cost",
    "faults_of",
    "k_of_n",
    "next_parts",
    "opened",
    "series",
    "two_or_more",
    "until_rejected",
]

#: The rules in plain words, as a `Plan` names them.
LIKELIHOOD = "likelihood over cost: one fault"
ODDS = "odds over cost: several faults at once"
BLOCKS = "blocks: set-ups shared"
IN_FULL = "searched in full"
SHARED = "searched in full: several actions may end the same fault"
GREEDY = "likelihood over cost, anew after each: several actions may end the same fault, too many to search"
HANDED_OVER = "searched in full: handing over may be cheaper than a repair"

#: P(two or more faults) above which several faults are reckoned with (estimate).
FROM_TWO = 0.10

#: Actions (set-ups among them) or parts up to which all orders are searched: 4096 sets of them.
MOST_SEARCHED = 12

#: Probabilities below this are rounding.
NOTHING = 1e-12

#: A certain fault has infinite odds; blocks and greed reckon with this instead.
NEARLY_SURE = 1.0 - 1e-9


@dataclass(frozen=True, slots=True)
class Action:
    """A repair or a set-up, after which it is seen whether the complaint has gone.

    name: different for every action. p: 0..1, P(the fault that it ends is there), with one fault P(it
    is this one); 0 for a mere set-up. cost: above 0, of trying it, in any one unit. set_up: the name of
    the action that must come first and serves all that name it; "" for none; it may need another one
    itself. ends: the faults that it ends, where several actions may end the same one (p then comes from
    them and is not read); empty for a fault of its own under the action's name. repair: 0 or more, paid
    besides only if the fault is found, where `cost` is that of inspecting. Raises ValueError.
    """

    name: str
    p: float
    cost: float
    set_up: str = ""
    ends: frozenset[str] = frozenset()
    repair: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.p <= 1.0:
            raise ValueError(f"{self.name}: probability {self.p} is not in 0..1")
        if not 0.0 < self.cost < math.inf or not 0.0 <= self.repair < math.inf:
            raise ValueError(f"{self.name}: cost {self.cost} is not above 0, or repair {self.repair} below 0")


@dataclass(frozen=True, slots=True)
class Plan:
    """An order of actions, its expected cost, the rule that it was made by, in words, and what is left.

    left: P(the complaint is still there after all of it); if there is somebody to hand the car over to,
    that is when it is done.
    """

    order: tuple[Action, ...]
    cost: float
    rule: str
    left: float

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the actions in their order."""
        return tuple(each.name for each in self.order)


# What an order costs.


def faults_of(actions: Iterable[Action], faults: Mapping[str, float] | None = None) -> dict[str, float]:
    """Every fault with its probability: those given, and those that are an action's own.

    Raises ValueError for an action that ends a fault without a probability, and for one outside 0..1.
    """
    found = dict(faults or {})
    for action in actions:
        if not action.ends and action.p > 0.0:
            found.setdefault(action.name, action.p)
        unknown = sorted(action.ends - found.keys())
        if unknown:
            raise ValueError(f"{action.name} ends {unknown[0]}, which has no probability")
    for name, p in found.items():
        if not 0.0 <= p <= 1.0:
            raise ValueError(f"{name}: probability {p} is not in 0..1")
    return found


def two_or_more(probabilities: Iterable[float]) -> float:
    """P(two or more of these independent faults | at least one): 0..1. Raises ValueError if none can be."""
    none, one, more = 1.0, 0.0, 0.0
    for p in probabilities:
        none, one, more = none * (1.0 - p), one * (1.0 - p) + none * p, more + one * p
    if one + more <= 0.0:
        raise ValueError("no fault can be there")
    return more / (one + more)


class _Complaint:
    """P(the complaint is still there) when some faults are ended, given that it was there at first.

    One fault: 1 - sum of the p of those ended. Several independent faults: P(any of the others) / P(any).
    """

    def __init__(self, actions: Iterable[Action], faults: Mapping[str, float] | None, several: bool) -> None:
        self.faults = faults_of(actions, faults)
        self.several = several
        total = sum(self.faults.values())
        if not several and total > 1.0 + 1e-9:
            raise ValueError(f"one fault out of several: the probabilities sum to {total:g}, above 1")
        if several and total <= 0.0:
            raise ValueError("no fault can be there")
        self._any = _any(self.faults.values()) if several else 1.0

    def ends(self, action: Action) -> frozenset[str]:
        return action.ends or frozenset([action.name]).intersection(self.faults)

    def found(self, ended: Set[str]) -> float:
        """P(at least one of these is there)."""
        # Summed in a fixed order: sets of words have none, and the last digit would change from run to run.
        each = [p for name, p in self.faults.items() if name in ended]
        return _any(each) / self._any if self.several else sum(each)

    def gain(self, ended: Set[str]) -> float:
        """By how much ending these lowers P(still there), but for a factor that is the same for all.

        With several faults it is the odds that one of them is there. They are above 0 where the fall
        itself is not: of two certain faults neither lets the complaint go by itself.
        """
        if not self.several:
            return self.found(ended)
        each = [min(p, NEARLY_SURE) for name, p in self.faults.items() if name in ended]
        return math.expm1(min(-sum(math.log1p(-p) for p in each), 700.0))

    def left(self, ended: Set[str]) -> float:
        if self.several:
            return _any(p for name, p in self.faults.items() if name not in ended) / self._any
        left = 1.0 - self.found(ended)
        return left if left > NOTHING else 0.0

    def after(self, order: Iterable[Action]) -> Iterator[tuple[float, float]]:
        """After nothing, and after each action: the cost so far, P(the complaint is still there)."""
        spent, left = 0.0, 1.0
        ended: frozenset[str] = frozenset()
        yield spent, left
        for action in order:
            spent += action.cost * left + action.repair * self.found(self.ends(action) - ended)
            ended |= self.ends(action)
            left = self.left(ended)
            yield spent, left


def _any(probabilities: Iterable[float]) -> float:
    """P(at least one) of independent events, exact to the last digits for small ones too."""
    each = list(probabilities)
    return 1.0 if any(p >= 1.0 for p in each) else -math.expm1(sum(math.log1p(-p) for p in each))


def expected_cost(
    order: Sequence[Action],
    *,
    several: bool = False,
    faults: Mapping[str, float] | None = None,
    hand_over: float | None = None,
) -> float:
    """Expected cost of the actions in this order, the car seen after each, until the complaint has gone.

        sum over i of  cost_i * P(still there before i)  +  repair_i * P(i finds its fault)

    and `hand_over` times P(still there after the last), if it is given. With one fault, P(still there
    before i) is 1 - (sum of the p before it): ECR in Heckerman, Breese and Rommelse 1995. With several
    independent faults it is P(any of those not yet ended) / P(any); Srinivas 1995 has the model, the
    formula is our own.

    faults: fault -> probability, where actions share faults, and for faults that no action of the order
    ends; with one fault what the sum lacks to 1 is something else. Raises ValueError for a name given
    twice, an action before its set-up, one fault with probabilities above 1 in all, or a `hand_over`
    that is not above 0 and finite.
    """
    _each_once(order)
    _check_hand_over(hand_over)
    done: set[str] = set()
    for action in order:
        if action.set_up and action.set_up not in done:
            raise ValueError(f"{action.name} stands before its set-up {action.set_up}")
        done.add(action.name)
    *_, (spent, left) = _Complaint(order, faults, several).after(order)
    return spent + (hand_over or 0.0) * left


# The rules. Ties keep the order in which the actions are given.


def by_ratio(actions: Sequence[Action]) -> tuple[Action, ...]:
    """By likelihood over cost, p / cost, greatest first; set-ups and shared faults are not looked at.

    Optimal for one fault with an action of its own for each (Kadane and Simon 1977), with or without
    costs of repair, which fall due in any order. With several faults it is not.
    """
    return tuple(sorted(actions, key=lambda each: -_even(each.p / each.cost)))


def by_odds(actions: Sequence[Action]) -> tuple[Action, ...]:
    """By odds over cost, (p / (1 - p)) / cost, greatest first; set-ups and shared faults are not looked at.

    Optimal for several independent faults, each with an action of its own. Srinivas 1995 shows that
    sorting does it; this index is our derivation (change two neighbours): 1/p - 1 times cost, least
    first, is the same.
    """
    return tuple(sorted(actions, key=lambda each: -_even(_odds(min(each.p, NEARLY_SURE)) / each.cost)))


@dataclass(frozen=True, slots=True)
class _Block:
    """Actions that are best done in one go, as if they were one.

    One fault: `gain` is the sum of p, `cost` that of costs. Several: `gain` is the odds that one of its
    faults is there, `cost` counts each cost 1 / P(none before it in the block) times.
    """

    order: tuple[Action, ...]
    gain: float
    cost: float

    @property
    def ratio(self) -> float:
        return _even(self.gain / self.cost)

    def then(self, other: _Block, several: bool) -> _Block:
        order = self.order + other.order
        if not several:
            return _Block(order, self.gain + other.gain, self.cost + other.cost)
        grown = 1.0 + self.gain
        return _Block(order, grown * (1.0 + other.gain) - 1.0, self.cost + grown * other.cost)


def by_blocks(actions: Sequence[Action], several: bool = False) -> tuple[Action, ...]:
    """By blocks of set-ups with what they open: again and again the block of greatest gain over cost.

    From the bottom up, every action draws in the blocks behind it that have a greater ratio than its
    own; what is left in the order of ratios is the best order in which no action stands before its
    set-up (Horn 1972, Sidney 1975; for opened parts of a device Ottosen and Jensen 2010). It takes that
    the complaint can be looked for with everything left open. A set-up may end a fault itself, so that
    chains of actions are ordered too.

    several: False, one fault, gain over cost is (sum of p) / (sum of cost); True, several independent
    faults, where blocks join as jobs do that change the failure rate (Monma and Sidney 1979, from
    memory; checked against every order in the tests). Raises ValueError for an unknown or circular
    set-up.
    """
    _check(actions)
    behind: dict[str, list[Action]] = {}
    for action in actions:
        behind.setdefault(action.set_up, []).append(action)

    def blocks(action: Action) -> list[_Block]:
        gain = _odds(min(action.p, NEARLY_SURE)) if several else action.p
        head = _Block((action,), gain, action.cost)
        rest = merged(action.name)
        drawn = 0
        while drawn < len(rest) and rest[drawn].ratio > head.ratio:
            head = head.then(rest[drawn], several)
            drawn += 1
        return [head, *rest[drawn:]]

    def merged(set_up: str) -> list[_Block]:
        # Each list falls in ratio, and a merge keeps the order within a list, in ties too.
        lists = [blocks(each) for each in behind.get(set_up, [])]
        return list(heapq.merge(*lists, key=lambda block: -block.ratio))

    return tuple(itertools.chain.from_iterable(block.order for block in merged("")))


def opened(order: Sequence[Action], actions: Sequence[Action]) -> tuple[Action, ...]:
    """The order with each set-up that it lacks put in just before the first action that needs it.

    actions: the set-ups among them. Raises ValueError for a set-up that is not there.
    """
    known = {each.name: each for each in (*actions, *order)}
    _check(tuple(known.values()))
    result: list[Action] = []
    for action in order:
        result += [each for each in _way_to(action, known) if each not in result]
    return tuple(result)


def by_greed(
    actions: Sequence[Action], *, several: bool = False, faults: Mapping[str, float] | None = None
) -> tuple[Action, ...]:
    """Step by step the action that most likely ends the complaint for what it costs, given what failed.

    Actions may share faults; what must be opened first is counted in the cost. Actions that end nothing
    more are left out. Not optimal: with one fault, equal costs and no set-ups at most 4 times the optimum
    (U. Feige, L. Lovasz, P. Tetali, Approximating min sum set cover, 2004). Raises ValueError as
    `expected_cost` does.
    """
    _check(actions)
    complaint = _Complaint(actions, faults, several)
    known = {each.name: each for each in actions}
    order: list[Action] = []
    ended: frozenset[str] = frozenset()
    while True:
        best: list[Action] = []
        most = 0.0
        for action in actions:
            way = [each for each in _way_to(action, known) if each not in order]
            if not way:
                continue
            ending = frozenset().union(*(complaint.ends(each) for each in way))
            ratio = _even(complaint.gain(ending - ended) / sum(each.cost for each in way))
            if ratio > most:
                best, most = way, ratio
        if not best:
            return tuple(order)
        order += best
        ended = ended.union(*(complaint.ends(each) for each in best))


def exhaustive(
    actions: Sequence[Action],
    *,
    several: bool = False,
    faults: Mapping[str, float] | None = None,
    hand_over: float | None = None,
) -> Plan:
    """The best order of all, by dynamic programming over the sets of actions done.

    What is to come depends only on which actions have failed, not on their order: n actions take
    2**n steps. Actions may share faults and set-ups. The plan ends when no action left can end a fault,
    or when handing over is as cheap. Raises ValueError above 12 actions, and as `expected_cost` does.
    """
    _check(actions)
    _check_hand_over(hand_over)
    if len(actions) > MOST_SEARCHED:
        raise ValueError(f"{len(actions)} actions are too many to search; at most {MOST_SEARCHED}")
    complaint = _Complaint(actions, faults, several)
    number = {each.name: n for n, each in enumerate(actions)}
    least = complaint.left(frozenset().union(*(complaint.ends(each) for each in actions)))

    def ended(done: int) -> frozenset[str]:
        return frozenset().union(*(complaint.ends(each) for n, each in enumerate(actions) if done >> n & 1))

    @cache
    def onwards(done: int) -> tuple[float, int]:
        """(expected cost from here on, counted from the start; the next action or -1)."""
        gone = ended(done)
        left = complaint.left(gone)
        lowest, first = math.inf, -1
        if hand_over is not None or left - least <= NOTHING:
            lowest = (hand_over or 0.0) * left
        for n, action in enumerate(actions):
            if done >> n & 1 or (action.set_up and not done >> number[action.set_up] & 1):
                continue
            found = complaint.found(complaint.ends(action) - gone)
            cost = action.cost * left + action.repair * found + onwards(done | 1 << n)[0]
            if cost < lowest * (1.0 - NOTHING):
                lowest, first = cost, n
        return lowest, first

    done, order = 0, []
    while (step := onwards(done)[1]) >= 0:
        order.append(actions[step])
        done |= 1 << step
    return Plan(tuple(order), onwards(0)[0], IN_FULL, complaint.left(ended(done)))


def choose_rule(
    actions: Sequence[Action],
    *,
    two_or_more: float,
    faults: Mapping[str, float] | None = None,
    hand_over: float | None = None,
) -> Plan:
    """The order by the rule that fits what may be wrong, with its expected cost and the rule in words.

    two_or_more: 0..1, P(two or more faults are there | the complaint). Above 0.10 the p are taken as
    those of independent faults of which several may be there, else as those of one fault; where they
    then sum to more than 1 they are scaled to 1. faults: as for `expected_cost`.

    hand_over: above 0, what it costs to hand the car over. The order then ends where that is cheaper
    than going on. It ends after the best of all its beginnings, which is the best of all plans, unless
    repairs have costs of their own (then all are searched, up to 12 actions). To stop as soon
    as p / cost, given what failed, is below 1 / hand_over is not enough: two actions may pay together
    of which the first alone does not. Lin 2014 has the problem, and that it is no harder than sorting.

    Actions that could end nothing more at the end of the order are left out. Raises ValueError as
    `expected_cost` and `by_blocks` do.
    """
    if not 0.0 <= two_or_more <= 1.0:
        raise ValueError(f"probability {two_or_more} is not in 0..1")
    _check(actions)
    _check_hand_over(hand_over)
    several = two_or_more > FROM_TWO
    chances = faults_of(actions, faults)
    total = sum(chances.values())
    if not several and total > 1.0:
        chances = {name: p / total for name, p in chances.items()}
    complaint = _Complaint(actions, chances, several)
    few = len(actions) <= MOST_SEARCHED
    ended = [name for each in actions for name in complaint.ends(each) if chances[name] > 0.0]
    if len(ended) > len(set(ended)):
        if few:
            plan = exhaustive(actions, several=several, faults=chances, hand_over=hand_over)
            return replace(plan, rule=SHARED)
        order, rule = by_greed(actions, several=several, faults=chances), GREEDY
    elif hand_over is not None and few and any(each.repair for each in actions):
        plan = exhaustive(actions, several=several, faults=chances, hand_over=hand_over)
        return replace(plan, rule=HANDED_OVER)
    else:
        given = {each.name: each for each in actions}
        weighed = [replace(each, p=_own(each, complaint)) for each in actions]
        if any(each.set_up for each in actions):
            order, rule = by_blocks(weighed, several), BLOCKS
        else:
            order, rule = (by_odds(weighed), ODDS) if several else (by_ratio(weighed), LIKELIHOOD)
        order = tuple(given[each.name] for each in order)
    return _ended(order, complaint, hand_over, rule)


def _own(action: Action, complaint: _Complaint) -> float:
    """The p of an action that shares no fault: that at least one of those that it ends is there."""
    each = [p for name, p in complaint.faults.items() if name in complaint.ends(action)]
    return _any(each) if complaint.several else min(sum(each), 1.0)


def _ended(order: tuple[Action, ...], complaint: _Complaint, hand_over: float | None, rule: str) -> Plan:
    """The order as far as it is worth going."""
    steps = list(complaint.after(order))
    if hand_over is None:
        end = next(n for n, (_, left) in enumerate(steps) if left - steps[-1][1] <= NOTHING)
    else:
        costs = [spent + hand_over * left for spent, left in steps]
        end = next(n for n, cost in enumerate(costs) if cost <= min(costs) * (1.0 + NOTHING))
    spent, left = steps[end]
    return Plan(order[:end], spent + (hand_over or 0.0) * left, rule, left)


def _odds(p: float) -> float:
    return p / (1.0 - p) if p < 1.0 else math.inf


def _even(ratio: float) -> float:
    """A ratio to twelve digits, so that rounding does not choose between equal ones."""
    return float(f"{ratio:.12g}")


def _way_to(action: Action, known: Mapping[str, Action]) -> list[Action]:
    """The action behind all its set-ups, the outermost first."""
    way = [action]
    while way[0].set_up:
        way.insert(0, known[way[0].set_up])
    return way


def _each_once(actions: Sequence[Action]) -> None:
    names = [each.name for each in actions]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"two actions are called {name}")


def _check_hand_over(cost: float | None) -> None:
    # Infinity would make nan of a complaint that has certainly gone; None says that nobody takes the car.
    if cost is not None and not 0.0 < cost < math.inf:
        raise ValueError(f"handing over costs {cost}, not above 0 and finite")


def _check(actions: Sequence[Action]) -> None:
    """Raises ValueError for a name given twice and for a set-up that is unknown or needs itself."""
    _each_once(actions)
    above = {each.name: each.set_up for each in actions}
    for name in above:
        at, steps = name, 0
        while above[at]:
            if above[at] not in above:
                raise ValueError(f"{at} needs the set-up {above[at]}, which is not among the actions")
            at, steps = above[at], steps + 1
            if steps > len(above):
                raise ValueError(f"{name}: its set-ups need one another")


# Inspecting parts, to know whether the whole works.


@dataclass(frozen=True, slots=True)
class Part:
    """A part that is inspected and left as it is: works, 0..1, P(it works); cost, above 0.

    Parts are independent. Raises ValueError.
    """

    name: str
    works: float
    cost: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.works <= 1.0 or not 0.0 < self.cost < math.inf:
            raise ValueError(f"{self.name}: probability {self.works} or cost {self.cost} out of range")


def series(parts: Sequence[Part]) -> tuple[Part, ...]:
    """The best order where all parts must work, so that the first bad one ends it.

    By cost / P(bad), least first (a textbook rule, also in Kadane and Simon 1977). Ties keep the order
    given.
    """
    return tuple(sorted(parts, key=lambda each: _even(_over(each.cost, 1.0 - each.works))))


def until_rejected(order: Sequence[Part]) -> float:
    """Expected cost of inspecting in this order until the first bad part, or the end.

    sum over i of cost_i * P(all before it work).
    """
    return sum(
        part.cost * math.prod(before.works for before in order[:number]) for number, part in enumerate(order)
    )


def next_parts(parts: Sequence[Part], need: int) -> tuple[Part, ...]:
    """The parts with which it is best to go on, in the order given, to know whether `need` of them work.

    A part that is among the `need` of least cost / P(works) and also among the n - need + 1 of least
    cost / P(bad); there is at least one, and any of them is optimal. After each, apply it to the parts
    left, with one fewer to find if it works. Source: Y. Ben-Dov, Optimal testing procedures for special
    structures of coherent systems (1981); M.-F. Chang, W. Shi, W. K. Fuchs, Optimal diagnosis procedures
    for k-out-of-n structures (1990); the rule from memory, checked against `k_of_n` in the tests. Raises
    ValueError unless 1 <= need <= n.
    """
    _need(parts, need)
    numbers = range(len(parts))
    good = sorted(numbers, key=lambda n: _even(_over(parts[n].cost, parts[n].works)))[:need]
    bad = sorted(numbers, key=lambda n: _even(_over(parts[n].cost, 1.0 - parts[n].works)))
    both = set(good) & set(bad[: len(parts) - need + 1])
    return tuple(parts[n] for n in numbers if n in both)


def k_of_n(parts: Sequence[Part], need: int) -> tuple[float, tuple[Part, ...]]:
    """Whether at least `need` of the parts work: the least expected cost to know it, and the best to start.

    By dynamic programming over the parts not yet inspected; all parts that are equally good to start
    with are given, in the order given. Raises ValueError above 12 parts and unless 1 <= need <= n.
    """
    _need(parts, need)
    if len(parts) > MOST_SEARCHED:
        raise ValueError(f"{len(parts)} parts are too many to search; at most {MOST_SEARCHED}")

    def starting(untested: int, missing: int, part: int) -> float:
        rest = untested & ~(1 << part)
        works = parts[part].works
        return parts[part].cost + works * onwards(rest, missing - 1) + (1.0 - works) * onwards(rest, missing)

    @cache
    def onwards(untested: int, missing: int) -> float:
        if missing <= 0 or missing > untested.bit_count():
            return 0.0
        return min(starting(untested, missing, n) for n in range(len(parts)) if untested >> n & 1)

    whole = (1 << len(parts)) - 1
    least = onwards(whole, need)
    best = [each for n, each in enumerate(parts) if starting(whole, need, n) <= least * (1.0 + NOTHING)]
    return least, tuple(best)


def _over(cost: float, p: float) -> float:
    return cost / p if p > 0.0 else math.inf


def _need(parts: Sequence[Part], need: int) -> None:
    if not 1 <= need <= len(parts):
        raise ValueError(f"{need} of {len(parts)} parts")
