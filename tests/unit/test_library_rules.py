"""Every demand on a whole library: the wrong place in the small library beside the whole message."""

# ruff: noqa: E501 - messages and the lines that they show stand here as they are printed

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.drawing.picture import picture
from diagnose.drawing.svg import svg
from diagnose.drawing.text import lines_of
from diagnose.library.reach_rules import REACH
from diagnose.library.reference_rules import REFERENCES
from diagnose.library.row_rules import ROW_BY_ROW
from diagnose.library.work_rules import WORK
from tests.small_trees import SMALL, compiled, edited

MISTAKES = [
    (
        "the same id twice",
        [
            (
                "tables.yaml",
                "  - {id: helper, name: a helper}\n",
                "  - {id: helper, name: a helper}\n  - {id: helper, name: another}\n",
            ),
        ],
        """\
tables.yaml:19:10: the tool 'helper' stands here a second time, first at tables.yaml:18:10
    19 |   - {id: helper, name: another}
       |          ^^^^^^
    mend: give it another id, or delete one of the two
""",
    ),
    (
        "the same fault in two parts",
        [
            (
                "parts.yaml",
                "        inspection-when: a tyre is flat\n",
                "        inspection-when: a tyre is flat\n"
                "      - {id: rod-end-play, name: again, chance: 0.1, remedy: pump-up, source: estimate}\n",
            ),
        ],
        """\
parts.yaml:33:14: the fault 'rod-end-play' stands here a second time, first at parts.yaml:7:13
    33 |       - {id: rod-end-play, name: again, chance: 0.1, remedy: pump-up, source: estimate}
       |              ^^^^^^^^^^^^
    mend: give it another id, or delete one of the two
""",
    ),
    (
        "the same finding twice in a check",
        [
            (
                "checks.yaml",
                "id: how-stiff",
                "id: end-moves",
            ),
        ],
        """\
checks.yaml:30:13: the finding 'end-moves' stands here a second time, first at checks.yaml:23:13
    30 |       - id: end-moves
       |             ^^^^^^^^^
    mend: give it another id, or delete one of the two
""",
    ),
    (
        "the same value twice in a fact",
        [
            (
                "tables.yaml",
                "id: box",
                "id: rack",
            ),
            (
                "parts.yaml",
                "fits: {steering: [rack, box]}",
                "fits: {steering: rack}",
            ),
        ],
        """\
tables.yaml:7:14: the value 'rack' stands here a second time, first at tables.yaml:6:14
    7 |       - {id: rack, name: a steering box, share: 0.1}
      |              ^^^^
    mend: give it another id, or delete one of the two
""",
    ),
    (
        "a mechanism defined twice",
        [
            (
                "wander.yaml",
                "mechanism: two-soft",
                "mechanism: loose-steering",
            ),
        ],
        """\
wander.yaml:14:18: the mechanism 'loose-steering' is defined twice, first at wander.yaml:10:18
    14 |     - mechanism: loose-steering
       |                  ^^^^^^^^^^^^^^
    mend: write `use: loose-steering` here, or choose another id
""",
    ),
    (
        "a change given twice",
        [
            (
                "tables.yaml",
                "  - {between: [lift, wheels-off], minutes: 5}\n",
                "  - {between: [lift, wheels-off], minutes: 5}\n"
                "  - {between: [wheels-off, lift], minutes: 6}\n",
            ),
        ],
        """\
tables.yaml:17:15: the change between 'wheels-off' and 'lift' stands twice, first at tables.yaml:16:15
    17 |   - {between: [wheels-off, lift], minutes: 6}
       |               ^^^^^^^^^^^^^^^^^^
    mend: keep one of the two; a change counts both ways
""",
    ),
    (
        "a change to itself",
        [
            (
                "tables.yaml",
                "between: [lift, wheels-off]",
                "between: [lift, lift]",
            ),
        ],
        """\
tables.yaml:16:15: a change between 'lift' and itself takes no time
    16 |   - {between: [lift, lift], minutes: 5}
       |               ^^^^^^^^^^^^
    mend: name two different set-ups, or delete the row
""",
    ),
    (
        "a source that is built in",
        [
            (
                "tables.yaml",
                "{id: demo-book",
                "{id: estimate, name: mine}\n  - {id: demo-book",
            ),
        ],
        """\
tables.yaml:24:10: the source 'estimate' is built in
    24 |   - {id: estimate, name: mine}
       |          ^^^^^^^^
    mend: delete this row
""",
    ),
    (
        "shares that leave cars out",
        [
            (
                "tables.yaml",
                "share: 0.1",
                "share: 0.05",
            ),
        ],
        """\
tables.yaml:6:41: the shares of fact 'steering' sum to 0.95, not to 1
    6 |       - {id: rack, name: a rack, share: 0.9}
      |                                         ^^^
    mend: change them so that they sum to 1
""",
    ),
    (
        "two grades of one name",
        [
            (
                "checks.yaml",
                "none: easy",
                "none: very stiff",
            ),
        ],
        """\
checks.yaml:33:25: finding 'rock-the-steering/how-stiff' has two results named 'very stiff'
    33 |         grades: [stiff, very stiff]
       |                         ^^^^^^^^^^
    mend: give each result a name of its own
""",
    ),
    (
        "one of its grades always holds, and it has none",
        [
            (
                "checks.yaml",
                "        name: the rod end moves",
                "        name: the rod end moves\n        none: cannot tell",
            ),
        ],
        """\
checks.yaml:25:15: finding 'rock-the-steering/end-moves' says that one of its grades always holds, and has no grades
    25 |         none: cannot tell
       |               ^^^^^^^^^^^
    mend: leave `none` out, or give it grades: `none: cannot tell` is for those alone
""",
    ),
    (
        "a band named like the state below it",
        [
            (
                "checks.yaml",
                "unit: mm",
                "unit: mm\n          below: past the feel limit",
            ),
        ],
        """\
checks.yaml:46:29: finding 'rock-the-steering/rim-play' has two results named 'past the feel limit'
    46 |             - {at: 8, name: past the feel limit, source: common-practice}
       |                             ^^^^^^^^^^^^^^^^^^^
    mend: give each result a name of its own
""",
    ),
    (
        "too few figures",
        [
            (
                "checks.yaml",
                "[0.5, 0.25]",
                "[0.5]",
            ),
        ],
        """\
checks.yaml:48:25: 'rod-end-play' has 1 figure, but finding 'rock-the-steering/rim-play' has 2 grades
    48 |           rod-end-play: [0.5]
       |                         ^^^^^
    mend: write 2, one for each of: past the feel limit, past the inspection limit
""",
    ),
    (
        "too many figures",
        [
            (
                "checks.yaml",
                "[0.06, 0.01]",
                "[0.06, 0.01, 0.01]",
            ),
        ],
        """\
checks.yaml:49:22: 'false-alarm' has 3 figures, but finding 'rock-the-steering/rim-play' has 2 grades
    49 |         false-alarm: [0.06, 0.01, 0.01]
       |                      ^^^^^^^^^^^^^^^^^^
    mend: write 2, one for each of: past the feel limit, past the inspection limit
""",
    ),
    (
        "a figure for a grade that is not there",
        [
            (
                "checks.yaml",
                "{stiff: 0.5, very stiff: 0.3}",
                "{stif: 0.5, very stiff: 0.3}",
            ),
        ],
        """\
checks.yaml:35:27: finding 'rock-the-steering/how-stiff' has no grade 'stif'
    35 |           rod-end-tight: {stif: 0.5, very stiff: 0.3}
       |                           ^^^^
    mend: did you mean 'stiff'?
""",
    ),
    (
        "detection figures that sum to one",
        [
            (
                "checks.yaml",
                "[0.5, 0.25]",
                "[0.5, 0.5]",
            ),
        ],
        """\
checks.yaml:48:25: the figures of 'rod-end-play' in finding 'rock-the-steering/rim-play' sum to 1; together they must stay below 1
    48 |           rod-end-play: [0.5, 0.5]
       |                         ^^^^^^^^^^
    mend: lower them: the rest is the chance that none of the grades is seen
""",
    ),
    (
        "false alarms that sum to one",
        [
            (
                "checks.yaml",
                "false-alarm: {stiff: 0.1}",
                "false-alarm: {stiff: 0.6, very stiff: 0.5}",
            ),
        ],
        """\
checks.yaml:37:22: the figures of 'false-alarm' in finding 'rock-the-steering/how-stiff' sum to 1.1; together they must stay below 1
    37 |         false-alarm: {stiff: 0.6, very stiff: 0.5}
       |                      ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: lower them: the rest is the chance that none of the grades is seen
""",
    ),
    (
        "limits that fall for over",
        [
            (
                "checks.yaml",
                "at: 13",
                "at: 6",
            ),
        ],
        """\
checks.yaml:46:20: the limits of finding 'rock-the-steering/rim-play' must rise for direction 'over', but 6 follows 8
    46 |             - {at: 6, name: past the inspection limit, source: demo-book}
       |                    ^
    mend: put the limit that is left first in front, or change the direction
""",
    ),
    (
        "limits that rise for under",
        [
            (
                "checks.yaml",
                "unit: mm",
                "unit: mm\n          direction: under",
            ),
        ],
        """\
checks.yaml:47:20: the limits of finding 'rock-the-steering/rim-play' must fall for direction 'under', but 13 follows 8
    47 |             - {at: 13, name: past the inspection limit, source: demo-book}
       |                    ^^
    mend: put the limit that is left first in front, or change the direction
""",
    ),
    (
        "more votes than branches",
        [
            (
                "wander.yaml",
                "at-least: 2",
                "at-least: 4",
            ),
        ],
        """\
wander.yaml:16:17: at-least 4 of 3 in complaint 'wander' can never come true
    16 |       at-least: 4
       |                 ^
    mend: write a number from 1 to 3
""",
    ),
    (
        "a cause twice under a gate",
        [
            (
                "wander.yaml",
                "at: rear",
                "at: front",
            ),
        ],
        """\
wander.yaml:19:19: 'tyres-soft' stands twice under one gate of complaint 'wander'
    19 |         - {cause: tyres-soft, strength: 0.5, at: front}
       |                   ^^^^^^^^^^
    mend: keep one of the two, or let their `fits` name different cars
""",
    ),
    (
        "a use twice under a gate",
        [
            (
                "pull.yaml",
                "{cause: tyres-soft, strength: 0.5}",
                "{use: loose-steering}",
            ),
        ],
        """\
pull.yaml:10:13: 'loose-steering' stands twice under one gate of complaint 'pull'
    10 |     - {use: loose-steering, strength: 0.8}
       |             ^^^^^^^^^^^^^^
    mend: keep one of the two, or let their `fits` name different cars
""",
    ),
    (
        "a side in a complaint without sides",
        [
            (
                "wander.yaml",
                "strength: 0.45",
                "strength: 0.45, at: this-side",
            ),
        ],
        """\
wander.yaml:13:53: complaint 'wander' is not sided, so 'this-side' means nothing in it
    13 |         - {cause: rod-end-play, strength: 0.45, at: this-side}
       |                                                     ^^^^^^^^^
    mend: write `sided: yes` in the complaint, or delete `at`
""",
    ),
    (
        "a sided complaint without sides",
        [
            (
                "pull.yaml",
                ", at: this-side",
                "",
            ),
        ],
        """\
pull.yaml:4:10: complaint 'pull' is sided, but no cause in it is at this-side or other-side
    4 |   sided: yes
      |          ^^^
    mend: write `at: this-side` at the causes that sit there, or `sided: no`
""",
    ),
    (
        "a leaf where its fault never is",
        [
            (
                "wander.yaml",
                "strength: 0.45",
                "strength: 0.45, at: rear-left",
            ),
        ],
        """\
wander.yaml:13:53: 'rod-end-play' in complaint 'wander' is never at 'rear-left': its part is at 'each-front-corner'
    13 |         - {cause: rod-end-play, strength: 0.45, at: rear-left}
       |                                                     ^^^^^^^^^
    mend: write one of: front-left, front-right
""",
    ),
    (
        "a finding where its fault never is",
        [
            (
                "checks.yaml",
                "where: each-front-corner",
                "where: each-rear-corner",
            ),
        ],
        """\
checks.yaml:27:11: finding 'rock-the-steering/end-moves' is at 'each-rear-corner', but 'rod-end-play' is at 'each-front-corner'
    27 |           rod-end-play: 0.85
       |           ^^^^^^^^^^^^
    mend: change `where`, or point to a fault at that place
""",
    ),
    (
        "a finding that points to nothing at some places",
        [
            (
                "checks.yaml",
                "where: each-front-corner",
                "where: each-axle",
            ),
        ],
        """\
checks.yaml:25:16: finding 'rock-the-steering/end-moves' points to nothing at rear
    25 |         where: each-axle
       |                ^^^^^^^^^
    mend: narrow `where` to the places of its faults
""",
    ),
    (
        "an unknown fault under a finding",
        [
            (
                "checks.yaml",
                "{tyres-soft: 0.6}",
                "{tyre-soft: 0.6}",
            ),
        ],
        """\
checks.yaml:11:21: finding 'ask-tyres/long-ago' points to unknown fault or mechanism 'tyre-soft'
    11 |         points-to: {tyre-soft: 0.6}
       |                     ^^^^^^^^^
    mend: did you mean 'tyres-soft'?
""",
    ),
    (
        "an unknown mechanism under a finding",
        [
            (
                "checks.yaml",
                "loose-steering: {very",
                "something-else-entirely: {very",
            ),
        ],
        """\
checks.yaml:36:11: finding 'rock-the-steering/how-stiff' points to unknown fault or mechanism 'something-else-entirely'
    36 |           something-else-entirely: {very stiff: 0.01}
       |           ^^^^^^^^^^^^^^^^^^^^^^^
    mend: add the fault under its part, or correct the id
""",
    ),
    (
        "a mechanism named like a fault",
        [
            (
                "wander.yaml",
                "mechanism: two-soft",
                "mechanism: tyres-soft",
            ),
        ],
        """\
wander.yaml:14:18: the mechanism 'tyres-soft' has the id of a fault
    14 |     - mechanism: tyres-soft
       |                  ^^^^^^^^^^
    mend: choose another id for the mechanism
""",
    ),
    (
        "an unknown fault in a complaint",
        [
            (
                "pull.yaml",
                "cause: tyres-soft",
                "cause: tyres-sft",
            ),
        ],
        """\
pull.yaml:8:15: complaint 'pull' names unknown fault 'tyres-sft'
    8 |     - {cause: tyres-sft, strength: 0.5}
      |               ^^^^^^^^^
    mend: did you mean 'tyres-soft'?
""",
    ),
    (
        "an unknown mechanism in a complaint",
        [
            (
                "pull.yaml",
                "use: loose-steering",
                "use: lose-steering",
            ),
        ],
        """\
pull.yaml:10:13: complaint 'pull' uses unknown mechanism 'lose-steering'
    10 |     - {use: lose-steering, strength: 0.8}
       |             ^^^^^^^^^^^^^
    mend: did you mean 'loose-steering'?
""",
    ),
    (
        "an unknown remedy",
        [
            (
                "parts.yaml",
                "remedy: pump-up",
                "remedy: pump-it-up",
            ),
        ],
        """\
parts.yaml:29:17: fault 'tyres-soft' names unknown remedy 'pump-it-up'
    29 |         remedy: pump-it-up
       |                 ^^^^^^^^^^
    mend: did you mean 'pump-up'?
""",
    ),
    (
        "an unknown condition",
        [
            (
                "parts.yaml",
                "lifts: {rough-roads: 1.6}",
                "lifts: {rouge-roads: 1.6}",
            ),
        ],
        """\
parts.yaml:11:17: fault 'rod-end-play' names unknown condition 'rouge-roads'
    11 |         lifts: {rouge-roads: 1.6}
       |                 ^^^^^^^^^^^
    mend: did you mean 'rough-roads'?
""",
    ),
    (
        "an unknown set-up",
        [
            (
                "checks.yaml",
                "set-up: ground",
                "set-up: grund",
            ),
        ],
        """\
checks.yaml:15:13: check 'rock-the-steering' names unknown set-up 'grund'
    15 |     set-up: grund
       |             ^^^^^
    mend: did you mean 'ground'?
""",
    ),
    (
        "an unknown tool",
        [
            (
                "checks.yaml",
                "needs: [helper]",
                "needs: [helper, crane]",
            ),
        ],
        """\
checks.yaml:17:21: check 'rock-the-steering' names unknown tool 'crane'
    17 |     needs: [helper, crane]
       |                     ^^^^^
    mend: add it as a tool, or correct the id
""",
    ),
    (
        "an unknown complaint that a check is for",
        [
            (
                "checks.yaml",
                "needs: [helper]",
                "only-for: [wonder]",
            ),
        ],
        """\
checks.yaml:17:16: check 'rock-the-steering' names unknown complaint 'wonder'
    17 |     only-for: [wonder]
       |                ^^^^^^
    mend: did you mean 'wander'?
""",
    ),
    (
        "an unknown area",
        [
            (
                "wander.yaml",
                "area: course",
                "area: coarse",
            ),
        ],
        """\
wander.yaml:23:9: complaint 'wander' names unknown area 'coarse'
    23 |   area: coarse
       |         ^^^^^^
    mend: did you mean 'course'?
""",
    ),
    (
        "an unknown tool, written alone",
        [
            (
                "checks.yaml",
                "needs: [helper]",
                "needs: hepler",
            ),
        ],
        """\
checks.yaml:17:12: check 'rock-the-steering' names unknown tool 'hepler'
    17 |     needs: hepler
       |            ^^^^^^
    mend: did you mean 'helper'?
""",
    ),
    (
        "an unknown caution of a check",
        [
            (
                "checks.yaml",
                "cautions: [raised-car]",
                "cautions: [raised-cars]",
            ),
        ],
        """\
checks.yaml:18:16: check 'rock-the-steering' names unknown caution 'raised-cars'
    18 |     cautions: [raised-cars]
       |                ^^^^^^^^^^^
    mend: did you mean 'raised-car'?
""",
    ),
    (
        "an unknown caution of a remedy",
        [
            (
                "parts.yaml",
                "cautions: [raised-car]",
                "cautions: [rised-car]",
            ),
        ],
        """\
parts.yaml:40:16: remedy 'renew-rod-end' names unknown caution 'rised-car'
    40 |     cautions: [rised-car]
       |                ^^^^^^^^^
    mend: did you mean 'raised-car'?
""",
    ),
    (
        "an unknown follow-up",
        [
            (
                "parts.yaml",
                "follow-ups: toe",
                "follow-ups: tow",
            ),
        ],
        """\
parts.yaml:39:17: remedy 'renew-rod-end' names unknown follow-up 'tow'
    39 |     follow-ups: tow
       |                 ^^^
    mend: did you mean 'toe'?
""",
    ),
    (
        "an unknown question",
        [
            (
                "wander.yaml",
                "questions: [ask-tyres]",
                "questions: [ask-tires]",
            ),
        ],
        """\
wander.yaml:7:15: complaint 'wander' names unknown check 'ask-tires'
    7 |   questions: [ask-tires]
      |               ^^^^^^^^^
    mend: did you mean 'ask-tyres'?
""",
    ),
    (
        "a question that is not put in talk",
        [
            (
                "wander.yaml",
                "questions: [ask-tyres]",
                "questions: [ask-tyres, rock-the-steering]",
            ),
        ],
        """\
wander.yaml:7:26: complaint 'wander' asks 'rock-the-steering', which is done in 'ground'
    7 |   questions: [ask-tyres, rock-the-steering]
      |                          ^^^^^^^^^^^^^^^^^
    mend: list only checks whose set-up is 'talk'; others are proposed by themselves
""",
    ),
    (
        "an unknown fact",
        [
            (
                "parts.yaml",
                "fits: {steering: [rack, box]}",
                "fits: {stearing: [rack, box]}",
            ),
        ],
        """\
parts.yaml:5:12: part 'rod-end' names unknown fact 'stearing'
    5 |     fits: {stearing: [rack, box]}
      |            ^^^^^^^^
    mend: did you mean 'steering'?
""",
    ),
    (
        "an unknown value of a fact",
        [
            (
                "checks.yaml",
                "fits: {steering: rack}",
                "fits: {steering: rak}",
            ),
        ],
        """\
checks.yaml:20:22: check 'rock-the-steering' fits unknown value 'rak' of fact 'steering'
    20 |     fits: {steering: rak}
       |                      ^^^
    mend: did you mean 'rack'?
""",
    ),
    (
        "an unknown value of a fact on a leaf",
        [("pull.yaml", "strength: 0.5}", "strength: 0.5, fits: {steering: rak}}")],
        """\
pull.yaml:8:59: leaf 'tyres-soft' fits unknown value 'rak' of fact 'steering'
    8 |     - {cause: tyres-soft, strength: 0.5, fits: {steering: rak}}
      |                                                           ^^^
    mend: did you mean 'rack'?
""",
    ),
    (
        "a leaf for cars that do not have its fault",
        [("pull.yaml", "strength: 0.3,", "strength: 0.3, fits: {steering: box},")],
        """\
pull.yaml:9:52: no car has this leaf: fault 'rod-end-tight' fits steering rack alone
    9 |     - {cause: rod-end-tight, strength: 0.3, fits: {steering: box}, at: this-side}
      |                                                    ^^^^^^^^
    mend: name one of these, or delete the leaf
""",
    ),
    (
        "a fault twice under a gate, for the same cars",
        [
            (
                "wander.yaml",
                "        - {cause: rod-end-play, strength: 0.45}\n",
                "        - {cause: rod-end-play, strength: 0.45, fits: {steering: rack}}\n"
                "        - {cause: rod-end-play, strength: 0.3, fits: {steering: [rack, box]}}\n",
            )
        ],
        """\
wander.yaml:14:19: 'rod-end-play' stands twice under one gate of complaint 'wander'
    14 |         - {cause: rod-end-play, strength: 0.3, fits: {steering: [rack, box]}}
       |                   ^^^^^^^^^^^^
    mend: keep one of the two, or let their `fits` name different cars
""",
    ),
    (
        "a fault that fits where its part does not",
        [
            (
                "parts.yaml",
                "fits: {steering: [rack, box]}",
                "fits: {steering: [box]}",
            ),
        ],
        """\
parts.yaml:19:26: fault 'rod-end-tight' fits steering 'rack', but its part 'rod-end' does not
    19 |         fits: {steering: rack}
       |                          ^^^^
    mend: delete the value here, or add it to the part
""",
    ),
    (
        "an unknown source of a fault",
        [
            (
                "parts.yaml",
                "[common-practice, demo-book]",
                "[common-practice, demo-bok]",
            ),
        ],
        """\
parts.yaml:15:35: fault 'rod-end-play' names unknown source 'demo-bok'
    15 |         source: [common-practice, demo-bok]
       |                                   ^^^^^^^^
    mend: did you mean 'demo-book'?
""",
    ),
    (
        "an unknown source of a limit",
        [
            (
                "checks.yaml",
                "name: past the feel limit, source: common-practice",
                "name: past the feel limit, source: comon-practice",
            ),
        ],
        """\
checks.yaml:45:58: finding 'rock-the-steering/rim-play' names unknown source 'comon-practice'
    45 |             - {at: 8, name: past the feel limit, source: comon-practice}
       |                                                          ^^^^^^^^^^^^^^
    mend: did you mean 'common-practice'?
""",
    ),
    (
        "an unknown source with no like",
        [
            (
                "wander.yaml",
                "source: estimate",
                "source: xyz",
            ),
        ],
        """\
wander.yaml:8:11: complaint 'wander' names unknown source 'xyz'
    8 |   source: xyz
      |           ^^^
    mend: add it under `sources:`, or write common-practice or estimate
""",
    ),
    (
        "an unknown set-up in a change",
        [
            (
                "tables.yaml",
                "between: [lift, wheels-off]",
                "between: [lift, wheel-off]",
            ),
        ],
        """\
tables.yaml:16:22: a change names unknown set-up 'wheel-off'
    16 |   - {between: [lift, wheel-off], minutes: 5}
       |                      ^^^^^^^^^
    mend: did you mean 'wheels-off'?
""",
    ),
    (
        "a repeat of an unknown complaint",
        [
            (
                "checks.yaml",
                "repeats: wander",
                "repeats: wonder",
            ),
        ],
        """\
checks.yaml:52:18: finding 'rock-the-steering/wander-felt' repeats unknown complaint or finding 'wonder'
    52 |         repeats: wonder
       |                  ^^^^^^
    mend: did you mean 'wander'?
""",
    ),
    (
        "a repeat of an unknown finding",
        [
            (
                "checks.yaml",
                "repeats: wander",
                "repeats: ask-tyres/long-agoo",
            ),
        ],
        """\
checks.yaml:52:18: finding 'rock-the-steering/wander-felt' repeats unknown complaint or finding 'ask-tyres/long-agoo'
    52 |         repeats: ask-tyres/long-agoo
       |                  ^^^^^^^^^^^^^^^^^^^
    mend: did you mean 'ask-tyres/long-ago'?
""",
    ),
    (
        "a finding that repeats itself",
        [
            (
                "checks.yaml",
                "repeats: wander",
                "repeats: rock-the-steering/wander-felt",
            ),
        ],
        """\
checks.yaml:52:18: finding 'rock-the-steering/wander-felt' repeats 'rock-the-steering/wander-felt', which in the end repeats it
    52 |         repeats: rock-the-steering/wander-felt
       |                  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: let one of them point to causes instead
""",
    ),
    (
        "a mechanism that uses itself",
        [
            (
                "wander.yaml",
                "        - {cause: rod-end-play, strength: 0.45}\n",
                "        - {cause: rod-end-play, strength: 0.45}\n"
                "        - {use: loose-steering, strength: 0.5}\n",
            ),
        ],
        """\
wander.yaml:14:17: the mechanism 'loose-steering' leads back to itself through this use
    14 |         - {use: loose-steering, strength: 0.5}
       |                 ^^^^^^^^^^^^^^
    mend: name the causes themselves here
""",
    ),
    (
        "mechanisms that use each other",
        [
            (
                "wander.yaml",
                "- {cause: rod-end-play, strength: 0.45}",
                "- {use: two-soft}",
            ),
            (
                "wander.yaml",
                "- {cause: rod-end-tight, strength: 0.2}",
                "- {use: loose-steering, strength: 0.5}",
            ),
            (
                "wander.yaml",
                "  any:\n    - mech",
                "  any:\n    - {cause: rod-end-play, strength: 0.5}\n    - mech",
            ),
        ],
        """\
wander.yaml:14:17: the mechanism 'two-soft' leads back to itself through this use
    14 |         - {use: two-soft}
       |                 ^^^^^^^^
    mend: name the causes themselves here
wander.yaml:21:17: the mechanism 'loose-steering' leads back to itself through this use
    21 |         - {use: loose-steering, strength: 0.5}
       |                 ^^^^^^^^^^^^^^
    mend: name the causes themselves here
""",
    ),
    (
        "a fault named like a cause",
        [
            (
                "parts.yaml",
                "      - id: rod-end-tight\n",
                "      - {id: rod-end-play-front-left, name: odd, chance: 0.1, remedy: pump-up, source: estimate}\n"
                "      - id: rod-end-tight\n",
            ),
        ],
        """\
parts.yaml:7:13: fault 'rod-end-play' at front-left gets the id 'rod-end-play-front-left', which is that of fault 'rod-end-play-front-left'
    7 |       - id: rod-end-play
      |             ^^^^^^^^^^^^
    mend: choose another id for one of the two
""",
    ),
    (
        "no talk to start from",
        [
            (
                "tables.yaml",
                "  - {id: talk, name: talking, enter: 0, leave: 0, source: common-practice}\n",
                "",
            ),
            (
                "checks.yaml",
                "set-up: talk",
                "set-up: ground",
            ),
            (
                "wander.yaml",
                "  questions: [ask-tyres]\n",
                "",
            ),
        ],
        """\
tables.yaml:11:5: no set-up can be reached: there is no set-up 'talk' to start from
    11 |   - {id: ground, name: on the ground, enter: 2, leave: 0, source: common-practice}
       |     ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: add {id: talk, name: talking, enter: 0, leave: 0, source: common-practice} under `set-ups:`
""",
    ),
    (
        "talk that takes time to reach",
        [
            (
                "tables.yaml",
                "name: talking, enter: 0",
                "name: talking, enter: 3",
            ),
        ],
        """\
tables.yaml:11:38: the set-up 'talk' is where minutes are counted from, so its 'enter' is 0
    11 |   - {id: talk, name: talking, enter: 3, leave: 0, source: common-practice}
       |                                      ^
    mend: write 0
""",
    ),
    (
        "a fault that no complaint has",
        [
            (
                "pull.yaml",
                "    - {cause: tyres-soft, strength: 0.5}\n",
                "",
            ),
            (
                "wander.yaml",
                "        - {cause: tyres-soft, strength: 0.5, at: front}\n"
                "        - {cause: tyres-soft, strength: 0.5, at: rear}\n",
                "        - {cause: rod-end-play, strength: 0.5}\n",
            ),
        ],
        """\
parts.yaml:26:13: no complaint can come from fault 'tyres-soft'
    26 |       - id: tyres-soft
       |             ^^^^^^^^^^
    mend: add it as a cause to a complaint, or delete it
""",
    ),
    (
        "a fault that no finding points to",
        [
            (
                "checks.yaml",
                "{tyres-soft: 0.6}",
                "{rod-end-play: 0.6}",
            ),
        ],
        """\
parts.yaml:26:13: no finding points to fault 'tyres-soft'
    26 |       - id: tyres-soft
       |             ^^^^^^^^^^
    mend: add it under `points-to` of a finding, or delete it
""",
    ),
    (
        "a finding that points to nothing",
        [
            (
                "checks.yaml",
                "{tyres-soft: 0.6}",
                "{}",
            ),
            (
                "checks.yaml",
                "          rod-end-play: 0.85\n",
                "          rod-end-play: 0.85\n          tyres-soft: 0.1\n",
            ),
            (
                "checks.yaml",
                "        where: each-front-corner\n",
                "",
            ),
        ],
        """\
checks.yaml:11:20: finding 'ask-tyres/long-ago' points to nothing
    11 |         points-to: {}
       |                    ^^
    mend: name the faults that it points to, or delete it
""",
    ),
    (
        "parts that no car has together",
        [
            (
                "parts.yaml",
                "  - id: tyres\n    name: tyres\n",
                "  - id: tyres\n    name: tyres\n    fits: {steering: box}\n",
            ),
        ],
        """\
pull.yaml:8:5: no cause can raise complaint 'pull'
    8 |     - {cause: tyres-soft, strength: 0.5}
      |     ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: no car has the parts that it takes; look at their `fits`
""",
    ),
    (
        "a mechanism whose parts no car has together",
        [
            (
                "wander.yaml",
                "        - {cause: tyres-soft, strength: 0.5, at: front}\n"
                "        - {cause: tyres-soft, strength: 0.5, at: rear}\n",
                "        - {cause: tyres-soft, strength: 0.5}\n",
            ),
            (
                "pull.yaml",
                "    - {cause: tyres-soft, strength: 0.5}\n",
                "",
            ),
            (
                "parts.yaml",
                "  - id: tyres\n    name: tyres\n",
                "  - id: tyres\n    name: tyres\n    fits: {steering: box}\n",
            ),
        ],
        """\
wander.yaml:18:9: no cause can raise mechanism 'two-soft'
    18 |         - {cause: tyres-soft, strength: 0.5}
       |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
    mend: no car has the parts that it takes; look at their `fits`
""",
    ),
    (
        "an unknown fact of a fault",
        [
            (
                "parts.yaml",
                "fits: {steering: rack}",
                "fits: {sterring: rack}",
            ),
        ],
        """\
parts.yaml:19:16: fault 'rod-end-tight' names unknown fact 'sterring'
    19 |         fits: {sterring: rack}
       |                ^^^^^^^^
    mend: did you mean 'steering'?
""",
    ),
    (
        "a mechanism with sides used in a complaint without",
        [
            (
                "pull.yaml",
                "    - {cause: rod-end-tight, strength: 0.3, at: this-side}\n",
                "    - mechanism: one-side\n"
                "      name: one side\n"
                "      any: [{cause: rod-end-tight, strength: 0.3, at: this-side}]\n",
            ),
            (
                "wander.yaml",
                "- {cause: rod-end-tight, strength: 0.2}",
                "- {use: one-side, strength: 0.2}",
            ),
        ],
        """\
wander.yaml:20:17: complaint 'wander' is not sided, but the mechanism 'one-side' names sides
    20 |         - {use: one-side, strength: 0.2}
       |                 ^^^^^^^^
    mend: write `sided: yes` in the complaint, or define a mechanism without sides
""",
    ),
    (
        "an unknown source of a mechanism",
        [
            (
                "wander.yaml",
                "      name: the steering is loose\n",
                "      name: the steering is loose\n      source: guess\n",
            ),
        ],
        """\
wander.yaml:12:15: mechanism 'loose-steering' names unknown source 'guess'
    12 |       source: guess
       |               ^^^^^
    mend: add it under `sources:`, or write common-practice or estimate
""",
    ),
    (
        "an access within an unknown one",
        [
            (
                "tables.yaml",
                "within: end-parted",
                "within: end-partet",
            ),
        ],
        """\
tables.yaml:30:75: access 'gear-out' names unknown access 'end-partet'
    30 |   - {id: gear-out, name: steering gear out, per: car, hours: 1.5, within: end-partet, source: estimate}
       |                                                                           ^^^^^^^^^^
    mend: did you mean 'end-parted'?
""",
    ),
    (
        "an access within itself",
        [
            (
                "tables.yaml",
                "hours: 0.1, source: common-practice",
                "hours: 0.1, within: gear-out, source: common-practice",
            ),
        ],
        """\
tables.yaml:28:75: access 'wheel-off' is within 'gear-out', which in the end is within it
    28 |   - {id: wheel-off, name: front wheel off, per: each, hours: 0.1, within: gear-out, source: common-practice}
       |                                                                           ^^^^^^^^
    mend: say which of them is opened first
tables.yaml:29:76: access 'end-parted' is within 'wheel-off', which in the end is within it
    29 |   - {id: end-parted, name: rod end parted, per: each, hours: 0.15, within: wheel-off, source: demo-book}
       |                                                                            ^^^^^^^^^
    mend: say which of them is opened first
tables.yaml:30:75: access 'gear-out' is within 'end-parted', which in the end is within it
    30 |   - {id: gear-out, name: steering gear out, per: car, hours: 1.5, within: end-parted, source: estimate}
       |                                                                           ^^^^^^^^^^
    mend: say which of them is opened first
""",
    ),
    (
        "an unknown source of an access",
        [
            (
                "tables.yaml",
                "within: wheel-off, source: demo-book}",
                "within: wheel-off, source: demobook}",
            ),
        ],
        """\
tables.yaml:29:95: access 'end-parted' names unknown source 'demobook'
    29 |   - {id: end-parted, name: rod end parted, per: each, hours: 0.15, within: wheel-off, source: demobook}
       |                                                                                               ^^^^^^^^
    mend: did you mean 'demo-book'?
""",
    ),
    (
        "an unknown access of a remedy",
        [
            (
                "parts.yaml",
                "access: end-parted",
                "access: wheels-off",
            ),
        ],
        """\
parts.yaml:43:13: remedy 'renew-rod-end' names unknown access 'wheels-off'
    43 |     access: wheels-off
       |             ^^^^^^^^^^
    mend: did you mean 'wheel-off'?
""",
    ),
    (
        "an unknown remedy that is covered",
        [
            (
                "parts.yaml",
                "covers: renew-rod-end",
                "covers: [renew-rod-ends]",
            ),
        ],
        """\
parts.yaml:52:14: remedy 'renew-gear' names unknown remedy 'renew-rod-ends'
    52 |     covers: [renew-rod-ends]
       |              ^^^^^^^^^^^^^^
    mend: did you mean 'renew-rod-end'?
""",
    ),
    (
        "an unknown follow-up that is covered",
        [
            (
                "tables.yaml",
                "minutes: 40, parts: 0,",
                "minutes: 40, parts: 0, covers: [headlamps],",
            ),
        ],
        """\
tables.yaml:22:66: follow-up 'toe' names unknown follow-up 'headlamps'
    22 |   - {id: toe, name: set the toe, minutes: 40, parts: 0, covers: [headlamps], source: common-practice}
       |                                                                  ^^^^^^^^^
    mend: add it as a follow-up, or correct the id
""",
    ),
    (
        "an unknown remedy that work in passing mends",
        [
            (
                "tables.yaml",
                "minutes: 40, parts: 0,",
                "minutes: 40, parts: 0, mends: [renew-gear, set-gear],",
            ),
        ],
        """\
tables.yaml:22:77: follow-up 'toe' names unknown remedy 'set-gear'
    22 |   - {id: toe, name: set the toe, minutes: 40, parts: 0, mends: [renew-gear, set-gear], source: common-practice}
       |                                                                             ^^^^^^^^
    mend: did you mean 'renew-gear'?
""",
    ),
    (
        "a remedy that covers what covers it",
        [
            (
                "parts.yaml",
                "    access: end-parted\n",
                "    access: end-parted\n    covers: [renew-gear]\n",
            ),
        ],
        """\
parts.yaml:44:13: remedy 'renew-rod-end' covers what in the end covers it
    44 |     covers: [renew-gear]
       |             ^^^^^^^^^^^^
    mend: only the bigger work covers the smaller
parts.yaml:53:13: remedy 'renew-gear' covers what in the end covers it
    53 |     covers: renew-rod-end
       |             ^^^^^^^^^^^^^
    mend: only the bigger work covers the smaller
""",
    ),
    (
        "a follow-up that covers itself",
        [
            (
                "tables.yaml",
                "minutes: 40, parts: 0,",
                "minutes: 40, parts: 0, covers: toe,",
            ),
        ],
        """\
tables.yaml:22:65: follow-up 'toe' covers what in the end covers it
    22 |   - {id: toe, name: set the toe, minutes: 40, parts: 0, covers: toe, source: common-practice}
       |                                                                 ^^^
    mend: only the bigger work covers the smaller
""",
    ),
    (
        "an access that another one is within",
        [
            (
                "parts.yaml",
                "access: [gear-out]",
                "access: [wheel-off, gear-out]",
            ),
        ],
        """\
parts.yaml:51:14: access 'wheel-off' of remedy 'renew-gear' is opened for 'gear-out' anyway
    51 |     access: [wheel-off, gear-out]
       |              ^^^^^^^^^
    mend: delete it here
""",
    ),
    (
        "an access named twice",
        [
            (
                "parts.yaml",
                "access: [gear-out]",
                "access: [gear-out, gear-out]",
            ),
        ],
        """\
parts.yaml:51:24: 'gear-out' stands twice under 'access' of 'renew-gear'
    51 |     access: [gear-out, gear-out]
       |                        ^^^^^^^^
    mend: delete it here
""",
    ),
    (
        "access that leaves no time for the work",
        [
            (
                "parts.yaml",
                "hours: 0.7",
                "hours: 0.29",
            ),
        ],
        """\
parts.yaml:37:12: the access of remedy 'renew-rod-end' takes 0.25 of its 0.29 hours; at most 85 of 100 may be access
    37 |     hours: 0.29
       |            ^^^^
    mend: the hours are those of the whole job alone, access included: correct the one or the other
""",
    ),
    (
        "access on both sides that leaves no time for the work",
        [
            (
                "parts.yaml",
                "per: each\n    hours: 0.7",
                "per: pair\n    hours: 0.58",
            ),
        ],
        """\
parts.yaml:37:12: the access of remedy 'renew-rod-end' takes 0.5 of its 0.58 hours; at most 85 of 100 may be access
    37 |     hours: 0.58
       |            ^^^^
    mend: the hours are those of the whole job alone, access included: correct the one or the other
""",
    ),
    (
        "a remedy at one corner that covers what is of the axle",
        [
            (
                "parts.yaml",
                "    access: end-parted\n",
                "    access: end-parted\n    covers: [pump-up]\n",
            ),
        ],
        """\
parts.yaml:44:14: remedy 'renew-rod-end' covers 'pump-up', but does not reach 'tyres-soft'
    44 |     covers: [pump-up]
       |              ^^^^^^^
    mend: cover only what the same new part brings along, on the same cars, at the same place
""",
    ),
    (
        "a remedy that covers what sits elsewhere",
        [
            (
                "parts.yaml",
                "per: car, hours: 0.1, parts: 0, source: estimate}",
                "per: car, hours: 0.1, parts: 0, source: estimate, covers: [renew-rod-end]}",
            ),
            (
                "parts.yaml",
                "    where: each-axle\n",
                "    where: rear\n",
            ),
            (
                "wander.yaml",
                "{cause: tyres-soft, strength: 0.5, at: front}",
                "{cause: tyres-soft, strength: 0.4}",
            ),
            (
                "wander.yaml",
                "        - {cause: tyres-soft, strength: 0.5, at: rear}\n",
                "        - {cause: rod-end-play, strength: 0.2}\n",
            ),
        ],
        """\
parts.yaml:44:103: remedy 'pump-up' covers 'renew-rod-end', but does not reach 'rod-end-play'
    44 |   - {id: pump-up, name: set the pressures, per: car, hours: 0.1, parts: 0, source: estimate, covers: [renew-rod-end]}
       |                                                                                                       ^^^^^^^^^^^^^
    mend: cover only what the same new part brings along, on the same cars, at the same place
""",
    ),
    (
        "a remedy that covers what is on other cars",
        [
            (
                "parts.yaml",
                "per: car, hours: 0.1, parts: 0, source: estimate}",
                "per: car, hours: 0.1, parts: 0, source: estimate, covers: [renew-rod-end]}",
            ),
            (
                "parts.yaml",
                "    where: each-axle\n",
                "    where: each-axle\n    fits: {steering: box}\n",
            ),
        ],
        """\
parts.yaml:45:103: remedy 'pump-up' covers 'renew-rod-end', but does not reach 'rod-end-tight'
    45 |   - {id: pump-up, name: set the pressures, per: car, hours: 0.1, parts: 0, source: estimate, covers: [renew-rod-end]}
       |                                                                                                       ^^^^^^^^^^^^^
    mend: cover only what the same new part brings along, on the same cars, at the same place
""",
    ),
    (
        "when an inspection fails without its item",
        [
            (
                "parts.yaml",
                "        inspection: 5.2.3\n",
                "",
            ),
        ],
        """\
parts.yaml:31:26: fault 'tyres-soft' has 'inspection-when' but not 'inspection'
    31 |         inspection-when: a tyre is flat
       |                          ^^^^^^^^^^^^^^
    mend: add `inspection: ...`, or delete it
""",
    ),
]


