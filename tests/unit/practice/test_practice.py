"""Practice cars: numbers in their bands, the same car for the same seed, weights of evidence, the record.

Small trees (demo data); the command as it looks, on the shipped trees, is in tests/terminal.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from rich.console import Console, RenderableType

from diagnose.belief.belief import Belief
from diagnose.belief.network import finding_key, reaching
from diagnose.choice.outcomes import Spot
from diagnose.model.check import Limit, Reading
from diagnose.model.library import Library
from diagnose.model.story import Seen, Story, Workshop
from diagnose.practice.attempt import Attempt, as_the_program, mends, unfit
from diagnose.practice.car import PracticeCar, culprits
from diagnose.practice.compare import compare, lines_of
from diagnose.practice.exercise import Exercise, draw_exercise, level_of, wordings
from diagnose.practice.numbers import shown
from diagnose.practice.record import (
    Practised,
    begun_line,
    ended_line,
    left_line,
    move_line,
    next_level,
    progress,
    read_record,
)
from diagnose.screen.desk import Look
from diagnose.screen.practice import (
    brought_page,
    cause_words,
    compared_page,
    level_line,
    seen_page,
    status_line,
    step_page,
    suspects_page,
)
from diagnose.screen.practice_walk import alike
from diagnose.trials.walk import Searched
from diagnose.words import of_100
from tests.oracle import blamed
from tests.shipped import LIBRARY as SHIPPED
from tests.small_trees import SMALL, compiled

LIBRARY: Library = compiled(SMALL)[0].library
LOOK = Look(True, 80)
NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


def exercise(seed: int = 3, level: int = 1) -> Exercise:
    return draw_exercise(LIBRARY, ["wander"], level, seed, Workshop())


# Numbers ------------------------------------------------------------------------------------------------

PLAY = Reading("length", "mm", (Limit(8.0, "feel"), Limit(13.0, "inspection")), repeatability=3.0)
GRIP = Reading("share", "%", (Limit(40.0, "weak"), Limit(20.0, "bad")), direction="under", repeatability=0.0)


@pytest.mark.parametrize("reading", [PLAY, GRIP])
@pytest.mark.parametrize("level", [0, 1, 2])
def test_a_number_lies_in_its_band_but_for_the_scatter_of_reading_it(reading: Reading, level: int) -> None:
    """ISO 5725-1: two readings stay within the repeatability 95 times in 100, so that one lies within
    1.96 standard deviations of the true value as often, repeatability / (1.96 * sqrt 2) each."""
    random = np.random.default_rng(4)
    exact = [shown(replace(reading, repeatability=0.0), level, random) for _ in range(400)]
    assert {reading.level(each) for each in exact} == {level}
    read = [shown(reading, level, random) for _ in range(400)]
    slack = reading.repeatability / math.sqrt(2.0) + 0.5  # half a digit of rounding
    low = min(exact) - slack
    high = max(exact) + slack
    assert sum(low <= each <= high for each in read) >= 0.95 * len(read)
    assert min(read) >= 0.0


def test_a_reading_is_the_same_for_whoever_looks_and_whenever() -> None:
    spot = Spot("rock-the-steering/rim-play", None)
    car, again = exercise().car, exercise().car
    assert car.answer(spot) == again.answer(spot)
    assert car.answer(spot).reading is not None


# Cars ---------------------------------------------------------------------------------------------------


def test_the_same_seed_gives_the_same_car_and_another_seed_another() -> None:
    one, same = exercise(5), exercise(5)
    assert one.car.present == same.car.present
    assert one.truth == same.truth
    assert one.words == same.words
    found = {(exercise(seed).car.present, exercise(seed).car.car.vehicle.km) for seed in range(5)}
    assert len(found) > 1


@pytest.mark.parametrize("seed", range(6))
def test_the_culprits_end_the_complaint_and_none_is_to_spare(seed: int) -> None:
    one = exercise(seed)
    assert one.car.complaint()
    assert not one.car.complaint(one.truth)
    assert all(one.car.complaint(one.truth - {each}) for each in one.truth)
    assert one.truth <= one.car.present


def test_a_car_that_no_cure_ends_has_no_culprits() -> None:
    one = exercise().car
    leak = {key: coins.copy() for key, coins in one.coins.items()}
    leak["wander"][-1] = 1  # the leak alone raises it
    assert culprits(PracticeCar(one.car, one.present, leak, one.again)) == frozenset()


def test_levels_go_by_faults_and_rank() -> None:
    assert [level_of(1, rank) for rank in (1, 2, 3, 8, 9, 40)] == [1, 1, 2, 2, 3, 3]
    assert level_of(2, 1) == 4


# Attempts -----------------------------------------------------------------------------------------------


def test_an_attempt_replayed_stands_where_it_stood() -> None:
    one = exercise()
    first = Attempt(one)
    first.look(LIBRARY.checks["ask-tyres"])
    first.look(LIBRARY.checks["rock-the-steering"])
    cure = first.cures()[0]
    first.put_right(cure)
    second = Attempt(exercise())
    second.replay(
        [
            {"check": "ask-tyres"},
            {"check": "rock-the-steering"},
            {"cure": f"{cure.remedy}@{cure.place}"},
        ]
    )
    assert second.at.seen == first.at.seen
    assert second.at.ended() == first.at.ended()
    with pytest.raises(ValueError, match="cannot be done on this car"):
        second.replay([{"check": "no-such-check"}])


def test_apprentice_and_program_pay_by_the_same_rules() -> None:
    """The program's own steps, done by hand, cost what they cost it."""
    one = exercise()
    program = list(as_the_program(one))
    mine = Attempt(one)
    for step, _ in program:
        if step.check is not None:
            mine.look(LIBRARY.checks[step.check])
        elif step.cure is not None:
            mine.put_right(one.cures.all[step.cure])
    found = compare(one, mine.trace, program)
    assert found.own == found.other
    assert found.mine == found.program


