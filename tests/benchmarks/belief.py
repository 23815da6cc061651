"""How long a full update of every posterior takes, beside two general-purpose libraries.

Run: python -m tests.benchmarks.belief [--alone] [--positives 4 8 12 16] [--seed 1]

The model is random but built like a workshop's; see `workshop`. The other libraries run one at a time in
a process of their own, under limits of time and memory; where they hit one, that is printed.
"""

from __future__ import annotations

import argparse
import json
import platform
import random
import resource
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node, plackett

CAUSES, NEGATIVES, MECHANISMS, UPDATES = 300, 30, 12, 20
SECONDS, BYTES = 60, 4 * 2**30
Weights = dict[str, tuple[float, ...]]


def workshop(positives: int, seed: int) -> tuple[Network, Weights]:
    """A seeded model and what was seen of it.

    300 causes, priors 0.005 to 0.2; two thirds of them are left and right of one fault, which findings
    about the whole car point to together, and of which two in three are pairs of mates (odds ratio 3).
    One complaint over 12 mechanisms of 4 to 10 causes: nine OR, two AND, one 2 of 3; the driver's word for
    it is unsure. Each finding points to 4 to 15 causes, most of them below the complaint; one in six
    has three grades. `positives` were seen (at any grade), 30 were not.
    """
    rng = random.Random(seed)
    priors = [round(0.005 * 40 ** rng.random(), 4) for _ in range(CAUSES)]
    causes = tuple(Cause(f"cause-{n}", f"fault-{n}", "centre", p) for n, p in enumerate(priors))
    faults = [(n, n + 1) for n in range(0, 200, 2)] + [(n,) for n in range(200, CAUSES)]
    pairs = {}
    for fault in faults[:100]:
        if rng.random() < 2 / 3:
            pairs[fault[0], fault[1]] = plackett(causes[fault[0]].prior, causes[fault[1]].prior, 3.0)
    near = rng.sample(faults, 70)  # the faults that can raise the complaint
    nodes: dict[str, Node] = {}

    def some(pool: Sequence[tuple[int, ...]], least: int, most: int) -> list[int]:
        """So many causes of the pool; both sides of a fault, or one of them."""
        wanted, found = rng.randint(least, most), set()
        while len(found) < wanted:
            fault = rng.choice(pool)
            found.update(fault if rng.random() < 0.5 and len(found) + len(fault) <= wanted else fault[:1])
        return sorted(found)

    def gate(key: str, need: int, sources: Sequence[int | str], leak: float = 0.0) -> str:
        start = (1.0 - leak, leak) if need == 1 else (1.0,) + (0.0,) * need
        strengths = (rng.choice((0.2, 0.3, 0.45, 0.6, 0.8)) if isinstance(s, int) else 1.0 for s in sources)
        inputs = tuple(Input(s, (p,)) for s, p in zip(sources, strengths, strict=True))
        nodes[key] = Node(key, need, True, start, inputs)
        return key

    branches: list[int | str] = []
    for number in range(MECHANISMS):
        key, need = f"mechanism-{number}", 1 if number < 9 else 2
        if need == 1:
            branches.append(gate(key, 1, some(near, 4, 10), leak=0.01))
            continue
        arms = [gate(f"{key}.{arm}", 1, some(near, 3, 6)) for arm in range(2 if number < 11 else 3)]
        branches.append(gate(key, need, arms))
    gate("complaint", 1, branches, leak=0.03)
    seen: Weights = {"complaint": (0.05, 0.95)}
    for number in range(positives + NEGATIVES):
        key, levels = f"finding-{number}", 3 if number % 6 == 5 else 1
        share = (1.0,) if levels == 1 else (0.5, 0.3, 0.2)
        pool = near if rng.random() < 2 / 3 else faults
        inputs = []
        for source in some(pool, 4, 15):
            detection = rng.choice((0.3, 0.5, 0.7, 0.85))
            inputs.append(Input(source, tuple(detection * s for s in share)))
        alarm = rng.choice((0.03, 0.05, 0.1))
        start = (1.0 - alarm, *(alarm * s for s in share))
        nodes[key] = Node(key, levels, False, start, tuple(inputs))
        state = rng.randint(1, levels) if number < positives else 0
        seen[key] = tuple(float(s == state) for s in range(levels + 1))
    tree = frozenset(key for key, node in nodes.items() if node.counts)
    return Network(causes, pairs, nodes, {"complaint": None}, tree), seen


