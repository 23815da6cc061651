"""Two checks that only tell together: the second is looked at after each outcome of the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diagnose.belief.belief import Belief
from diagnose.belief.tables import Array
from diagnose.choice.cost import OVERHEAD, Cures, check_minutes
from diagnose.choice.lookahead import CURES_TRIED, TRIED_FROM, Look, Proposal
from diagnose.choice.outcomes import Spot, Table, look_at_pairs, open_spots, stacked
from diagnose.model.check import TALK
from diagnose.model.story import Workshop

__all__ = ["LEAST_SAVED", "best_of_pairs"]

#: Minutes that several checks together must save: less is within the error of the figures (estimate).
LEAST_SAVED = 0.2

#: Checks of which all pairs are looked at.
PAIRED = 5

#: The most columns that a pair may need, and that all pairs may need together.
WIDEST = 40
IN_ALL = 240


def best_of_pairs(belief: Belief, cures: Cures, workshop: Workshop, look: Look) -> Proposal | None:
    """The check that pays because of a second one that may follow it, where none pays alone; or None.

    The cheapest courses of action are looked at in pairs: after each outcome of the first check, the best
    of curing and of each other check. Its cost and saving are those with the second one.
    """
    library = belief.car.library
    named = sorted(look.proposals, key=lambda each: (each.cost, each.check))[:PAIRED]
    spots = {each.check: open_spots(belief, library.checks[each.check]) for each in named}
    pairs, columns = [], 0
    for number, each in enumerate(named):
        for other in named[number + 1 :]:
            wide = _width(belief, spots[each.check]) * _width(belief, spots[other.check])
            if wide <= WIDEST and columns + wide <= IN_ALL:
                columns += wide
                one, two = library.checks[each.check], library.checks[other.check]
                pairs.append(((one, spots[one.id]), (two, spots[two.id])))
    if not pairs:
        return None
    found = look_at_pairs(belief, pairs)
    tables: list[Table] = []
    here: list[float] = []
    away: list[float] = []
    slices: dict[tuple[str, str], slice] = {}
    for (first, second), after in found.items():
        check = library.checks[second]
        slices[first, second] = slice(len(tables), len(tables) + len(after))
        tables += after
        here += [check_minutes(library, check, library.checks[first].set_up) + OVERHEAD] * len(after)
        away += [check_minutes(library, check, TALK) + OVERHEAD] * len(after)
    rate = workshop.labour(1.0)
    then = _best_then(belief, cures, tables, rate * np.array(here), rate * np.array(away))
    best: Proposal | None = None
    for each in named:
        seconds = [then[part] for (first, _), part in slices.items() if first == each.check]
        if not seconds:
            continue
        alone = np.array(each.after) * np.array([outcome.probability for outcome in each.outcomes])
        cost = workshop.labour(each.minutes + OVERHEAD) + float(np.min([alone, *seconds], axis=0).sum())
        saving = look.now - cost
        if saving > workshop.labour(LEAST_SAVED) and (best is None or cost < best.cost * (1.0 - 1e-9)):
            best = replace(each, cost=cost, saving=saving, saving_minutes=workshop.minutes(saving))
    return best


def _width(belief: Belief, spots: Sequence[Spot]) -> int:
    """Columns that a check needs."""
    return 1 + sum(max(len(belief.car.library.findings[spot.finding].levels), 1) for spot in spots)


def _best_then(belief: Belief, cures: Cures, tables: Sequence[Table], here: Array, away: Array) -> Array:
    """For each table its probability times the least expected money from there: looking and then curing, or
    each likely cure first, with looking only if the complaint is still there.

    here, away: money for the look from where the car stands, and after a drive, a value for each table.
    """
    rows, starts = stacked(tables)
    p, present = rows.p, rows.present
    every = cures.prospects(present, rows.blame, rows.outside, rows.there)
    danger = cures.danger(present, rows.blame)
    reached = np.add.reduceat(p, starts)
    best: Array = np.add.reduceat(p * (every.costs(cures.prices) + danger), starts) + here * reached
    sound = cures.money * (1.0 - cures.any(np.add.reduceat(p[:, None] * present, starts) / reached[:, None]))
    every_away = np.repeat(away, np.diff([*starts, len(p)]))
    # Over the outcomes of any two checks the blame comes to what it is now.
    likely = np.argsort(-cures.any(belief.to_blame[None, :])[0], kind="stable")[:CURES_TRIED]
    for cure in [int(n) for n in likely if every.blame[:, n].max() > TRIED_FROM]:
        left, then = every.failed(cure)
        looked = p * (left * (then.costs(cures.prices) + every_away) + danger)
        cost = np.add.reduceat(looked, starts) + (sound[:, cure] + cures.prices.drive) * reached
        best = np.minimum(best, cost)
    return best