def test_a_car_found_unfit_is_mended_before_it_is_driven() -> None:
    car = exercise().car.car
    seen = (Seen("rock-the-steering/end-moves", "front-left", "yes"),)
    assert unfit(car, seen, frozenset()) == ("The joint is about to part.",)
    # A loose rod end of that side ends it; nothing else does.
    (number,) = mends(car, seen, frozenset())
    assert car.causes[number].id == "rod-end-play-front-left"
    assert unfit(car, seen, frozenset({number})) == ()
    attempt = Attempt(exercise())
    attempt.trace.append((Searched, replace(attempt.at, seen=seen)))  # type: ignore[arg-type]
    assert all(number in cure.causes for cure in attempt.cures())


# Words --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("tyre press", "read and set all four tyre pressures"),
        ("Drop links", "shake the front drop links by hand"),
        ("brake caliper left", "front brake caliper: piston or slide pins stuck, front left"),
        ("calliper", "front brake caliper: piston or slide pins stuck, front left"),
        ("caliper right", "front brake caliper: piston or slide pins stuck, front right"),
    ],
)
def test_words_find_what_holds_them(typed: str, first: str) -> None:
    names = [
        "front brake caliper: piston or slide pins stuck, front left",
        "front brake caliper: piston or slide pins stuck, front right",
        "shake the front drop links by hand",
        "read and set all four tyre pressures",
        "tension link bush: worn, torn or loose",
    ]
    assert max(names, key=lambda name: alike(typed, name)) == first
    assert alike("", names[0]) == 0.0
    assert alike("zzz qqq", names[0]) < 30.0


# Weights of evidence ------------------------------------------------------------------------------------


#: A tree small enough to write out every state of it.
PLAIN = """\
complaint:
  id: wander
  name: Wanders
  says: [wanders]
  leak: 0.03
  source: estimate
  any:
    - {cause: rod-end-play, strength: 0.45}
    - {cause: tyres-soft, strength: 0.5}
"""