# The same model for a general-purpose library ----------------------------------------------------------

#: name -> (parents, table of shape (states of the parents ..., states)); parents first.
Tables = dict[str, tuple[list[str], Any]]
Asked = tuple[float, list[float], list[float]]


def _moved(node: Node, chances: Sequence[float], on: bool) -> Any:
    """Table (state before, state after) of one input that is on or off."""
    table = np.zeros((node.top + 1, node.top + 1))
    for state in range(node.top + 1):
        if not on:
            table[state, state] = 1.0
        elif node.counts:
            table[state, min(state + 1, node.top)] += chances[0]
            table[state, state] += 1.0 - chances[0]
        else:
            table[state, state] += 1.0 - sum(chances)
            for level, chance in enumerate(chances, start=1):
                table[state, max(state, level)] += chance
    return table


def tables(network: Network, chained: bool) -> Tables:
    """Every variable with its parents and its table.

    Either one table for a node over all its inputs, or (`chained`) a chain of small variables, one
    for each input: the form of a noisy OR that is kindest to a library which knows nothing of it.
    """
    found: Tables = {}
    names = {}
    for number, cause in enumerate(network.causes):
        names[number] = f"c{number}"
        found[f"c{number}"] = ([], np.array([1.0 - cause.prior, cause.prior]))
    for (i, j), joint in network.pairs.items():
        table = np.array(joint)
        found[f"c{i}"] = ([], table.sum(axis=1))
        found[f"c{j}"] = ([f"c{i}"], table / table.sum(axis=1, keepdims=True))
    for key, node in network.nodes.items():
        before = np.array(node.start)
        last: list[str] = []
        parents: list[str] = []
        for number, each in enumerate(node.inputs):
            source = names.get(each.source) if isinstance(each.source, int) else each.source
            assert source is not None
            states = 2 if isinstance(each.source, int) else network.nodes[each.source].top + 1
            moves = np.stack([_moved(node, each.chances, state == states - 1) for state in range(states)])
            parents.append(source)
            if chained:
                here = key if number == len(node.inputs) - 1 else f"{key}_{number}"
                if not last:
                    found[here] = ([source], np.einsum("a,sab->sb", before, moves))
                else:
                    found[here] = ([*last, source], np.einsum("sab->asb", moves))
                last = [here]
            else:
                before = np.einsum("...a,sab->...sb", before, moves)
        if not chained:
            found[key] = (parents, before)
    return found


def by_hand(network: Network, seen: Weights) -> tuple[Network, Weights]:
    """The model without its negative findings: each is soft evidence on its causes (exact for a noisy OR).

    No library is told that; a patient user could, so both are timed.
    """
    nodes, left = dict(network.nodes), dict(seen)
    stays = [1.0] * CAUSES
    for key, weights in seen.items():
        if weights[0] == 1.0 and not network.nodes[key].counts:
            for each in network.nodes[key].inputs:
                assert isinstance(each.source, int)
                stays[each.source] *= 1.0 - sum(each.chances)
            del nodes[key], left[key]
    left.update({f"c{n}": (1.0, stay) for n, stay in enumerate(stays) if stay < 1.0})
    return Network(network.causes, network.pairs, nodes), left


