"""Random small models and observations of them, for properties that must hold for all."""

from __future__ import annotations

from hypothesis import strategies as st

from diagnose.belief.network import Cause, Input, Network, Node, plackett

chances = st.floats(0.001, 0.999)
small = st.floats(0.001, 0.6)


@st.composite
def networks(draw: st.DrawFn, most_causes: int = 6, most_nodes: int = 5) -> Network:
    """A network with pairs of mates, every kind of gate, and yes/no and graded findings."""
    count = draw(st.integers(1, most_causes))
    causes = tuple(Cause(f"cause-{n}", f"fault-{n}", "centre", draw(small)) for n in range(count))
    pairs = {}
    for n in range(0, count - 1, 2):
        if draw(st.booleans()):
            ratio = draw(st.floats(0.2, 20.0))
            pairs[n, n + 1] = plackett(causes[n].prior, causes[n + 1].prior, ratio)
    nodes: dict[str, Node] = {}
    gates: list[str] = []
    for n in range(draw(st.integers(1, most_nodes))):
        sources: list[int | str] = list(range(count)) + list(gates)
        picked = draw(st.lists(st.sampled_from(sources), min_size=1, max_size=4, unique=True))
        if draw(st.booleans()):
            key = f"gate-{n}"
            need = draw(st.integers(1, len(picked)))
            inputs = tuple(Input(s, (draw(st.one_of(chances, st.just(1.0))),)) for s in picked)
            leak = draw(small) if need == 1 else 0.0
            start = (1.0 - leak, *([0.0] * (need - 1)), leak) if need > 1 else (1.0 - leak, leak)
            nodes[key] = Node(key, need, True, start, inputs)
            gates.append(key)
        else:
            key = f"finding-{n}"
            levels = draw(st.integers(1, 3))
            inputs = tuple(Input(s, _levels(draw, levels)) for s in picked)
            alarm = _levels(draw, levels)
            nodes[key] = Node(key, levels, False, (1.0 - sum(alarm), *alarm), inputs)
    index = {cause.id: n for n, cause in enumerate(causes)}
    return Network(causes, pairs, nodes, {}, frozenset(gates), index)


def _levels(draw: st.DrawFn, levels: int) -> tuple[float, ...]:
    shares = [draw(st.floats(0.01, 1.0)) for _ in range(levels)]
    whole = draw(st.floats(0.05, 0.95))
    return tuple(whole * share / sum(shares) for share in shares)


@st.composite
def observations(draw: st.DrawFn, network: Network) -> dict[str, tuple[float, ...]]:
    """What was seen of some nodes: certain, unsure or impossible states."""
    seen = {}
    for key, node in network.nodes.items():
        kind = draw(st.sampled_from(["not asked", "one state", "up to", "unsure"]))
        top = node.top
        if kind == "one state":
            state = draw(st.integers(0, top))
            seen[key] = tuple(1.0 if s == state else 0.0 for s in range(top + 1))
        elif kind == "up to":
            state = draw(st.integers(0, top))
            seen[key] = tuple(1.0 if s <= state else 0.0 for s in range(top + 1))
        elif kind == "unsure":
            seen[key] = tuple(draw(st.floats(0.01, 1.0)) for _ in range(top + 1))
    return seen


@st.composite
def nested_ors(draw: st.DrawFn) -> Network:
    """Trees of OR under OR with sure links, some shared, some leaky, with findings on the way down."""
    count = draw(st.integers(2, 5))
    causes = tuple(Cause(f"cause-{n}", f"fault-{n}", "centre", draw(small)) for n in range(count))
    nodes: dict[str, Node] = {}
    loose = []
    for n in range(draw(st.integers(2, 4))):
        picked = draw(st.lists(st.integers(0, count - 1), min_size=1, max_size=3, unique=True))
        inputs = [Input(source, (draw(chances),)) for source in picked]
        below = draw(st.lists(st.sampled_from(loose), max_size=2, unique=True)) if loose else []
        inputs += [Input(key, (draw(st.sampled_from([1.0, 1.0, 0.7])),)) for key in below]
        leak = draw(st.sampled_from([0.0, 0.05, 0.3]))
        key = f"gate-{n}"
        nodes[key] = Node(key, 1, True, (1.0 - leak, leak), tuple(inputs))
        loose.append(key)
    for n in range(draw(st.integers(0, 2))):
        source: int | str = draw(st.sampled_from([*range(count), *loose]))
        alarm = _levels(draw, 2)
        nodes[f"finding-{n}"] = Node(
            f"finding-{n}", 2, False, (1.0 - sum(alarm), *alarm), (Input(source, _levels(draw, 2)),)
        )
    index = {cause.id: n for n, cause in enumerate(causes)}
    blame = frozenset(key for key in loose)
    return Network(causes, {}, nodes, {}, blame, index)


@st.composite
def fault_trees(draw: st.DrawFn) -> tuple[Network, str]:
    """A fault tree in which each cause has one way up, with its top, and a finding or two beside it."""
    causes: list[Cause] = []
    nodes: dict[str, Node] = {}

    def leaf() -> Input:
        causes.append(Cause(f"cause-{len(causes)}", "fault", "centre", draw(small)))
        return Input(len(causes) - 1, (draw(st.sampled_from([1.0, 0.8, 0.3])),))

    def gate(key: str, depth: int) -> None:
        inputs: list[Input] = []
        for number in range(draw(st.integers(1, 2))):
            if depth < 2 and len(nodes) + depth < 4 and draw(st.booleans()):
                below = f"{key}.{number}"
                gate(below, depth + 1)
                inputs.append(Input(below, (draw(st.sampled_from([1.0, 1.0, 0.6])),)))
            else:
                inputs.append(leaf())
        need = draw(st.integers(1, len(inputs)))
        leak = draw(st.sampled_from([0.0, 0.2])) if need == 1 else 0.0
        start = (1.0 - leak, leak) if need == 1 else (1.0,) + (0.0,) * need
        nodes[key] = Node(key, need, True, start, tuple(inputs))

    gate("top", 0)
    if draw(st.booleans()):
        source: int | str = draw(st.sampled_from([*range(len(causes)), *nodes]))
        nodes["finding"] = Node("finding", 1, False, (0.9, 0.1), (Input(source, (0.7,)),))
    index = {cause.id: n for n, cause in enumerate(causes)}
    blame = frozenset(key for key in nodes if key != "finding")
    pairs = {}
    if len(causes) > 1 and draw(st.booleans()):
        pairs[0, 1] = plackett(causes[0].prior, causes[1].prior, draw(st.sampled_from([0.3, 4.0])))
    return Network(tuple(causes), pairs, nodes, {"top": None}, blame, index), "top"