def test_the_weight_of_a_check_is_the_bayes_factor_by_enumeration() -> None:
    """Good (1950): W = log10 of P(E | H) / P(E | not H) = log odds after - log odds before.

    The odds that a cause is to blame are taken from every state of the model, one by one (tests/oracle.py).
    """
    files = {name: text for name, text in SMALL.items() if name not in ("pull.yaml", "wander.yaml")}
    files["checks.yaml"] = files["checks.yaml"].replace("loose-steering: {very stiff: 0.01}", "")
    draft, _ = compiled({**files, "wander.yaml": PLAIN})  # a rod end that is tight is of no use here
    one = draw_exercise(draft.library, ["wander"], 1, 3, Workshop())
    attempt = Attempt(one)
    seen = attempt.look(draft.library.checks["ask-tyres"])
    (line,) = lines_of(one, attempt.trace)
    absent, hit = draft.library.complaints["wander"].heard[::-1]
    told = {"wander": (absent, hit)}
    network = one.car.car.plain.network
    weights = []
    for number in one.truth:
        odds = []
        for more in ({}, answers(seen)):
            of = {**told, **more}
            some = replace(network, nodes={key: network.nodes[key] for key in reaching(network, list(of))})
            p = blamed(some, "wander", of)[number]
            odds.append(math.log10(p / (1.0 - p)))
        weights.append(odds[1] - odds[0])
    assert line.weight == pytest.approx(max(weights), abs=1e-9)
    assert abs(line.weight) > 0.01


def answers(seen: tuple[Seen, ...]) -> dict[str, tuple[float, ...]]:
    """These plain answers as likelihoods of the events that they observe."""
    return {
        finding_key(each.finding, each.position): (0.0, 1.0) if each.answer == "yes" else (1.0, 0.0)
        for each in seen
    }


def test_handing_on_at_once_costs_just_that() -> None:
    one = exercise()
    found = compare(one, [], list(as_the_program(one)))
    assert not found.own.cured
    assert found.own.money >= one.cures.prices.unsolved
    assert found.mine == ()


# The record ---------------------------------------------------------------------------------------------


def lines(seed: int = 3, number: int = 1) -> list[str]:
    """A car begun, one check, ended."""
    one = exercise(seed)
    begun = begun_line(one, number, "wander", seed, 1, NOW)
    record = read_record([begun])
    assert record.open is not None
    attempt = Attempt(one)
    attempt.look(LIBRARY.checks["ask-tyres"])
    found = compare(one, attempt.trace, list(as_the_program(one)))
    return [begun, move_line(number, {"check": "ask-tyres"}), ended_line(one, record.open, found, NOW)]


def test_a_car_begun_is_open_until_it_ends() -> None:
    begun, move, ended = lines()
    assert read_record([]).open is None
    still = read_record([begun, move]).open
    assert still is not None
    assert still.moves == ({"check": "ask-tyres"},)
    assert (still.seed, still.level, still.asked, still.workshop) == (3, 1, "wander", Workshop())
    done = read_record([begun, move, ended])
    assert done.open is None
    (car,) = done.cars
    assert (car.number, car.checks, car.cured, car.complaint) == (1, 1, False, "wander")
    assert read_record([begun, left_line(1)]).open is None


def test_lines_torn_or_strange_are_left_out_and_counted() -> None:
    begun, move, ended = lines()
    broken = [
        begun,
        move[:20],
        "\x00\ufffd",
        "[]",
        "7",
        '{"practice": 2, "event": "ended"}',
        '{"practice": 1, "event": "ended", "number": "one"}',
        ended.replace('"minutes": ', '"minutes": "many", "was": '),
        "[" * 100_000,
        ended,
    ]
    record = read_record(broken)
    assert record.unreadable == 8
    assert len(record.cars) == 1


