"""Builders for small published models out of the engine's own pieces, and the rules to compare with."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence

from diagnose.belief.engine import Answer, Engine
from diagnose.belief.network import Cause, Input, Network, Node

NO, YES = (1.0, 0.0), (0.0, 1.0)

#: A variable of a Bayesian network: its parents, and P(true | parents) for every setting of them.
Table = tuple[tuple[str, ...], Mapping[tuple[bool, ...], float]]


def tree(priors: Mapping[str, float], gates: Mapping[str, tuple[int, Sequence[str]]]) -> Network:
    """A fault tree: basic events with their probabilities, gates as (how many branches must be on, branches).

    A basic event that stands under several gates is one cause.
    """
    causes = tuple(Cause(name, name, "centre", p) for name, p in priors.items())
    index = {name: number for number, name in enumerate(priors)}
    nodes = {}
    for key, (need, branches) in gates.items():
        inputs = tuple(Input(index.get(branch, branch), (1.0,)) for branch in branches)
        nodes[key] = Node(key, need, True, (1.0,) + (0.0,) * need, inputs)
    return Network(causes, {}, nodes, index=index)


def seen(network: Network, states: Mapping[str, bool]) -> dict[str, tuple[float, ...]]:
    """Certain observations of gates and yes/no findings."""
    weights = {}
    for key, on in states.items():
        top = network.nodes[key].top
        weights[key] = tuple(float((state == top) == on) for state in range(top + 1))
    return weights


def ask(network: Network, states: Mapping[str, bool], nodes: Sequence[str] = ()) -> Answer:
    """Posteriors given that these nodes are on or off."""
    return Engine(network).ask([seen(network, states)], nodes)


def probability(network: Network, states: Mapping[str, bool]) -> float:
    """P(these nodes are on or off)."""
    return math.exp(ask(network, states).log_evidence[0])


def cut_set_rules(priors: Mapping[str, float], cuts: Iterable[Iterable[str]]) -> tuple[float, float]:
    """(rare-event sum, min-cut bound) of a coherent tree: both at least the exact value."""
    each = [math.prod(priors[event] for event in cut) for cut in cuts]
    return sum(each), 1.0 - math.prod(1.0 - p for p in each)


def birnbaum(prior: float, posterior: float, top: float) -> float:
    """P(top | event) - P(top | no event), from P(event | top) and P(top)."""
    return top * (posterior / prior - (1.0 - posterior) / (1.0 - prior))


def bayes_network(tables: Mapping[str, Table]) -> Network:
    """Any Bayesian network over yes/no variables, in the engine's causes and gates; parents come first.

    The engine's gates only push upwards, so "not" needs a trick: every variable X stands twice, as
    `X` and as `not X`, and of the two exactly one is on, always.

    * A root is two causes, joined as a pair whose joint prior allows only one of them:
      ((0, 1 - p), (p, 0)).
    * Every row of a table gets a coin of the same kind: heads with P(true | row), else tails. An AND
      over what the row says of the parents and heads raises `X`; the same with tails raises
      `not X`. One row alone fits the parents, so the ORs over rows reproduce the table exactly,
      whether it is monotone or not. Rows of 0 and 1 need no coin.
    """
    causes: list[Cause] = []
    pairs: dict[tuple[int, int], tuple[tuple[float, float], tuple[float, float]]] = {}
    nodes: dict[str, Node] = {}

    def either(name: str, p: float) -> tuple[int, int]:
        yes, no = len(causes), len(causes) + 1
        causes.append(Cause(name, name, "centre", p))
        causes.append(Cause(f"not {name}", f"not {name}", "centre", 1.0 - p))
        pairs[yes, no] = ((0.0, 1.0 - p), (p, 0.0))
        return yes, no

    def gate(key: str, need: int, sources: Sequence[int | str]) -> None:
        inputs = tuple(Input(source, (1.0,)) for source in sources)
        nodes[key] = Node(key, need, True, (1.0,) + (0.0,) * need, inputs)

    for name, (parents, rows) in tables.items():
        raising: dict[str, list[int | str]] = {name: [], f"not {name}": []}
        for row in itertools.product((True, False), repeat=len(parents)):
            p = rows[row]
            literals = [parent if on else f"not {parent}" for parent, on in zip(parents, row, strict=True)]
            key = " and ".join(literals)
            heads, tails = either(f"{name} if {key}" if key else name, p) if 0.0 < p < 1.0 else (None, None)
            for target, chance, coin in ((name, p, heads), (f"not {name}", 1.0 - p, tails)):
                if chance == 0.0:
                    continue
                sources = [*literals, *([coin] if coin is not None else [])]
                if len(sources) == 1:
                    raising[target].append(sources[0])
                else:
                    gate(f"{target} if {key}", len(sources), sources)
                    raising[target].append(f"{target} if {key}")
        for key, sources in raising.items():
            gate(key, 1, sources)
    return Network(tuple(causes), pairs, nodes)


def rows(parents: str, *chances: float) -> Table:
    """A table: names of the parents, and P(true) by row: last parent fastest, true before false."""
    names = tuple(parents.split())
    settings = itertools.product((True, False), repeat=len(names))
    return names, dict(zip(settings, chances, strict=True))
