"""Wishes and prices from a file: YAML of our own, every fault with its place, all of them at once.

docs/plan.md describes every key.
"""

from __future__ import annotations

import math
from decimal import Decimal

from diagnose.errors import PlanError
from diagnose.library.nearest import suggest
from diagnose.library.shapes import (
    Choice,
    Identifier,
    Key,
    ListOf,
    MappingOf,
    Number,
    Probability,
    Row,
    Text,
    is_number,
    optional,
)
from diagnose.library.text import Mapping, Node, Scalar, entries, pairs, read, scalars
from diagnose.model.library import Library
from diagnose.plan.wishes import CARES, GRADES, Offer, Wishes

__all__ = ["SHAPE", "read_wishes"]

_MONEY = Number(0, 10_000_000, unit="money")
_OFFER = Row(
    "an offer",
    {
        "grade": Key(Choice(tuple(GRADES))),
        "price": Key(_MONEY, about="of all parts of the remedy, for its unit"),
        "days": optional(Number(0, 1000, whole=True, unit="days"), about="until they are there"),
        "bad": optional(Probability(), about="P(bad as delivered, or fitted badly)"),
        "life": optional(Number(0.01, 10), about="beside the maker's own part"),
    },
)
_KEEP = Row(
    "how long the car is kept",
    {
        "km": optional(Number(0, 1_000_000, unit="kilometres")),
        "years": optional(Number(0, 50, unit="years")),
    },
    some_of=(("km", "years"),),
)
#: A whole file.
SHAPE = Row(
    "a plan's wishes",
    {
        "plan": Key(Choice(("1",))),
        "currency": optional(Text(8)),
        "labour-rate": optional(Number(0, 100_000, unit="money per hour")),
        "own-labour": optional(Number(0, 100_000, unit="money per hour")),
        "budget": optional(_MONEY),
        "stage-budget": optional(_MONEY),
        "stages": optional(Number(1, 5, whole=True)),
        "deadline": optional(Number(0, 3650, whole=True, unit="days")),
        "keep": optional(_KEEP),
        "cares": optional(MappingOf(Choice(CARES), Number(0, 100), "what you care about")),
        "worth": optional(_MONEY),
        "only": optional(Choice(("front", "rear"))),
        "without": optional(ListOf(Choice(tuple(GRADES)))),
        "prices": optional(MappingOf(Identifier(), ListOf(_OFFER, most=20), "remedies")),
        "hours": optional(MappingOf(Identifier(), Number(0, 200, unit="hours"), "remedies")),
    },
)


def read_wishes(library: Library, data: bytes, file: str) -> Wishes:
    """The wishes in the bytes of a file. Raises PlanError with every problem found. file: its name."""
    root, problems = read(data, file)
    if root is None:
        raise PlanError(problems)
    SHAPE.check(root, "the file", problems)
    for key in ("prices", "hours"):
        for name, _ in pairs(root.get(key) if isinstance(root, Mapping) else None):
            if name.text not in library.remedies:
                mend = suggest(name.text, library.remedies, "`diagnose trees remedies` lists them all")
                problems.append(name.problem(f"there is no remedy {name.text!r}", mend))
    if problems:
        raise PlanError(problems)
    assert isinstance(root, Mapping)
    keep = root.get("keep")
    keep_km = _number(keep.get("km")) if isinstance(keep, Mapping) else None
    keep_years = _number(keep.get("years")) if isinstance(keep, Mapping) else None
    usual = Wishes()
    if keep_km is None and keep_years is not None:
        keep_km = usual.keep_km * keep_years / usual.keep_years
    if keep_years is None and keep_km is not None:
        keep_years = usual.keep_years * keep_km / usual.keep_km
    budget, stage_budget = _number(root.get("budget")), _number(root.get("stage-budget"))
    stages, deadline = _number(root.get("stages")), _number(root.get("deadline"))
    return Wishes(
        budget=math.inf if budget is None else budget,
        stage_budget=math.inf if stage_budget is None else stage_budget,
        stages=usual.stages if stages is None else int(stages),
        deadline=None if deadline is None else int(deadline),
        keep_km=usual.keep_km if keep_km is None else keep_km,
        keep_years=usual.keep_years if keep_years is None else keep_years,
        cares={key.text: _number(value) or 0.0 for key, value in pairs(root.get("cares"))},
        worth=_number(root.get("worth")),
        rate=_number(root.get("labour-rate")),
        own_rate=_number(root.get("own-labour")),
        currency=_text(root.get("currency")) or None,
        only=_text(root.get("only")) or None,
        without=frozenset(each.text for each in scalars(root.get("without"))),
        offers={
            name.text: tuple(_offer(each) for each in entries(some))
            for name, some in pairs(root.get("prices"))
        },
        hours={name.text: _number(value) or 0.0 for name, value in pairs(root.get("hours"))},
    )


def _offer(entry: Mapping) -> Offer:
    price = Decimal(_text(entry.get("price")))
    return Offer(
        GRADES[_text(entry.get("grade"))],
        price,
        int(_number(entry.get("days")) or 0),
        _number(entry.get("bad")),
        _number(entry.get("life")),
        True,
        price,
        price,
    )


def _number(node: Node | None) -> float | None:
    return float(node.text) if isinstance(node, Scalar) and is_number(node.text) else None


def _text(node: Node | None) -> str:
    return " ".join(node.text.split()) if isinstance(node, Scalar) else ""