def test_the_small_library_has_no_mistakes() -> None:
    assert compiled(SMALL)[1] == []


@pytest.mark.parametrize(
    ("edits", "message"), [case[1:] for case in MISTAKES], ids=[case[0] for case in MISTAKES]
)
def test_a_mistake_is_told_whole(edits: list[tuple[str, str, str]], message: str) -> None:
    _, problems = compiled(edited(*edits))
    assert "\n".join(str(problem) for problem in problems) + "\n" == message


def test_every_rule_is_broken_by_some_mistake_above() -> None:
    drafts = [compiled(edited(*edits))[0] for _, edits, _ in MISTAKES]
    for rule in (*ROW_BY_ROW, *REFERENCES, *WORK, *REACH):
        assert any(list(rule(draft)) for draft in drafts), f"no mistake breaks {rule.__name__}"


def test_all_mistakes_are_told_at_once_in_file_order() -> None:
    files = edited(
        ("wander.yaml", "questions: [ask-tyres]", "questions: [ask-tires]"),
        ("checks.yaml", "set-up: ground", "set-up: grund"),
        ("parts.yaml", "remedy: pump-up", "remedy: pump"),
        ("tables.yaml", "share: 0.1", "share: 0.2"),
    )
    _, problems = compiled(files)
    assert [str(problem.place) for problem in problems] == [
        "checks.yaml:15:13",
        "parts.yaml:29:17",
        "tables.yaml:6:41",
        "wander.yaml:7:15",
    ]


