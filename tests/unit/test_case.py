"""Case files: one read whole, and every mistake with its place and its whole message."""

# ruff: noqa: E501 - messages and the lines that they show stand here as they are printed

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import CaseError
from diagnose.job.case import Case, Confirmed, read_case
from diagnose.model.story import Heard, Seen, Story, Workshop
from diagnose.model.vehicle import Renewed, Vehicle
from tests.small_trees import SMALL, compiled

LIBRARY = compiled(SMALL)[0].library
ROCK = "rock-the-steering"

WHOLE = """\
case: 1
id: demo-1
vehicle:
  name: demo van
  km: 187000
  years: 12.5
  steering: rack
  conditions: {rough-roads: no}
  renewed:
    - {part: rod-end, position: front-right, years-ago: 2}
    - {part: tyres, at-km: 180000.5}
complaints:
  - says: it weaves
    heard: probably
    road-test: yes
  - {id: pull, side: left}
answers:
  - check: ask-tyres
    findings: {long-ago: cannot-tell}
  - check: rock-the-steering
    findings:
      end-moves: {front-left: probably-not, front-right: yes}
      how-stiff: very   stiff
      rim-play: 0.9 cm
    others: no
workshop:
  currency: crowns
  labour-rate: 82.5
  cannot: [lift, helper]
confirmed:
  causes:
    - {fault: rod-end-play, position: front-right}
    - {fault: tyres-soft}
  not-in-trees: [a bent rim]
  telling: 1
  source: made up
  confidence: high
"""


def read(text: str) -> Case:
    return read_case(LIBRARY, text.encode(), "car.yaml")


def test_likelihoods_are_kept_as_they_are() -> None:
    answered = "{check: rock-the-steering, findings: {how-stiff: likelihoods 0.2 0.7 0.1}}"
    case = read(f"case: 1\ncomplaints: [{{id: wander}}]\nanswers: [{answered}]\n")
    assert case.story.seen == (Seen("rock-the-steering/how-stiff", None, "stiff", shares=(0.2, 0.7, 0.1)),)


def refusal(text: str) -> str:
    with pytest.raises(CaseError) as raised:
        read(text)
    return str(raised.value)


def test_a_case_read_whole() -> None:
    assert read(WHOLE) == Case(
        id="demo-1",
        story=Story(
            Vehicle(
                "demo van",
                {"steering": "rack"},
                {"rough-roads": False},
                187_000.0,
                12.5,
                (Renewed("rod-end", "front-right", None, 2.0), Renewed("tyres", None, 180_000.5, None)),
            ),
            (
                Heard("wander", None, "probably", "driver"),
                Heard("wander", None, "yes", "road-test"),
                Heard("pull", "left", "yes", "driver"),
            ),
            (
                Seen("ask-tyres/long-ago", None, "cannot-tell"),
                Seen(f"{ROCK}/end-moves", "front-left", "probably-not"),
                Seen(f"{ROCK}/end-moves", "front-right", "yes"),
                Seen(f"{ROCK}/how-stiff", None, "very stiff"),
                Seen(f"{ROCK}/rim-play", None, "past the feel limit", 9.0),
                Seen(f"{ROCK}/wander-felt", None, "no"),
            ),
        ),
        workshop=Workshop("crowns", 82.5, frozenset({"lift", "helper"})),
        confirmed=Confirmed(
            (("rod-end-play", "front-right"), ("tyres-soft", None)), ("a bent rim",), 1, "made up"
        ),
        steps=(1, 5),
    )


def test_the_least_that_a_case_needs() -> None:
    case = read("case: 1\ncomplaints: [{id: wander}]\n")
    assert case == Case("", Story(Vehicle(), (Heard("wander"),)))
    assert case.workshop == Workshop("cu", 100.0)


@pytest.mark.parametrize(
    ("lines", "heard"),
    [
        ("{id: wander, heard: no}", [Heard("wander", None, "no")]),
        ("{id: wander, road-test: no}", [Heard("wander", None, "no", "road-test")]),
        ("{id: pull}", [Heard("pull")]),
        ("{id: pull, side: right, road-test: yes}", [Heard("pull", "right", "yes", "road-test")]),
    ],
)
def test_who_speaks_to_a_complaint(lines: str, heard: list[Heard]) -> None:
    assert list(read(f"case: 1\ncomplaints: [{lines}]\n").story.heard) == heard