def practised(**other: object) -> Practised:
    (car,) = read_record(lines()).cars
    good = {"money": 100.0, "program_money": 80.0, "wrong": 0, "cured": True, "first": True, "level": 1}
    return replace(car, **{**good, **other})  # type: ignore[arg-type]


def test_three_good_cars_open_the_next_level() -> None:
    good, dear = practised(), practised(money=200.0)
    assert next_level([]) == 1
    assert next_level([good, good]) == 1
    assert next_level([good, good, good]) == 2
    assert next_level([good, dear, good]) == 1
    assert next_level([good, good, practised(wrong=1)]) == 1
    assert next_level([practised(level=4)] * 3) == 4
    # Good cars of an easier level do not open the one after a harder one.
    assert next_level([good, good, practised(level=2)]) == 2


@pytest.mark.parametrize(
    ("cars", "line"),
    [
        ([{}], "A good one. 3 good ones in a row open level 2; so far 1."),
        ([{}, {}, {}], "3 good cars in a row: the next car is of level 2."),
        ([{}, {}, {}, {"level": 2}], "A good one. 3 good ones in a row open level 3; so far 1."),
        (
            [{}, {"wrong": 2}],
            "Not a good one: 2 parts were fitted in vain. 3 good ones in a row open level 2; so far 0.",
        ),
        (
            [{"cured": False}],
            "Not a good one: the complaint was still there. 3 good ones in a row open level 2; so far 0.",
        ),
        (
            [{"money": 200.0}],
            "Not a good one: it cost 2.5 times what the program spent. 3 good ones in a row open level 2; "
            "so far 0.",
        ),
        ([{"level": 4}] * 5, "A good one. 5 in a row on the highest level."),
    ],
)
def test_after_a_car_it_is_said_how_far_the_next_level_is(cars: list[dict[str, object]], line: str) -> None:
    assert level_line([practised(**each) for each in cars]) == line


def test_a_car_with_a_hint_is_no_good_one() -> None:
    good, helped = practised(), practised(hints=1)
    assert next_level([good, helped, good]) == 1
    assert "Not a good one: a hint was asked for." in level_line([helped])
    assert "Not a good one: 2 hints were asked for." in level_line([practised(hints=2)])


def test_a_record_from_before_there_were_hints_is_read() -> None:
    begun, _, ended = lines()
    (car,) = read_record([begun, ended.replace(', "hints": 0', "")]).cars
    assert '"hints": 0' in ended and car.hints == 0


def test_hints_told_are_kept_with_the_moves() -> None:
    one = exercise()
    begun = begun_line(one, 1, "wander", 3, 1, NOW)
    moves = [{"hint": "suspects"}, {"check": "ask-tyres"}, {"hint": "suspects"}, {"hint": "step"}]
    record = read_record([begun, *(move_line(1, move) for move in moves)])
    assert record.open is not None and list(record.open.moves) == moves
    attempt = Attempt(one)
    attempt.replay(record.open.moves)
    assert (attempt.hints, attempt.at.done) == (3, ("ask-tyres",))


def test_a_hint_tells_the_suspects_of_the_belief_and_the_next_step_of_the_program() -> None:
    one = exercise()
    attempt = Attempt(one)
    attempt.look(LIBRARY.checks["ask-tyres"])
    belief = Belief(one.car.car, Story(one.car.car.vehicle, one.heard, attempt.at.seen))
    text = text_of(suspects_page(attempt, LOOK))
    for number in belief.order()[:3]:
        assert f"{of_100(float(belief.to_blame[number]))} {cause_words(one, number)}" in text
    assert f"{of_100(belief.outside)} something not listed here" in text
    # After the same steps the program does just that on the very same car.
    mine = Attempt(one)
    told = 0
    for step, _ in as_the_program(one):
        assert mine.proposed() == step
        page = text_of(step_page(mine, LOOK))
        if step.check is not None:
            assert LIBRARY.checks[step.check].name.removeprefix("ask ") in page
            mine.look(LIBRARY.checks[step.check])
        elif step.cure is not None:
            cure = one.cures.all[step.cure]
            assert page.startswith("The program would look no further, but ")
            mine.put_right(cure)
        else:
            assert page == "The program would look no further: it would hand the car on."
        told += 1
    assert told >= 2