def test_a_row_written_twice_through_an_alias_is_told() -> None:
    files = edited(
        (
            "tables.yaml",
            "  - {id: helper, name: a helper}\n",
            "  - &one {id: helper, name: a helper}\n  - *one\n",
        )
    )
    (problem,) = compiled(files)[1]
    assert problem.wrong == "the tool 'helper' stands here a second time, first at tables.yaml:18:15"


def test_names_are_not_judged_while_a_file_cannot_be_read() -> None:
    _, problems = compiled({**SMALL, "parts.yaml": "parts: ["})
    assert [str(problem.place) for problem in problems] == ["parts.yaml:2:1"]


def test_names_are_not_judged_while_a_row_has_no_id() -> None:
    _, problems = compiled(edited(("parts.yaml", "      - id: tyres-soft\n        name", "      - name")))
    assert [problem.wrong for problem in problems] == ["a fault needs 'id'"]


def test_a_row_of_wrong_shape_is_still_a_name() -> None:
    # The fault has no remedy, so it is not built; complaints and findings may name it all the same.
    _, problems = compiled(edited(("parts.yaml", "        remedy: pump-up\n", "")))
    assert [problem.wrong for problem in problems] == ["a fault needs 'remedy'"]


def test_mechanisms_and_findings_of_wrong_shape_are_still_names() -> None:
    files = edited(
        ("wander.yaml", "name: the steering is loose", "nam: the steering is loose"),
        ("checks.yaml", "    name: ask about the tyres\n", ""),
        ("checks.yaml", "repeats: wander", "repeats: ask-tyres/long-ago"),
    )
    _, problems = compiled(files)
    assert [problem.wrong for problem in problems] == [
        "a check needs 'name'",
        "a mechanism has no key 'nam'",
    ]