@pytest.mark.parametrize(
    ("answer", "expected"),
    [
        ("end-moves: yes", [("end-moves", "front-left", "yes"), ("end-moves", "front-right", "yes")]),
        ("end-moves: {front-left: no}", [("end-moves", "front-left", "no")]),
        ("how-stiff: easy", [("how-stiff", None, "easy")]),
        ("how-stiff: yes", [("how-stiff", None, "yes")]),
        ("how-stiff: cannot-tell", [("how-stiff", None, "cannot-tell")]),
        ("rim-play: past the inspection limit", [("rim-play", None, "past the inspection limit")]),
        ("rim-play: no", [("rim-play", None, "no")]),
        ("wander-felt: probably", [("wander-felt", None, "probably")]),
    ],
)
def test_answers(answer: str, expected: list[tuple[str, str | None, str]]) -> None:
    text = f"case: 1\ncomplaints: [{{id: wander}}]\nanswers: [{{check: {ROCK}, findings: {{{answer}}}}}]\n"
    seen = read(text).story.seen
    assert [(s.finding, s.position, s.answer) for s in seen] == [
        (f"{ROCK}/{f}", p, a) for f, p, a in expected
    ]


def test_no_others_answers_what_was_not_named() -> None:
    text = f"case: 1\ncomplaints: [{{id: wander}}]\nanswers: [{{check: {ROCK}, others: no}}]\n"
    case = read(text)
    assert case.steps == (5,)
    assert {seen.answer for seen in case.story.seen} == {"no"}


