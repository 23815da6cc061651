"""The events of one complaint's tree, in the order in which a diagram asks them, and the tree over them.

A cause is an event. So is a link that does not always work (a strength below 1), and so is a leak: each
happens or not, of its own. Mates are the only events that are not independent of one another.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.belief.network import Network, Node
from diagnose.faulttree.diagram import NEVER, Functions

__all__ = ["Event", "Pair", "Table", "events_of", "function_of"]

#: P(neither, second alone; first alone, both) of two mates: ((p00, p01), (p10, p11)).
Table = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Event:
    """One basic event. `chance`: its probability in (0, 1] for this car, before any answer.

    kind: `cause` (a fault at one position), `link` (what is below raises the gate above, once it is
    there: the strength), `leak` (the gate is raised by something not listed under it).
    source: of a link, the cause's id or the key of the gate below; of a cause its own id; of a leak "".
    gate: key of the gate above; of a cause "", as it may stand under several.
    cause: index in the network of a cause, or of that at the lower end of a link; else None.
    """

    key: str
    kind: str
    chance: float
    source: str
    gate: str
    cause: int | None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two mates: indices of the events, one directly after the other, and their joint probabilities."""

    first: int
    second: int
    table: Table


def link_key(gate: str, number: int) -> str:
    """Key of the link from the input of that number to its gate."""
    return f"{gate}<{number}"


def leak_key(gate: str) -> str:
    """Key of the leak of a gate."""
    return f"{gate}<leak"


def events_of(network: Network, top: str) -> tuple[tuple[Event, ...], tuple[Pair, ...]]:
    """The events below the gate `top` in a good order for a diagram, mates side by side; and the mates.

    Raises KeyError if there is no such node, ValueError if it is no fault tree: if a finding stands
    below it, or a gate starts from something else than off and a leak.
    """
    gates = {key: network.nodes[key] for key in _from_top(network, top)}
    for key, node in gates.items():
        if not node.counts or any(chance > 0.0 for chance in node.start[1:-1]):
            raise ValueError(f"{key} is not a gate of a fault tree")
    found: dict[str, Event] = {}
    # What is near the top is asked first: then a gate joins what it adds in front of what is there.
    for event in reversed(list(_in_order(network, gates, top))):
        found.setdefault(event.key, event)
    at = {key: number for number, key in enumerate(found)}
    pairs = []
    for (i, j), table in sorted(network.pairs.items()):
        first, second = at.get(network.causes[i].id), at.get(network.causes[j].id)
        if first is None or second is None:
            continue
        if first > second:
            first, second = second, first
            table = ((table[0][0], table[1][0]), (table[0][1], table[1][1]))
        pairs.append(Pair(first, second, table))
    return tuple(found.values()), tuple(pairs)


def _from_top(network: Network, top: str) -> list[str]:
    """The gate and those below it, each once, from the top down, branch by branch."""
    seen: dict[str, None] = {}
    waiting = [top]
    while waiting:
        key = waiting.pop()
        if key not in seen:
            seen[key] = None
            below = [each.source for each in network.nodes[key].inputs if isinstance(each.source, str)]
            waiting += reversed(below)
    return list(seen)


