"""From a library to one car's model: positions, sides, layouts, conditions, renewed parts, mates, leaks."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace

import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.engine import Engine
from diagnose.belief.network import (
    FRESH,
    Cause,
    Input,
    Network,
    Node,
    expand,
    finding_key,
    fitted,
    plackett,
)
from diagnose.model.complaint import Complaint, Gate, Leaf, Use
from diagnose.model.library import Library
from diagnose.model.part import Fault, Life
from diagnose.model.position import CORNERS
from diagnose.model.story import Heard, Seen, Story
from diagnose.model.vehicle import Renewed, Vehicle
from tests.small_trees import SMALL, compiled

LIBRARY = compiled(SMALL)[0].library
UNKNOWN = Vehicle()
RACK = Vehicle(facts={"steering": "rack"})
BOX = Vehicle(facts={"steering": "box"})


def car(
    vehicle: Vehicle = RACK, complaints: Mapping[str, str | None] | None = None, library: Library = LIBRARY
) -> Network:
    return expand(library, vehicle, complaints or {})


def prior(network: Network, cause: str) -> float:
    return network.causes[network.index[cause]].prior


def inputs(network: Network, key: str) -> dict[str, tuple[float, ...]]:
    """Source (cause id or node key) -> chances."""
    return {
        network.causes[i.source].id if isinstance(i.source, int) else i.source: i.chances
        for i in network.nodes[key].inputs
    }


def with_complaint(complaint: Complaint, **mechanisms: Gate) -> Library:
    return replace(
        LIBRARY,
        complaints={complaint.id: complaint},
        mechanisms={**LIBRARY.mechanisms, **{k.replace("_", "-"): v for k, v in mechanisms.items()}},
    )


def sided(*branches: Leaf | Use | Gate, kind: str = "any", need: int = 1, leak: float = 0.1) -> Library:
    gate = Gate(kind, need, branches, leak=leak)
    return with_complaint(Complaint("off", "to one side", gate, sided=True))


# Branches for some layouts ---------------------------------------------------------------------------------

RACK_ONLY = {"steering": ("rack",)}
BOX_ONLY = {"steering": ("box",)}


@pytest.mark.parametrize(
    "branch",
    [
        Leaf("tyres-soft", 0.5, fits=BOX_ONLY),
        Use("soft", 0.5, fits=BOX_ONLY),
        Gate("any", 1, (Leaf("tyres-soft", 0.99),), strength=0.5, fits=BOX_ONLY),
    ],
    ids=["leaf", "use", "gate"],
)
def test_a_branch_counts_on_the_layouts_that_it_fits(branch: Leaf | Use | Gate) -> None:
    """Whole where the layout is known to fit, not at all where it does not, by its share while unknown."""
    soft = Gate("any", 1, (Leaf("tyres-soft", 0.99),), id="soft", name="soft")
    library = with_complaint(Complaint("odd", "odd", Gate("any", 1, (branch,), leak=0.1)), soft=soft)

    def chances(vehicle: Vehicle) -> list[float]:
        return [each.chances[0] for each in expand(library, vehicle, {"odd": None}).nodes["odd"].inputs]

    whole = chances(BOX)
    assert whole and set(whole) == {0.5}
    assert chances(RACK) == []
    assert chances(UNKNOWN) == pytest.approx([0.05] * len(whole))


def test_a_leaf_counts_whole_where_its_fault_already_fits_no_other_layout() -> None:
    """Not twice: a rod end that is tight has a rack, so nothing is unknown of a leaf for racks."""
    library = with_complaint(
        Complaint("odd", "odd", Gate("any", 1, (Leaf("rod-end-tight", 0.4, fits=RACK_ONLY),), leak=0.1))
    )
    network = expand(library, UNKNOWN, {"odd": None})
    assert inputs(network, "odd")["rod-end-tight-front-left"] == pytest.approx((0.4,))


def test_a_conjunction_lacking_a_branch_on_this_layout_is_never_raised() -> None:
    both = Gate("all", 2, (Leaf("tyres-soft", 0.5), Leaf("rod-end-play", 0.6, fits=BOX_ONLY)))
    library = with_complaint(Complaint("odd", "odd", Gate("any", 1, (both,), leak=0.1)))
    assert inputs(expand(library, RACK, {"odd": None}), "odd") == {}
    assert inputs(expand(library, BOX, {"odd": None}), "odd") != {}


# Causes ---------------------------------------------------------------------------------------------


def test_a_fault_stands_at_each_of_its_positions() -> None:
    assert [cause.id for cause in car().causes] == [
        "rod-end-play-front-left",
        "rod-end-play-front-right",
        "rod-end-tight-front-left",
        "rod-end-tight-front-right",
        "tyres-soft-front",
        "tyres-soft-rear",
    ]
    assert [cause.position for cause in car().causes][-2:] == ["front", "rear"]


def test_a_fault_with_one_place_bears_its_own_id() -> None:
    faults = {**LIBRARY.faults, "tyres-soft": replace(LIBRARY.faults["tyres-soft"], where="centre")}
    network = car(library=replace(LIBRARY, faults=faults))
    assert "tyres-soft" in network.index


def test_instances_are_those_that_do_not_contradict_the_position() -> None:
    network = car()
    names = [
        [network.causes[n].id for n in network.instances("rod-end-play", p)] for p in (None, "left", "rear")
    ]
    assert names == [
        ["rod-end-play-front-left", "rod-end-play-front-right"],
        ["rod-end-play-front-left"],
        [],
    ]


def test_a_layout_known_decides_which_faults_are_there() -> None:
    assert "rod-end-tight-front-left" not in car(BOX).index
    assert prior(car(RACK), "rod-end-tight-front-left") == pytest.approx(0.01)
    assert prior(car(BOX), "rod-end-play-front-left") == prior(car(RACK), "rod-end-play-front-left")


def test_a_layout_unknown_counts_by_its_share() -> None:
    assert prior(car(UNKNOWN), "rod-end-tight-front-left") == pytest.approx(0.9 * 0.01)
    # Both layouts have rod ends: the share is whole.
    assert prior(car(UNKNOWN), "rod-end-play-front-left") == prior(car(RACK), "rod-end-play-front-left")


def test_fits_of_part_and_fault_must_both_agree() -> None:
    assert fitted(
        ({"steering": ("rack", "box")}, {"steering": ("rack",)}), UNKNOWN.facts, LIBRARY
    ) == pytest.approx(0.9)
    assert fitted(({"steering": ("box",)}, {"steering": ("rack",)}), UNKNOWN.facts, LIBRARY) == 0.0
    assert fitted((), UNKNOWN.facts, LIBRARY) == 1.0
    assert fitted(({"steering": ("box",)},), BOX.facts, LIBRARY) == 1.0


@pytest.mark.parametrize(
    ("vehicle", "km"),
    [(RACK, 130_000.0), (replace(RACK, km=190_000.0), 190_000.0), (replace(RACK, km=0.0), 0.0)],
)
def test_life_follows_distance_and_the_reference_car_where_it_is_unknown(vehicle: Vehicle, km: float) -> None:
    expected = max(Life(2.2, km=380_000).failed(km, 0.0), 1e-6)
    assert prior(car(vehicle), "rod-end-play-front-left") == pytest.approx(expected)


@pytest.mark.parametrize(("holds", "factor"), [(True, 1.6), (False, 1.0), (None, 1.0)])
def test_a_condition_known_to_hold_multiplies_the_odds(holds: bool | None, factor: float) -> None:
    conditions = {} if holds is None else {"rough-roads": holds}
    network = car(replace(RACK, conditions=conditions))
    p = Life(2.2, km=380_000).failed(130_000, 9)
    odds = factor * p / (1 - p)
    assert prior(network, "rod-end-play-front-left") == pytest.approx(odds / (1 + odds))
    assert prior(network, "rod-end-tight-front-left") == pytest.approx(0.01)


def fresh(p: float) -> float:
    """P(a part just fitted is bad): worn since, or faulty or badly fitted from the start."""
    return 1.0 - (1.0 - p) * (1.0 - FRESH)


def test_a_renewed_part_starts_again_from_there() -> None:
    """New parts are mostly sound, not always: three in a hundred are faulty or badly fitted."""
    assert FRESH == 0.03
    vehicle = replace(
        RACK, km=190_000.0, years=12.0, renewed=(Renewed("rod-end", "front-left", at_km=150_000.0),)
    )
    network = car(vehicle)
    life = Life(2.2, km=380_000)
    assert prior(network, "rod-end-play-front-left") == pytest.approx(fresh(life.failed(40_000, 0)))
    assert prior(network, "rod-end-play-front-right") == pytest.approx(life.failed(190_000, 0))
    both = car(replace(vehicle, renewed=(Renewed("rod-end", None, at_km=150_000.0),)))
    assert prior(both, "rod-end-play-front-right") == pytest.approx(fresh(life.failed(40_000, 0)))
    # An event has no life to begin again.
    assert prior(network, "rod-end-tight-front-left") == pytest.approx(0.01)


def test_years_since_a_renewal_are_turned_into_distance_at_the_cars_own_pace() -> None:
    vehicle = replace(RACK, km=120_000.0, years=10.0, renewed=(Renewed("rod-end", None, years_ago=2.0),))
    expected = fresh(Life(2.2, km=380_000).failed(24_000, 2))
    assert prior(car(vehicle), "rod-end-play-front-left") == pytest.approx(expected)


def test_mates_of_one_axle_are_joined_by_their_odds_ratio() -> None:
    network = car()
    left, right = network.index["rod-end-play-front-left"], network.index["rod-end-play-front-right"]
    assert set(network.pairs) == {(left, right)}  # the tight rod ends are independent
    p, q = network.causes[left].prior, network.causes[right].prior
    assert network.pairs[left, right] == plackett(p, q, 3.0)
    (p00, p01), (p10, p11) = network.pairs[left, right]
    assert p11 * p00 / (p10 * p01) == pytest.approx(3.0)
    assert (p10 + p11, p01 + p11) == pytest.approx((p, q))


def test_four_corners_are_two_pairs() -> None:
    fault = Fault("f", "rod-end", "f", "each-corner", "renew-rod-end", chance=0.1, mates=2.0)
    network = car(library=replace(LIBRARY, faults={"f": fault}))
    names = {tuple(network.causes[n].position for n in pair) for pair in network.pairs}
    assert names == {CORNERS[:2], CORNERS[2:]}


# Gates ----------------------------------------------------------------------------------------------


def test_an_or_of_a_mechanism_and_a_vote() -> None:
    network = car(RACK, {"wander": None})
    top = network.nodes["wander"]
    assert (top.top, top.counts, top.start) == (1, True, pytest.approx((0.97, 0.03)))
    assert inputs(network, "wander") == {"loose-steering": (1.0,), "two-soft": (0.9,)}
    assert inputs(network, "loose-steering") == {
        "rod-end-play-front-left": (0.45,),
        "rod-end-play-front-right": (0.45,),
    }
    # The vote has a leak of its own: an OR above the count.
    assert network.nodes["two-soft"].start == pytest.approx((0.99, 0.01))
    assert inputs(network, "two-soft") == {"two-soft.core": (1.0,)}
    core = network.nodes["two-soft.core"]
    assert (core.top, core.counts, core.start) == (2, True, (1.0, 0.0, 0.0))
    assert inputs(network, "two-soft.core") == {
        "tyres-soft-front": (0.5,),
        "tyres-soft-rear": (0.5,),
        "two-soft.2": (1.0,),
    }
    # Under a vote the positions of one fault are one branch.
    assert inputs(network, "two-soft.2") == {
        "rod-end-tight-front-left": (0.2,),
        "rod-end-tight-front-right": (0.2,),
    }


def test_a_branch_that_this_car_does_not_have_is_left_out() -> None:
    network = car(BOX, {"wander": None})
    assert set(inputs(network, "two-soft.core")) == {"tyres-soft-front", "tyres-soft-rear"}


def test_a_conjunction_that_this_car_cannot_complete_is_left_out() -> None:
    gate = Gate("all", 2, (Leaf("rod-end-tight", 0.5), Leaf("tyres-soft", 0.5)), id="both", name="both")
    library = with_complaint(
        Complaint("odd", "odd", Gate("any", 1, (gate, Leaf("tyres-soft", 0.2)), leak=0.1))
    )
    assert "both" in expand(library, RACK, {"odd": None}).nodes
    network = expand(library, BOX, {"odd": None})
    assert "both" not in network.nodes
    assert set(inputs(network, "odd")) == {"tyres-soft-front", "tyres-soft-rear"}


def test_a_shared_mechanism_is_one_node() -> None:
    network = car(RACK, {"wander": None, "pull": "left"})
    assert sum(key == "loose-steering" for key in network.nodes) == 1
    assert inputs(network, "pull.core")["loose-steering"] == (0.8,)
    assert network.complaints == {"wander": None, "pull": "left"}


@pytest.mark.parametrize(
    ("at", "side", "strengths"),
    [
        ("this-side", "left", {"rod-end-play-front-left": 0.4}),
        ("this-side", "right", {"rod-end-play-front-right": 0.4}),
        ("other-side", "left", {"rod-end-play-front-right": 0.4}),
        ("other-side", "right", {"rod-end-play-front-left": 0.4}),
        # Not told which: the fault may be what raises it to either.
        ("this-side", None, {"rod-end-play-front-left": 0.4, "rod-end-play-front-right": 0.4}),
        ("other-side", None, {"rod-end-play-front-left": 0.4, "rod-end-play-front-right": 0.4}),
        ("front-left", "right", {"rod-end-play-front-left": 0.2}),
    ],
)
def test_this_side_and_the_other(at: str, side: str | None, strengths: dict[str, float]) -> None:
    network = expand(sided(Leaf("rod-end-play", 0.4, at)), RACK, {"off": side})
    assert {key: chances[0] for key, chances in inputs(network, "off").items()} == pytest.approx(strengths)


@pytest.mark.parametrize(("side", "strength"), [("left", 0.15), ("right", 0.15), (None, 0.3)])
def test_a_setting_of_the_axle_acts_to_either_side(side: str | None, strength: float) -> None:
    network = expand(sided(Leaf("tyres-soft", 0.3)), RACK, {"off": side})
    assert inputs(network, "off") == {
        "tyres-soft-front": (pytest.approx(strength),),
        "tyres-soft-rear": (pytest.approx(strength),),
    }


@pytest.mark.parametrize(("side", "leak"), [("left", 0.05), ("right", 0.05), (None, 0.1)])
def test_the_leak_of_a_sided_complaint_is_halved_for_the_side_named(side: str | None, leak: float) -> None:
    network = expand(sided(Leaf("tyres-soft", 0.3)), RACK, {"off": side})
    assert network.nodes["off"].start == pytest.approx((1 - leak, leak))


@pytest.mark.parametrize(("side", "strength"), [("left", 0.4), (None, 0.8)])
def test_a_conjunction_without_a_side_is_halved_as_a_whole(side: str | None, strength: float) -> None:
    both = Gate("all", 2, (Leaf("tyres-soft", 0.5), Leaf("rod-end-play", 0.6)), strength=0.8)
    network = expand(sided(both, Leaf("tyres-soft", 0.2)), RACK, {"off": side})
    assert inputs(network, "off")["off.0"] == (pytest.approx(strength),)
    assert inputs(network, "off.0.0") == {"tyres-soft-front": (0.5,), "tyres-soft-rear": (0.5,)}


def test_a_conjunction_that_names_a_side_is_not_halved() -> None:
    both = Gate("all", 2, (Leaf("tyres-soft", 0.5), Leaf("rod-end-play", 0.6, "this-side")), strength=0.8)
    network = expand(sided(both, Leaf("tyres-soft", 0.2)), RACK, {"off": "left"})
    assert inputs(network, "off")["off.0"] == (0.8,)
    assert inputs(network, "off.0") == {"off.0.0": (1.0,), "rod-end-play-front-left": (0.6,)}


# What is to blame ---------------------------------------------------------------------------------------


def test_every_alternative_is_to_blame_and_what_stands_below_it() -> None:
    nested = Gate("any", 1, (Leaf("tyres-soft", 0.5),), id="soft", name="soft")
    library = with_complaint(
        Complaint("odd", "odd", Gate("any", 1, (nested, Leaf("rod-end-play", 0.3)), leak=0.1))
    )
    assert expand(library, RACK, {"odd": None}).blame == {"odd", "soft"}


def test_a_conjunction_is_to_blame_with_its_branches() -> None:
    network = car(RACK, {"wander": None})
    assert network.blame == {"wander", "loose-steering", "two-soft", "two-soft.core", "two-soft.2"}


def test_a_conjunction_that_is_the_whole_complaint_is_to_blame() -> None:
    whole = Gate("all", 2, (Leaf("tyres-soft", 0.5), Leaf("rod-end-play", 0.6)))
    network = expand(with_complaint(Complaint("odd", "odd", whole)), RACK, {"odd": None})
    assert network.blame == {"odd", "odd.0", "odd.1"}


def test_findings_are_not_to_blame() -> None:
    findings = [("rock-the-steering/end-moves", "front-left")]
    network = expand(LIBRARY, RACK, {"wander": None}, findings)
    assert network.blame == car(RACK, {"wander": None}).blame


# Findings ---------------------------------------------------------------------------------------------


def test_a_finding_at_a_place_is_pushed_by_the_faults_there() -> None:
    name = "rock-the-steering/end-moves"
    network = expand(LIBRARY, RACK, {}, [(name, "front-left"), (name, "front-right")])
    for side in ("left", "right"):
        key = finding_key(name, f"front-{side}")
        assert key == f"{name}@front-{side}"
        assert inputs(network, key) == {f"rod-end-play-front-{side}": (0.85,)}
        assert network.nodes[key].start == pytest.approx((0.96, 0.04))


def test_a_finding_of_the_whole_car_is_pushed_by_every_position() -> None:
    name = "rock-the-steering/rim-play"
    network = expand(LIBRARY, RACK, {}, [(name, None)])
    assert inputs(network, name) == {
        "rod-end-play-front-left": (0.5, 0.25),
        "rod-end-play-front-right": (0.5, 0.25),
    }
    assert network.nodes[name].start == pytest.approx((0.93, 0.06, 0.01))


def test_a_finding_that_points_to_a_mechanism_brings_its_gate() -> None:
    name = "rock-the-steering/how-stiff"
    network = expand(LIBRARY, RACK, {}, [(name, None)])
    assert "loose-steering" in inputs(network, name)
    assert network.nodes["loose-steering"].counts
    assert network.blame == frozenset()


def test_a_finding_that_repeats_the_complaint_has_no_node_of_its_own() -> None:
    network = expand(LIBRARY, RACK, {"wander": None}, [("rock-the-steering/wander-felt", None)])
    assert "rock-the-steering/wander-felt" not in network.nodes


def test_a_complaint_that_the_library_does_not_have() -> None:
    with pytest.raises(KeyError, match="nothing"):
        expand(LIBRARY, RACK, {"nothing": None})


# Findings about the complaint ----------------------------------------------------------------------------

ABOUT = """\
parts:
  - id: bar
    name: bar
    where: centre
    faults:
      - {id: bar-bent, name: bent, chance: 0.2, remedy: pump-up, source: estimate}
      - {id: bar-rusty, name: rusty, chance: 0.3, remedy: pump-up, source: estimate}
      - {id: bar-dirty, name: dirty, chance: 0.4, remedy: pump-up, source: estimate}