MISTAKES = [
    pytest.param(
        "case: 1\n\tcomplaints: x\n",
        """\
car.yaml:2:1: a tab stands here
    2 |  complaints: x
      | ^
    mend: use spaces, never tabs""",
        id="not yaml",
    ),
    pytest.param(
        """\
""",
        """\
car.yaml: the file is empty
    mend: write at least one key with a value, or delete the file""",
        id="empty",
    ),
    pytest.param(
        """\
complaints: [{id: wander}]
""",
        """\
car.yaml:1:1: a case file needs 'case'
    1 | complaints: [{id: wander}]
      | ^^^^^^^^^^
    mend: add `case: ...`""",
        id="no case",
    ),
    pytest.param(
        """\
case: 2
complaints: [{id: wander}]
""",
        """\
car.yaml:1:7: 'case' must be 1, not '2'
    1 | case: 2
      |       ^
    mend: write one of: 1""",
        id="case 2",
    ),
    pytest.param(
        """\
case: 1
""",
        """\
car.yaml:1:1: a case file needs 'complaints'
    1 | case: 1
      | ^^^^
    mend: add `complaints: ...`""",
        id="no complaints",
    ),
    pytest.param(
        """\
case: 1
complaints: []
""",
        """\
car.yaml:2:13: 'complaints' has 0 entries, it needs at least 1
    2 | complaints: []
      |             ^^
    mend: add or delete entries""",
        id="complaints empty",
    ),
    pytest.param(
        """\
case: 1
vehicel: {km: 3}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:1: a case file has no key 'vehicel'
    2 | vehicel: {km: 3}
      | ^^^^^^^
    mend: did you mean 'vehicle'?""",
        id="unknown key",
    ),
    pytest.param(
        """\
case: 1
vehicle: {km: 187 000}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:15: 'km' must be a number of kilometres from 0 to 3000000, not '187 000'
    2 | vehicle: {km: 187 000}
      |               ^^^^^^^
    mend: write a decimal number of kilometres in that range""",
        id="km",
    ),
    pytest.param(
        """\
case: 1
vehicle: {km: -1}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:15: 'km' must be a number of kilometres from 0 to 3000000, not '-1'
    2 | vehicle: {km: -1}
      |               ^^
    mend: write a decimal number of kilometres in that range""",
        id="km neg",
    ),
    pytest.param(
        """\
case: 1
vehicle: {years: 121}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:18: 'years' must be a number of years from 0 to 120, not '121'
    2 | vehicle: {years: 121}
      |                  ^^^
    mend: write a decimal number of years in that range""",
        id="years",
    ),
    pytest.param(
        """\
case: 1
vehicle: {years: '9,5'}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:18: 'years' must be a number of years from 0 to 120, not '9,5'
    2 | vehicle: {years: '9,5'}
      |                  ^^^^^
    mend: write the decimal point as a point: 9.5""",
        id="years comma",
    ),
    pytest.param(
        """\
case: 1
vehicle: {steering: rak}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:21: 'steering' must be rack or box, not 'rak'
    2 | vehicle: {steering: rak}
      |                     ^^^
    mend: did you mean 'rack'?""",
        id="fact",
    ),
    pytest.param(
        """\
case: 1
vehicle: {fornt: strut}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:11: a vehicle has no key 'fornt'
    2 | vehicle: {fornt: strut}
      |           ^^^^^
    mend: the keys are: name, km, years, conditions, renewed, steering""",
        id="nofact",
    ),
    pytest.param(
        """\
case: 1
vehicle: {conditions: {rough-road: yes}}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:24: there is no condition 'rough-road'
    2 | vehicle: {conditions: {rough-road: yes}}
      |                        ^^^^^^^^^^
    mend: did you mean 'rough-roads'?""",
        id="cond",
    ),
    pytest.param(
        """\
case: 1
vehicle: {conditions: {rough-roads: maybe}}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:37: 'rough-roads' in 'conditions' must be yes or no, not 'maybe'
    2 | vehicle: {conditions: {rough-roads: maybe}}
      |                                     ^^^^^
    mend: write one of: yes, no""",
        id="condval",
    ),
    pytest.param(
        """\
case: 1
vehicle: {renewed: [{part: rod-ends, years-ago: 2}]}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:28: there is no part 'rod-ends'
    2 | vehicle: {renewed: [{part: rod-ends, years-ago: 2}]}
      |                            ^^^^^^^^
    mend: did you mean 'rod-end'?""",
        id="renewed part",
    ),
    pytest.param(
        """\
case: 1
vehicle: {renewed: [{part: rod-end}]}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:22: a renewed part needs 'at-km' or 'years-ago', or both
    2 | vehicle: {renewed: [{part: rod-end}]}
      |                      ^^^^
    mend: add 'at-km' or 'years-ago'""",
        id="renewed when",
    ),
    pytest.param(
        """\
case: 1
vehicle: {renewed: [{part: rod-end, position: front-lft, at-km: 5}]}
complaints: [{id: wander}]
""",
        """\
car.yaml:2:47: 'position' must be one of front-left, front-right, rear-left, rear-right, front, rear, left, right, centre, not 'front-lft'
    2 | vehicle: {renewed: [{part: rod-end, position: front-lft, at-km: 5}]}
      |                                               ^^^^^^^^^
    mend: did you mean 'front-left'?""",
        id="renewed pos",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wandr}]
""",
        """\
car.yaml:2:19: there is no complaint 'wandr'
    2 | complaints: [{id: wandr}]
      |                   ^^^^^
    mend: did you mean 'wander'?""",
        id="complaint id",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: zzzz}]
""",
        """\
car.yaml:2:19: there is no complaint 'zzzz'
    2 | complaints: [{id: zzzz}]
      |                   ^^^^
    mend: `diagnose trees complaints` lists them all""",
        id="complaint far",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander, says: weaves}]
""",
        """\
car.yaml:2:27: a complaint has 'id' and 'says', which exclude each other
    2 | complaints: [{id: wander, says: weaves}]
      |                           ^^^^
    mend: keep one of them""",
        id="complaint both",
    ),
    pytest.param(
        """\
case: 1
complaints: [{side: left}]
""",
        """\
car.yaml:2:15: a complaint needs one of 'id' or 'says'
    2 | complaints: [{side: left}]
      |               ^^^^
    mend: add 'id' or 'says'""",
        id="complaint none",
    ),
    pytest.param(
        """\
case: 1
complaints: [{says: purple elephants}]
""",
        """\
car.yaml:2:21: no complaint sounds like 'purple elephants'
    2 | complaints: [{says: purple elephants}]
      |                     ^^^^^^^^^^^^^^^^
    mend: say it otherwise, or write `id:` with one that `diagnose trees` lists""",
        id="says",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander, side: left}]
""",
        """\
car.yaml:2:27: complaint 'wander' has no side
    2 | complaints: [{id: wander, side: left}]
      |                           ^^^^
    mend: delete the line with `side`""",
        id="side",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: pull, side: middle}]
