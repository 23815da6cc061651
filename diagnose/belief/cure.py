"""What would be left of a complaint if some causes were put right.

The complaint's tree is written twice: as it is, and as it would be without those causes. Links that
do not belong to them are shared, so the second tree says what the very same car would still do:
the chance that a cure works is the posterior of its top event being off. With every cause put right
only the leaks are left: the chance that something outside the tree is behind the complaint.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from diagnose.belief.network import Cause, Input, Network, Node, reaching

__all__ = ["Twins", "repaired", "without"]


def without(network: Network, key: str, cured: Collection[int], mark: str) -> tuple[Network, str | None]:
    """The network with a second tree under `key`, in which the causes `cured` are sound.

    Returns the network and the key of the second top event, or None if nothing is left to raise it.
    `mark` is put behind the keys of the second tree; use another one for each question.
    """
    twins = Twins(network, frozenset(cured), mark)
    top = twins.make(key)
    blame = network.blame | twins.links
    return replace(network, nodes=twins.nodes, causes=tuple(twins.causes), blame=blame), top


def repaired(
    network: Network, keys: Collection[str], cured: Collection[int], fresh: Collection[str], mark: str
) -> tuple[Network, dict[str, str | None]]:
    """The network of a car in which the causes `cured` were put right, and which is looked at again.

    Under each of `keys` it has a second tree, as `without` makes it. The findings `fresh` (keys of nodes)
    are looked for only now: they show the car as it is after the repair. Returns the network, whose blame
    leads up to the second tops, and for each key that of its second top event, None if nothing is left to
    raise it.
    """
    twins = Twins(network, frozenset(cured), mark)
    tops = {key: twins.make(key) for key in keys}
    nodes = twins.nodes
    for key in fresh:
        inputs = []
        for each in nodes[key].inputs:
            cause = network.cause_of(each.source)
            if cause is not None:
                inputs += [] if cause in twins.cured else [each]
                continue
            assert isinstance(each.source, str)
            now = twins.make(each.source)
            if now is not None:
                inputs.append(replace(each, source=now))
        nodes[key] = replace(nodes[key], inputs=tuple(inputs))
    after = replace(network, nodes=nodes, causes=tuple(twins.causes))
    up = tuple(top for top in tops.values() if top is not None)
    return replace(after, blame=reaching(after, up)), tops


class Twins:
    """A network in the making, in which trees get a second one without the causes `cured`."""

    def __init__(self, network: Network, cured: frozenset[int], mark: str) -> None:
        self.nodes = dict(network.nodes)
        self.causes = list(network.causes)
        self.cured = cured
        self.mark = mark
        self.blame = network.blame
        #: Nodes put between a gate and one above it: a way to the complaint leads through them.
        self.links: frozenset[str] = frozenset()
        self._made: dict[str, str | None] = {}
        self._affected: dict[str, bool] = {}

    def affected(self, key: str) -> bool:
        """True if a cured cause feeds the node."""
        if key not in self._affected:
            self._affected[key] = any(
                self.affected(each.source) if isinstance(each.source, str) else each.source in self.cured
                for each in self.nodes[key].inputs
            )
        return self._affected[key]

    def make(self, key: str) -> str | None:
        """The key of the node's twin: itself if no cured cause feeds it, None if it can never be on."""
        if key not in self._made:
            self._made[key] = self._twin(self.nodes[key]) if self.affected(key) else key
        return self._made[key]

    def _twin(self, node: Node) -> str | None:
        own: list[Input] = []  # inputs of the node as it is
        left: list[Input] = []  # inputs of its twin
        for number, each in enumerate(node.inputs):
            if isinstance(each.source, str):
                self._gate_input(node, number, each, own, left)
            elif each.source in self.cured:
                own.append(each)
            elif node.top == 1:
                left.append(each)
            else:
                shared = self._shared(node, number, each)
                own.append(shared)
                left.append(shared)
        twin = node.key + self.mark
        alone = len(left) < node.top
        if node.top == 1:
            if alone and node.start[1] <= 0.0:
                self.nodes[node.key] = replace(node, inputs=tuple(own))
                return None
            # The node is on if its twin is on or a cured cause raises it: the leak moves to the twin.
            self.nodes[twin] = replace(node, key=twin, inputs=tuple(left))
            own.append(Input(twin, (1.0,)))
            self.nodes[node.key] = replace(node, start=(1.0, 0.0), inputs=tuple(own))
            return twin
        self.nodes[node.key] = replace(node, inputs=tuple(own))
        if alone:
            return None
        self.nodes[twin] = replace(node, key=twin, inputs=tuple(left))
        return twin

    def _gate_input(self, node: Node, number: int, each: Input, own: list[Input], left: list[Input]) -> None:
        assert isinstance(each.source, str)
        below = self.make(each.source)
        if below == each.source:
            # Untouched: in an OR the twin carries it to the node as well.
            if node.top == 1:
                left.append(each)
            else:
                shared = self._shared(node, number, each)
                own.append(shared)
                left.append(shared)
            return
        if below is None or each.chances == (1.0,):
            # Nothing to share: no twin, or a link that works in both trees.
            own.append(each)
            if below is not None:
                left.append(Input(below, (1.0,)))
            return
        # One coin decides for both trees whether this branch raises the gate.
        coin = len(self.causes)
        name = f"{node.key}.{number}{self.mark}"
        self.causes.append(Cause(f"link {name}", "", "centre", each.chances[0]))
        if node.key in self.blame:
            self.links |= {f"{name}+"}
        for source, inputs, key in ((each.source, own, f"{name}+"), (below, left, f"{name}-")):
            both = (Input(source, (1.0,)), Input(coin, (1.0,)))
            self.nodes[key] = Node(key, 2, True, (1.0, 0.0, 0.0), both)
            inputs.append(Input(key, (1.0,)))

    def _shared(self, node: Node, number: int, each: Input) -> Input:
        """A branch of a conjunction whose link is decided once for both trees."""
        if each.chances == (1.0,):
            return each
        key = f"{node.key}.{number}{self.mark}="
        self.nodes[key] = Node(key, 1, True, (1.0, 0.0), (each,))
        return Input(key, (1.0,))