checks:
  - id: ask-sudden
    name: ask how it began
    set-up: talk
    minutes: 1
    how: Did it begin in a day?
    source: estimate
    findings:
      - id: in-a-day
        name: in a day
        points-to: {bar-bent: 0.8, bar-dirty: 0.9}
        false-alarm: 0.1
  - id: try-another-bar
    name: try another bar
    set-up: ground
    minutes: 9
    how: Fit another bar.
    source: estimate
    findings:
      - id: gone
        name: it is gone
        points-to: {bar-bent: 0.9, bar-rusty: 0.9, bar-dirty: 0.9}
        false-alarm: 0.02
        of-complaint: yes
complaint:
  id: hums
  name: Hums
  leak: 0.05
  heard: [0.95, 0.02]
  source: estimate
  any:
    - mechanism: bar-hums
      name: the bar hums
      strength: 0.9
      any:
        - {cause: bar-bent, strength: 0.5}
        - {cause: bar-rusty, strength: 0.25}
"""
DUST = """\
complaint:
  id: dusts
  name: Dusts
  leak: 0.1
  source: estimate
  any:
    - {cause: bar-dirty, strength: 0.9}
"""
TALKED = {**SMALL, "about.yaml": ABOUT, "dust.yaml": DUST}
CHANCE = {"bar-bent": 0.2, "bar-rusty": 0.3}


def counted(detection: Mapping[str, float], alarm: float) -> dict[str, float]:
    """P(cause | complaint told, finding seen), every coin counted: presence, links, leak, gate."""
    found = dict.fromkeys(CHANCE, 0.0)
    whole = 0.0
    for bits in itertools.product((False, True), repeat=6):
        bent, rusty, bent_acts, rusty_acts, held, leak = bits
        chances = (0.2, 0.3, 0.5, 0.25, 0.9, 0.05)
        weight = math.prod(p if bit else 1.0 - p for bit, p in zip(bits, chances, strict=True))
        acts = {"bar-bent": bent and bent_acts, "bar-rusty": rusty and rusty_acts}
        complaint = leak or (held and any(acts.values()))
        weight *= 0.95 if complaint else 0.02
        weight *= 1.0 - (1.0 - alarm) * math.prod(1.0 - d for c, d in detection.items() if acts[c])
        whole += weight
        found = {c: p + weight * there for (c, p), there in zip(found.items(), (bent, rusty), strict=True)}
    return {c: p / whole for c, p in found.items()}


@pytest.mark.parametrize(
    ("finding", "detection", "alarm"),
    [
        ("ask-sudden/in-a-day", {"bar-bent": 0.8}, 0.1),
        ("try-another-bar/gone", {"bar-bent": 0.9, "bar-rusty": 0.9}, 0.02),
    ],
)
def test_only_faults_that_act_have_a_part_in_what_is_told_of_the_complaint(
    finding: str, detection: Mapping[str, float], alarm: float
) -> None:
    """The dirty bar cannot hum, and a bent one that does not act does not make it begin in a day."""
    draft, problems = compiled(TALKED)
    assert not problems
    model = Car(draft.library, Vehicle(), {"hums": None})
    belief = Belief(model, Story(Vehicle(), (Heard("hums"),), (Seen(finding),)))
    for cause, expected in counted(detection, alarm).items():
        assert float(belief.present[model.network.index[cause]]) == pytest.approx(expected, rel=1e-12)
    assert float(belief.present[model.network.index["bar-dirty"]]) == pytest.approx(0.4)


def test_without_a_complaint_a_question_is_about_the_car() -> None:
    draft, _ = compiled(TALKED)
    network = expand(draft.library, Vehicle(), {}, [("ask-sudden/in-a-day", None)])
    assert {i.source for i in network.nodes["ask-sudden/in-a-day"].inputs} == {
        network.index["bar-bent"],
        network.index["bar-dirty"],
    }


def test_a_hazard_has_an_end() -> None:
    """The largest numbers of a tree and of a car together ran out of what a float can hold."""
    assert Life(20.0, years=0.01).failed(3e6, 1e300) == 1.0
    assert Life(20.0, km=1.0).hazard(1e300, 0.0) == Life(20.0, km=1.0).hazard(1e299, 0.0)


# Several ways up ---------------------------------------------------------------------------------------


def test_a_cause_with_two_ways_into_a_mechanism_by_counting_every_coin() -> None:
    """Several ways are taken as independent once the cause is present (docs/method.md); one way is exact."""
    priors = (0.3, 0.2, 0.4)
    links = ((0, 0.5), (0, 0.4), (1, 0.6), (2, 0.3))
    told = (0.02, 0.95)
    causes = tuple(Cause(f"d{n}", f"d{n}", "centre", p) for n, p in enumerate(priors))
    inputs = tuple(Input(n, (p,)) for n, p in links)
    nodes = {
        "slack": Node("slack", 1, True, (1.0, 0.0), inputs),
        "top": Node("top", 1, True, (0.95, 0.05), (Input("slack", (0.7,)),)),
    }
    network = Network(causes, {}, nodes, {"top": None}, frozenset(nodes))
    chances = (*priors, *(p for _, p in links), 0.7, 0.05)
    whole = 0.0
    present, ways = [0.0] * 3, [0.0] * 4
    for bits in itertools.product((False, True), repeat=len(chances)):
        weight = math.prod(p if bit else 1.0 - p for bit, p in zip(bits, chances, strict=True))
        there, works, (through, leak) = bits[:3], bits[3:7], bits[7:]
        up = [works[k] and there[n] and through for k, (n, _) in enumerate(links)]
        weight *= told[leak or any(up)]
        whole += weight
        present = [p + weight * on for p, on in zip(present, there, strict=True)]
        ways = [p + weight * on for p, on in zip(ways, up, strict=True)]
    expected = [ways[0] + ways[1] * (1.0 - ways[0] / present[0]), ways[2], ways[3]]
    answer = Engine(network).ask([{"top": told}])
    assert answer.present[0] == pytest.approx([each / whole for each in present], rel=1e-12)
    assert answer.to_blame[0] == pytest.approx([each / whole for each in expected], rel=1e-12)
