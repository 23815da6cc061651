"""What checks may show: an answer that cannot come weighs nothing."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.columns import Columns
from diagnose.choice.outcomes import _joint
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Vehicle
from tests.small_trees import SMALL, compiled

LIBRARY = compiled(SMALL)[0].library


def test_what_cannot_be_weighs_nothing_and_what_can_adds_up() -> None:
    """Bayes' rule: the columns of all answers to one question sum to the belief before it."""
    vehicle = Vehicle(facts={"steering": "rack"}, km=200_000.0)
    belief = Belief(Car(LIBRARY, vehicle, {"wander": None}), Story(vehicle, (Heard("wander"),)))
    key = "rock-the-steering/end-moves@front-left"
    causes = np.arange(len(belief.causes))
    columns = Columns(3, belief.weights)
    columns.observe(key, {(1.0, 0.0): [0], (0.0, 1.0): [1], (0.0, 0.0): [2]})
    no, yes, never = _joint(belief, columns, causes)
    assert never.tolist() == [0.0] * len(never)
    assert no[0] + yes[0] == pytest.approx(1.0)
    present = slice(3, 3 + len(causes))
    assert (no + yes)[present] == pytest.approx(belief.present)
    seen = belief.seeing([Seen("rock-the-steering/end-moves", "front-left")])
    assert yes[present] / yes[0] == pytest.approx(seen.present)