""",
        """\
car.yaml:2:31: 'side' must be left or right, not 'middle'
    2 | complaints: [{id: pull, side: middle}]
      |                               ^^^^^^
    mend: write one of: left, right""",
        id="side word",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander, heard: maybe}]
""",
        """\
car.yaml:2:34: 'heard' must be one of yes, probably, cannot-tell, probably-not, no, not 'maybe'
    2 | complaints: [{id: wander, heard: maybe}]
      |                                  ^^^^^
    mend: write one of: yes, probably, cannot-tell, probably-not, no""",
        id="heard",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyre, findings: {long-ago: yes}}]
""",
        """\
car.yaml:3:19: there is no check 'ask-tyre'
    3 | answers: [{check: ask-tyre, findings: {long-ago: yes}}]
      |                   ^^^^^^^^
    mend: did you mean 'ask-tyres'?""",
        id="check",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{findings: {long-ago: yes}}]
""",
        """\
car.yaml:3:12: an answered check needs 'check'
    3 | answers: [{findings: {long-ago: yes}}]
      |            ^^^^^^^^
    mend: add `check: ...`""",
        id="check none",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyres}]
""",
        """\
car.yaml:3:12: an answered check needs 'findings' or 'others', or both
    3 | answers: [{check: ask-tyres}]
      |            ^^^^^
    mend: add 'findings' or 'others'""",
        id="check empty",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyres, others: yes}]
""",
        """\
car.yaml:3:38: 'others' must be no, not 'yes'
    3 | answers: [{check: ask-tyres, others: yes}]
      |                                      ^^^
    mend: write one of: no""",
        id="others yes",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyres, findings: {long-agoo: yes}}]
""",
        """\
car.yaml:3:41: check 'ask-tyres' has no finding 'long-agoo'
    3 | answers: [{check: ask-tyres, findings: {long-agoo: yes}}]
      |                                         ^^^^^^^^^
    mend: did you mean 'long-ago'?""",
        id="finding",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {zzz: yes}}]
""",
        """\
car.yaml:3:49: check 'rock-the-steering' has no finding 'zzz'
    3 | answers: [{check: rock-the-steering, findings: {zzz: yes}}]
      |                                                 ^^^
    mend: its findings are: end-moves, how-stiff, rim-play, wander-felt""",
        id="finding2",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {end-moves: {rear-left: yes}}}]
""",
        """\
car.yaml:3:61: 'rock-the-steering/end-moves' is not asked at 'rear-left'
    3 | answers: [{check: rock-the-steering, findings: {end-moves: {rear-left: yes}}}]
      |                                                             ^^^^^^^^^
    mend: write front-left or front-right""",
        id="place",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {how-stiff: {front-left: stiff}}}]
""",
        """\
car.yaml:3:61: 'rock-the-steering/how-stiff' is not asked at 'front-left'
    3 | answers: [{check: rock-the-steering, findings: {how-stiff: {front-left: stiff}}}]
      |                                                             ^^^^^^^^^^
    mend: write no position: write the answer alone""",
        id="place none",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {end-moves: {lft: yes}}}]
""",
        """\
car.yaml:3:61: a key of 'end-moves' in 'findings' must be one of front-left, front-right, rear-left, rear-right, front, rear, left, right, centre, not 'lft'
    3 | answers: [{check: rock-the-steering, findings: {end-moves: {lft: yes}}}]
      |                                                             ^^^
    mend: did you mean 'left'?""",
        id="place bad",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyres, findings: {long-ago: maybe}}]
""",
        """\
car.yaml:3:51: 'maybe' is not an answer to 'ask-tyres/long-ago'
    3 | answers: [{check: ask-tyres, findings: {long-ago: maybe}}]
      |                                                   ^^^^^
    mend: write one of: yes, probably, cannot-tell, probably-not, no""",
        id="answer",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyres, findings: {long-ago: probaly}}]
""",
        """\
