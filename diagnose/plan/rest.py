"""By how much at most a plan can be better for having a given unit of work in it.

Take the best plan of all, with stages S_1 < S_2 < ... < S_T, and let it go without unit k. With R(S) = the
worth of what is left of the complaints after S, and open_t = P(a stage after S_t is needed):

- It was worth going on after each stage, so the costs of the later stages are bounded by what they win:
  sum of open_t * net_(t+1) <= won = R(nothing) - R(S_T), and net_(t+1) <= R(S_t) / open_t <= worth; both but
  for what units bring in by themselves.
- Without k, open_t rises by P(k acts and nothing else is left) at most, which is share_k * q(S_t), with
  share_k = P(there) * a_k / A and q(S) = P(nothing acts after S). So later stages cost at most share_k * q
  times won / open, or times (T - 1) * worth, more (q and open after the last stage but one), and the end
  worth * share_k * q(S_T) more.
- What is saved is k's own cost, as often as the plan comes to it: as often at least as to its last stage.

q, R and open are bounded by what the money can buy: the first stage costs `won` at most, a later one `worth`,
and the most that so much money can do for q is a knapsack with fractions (G. B. Dantzig, Discrete-variable
extremum problems, Oper. Res. 5 (1957) 266-288). That makes `won` smaller, so it is gone through a few times.
Taking several units away one after the other, their bounds add up.
"""

from __future__ import annotations

import math

import numpy as np

from diagnose.plan.bound import Parts
from diagnose.plan.chances import Acting
from diagnose.plan.table import Work
from diagnose.plan.units import Unit

__all__ = ["gains"]

#: Times that the bounds are tightened.
ROUNDS = 6

#: No stage is reached less often than this, so that nothing is divided by 0.
LEAST = 1e-6


def gains(work: Work, stages: int) -> list[float]:
    """For each unit of the work, by how much at most a plan of so many stages is better for having it."""
    behind = work.behind
    parts = work.parts(behind.some)
    each_parts = [work.parts(acting) for acting, _ in behind.each]
    brought = parts.brought
    now = sum(worth * acting.there for acting, worth in behind.each)
    won = now + brought
    for _ in range(ROUNDS):
        money, before = won, 1.0
        now_quiet = quiet = 0.0
        for stage in range(stages):
            if stage:
                before = max(_left(behind.some, now_quiet), LEAST)
                quiet = now_quiet
                money += behind.worth + brought
            now_quiet = _quiet(behind.some, parts, money)
        last = [_quiet(acting, own, money) for (acting, _), own in zip(behind.each, each_parts, strict=True)]
        least = sum(worth * _left(acting, q) for (acting, worth), q in zip(behind.each, last, strict=True))
        won = max(now - least, 0.0) + brought
    found = []
    for unit, own in zip(work.units, work.own_net, strict=True):
        later = _share(behind.some, unit) * quiet * min(won / before, (stages - 1) * (behind.worth + brought))
        end = sum(
            worth * _share(acting, unit) * q for (acting, worth), q in zip(behind.each, last, strict=True)
        )
        found.append(max(later + end - (own * before if own > 0.0 else own), 0.0))
    return found


def _quiet(acting: Acting, parts: Parts, money: float) -> float:
    """The most that P(nothing acts) can become by work for so much money."""
    order = np.argsort(parts.cost / parts.lift, kind="stable")
    spent = parts.cost[order].cumsum()
    whole = int(np.searchsorted(spent, money, side="right"))
    gain = parts.free + float(parts.lift[order[:whole]].sum())
    if whole < len(order):
        over = money - (float(spent[whole - 1]) if whole else 0.0)
        gain += float(parts.lift[order[whole]] * over / parts.cost[order[whole]])
    return math.exp(min(float(acting.quiet.sum()) + math.log1p(-acting.outside) + gain, 0.0))


def _left(acting: Acting, quiet: float) -> float:
    """P(the complaint is left) where nothing acts with that chance; new parts taken as good."""
    return acting.there * (1.0 - quiet) / acting.one


def _share(acting: Acting, unit: Unit) -> float:
    """P(the complaint is there) * P(what the unit ends acts | it is there)."""
    silent = float(acting.quiet[list(unit.ends)].sum())
    return acting.there * -math.expm1(silent) / acting.one
