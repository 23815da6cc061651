"""The engine agrees with a general-purpose Bayesian-network library on random models.

The library (pyAgrum, junction-tree propagation) knows nothing of causes, gates and findings: every node
becomes one variable with a full table.
"""

from __future__ import annotations

import itertools
import math
import warnings
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from hypothesis import strategies as st

from diagnose.belief.engine import Engine
from diagnose.belief.network import Network
from tests.examples import often
from tests.oracle import distribution, node_order
from tests.strategies import networks, observations

with warnings.catch_warnings():
    # Its binary module warns about its own types on import; turned into an error that would end Python.
    warnings.simplefilter("ignore")
    import pyagrum


def translate(network: Network) -> Any:
    """The same model in the library: `cause n`, and every node under its key.

    Two mates are one variable of four states (first + 2 * second) above their causes.
    """
    model = pyagrum.BayesNet()
    paired = {}
    for i, j in network.pairs:
        model.add(pyagrum.RangeVariable(f"pair {i} {j}", "", 0, 3))
        table = network.pairs[i, j]
        model.cpt(f"pair {i} {j}").fillWith([table[s & 1][s >> 1] for s in range(4)])
        paired[i], paired[j] = (f"pair {i} {j}", 1), (f"pair {i} {j}", 2)
    for number, cause in enumerate(network.causes):
        name = f"cause {number}"
        model.add(pyagrum.RangeVariable(name, "", 0, 1))
        if number not in paired:
            model.cpt(name).fillWith([1.0 - cause.prior, cause.prior])
            continue
        pair, bit = paired[number]
        model.addArc(pair, name)
        for state in range(4):
            model.cpt(name)[{pair: state}] = [0.0, 1.0] if state & bit else [1.0, 0.0]
    for node in node_order(network):
        model.add(pyagrum.RangeVariable(node.key, "", 0, node.top))
        above = {each.source: _name(each.source) for each in node.inputs}
        for parent in above.values():
            model.addArc(parent, node.key)
        sizes = [model.variable(parent).domainSize() for parent in above.values()]
        for setting in itertools.product(*(range(size) for size in sizes)):
            states = dict(zip(above, setting, strict=True))
            on = [int(bool(states.get(n, 0))) for n in range(len(network.causes))]
            below = {key: state for key, state in states.items() if isinstance(key, str)}
            where = dict(zip(above.values(), setting, strict=True))
            model.cpt(node.key)[where] = distribution(node, on, below, network)
    return model


def _name(source: int | str) -> str:
    return source if isinstance(source, str) else f"cause {source}"


def library_answer(
    network: Network, seen: Mapping[str, Sequence[float]], gates: Sequence[str]
) -> tuple[float, list[float], list[float]]:
    """(P(observations), P(cause present), P(gate on)); no posteriors where it is 0."""
    model = translate(network)
    inference = pyagrum.LazyPropagation(model)
    for key, weights in seen.items():
        inference.addEvidence(key, list(weights))
    try:
        total = inference.evidenceProbability()
        if total == 0.0:
            return 0.0, [], []
        inference.makeInference()
        causes = [inference.posterior(f"cause {n}")[1] for n in range(len(network.causes))]
        return total, causes, [inference.posterior(key)[network.nodes[key].top] for key in gates]
    except pyagrum.IncompatibleEvidence:
        return 0.0, [], []


@often(15, 40, st.data())
def test_every_posterior_equals_the_library_s(data: st.DataObject) -> None:
    network = data.draw(networks(most_causes=8, most_nodes=7))
    seen = data.draw(observations(network))
    gates = [key for key, node in network.nodes.items() if node.counts]
    total, causes, on = library_answer(network, seen, gates)
    answer = Engine(network).ask([seen], gates)
    if total == 0.0:
        assert answer.log_evidence[0] == -math.inf
        return
    assert answer.log_evidence[0] == pytest.approx(math.log(total), abs=1e-9)
    assert list(answer.present[0]) == pytest.approx(causes, abs=1e-9)
    assert [answer.node(key) for key in gates] == pytest.approx(on, abs=1e-9)
