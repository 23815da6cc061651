"""Eight worked diagnoses of a front axle, computed independently of this program.

Source: the team's own worked figures, not published ones; the head of front_vectors.yaml says under
which conventions.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node

DATA: dict[str, Any] = yaml.safe_load(Path(__file__).with_name("front_vectors.yaml").read_text("utf-8"))
NO, YES = (1.0, 0.0), (0.0, 1.0)


def flat(layout: str) -> Network:
    """Every cause that the layout has, every event as a noisy OR over them, and one OR for each cause.

    The OR of a cause's instances (`any <cause>`) answers "at least one instance present".
    """
    column = DATA["layouts"].index(layout)
    causes: list[Cause] = []
    of: dict[str, list[int]] = {}
    for name, row in DATA["causes"].items():
        prior = row["prior"] * row["layouts"][column]
        if prior == 0.0:
            continue
        of[name] = list(range(len(causes), len(causes) + row["instances"]))
        sides = ("centre",) if row["instances"] == 1 else ("front-left", "front-right")
        causes += [Cause(f"{name}-{side}", name, side, prior) for side in sides]
    nodes: dict[str, Node] = {}
    for key, row in DATA["events"].items():
        inputs = tuple(Input(n, (link,)) for name, link in row["links"].items() for n in of.get(name, ()))
        nodes[key] = Node(key, 1, False, (1.0 - row["leak"], row["leak"]), inputs)
    for name, numbers in of.items():
        key = f"any {name}"
        nodes[key] = Node(key, 1, True, (1.0, 0.0), tuple(Input(n, (1.0,)) for n in numbers))
    return Network(tuple(causes), {}, nodes)


@pytest.mark.parametrize("number", range(8))
def test_evidence_and_posteriors_to_the_digits_printed(number: int) -> None:
    vector = DATA["vectors"][number]
    network = flat(vector["layout"])
    seen = {**dict.fromkeys(vector["seen"], YES), **dict.fromkeys(vector["not-seen"], NO)}
    keys = [f"any {name}" for name in vector["causes"]]
    engine = Engine(network)
    before, after = engine.ask([{}], keys), engine.ask([seen], keys)
    half = 0.5000001  # of the last digit printed
    assert math.exp(after.log_evidence[0]) == pytest.approx(vector["evidence"], abs=half * 1e-5)
    for key, (prior, posterior) in zip(keys, vector["causes"].values(), strict=True):
        assert before.node(key) == pytest.approx(prior, abs=half * 1e-3), key
        assert after.node(key) == pytest.approx(posterior, abs=half * 1e-3), key


def test_the_order_of_findings_does_not_matter() -> None:
    vector = DATA["vectors"][4]
    network = flat(vector["layout"])
    seen = {**dict.fromkeys(vector["seen"], YES), **dict.fromkeys(vector["not-seen"], NO)}
    forwards = Engine(network).ask([seen])
    backwards = Engine(network).ask([dict(reversed(seen.items()))])
    assert list(forwards.present[0]) == pytest.approx(list(backwards.present[0]), abs=1e-12)