def ask_pyagrum(model: Tables, seen: Weights, keep: Sequence[str]) -> Asked:
    """(seconds to build, seconds of each full update, posteriors)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pyagrum

    began = time.perf_counter()
    net = pyagrum.BayesNet()
    for name, (_, table) in model.items():
        net.add(pyagrum.RangeVariable(name, "", 0, table.shape[-1] - 1))
    for name, (parents, table) in model.items():
        for parent in parents:
            net.addArc(parent, name)
        # Flat, the variable itself runs fastest, then its parents from the first to the last.
        axes = (*range(table.ndim - 2, -1, -1), table.ndim - 1)
        net.cpt(name).fillWith(np.transpose(table, axes).ravel().tolist())
    built = time.perf_counter() - began
    times: list[float] = []
    values: list[float] = []
    began_all = time.perf_counter()
    while len(times) < UPDATES and (not times or time.perf_counter() - began_all < 20.0):
        began = time.perf_counter()
        inference = pyagrum.LazyPropagation(net)
        for key, weights in seen.items():
            inference.addEvidence(key, list(weights))
        inference.setTargets(set(keep))
        inference.makeInference()
        values = [inference.posterior(name)[1] for name in keep]
        times.append(time.perf_counter() - began)
    return built, times, values


def ask_pgmpy(model: Tables, seen: Weights, keep: Sequence[str]) -> Asked:
    """The same for as few causes as `keep` names, one query each."""
    warnings.simplefilter("ignore")
    import logging

    logging.disable(logging.CRITICAL)
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    began = time.perf_counter()
    net = DiscreteBayesianNetwork()
    net.add_nodes_from(model)
    for name, (parents, table) in model.items():
        net.add_edges_from((parent, name) for parent in parents)
        columns = np.moveaxis(table, -1, 0).reshape(table.shape[-1], -1)
        sizes = list(table.shape[:-1])
        net.add_cpds(TabularCPD(name, table.shape[-1], columns, evidence=parents, evidence_card=sizes))
    built = time.perf_counter() - began
    sure = {key: weights.index(1.0) for key, weights in seen.items() if sorted(weights)[-2:] == [0.0, 1.0]}
    unsure = [
        TabularCPD(key, len(weights), [[w] for w in np.array(weights) / sum(weights)])
        for key, weights in seen.items()
        if key not in sure
    ]
    times, values = [], []
    for name in keep:
        began = time.perf_counter()
        answer = VariableElimination(net).query(
            [name], evidence=sure, virtual_evidence=unsure, show_progress=False
        )
        times.append(time.perf_counter() - began)
        values.append(float(answer.values[1]))
    return built, times, values


RIVALS: Mapping[str, tuple[Any, bool, bool]] = {
    # name -> (function, chains and negatives by hand, every cause or one)
    "pyAgrum": (ask_pyagrum, False, True),
    "pyAgrum, helped": (ask_pyagrum, True, True),
    "pgmpy, ONE cause": (ask_pgmpy, False, False),
    "pgmpy, ONE cause, helped": (ask_pgmpy, True, False),
}


def _suspect(network: Network, seen: Weights) -> int:
    """The cause to which most of the positive findings point."""
    pointed = [
        each.source
        for key, weights in seen.items()
        if weights[0] == 0.0
        for each in network.nodes[key].inputs
    ]
    return max(range(CAUSES), key=lambda number: (pointed.count(number), -number))


def child(name: str, positives: int, seed: int) -> None:
    """Run one library under the limits; prints one line of JSON."""
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    function, helped, every = RIVALS[name]
    network, seen = workshop(positives, seed)
    numbers = list(range(CAUSES)) if every else [_suspect(network, seen)]
    if helped:
        network, seen = by_hand(network, seen)
    try:
        built, times, values = function(tables(network, helped), seen, [f"c{n}" for n in numbers])
    except MemoryError:
        print(json.dumps({"failed": f"out of memory ({BYTES / 2**30:.0f} GB)"}))
        return
    except Exception as error:
        print(json.dumps({"failed": f"{type(error).__name__}: {str(error).strip()[:90]}"}))
        return
    print(json.dumps({"built": built, "times": times, "numbers": numbers, "values": values}))


def rival(name: str, positives: int, seed: int, ours: float, expected: Sequence[float]) -> tuple[bool, str]:
    """(finished, line to print) of one library on one model. ours: seconds of a new engine."""
    command = [sys.executable, "-m", "tests.benchmarks.belief", "--child", name]
    command += ["--positives", str(positives), "--seed", str(seed)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return False, f"FAILED: not done after {SECONDS} s"
    line = done.stdout.strip().splitlines()[-1:] or ["{}"]
    try:
        result = json.loads(line[0])
    except ValueError:
        result = {}
    if "values" not in result:
        why = result.get("failed") or f"process ended with code {done.returncode}"
        tail = done.stderr.strip().splitlines()[-1:] if "failed" not in result else []
        return False, f"FAILED: {why} {' '.join(tail)[:90]}".rstrip()
    values = result["values"]
    far = max(abs(a - expected[n]) for n, a in zip(result["numbers"], values, strict=True))
    return True, (
        f"{_spread(result['times'])}, {len(values)} posteriors, "
        f"largest difference {far:.0e}, building {result['built']:.1f} s; "
        f"ratio {statistics.median(result['times']) / ours:.0f}"
    )


def _spread(times: Sequence[float]) -> str:
    median, worst = 1000 * statistics.median(times), 1000 * max(times)
    return f"median {median:8.1f} ms, worst {worst:8.1f} ms of {len(times):2d}"


def ours(positives: int, seed: int) -> tuple[float, list[float]]:
    """Time the engine on one model and on twenty; returns the median with planning, in seconds, and the
    posteriors of the one."""
    network, seen = workshop(positives, seed)
    first, again = [], []
    for _ in range(UPDATES):
        began = time.perf_counter()
        engine = Engine(network)
        answer = engine.ask([seen])
        first.append(time.perf_counter() - began)
    for _ in range(UPDATES):
        began = time.perf_counter()
        answer = engine.ask([seen])
        again.append(time.perf_counter() - began)
    others, widths = [], []
    for other in range(seed, seed + UPDATES):
        model = workshop(positives, other)
        began = time.perf_counter()
        widths.append(Engine(model[0]).ask([model[1]]).width)
        others.append(time.perf_counter() - began)
    links = sum(len(node.inputs) for node in network.nodes.values())
    print(
        f"\n{positives} positive findings: {len(network.nodes)} events, {links} links, "
        f"{len(network.pairs)} pairs, largest table {answer.width} states, "
        f"log P(evidence) {answer.log_evidence[0]:.3f}"
    )
    print(f"  {'diagnose, new engine, with planning':38} {_spread(first)}, {CAUSES} posteriors")
    print(f"  {'diagnose, same engine again':38} {_spread(again)}")
    print(
        f"  {'diagnose, 20 models, new engine each':38} {_spread(others)}, "
        f"largest tables {int(statistics.median(widths))} (median), {max(widths)} (worst)"
    )
    return statistics.median(first), [float(p) for p in answer.present[0]]


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--positives", type=int, nargs="+", default=[4, 8, 12, 16])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--alone", action="store_true", help="without the other libraries")
    parser.add_argument("--child", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        child(options.child, options.positives[0], options.seed)
        return
    from importlib.metadata import version

    print(
        f"Python {platform.python_version()}, numpy {np.__version__}, pyAgrum {version('pyAgrum')}, "
        f"pgmpy {version('pgmpy')}; seed {options.seed}"
    )
    print(
        f"{CAUSES} causes, {NEGATIVES} negative findings, one complaint over {MECHANISMS} mechanisms; "
        f"limits for the others: {SECONDS} s, {BYTES / 2**30:.0f} GB. Helped: noisy ORs as chains of small "
        "tables, negatives taken in by hand. Ratio: its time over that of a new engine, with planning."
    )
    failed: set[str] = set()
    for positives in options.positives:
        seconds, expected = ours(positives, options.seed)
        for name in () if options.alone else RIVALS:
            if name in failed:
                line = "not run: failed with fewer"
            else:
                finished, line = rival(name, positives, options.seed, seconds, expected)
                if not finished:
                    failed.add(name)
            print(f"  {name:38} {line}", flush=True)


if __name__ == "__main__":
    main()