def _in_order(network: Network, gates: Mapping[str, Node], top: str) -> Iterator[Event]:
    """The events from the bottom up, so that few gates are begun and not ended at any place in the order.

    A diagram must remember of every gate that was begun whether it is on: its width is two to the
    number of such gates. So the gates are ended one by one, always next the one that leaves the fewest
    open, and a cause comes with its links to all gates at once. A gate that would raise the top by
    itself, as an OR by sure links, costs nothing to remember: once it is on all is settled.
    """
    settles = _settling(gates, top)
    mate: dict[int, tuple[int, ...]] = {i: pair for pair in network.pairs for i in pair}
    left: dict[str, list[tuple[int, ...]]] = {key: [] for key in gates}  # its causes, mates together
    touched: dict[tuple[int, ...], list[tuple[str, int]]] = {}  # those -> (gate, number of the input)
    children: dict[str, set[str]] = {key: set() for key in gates}
    above: dict[str, list[tuple[str, int]]] = {key: [] for key in gates}
    for key, node in gates.items():
        for number, each in enumerate(node.inputs):
            if isinstance(each.source, str):
                children[key].add(each.source)
                above[each.source].append((key, number))
            else:
                unit = mate.get(each.source, (each.source,))
                left[key].append(unit)
                touched.setdefault(unit, []).append((key, number))
    placed: set[tuple[int, ...]] = set()
    begun: set[str] = set()  # begun and not ended

    def begins(gate: str) -> set[str]:
        """The gates begun, or going on, by ending this one."""
        found = {key for unit in left[gate] if unit not in placed for key, _ in touched[unit]}
        return found.union(key for key, _ in above[gate]) - settles

    at = {key: number for number, key in enumerate(gates)}
    ready = {key: at[key] for key in gates if not children[key]}
    while ready:
        # What settles all by itself comes last: its causes may have been placed by then.
        gate = min(ready, key=lambda key: (key in settles, len((begun | begins(key)) - {key}), ready[key]))
        del ready[gate]
        begun = (begun | begins(gate)) - {gate}
        for unit in left[gate]:
            if unit in placed:
                continue
            placed.add(unit)
            listed = {gates[key].inputs[number].source for key, number in touched[unit]}
            for cause in unit:
                if cause in listed:
                    yield _cause(network, cause)
            for key, number in touched[unit]:
                yield from _link(network, key, number)
        if gates[gate].start[-1] > 0.0:
            yield Event(leak_key(gate), "leak", gates[gate].start[-1], "", gate, None)
        for key, number in above[gate]:
            yield from _link(network, key, number)
            children[key].discard(gate)
            if not children[key]:
                ready[key] = at[key]


def _settling(gates: Mapping[str, Node], top: str) -> set[str]:
    """The gates from which sure links over ORs lead to the top: on, they raise it."""
    found = {top} if gates[top].top == 1 else set()
    waiting = list(found)
    while waiting:
        for each in gates[waiting.pop()].inputs:
            source = each.source
            sure = isinstance(source, str) and each.chances[0] >= 1.0 and source not in found
            if isinstance(source, str) and sure and gates[source].top == 1:
                found.add(source)
                waiting.append(source)
    return found


def _cause(network: Network, number: int) -> Event:
    cause = network.causes[number]
    return Event(cause.id, "cause", cause.prior, cause.id, "", number)


def _link(network: Network, key: str, number: int) -> Iterator[Event]:
    each = network.nodes[key].inputs[number]
    if each.chances[0] < 1.0:
        cause = each.source if isinstance(each.source, int) else None
        source = each.source if isinstance(each.source, str) else network.causes[each.source].id
        yield Event(link_key(key, number), "link", each.chances[0], source, key, cause)


def function_of(network: Network, top: str, functions: Functions, at: Mapping[str, int]) -> int:
    """The function "the gate `top` is on" of the events numbered in `at` (key -> number)."""
    done: dict[str, int] = {}
    waiting = [top]
    while waiting:
        key = waiting[-1]
        node = network.nodes[key]
        needs = [each.source for each in node.inputs if isinstance(each.source, str)]
        missing = [each for each in needs if each not in done]
        if missing:
            waiting += missing
            continue
        waiting.pop()
        inputs = []
        for number, each in enumerate(node.inputs):
            if isinstance(each.source, str):
                below = done[each.source]
            else:
                below = functions.event(at[network.causes[each.source].id])
            if each.chances[0] < 1.0:
                below = functions.both(below, functions.event(at[link_key(key, number)]))
            inputs.append(below)
        raised = functions.at_least(node.top, inputs) if node.top > 1 else functions.any_of(inputs)
        if node.start[-1] > 0.0:
            raised = functions.either(raised, functions.event(at[leak_key(key)]))
        done[key] = raised
    return done.get(top, NEVER)