def test_progress_is_that_of_the_cars_given() -> None:
    assert progress([]) is None
    cars = [practised(money=80.0), practised(money=160.0, wrong=2, first=False), practised(money=800.0)]
    found = progress(cars)
    assert found is not None
    assert (found.cars, found.cured, found.first, found.wrong, found.dearer) == (3, 3, 2, 2, 2.0)


# What is shown ------------------------------------------------------------------------------------------


def test_the_words_of_a_driver_do_not_contradict_the_side_that_is_told() -> None:
    for complaint in SHIPPED.complaints.values():
        assert wordings(SHIPPED, complaint.id, None) == (complaint.says or (complaint.name,))
        for said in wordings(SHIPPED, complaint.id, "left"):
            assert not {"left", "right"} & set(re.findall(r"\w+", said.lower()))


def text_of(page: RenderableType) -> str:
    console = Console(width=80, no_color=True)
    with console.capture() as capture:
        console.print(page)
    return " ".join(capture.get().split())


def test_a_reading_is_told_with_its_band_and_the_limits_with_their_unit() -> None:
    finding = next(
        each
        for each in SHIPPED.findings.values()
        if each.reading is not None and len(each.reading.limits) == 2 and each.reading.direction == "over"
    )
    assert finding.reading is not None
    for band in (*finding.levels, "no"):
        text = text_of(seen_page(SHIPPED, [Seen(finding.id, None, band, 1.5)], LOOK))
        word = band if band != "no" else finding.reading.below
        assert f"1.5 {finding.reading.unit}, {word}" in text
        for limit in finding.reading.limits:
            assert f"{limit.value:g} {finding.reading.unit}: {limit.name}" in text


def test_what_was_not_seen_is_told_in_the_words_of_its_place() -> None:
    asked, looked = (
        next(
            each
            for each in SHIPPED.findings.values()
            if (SHIPPED.checks[each.check].set_up == "talk") == talk
            and each.levels == ("yes",)
            and each.name
            and each.reading is None
        )
        for talk in (True, False)
    )
    for finding, words in ((asked, "The driver says no"), (looked, "not seen")):
        assert f"{words}: {finding.name}" in text_of(seen_page(SHIPPED, [Seen(finding.id, None, "no")], LOOK))


@pytest.mark.slow
def test_the_end_tells_what_the_telling_check_showed_and_what_it_made_of_the_fault() -> None:
    """The two figures are P(to blame) by enumeration, without and with the answers of that check."""
    told = 0
    for seed in range(12):
        one = exercise(seed)
        attempt = Attempt(one)
        found = compare(one, attempt.trace, list(as_the_program(one)))
        if found.told is None:
            continue
        told += 1
        line = found.told
        assert line.of in one.truth and line.check == found.telling
        odds = (line.after / (1 - line.after)) / (line.before / (1 - line.before))
        assert math.log10(odds) == pytest.approx(line.weight)
        text = text_of(compared_page(one, found, LOOK))
        assert f"from {of_100(line.before)} to {of_100(line.after)} of 100 such cars." in text
        assert "What it showed:" in text
    assert told


def test_the_car_begins_with_what_is_to_be_done_and_the_line_tells_what_was_in_vain() -> None:
    one = exercise()
    assert "Find out for little money what is behind it" in text_of(brought_page(one, 3, 1, LOOK))
    attempt = Attempt(one)
    vain = next(cure for cure in attempt.cures() if attempt.at.sound(cure))
    attempt.put_right(vain)
    assert f"1 put right, {round(vain.money)} cu in vain" in text_of(status_line(attempt, LOOK))
