"""What the page of reasons says of the other checks agrees with what they save."""

from __future__ import annotations

import pytest

from diagnose.belief.belief import Car
from diagnose.choice.cost import OVERHEAD
from diagnose.choice.verdict import Verdict
from diagnose.library.shelf import load
from diagnose.model.story import Heard, Story, Workshop
from diagnose.model.vehicle import Vehicle
from diagnose.screen.pages import MORE, what_would_change
from diagnose.units import minutes

SHIPPED = load()
FACTS = {fact.id: fact.values[0].id for fact in SHIPPED.facts.values()}


@pytest.mark.slow
@pytest.mark.parametrize("complaint", ["vague-steering", "hum-with-speed", "rear-creak"])
def test_another_check_saves_more_only_where_its_rate_is_higher(complaint: str) -> None:
    vehicle = Vehicle(facts=FACTS, km=190_000.0, years=12)
    story = Story(vehicle, (Heard(complaint),))
    verdict = Verdict(Car(SHIPPED, vehicle, story.complaints), story, Workshop(), "ground")
    said = set()
    for proposal in verdict.proposals:
        others = [each for each in verdict.proposals if each is not proposal and each.merit > 0.0]
        best = max(others, key=lambda each: (each.rate, each.check))
        text, name = what_would_change(verdict, proposal), SHIPPED.checks[best.check].name
        if best.rate > proposal.rate * MORE:
            assert f"Minute for minute, {name} saves more." in text
            said.add("more")
        elif best.rate < proposal.rate / MORE:
            # Had it taken just that long, both would save the same for their cost.
            until = (proposal.merit + proposal.minutes + OVERHEAD) / best.rate - OVERHEAD
            assert f"If it took more than {minutes(until)}, {name} would come before it." in text
            said.add("until")
    assert said == {"more", "until"}
