"""Whether given causes had a part in a complaint: an event of its own, so that an answer can observe it.

A cause has a part in a complaint where it is present and a chain of links that hold leads from it up to the
top, every gate on the way being on: the meaning of *to blame* (docs/method.md, section 6).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from diagnose.belief.network import Cause, Input, Network, Node

__all__ = ["acting"]


def acting(network: Network, key: str, causes: Collection[int], mark: str) -> tuple[Network, str | None]:
    """The network with an event "one of these causes has a part in `key`".

    Every link on the way becomes an event or a coin that the tree and the new event share, so the tree says
    what it said before. Returns the network and the key of the event, None if none of the causes feeds `key`.
    `mark` is put behind the keys that are made; use another one for each question.
    """
    made = _Acting(network, frozenset(causes), mark)
    top = made.event(key)
    return replace(network, nodes=made.nodes, causes=tuple(made.causes)), top


class _Acting:
    """A network in the making."""

    def __init__(self, network: Network, sources: frozenset[int], mark: str) -> None:
        self.nodes = dict(network.nodes)
        self.causes = list(network.causes)
        #: Links that are events already, as findings hang on them.
        self.known = network.acting
        self.sources = sources
        self.mark = mark
        self._made: dict[str, str | None] = {}

    def event(self, key: str) -> str | None:
        """The key of the event "one of the causes has a part in this node"."""
        if key in self.known:
            return key if self.known[key] in self.sources else None
        if key not in self._made:
            self._made[key] = self._event(self.nodes[key])
        return self._made[key]

    def _event(self, node: Node) -> str | None:
        inputs: list[Input] = []
        leading: list[Input] = []
        for number, each in enumerate(node.inputs):
            now, lead = self._input(f"{node.key}.{number}{self.mark}", each)
            inputs.append(now)
            if lead is not None:
                leading.append(lead)
        if not leading:
            return None
        self.nodes[node.key] = replace(node, inputs=tuple(inputs))
        key = node.key + self.mark
        some = key if node.top == 1 else f"{key}|"
        self.nodes[some] = Node(some, 1, True, (1.0, 0.0), tuple(leading))
        if node.top > 1:
            # In a conjunction a branch counts only where the whole came about.
            self.nodes[key] = _both(key, node.key, some)
        return key

    def _input(self, name: str, each: Input) -> tuple[Input, Input | None]:
        """The input as the node has it from now on, and what leads up through it, if anything does."""
        if not isinstance(each.source, str):
            if each.source not in self.sources:
                return each, None
            self.nodes[name] = Node(name, 1, True, (1.0, 0.0), (each,))
            return Input(name, (1.0,)), Input(name, (1.0,))
        below = self.event(each.source)
        if below is None:
            return each, None
        if each.chances == (1.0,):
            return each, Input(below, (1.0,))
        coin = len(self.causes)
        self.causes.append(Cause(f"link {name}", "", "centre", each.chances[0]))
        for key, source in ((f"{name}+", each.source), (f"{name}-", below)):
            self.nodes[key] = _both(key, source, coin)
        return Input(f"{name}+", (1.0,)), Input(f"{name}-", (1.0,))


def _both(key: str, one: int | str, other: int | str) -> Node:
    return Node(key, 2, True, (1.0, 0.0, 0.0), (Input(one, (1.0,)), Input(other, (1.0,))))