def test_an_empty_library_breaks_no_rule() -> None:
    assert compiled({"tables.yaml": "tools: []\n"})[1] == []


WORDS = sorted({word for text in SMALL.values() for word in re.findall(r"[\w.-]+", text)})


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_no_slip_of_an_author_makes_the_loader_raise(data: st.DataObject) -> None:
    files = dict(SMALL)
    for _ in range(data.draw(st.integers(1, 4), "slips")):
        name = data.draw(st.sampled_from(sorted(files)), "file")
        lines = files[name].splitlines(keepends=True)
        number = data.draw(st.integers(0, len(lines) - 1), "line")
        slip = data.draw(st.sampled_from(["delete", "repeat", "indent", "word"]), "slip")
        if slip == "delete":
            del lines[number]
        elif slip == "repeat":
            lines.insert(number, lines[number])
        elif slip == "indent":
            lines[number] = "  " + lines[number]
        else:
            words = list(re.finditer(r"[\w.-]+", lines[number]))
            if words:
                old = data.draw(st.sampled_from(words), "old")
                new = data.draw(st.sampled_from(WORDS), "new")
                lines[number] = lines[number][: old.start()] + new + lines[number][old.end() :]
        files[name] = "".join(lines) or "tools: []"
    draft, problems = compiled(files)
    for problem in problems:
        assert problem.wrong and problem.mend
        assert problem.place.file in files
    for complaint in draft.library.complaints:
        drawn = picture(draft.library, complaint)
        assert lines_of(drawn)
        assert svg(drawn)