car.yaml:3:51: 'probaly' is not an answer to 'ask-tyres/long-ago'
    3 | answers: [{check: ask-tyres, findings: {long-ago: probaly}}]
      |                                                   ^^^^^^^
    mend: did you mean 'probably'?""",
        id="answer near",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: ask-tyres, findings: {long-ago: [yes]}}]
""",
        """\
car.yaml:3:51: 'long-ago' in 'findings' must be an answer, not a list
    3 | answers: [{check: ask-tyres, findings: {long-ago: [yes]}}]
      |                                                   ^^^^^
    mend: write yes, probably, cannot-tell, probably-not, no, a grade or a reading""",
        id="answer list",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {how-stiff: veri stiff}}]
""",
        """\
car.yaml:3:60: 'veri stiff' is not an answer to 'rock-the-steering/how-stiff'
    3 | answers: [{check: rock-the-steering, findings: {how-stiff: veri stiff}}]
      |                                                            ^^^^^^^^^^
    mend: did you mean 'very stiff'?""",
        id="grade",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {how-stiff: likelihoods 0.2 1.7}}]
""",
        """\
car.yaml:3:60: these are no likelihoods of 'rock-the-steering/how-stiff'
    3 | answers: [{check: rock-the-steering, findings: {how-stiff: likelihoods 0.2 1.7}}]
      |                                                            ^^^^^^^^^^^^^^^^^^^
    mend: write 3 numbers from 0 to 1, not all 0: for easy, stiff, very stiff""",
        id="likelihoods",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {rim-play: much}}]
""",
        """\
car.yaml:3:59: 'much' is not a reading of 'rock-the-steering/rim-play'
    3 | answers: [{check: rock-the-steering, findings: {rim-play: much}}]
      |                                                           ^^^^
    mend: 'much' is not a number: write a number, such as 9 mm""",
        id="reading",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {rim-play: 9 bar}}]
""",
        """\
car.yaml:3:59: '9 bar' is not a reading of 'rock-the-steering/rim-play'
    3 | answers: [{check: rock-the-steering, findings: {rim-play: 9 bar}}]
      |                                                           ^^^^^
    mend: 'bar' is not a unit of this reading: write it in mm, cm, m, in, inch, \"""",
        id="reading unit",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers: [{check: rock-the-steering, findings: {rim-play: yes}}]
""",
        """\
car.yaml:3:59: 'yes' is not a reading of 'rock-the-steering/rim-play'
    3 | answers: [{check: rock-the-steering, findings: {rim-play: yes}}]
      |                                                           ^^^
    mend: 'yes' is not a number: write a number, such as 9 mm""",
        id="reading yes",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
answers:
  - {check: ask-tyres, findings: {long-ago: yes}}
  - {check: ask-tyres, findings: {long-ago: no}}
""",
        """\
car.yaml:5:35: 'ask-tyres/long-ago' is answered twice
    5 |   - {check: ask-tyres, findings: {long-ago: no}}
      |                                   ^^^^^^^^
    mend: keep one of the answers""",
        id="twice",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
workshop: {cannot: [helpr]}
""",
        """\
car.yaml:3:21: there is no set-up, tool or check 'helpr'
    3 | workshop: {cannot: [helpr]}
      |                     ^^^^^
    mend: did you mean 'helper'?""",
        id="workshop cannot",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
workshop: {labour-rate: 0}
""",
        """\
car.yaml:3:25: 'labour-rate' must be a number of money per hour above 0, at most 100000, not '0'
    3 | workshop: {labour-rate: 0}
      |                         ^
    mend: write a decimal number of money per hour in that range""",
        id="workshop rate",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
workshop: {currency: moneymoney}
""",
        """\
car.yaml:3:22: 'currency' has 10 characters, more than 8
    3 | workshop: {currency: moneymoney}
      |                      ^^^^^^^^^^
    mend: say it shorter""",
        id="workshop currency",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
confirmed: {causes: [{fault: rod-end-pla}]}
""",
        """\
car.yaml:3:30: there is no fault 'rod-end-pla'
    3 | confirmed: {causes: [{fault: rod-end-pla}]}
      |                              ^^^^^^^^^^^
    mend: did you mean 'rod-end-play'?""",
        id="confirmed",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
confirmed: {causes: [{fault: rod-end-play, position: nowhere}]}
""",
        """\
