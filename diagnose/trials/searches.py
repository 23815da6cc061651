"""Ways of searching: the program's own, and plain ones to compare it with.

The plain ones look, check by check in their order, until one cure has a given share of the blame, or
until nothing is left to look at; then they cure, by the same best course as the program. Each has the
share that served it best out of 0.25, 0.35, 0.5 and 0.7 (docs/choice.md has the figures).

* `bits`: most bits about the culprit for each minute;
* `ratio`: the check that settles the suspect with the most likelihood for each minute of it;
* `likely`: the quickest check that settles the likeliest suspect;
* `fixed`: every check that concerns a suspect, from the cheap to the dear, set-up and all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from diagnose.belief.belief import Car, places
from diagnose.belief.network import finding_key
from diagnose.choice.cost import OVERHEAD, check_minutes
from diagnose.choice.decide import decide
from diagnose.choice.lookahead import candidates_of
from diagnose.choice.settling import settling
from diagnose.choice.shortlist import bits_told
from diagnose.model.check import TALK, Check
from diagnose.trials.walk import Search, State, Step

__all__ = ["OWN", "SEARCHES", "concerns"]

#: Bits below which a check tells nothing.
NOTHING_TOLD = 1e-3

#: Findings that showed something, after which a plain search stops looking: each that is open doubles the
#: table of the exact posterior, and a search that looks at everything finds a dozen faults of old age.
MOST_FOUND = 10

#: Blame below which a suspect is none.
NO_SUSPECT = 1e-4


def own(state: State) -> Step:
    """As the program decides."""
    made = decide(state.belief, state.cures, state.workshop, state.set_up, state.done)
    return Step(check=made.check.check) if made.check is not None else Step(cure=made.cure)


def until(share: float, choose: Callable[[State], str | None]) -> Search:
    """Check by check as chosen, until one cure has that share of the blame; then cure."""

    def search(state: State) -> Step:
        # What shows nothing makes nothing surer by much: only news is weighed.
        if state.news and _surest(state) >= share:
            return _cure(state)
        if sum(each.answer != "no" for each in state.story.seen) >= MOST_FOUND:
            return _cure(state)
        check = choose(state)
        return Step(check=check) if check is not None else _cure(state)

    return search


def _cure(state: State) -> Step:
    """The first cure of the best course from here, or handing on."""
    belief = state.belief
    prospects = state.cures.prospects(
        belief.present[None, :],
        belief.to_blame[None, :],
        np.array([belief.outside]),
        np.array([belief.there]),
    )
    course = prospects.course(state.cures.prices)
    return Step(cure=course.order[0]) if course.order else Step()


def _surest(state: State) -> float:
    """Share of the blame of the cure most to blame."""
    belief = state.belief
    blame = state.cures.any(belief.to_blame[None, :])[0]
    return float(blame.max() / max(blame.sum() + belief.outside, 1e-9))


def by_fixed(state: State) -> str | None:
    """The next of the checks from the cheap to the dear."""
    library = state.car.library
    found = [
        check
        for check, _ in candidates_of(state.car, state.story, state.workshop, state.done)
        if concerns(state.car, check)
    ]
    return min(found, key=lambda c: (check_minutes(library, c, TALK), c.id)).id if found else None


def concerns(car: Car, check: Check) -> bool:
    """True if a finding of the check is of the complaint, or points to a suspect."""
    suspects, network, library = car.suspects(), car.network, car.library
    for name in check.findings:
        if library.findings[name].repeats in car.complaints:
            return True
        for place in places(library, name):
            node = network.nodes.get(finding_key(name, place))
            if node is not None and any(network.cause_of(each.source) in suspects for each in node.inputs):
                return True
    return False


def by_bits(state: State) -> str | None:
    """The check that tells most about the culprit for each minute."""
    candidates = candidates_of(state.car, state.story, state.workshop, state.done)
    if not candidates:
        return None
    bits = bits_told(state.belief, candidates)
    if bits.max() < NOTHING_TOLD:
        return None
    library = state.car.library
    minutes = np.array([check_minutes(library, c, state.set_up) + OVERHEAD for c, _ in candidates])
    return candidates[int(np.argmax(bits / minutes))][0].id


def by_suspect(state: State, per_minute: bool) -> str | None:
    """The quickest check that settles the likeliest suspect, or the one with most likelihood a minute."""
    best, highest = None, 0.0
    library, belief = state.car.library, state.belief
    settlers = settling(state.car, state.workshop)
    for number in belief.order():
        blame = float(belief.to_blame[number])
        if blame <= NO_SUSPECT or (best is not None and not per_minute):
            break
        options = [
            (check_minutes(library, library.checks[name], state.set_up) + OVERHEAD, name)
            for name in set(settlers.get(number, ())) - set(state.done)
        ]
        if options:
            minutes, name = min(options)
            score = blame / minutes if per_minute else blame
            if score > highest:
                best, highest = name, score
    return best


#: The program's own way.
OWN = "own"

#: Every way of searching by name, the program's own first.
SEARCHES: Mapping[str, Search] = {
    OWN: own,
    "bits": until(0.5, by_bits),
    "ratio": until(0.5, lambda state: by_suspect(state, per_minute=True)),
    "likely": until(0.5, lambda state: by_suspect(state, per_minute=False)),
    "fixed": until(0.5, by_fixed),
}