car.yaml:3:54: 'position' must be one of front-left, front-right, rear-left, rear-right, front, rear, left, right, centre, not 'nowhere'
    3 | confirmed: {causes: [{fault: rod-end-play, position: nowhere}]}
      |                                                      ^^^^^^^
    mend: write one of: front-left, front-right, rear-left, rear-right, front, rear, left, right, centre""",
        id="confirmed pos",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
confirmed: {telling: 1.5}
""",
        """\
car.yaml:3:22: 'telling' must be a whole number from 0 to 100, not '1.5'
    3 | confirmed: {telling: 1.5}
      |                      ^^^
    mend: write a whole number such as 1""",
        id="telling",
    ),
    pytest.param(
        """\
case: 1
complaints: [{id: wander}]
confirmed: {confidence: sure}
""",
        """\
car.yaml:3:25: 'confidence' must be one of high, medium, low, not 'sure'
    3 | confirmed: {confidence: sure}
      |                         ^^^^
    mend: write one of: high, medium, low""",
        id="confidence",
    ),
]


@pytest.mark.parametrize(("text", "message"), MISTAKES)
def test_a_mistake_names_its_place_and_its_mend(text: str, message: str) -> None:
    assert refusal(text) == message


def test_every_fault_that_is_like_no_other_points_to_a_list_that_there_is() -> None:
    text = "case: 1\ncomplaints: [{id: wander}]\nconfirmed: {causes: [{fault: qqqqqqqq}]}\n"
    assert refusal(text).endswith("mend: `diagnose trees causes` lists them all")


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file() -> None:
    text = """\
case: 1
vehicle:
  km: far
  steering: rak
  conditions: {rough-road: yes}
  renewed: [{part: rod-ends, at-km: 5}]
complaints:
  - {id: wandr}
  - {id: wander, side: left}
  - {says: purple elephants}
answers:
  - {check: ask-tyre, findings: {long-ago: yes}}
  - {check: ask-tyres, findings: {long-ago: maybe, old: no}}
  - check: rock-the-steering
    findings:
      end-moves: {rear-left: yes}
      rim-play: much
workshop: {cannot: [helpr], labour-rate: -1}
confirmed: {causes: [{fault: rod-end-pla}]}
"""
    with pytest.raises(CaseError) as raised:
        read(text)
    places = [(p.place.line, p.place.column) for p in raised.value.problems]
    assert places == [
        (3, 7),
        (4, 13),
        (5, 16),
        (6, 20),
        (8, 10),
        (9, 18),
        (10, 12),
        (12, 13),
        (13, 45),
        (13, 52),
        (16, 19),
        (17, 17),
        (18, 21),
        (18, 42),
        (19, 30),
    ]
    assert all(p.place.file == "car.yaml" and p.mend for p in raised.value.problems)


def test_bytes_that_are_not_text() -> None:
    with pytest.raises(CaseError) as raised:
        read_case(LIBRARY, b"case: 1\n\xff\xfe", "car.yaml")
    assert "car.yaml" in str(raised.value)
    assert "UTF-8" in str(raised.value)


@given(st.text(max_size=200))
def test_any_text_is_a_case_or_a_case_error(text: str) -> None:
    with pytest.raises(CaseError) as raised:
        read(text)
    assert raised.value.problems


@given(st.sampled_from(WHOLE.splitlines()), st.text(alphabet=":{}[]-#&*!|>'\"%@ \tab0,", max_size=6))
def test_a_spoilt_line_is_read_or_refused_with_its_place(line: str, spoil: str) -> None:
    text = WHOLE.replace(line, line + spoil, 1)
    try:
        read(text)
    except CaseError as error:
        for problem in error.problems:
            assert problem.place.file == "car.yaml"
            assert problem.mend


def test_hundreds_of_digits_are_no_number() -> None:
    """They are infinity to a float, and infinity is no whole number."""
    text = "case: 1\ncomplaints: [{id: wander}]\nconfirmed: {telling: " + "1" * 400 + "}\n"
    with pytest.raises(CaseError) as caught:
        read_case(LIBRARY, text.encode(), "car.yaml")
    assert str(caught.value).startswith(
        "car.yaml:3:22: 'telling' must be a whole number from 0 to 100, not '111"
    )
