"""A library small enough to read at a glance, for tests of the rooms that load trees. Demo data."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.errors import Problem
from diagnose.library.build import Draft, build
from diagnose.library.rows import gather
from diagnose.library.rules import judge
from diagnose.library.text import read

TABLES = """\
facts:
  - id: steering
    ask: Which steering?
    source: estimate
    values:
      - {id: rack, name: a rack, share: 0.9}
      - {id: box, name: a steering box, share: 0.1}
conditions:
  - {id: rough-roads, ask: "Is it driven on rough roads?", name: rough roads}
set-ups:
  - {id: talk, name: talking, enter: 0, leave: 0, source: common-practice}
  - {id: ground, name: on the ground, enter: 2, leave: 0, source: common-practice}
  - {id: lift, name: on a lift, enter: 6, leave: 3, source: common-practice}
  - {id: wheels-off, name: wheels off, enter: 12, leave: 8, source: common-practice}
changes:
  - {between: [lift, wheels-off], minutes: 5}
tools:
  - {id: helper, name: a helper}
cautions:
  - {id: raised-car, text: Stands under a strong point.}
follow-ups:
  - {id: toe, name: set the toe, minutes: 40, parts: 0, source: common-practice}
sources:
  - {id: demo-book, name: a demo book, url: "https://example.org/", note: made up}
areas:
  - {id: course, name: holding its course}
access:
  - {id: wheel-off, name: front wheel off, per: each, hours: 0.1, source: common-practice}
  - {id: end-parted, name: rod end parted, per: each, hours: 0.15, within: wheel-off, source: demo-book}
  - {id: gear-out, name: steering gear out, per: car, hours: 1.5, within: end-parted, source: estimate}
"""

PARTS = """\
parts:
  - id: rod-end
    name: outer rod end
    where: each-front-corner
    fits: {steering: [rack, box]}
    faults:
      - id: rod-end-play
        name: play in the socket
        life: {km: 380000, shape: 2.2}
        mates: 3
        lifts: {rough-roads: 1.6}
        danger: stop
        danger-when: the stud can be pulled out
        remedy: renew-rod-end
        source: [common-practice, demo-book]
      - id: rod-end-tight
        name: dry and hard to turn
        chance: 0.01
        fits: {steering: rack}
        remedy: renew-rod-end
        source: estimate
  - id: tyres
    name: tyres
    where: each-axle
    faults:
      - id: tyres-soft
        name: pressure too low
        chance: 0.1
        remedy: pump-up
        source: estimate
        inspection: 5.2.3
        inspection-when: a tyre is flat
remedies:
  - id: renew-rod-end
    name: renew the rod end
    per: each
    hours: 0.7
    parts: 35
    follow-ups: toe
    cautions: [raised-car]
    watch: Steering wheel straight.
    source: common-practice
    access: end-parted
  - {id: pump-up, name: set the pressures, per: car, hours: 0.1, parts: 0, source: estimate}
  - id: renew-gear
    name: renew the gear with its rods
    per: car
    hours: 4
    parts: 700
    source: estimate
    access: [gear-out]
    covers: renew-rod-end
"""

CHECKS = """\
checks:
  - id: ask-tyres
    name: ask about the tyres
    set-up: talk
    minutes: 0.5
    how: When were they last looked at?
    source: estimate
    findings:
      - id: long-ago
        name: long ago
        points-to: {tyres-soft: 0.6}
        false-alarm: 0.3
  - id: rock-the-steering
    name: rock the steering
    set-up: ground
    minutes: 5
    needs: [helper]
    cautions: [raised-car]
    how: Helper turns the rim to and fro.
    fits: {steering: rack}
    source: common-practice
    findings:
      - id: end-moves
        name: the rod end moves
        where: each-front-corner
        points-to:
          rod-end-play: 0.85
        false-alarm: 0.04
        unfit: The joint is about to part.
      - id: how-stiff
        name: how stiff it is
        none: easy
        grades: [stiff, very stiff]
        points-to:
          rod-end-tight: {stiff: 0.5, very stiff: 0.3}
          loose-steering: {very stiff: 0.01}
        false-alarm: {stiff: 0.1}
        source: demo-book
      - id: rim-play
        name: free play at the rim
        reading:
          quantity: length
          unit: mm
          limits:
            - {at: 8, name: past the feel limit, source: common-practice}
            - {at: 13, name: past the inspection limit, source: demo-book}
        points-to:
          rod-end-play: [0.5, 0.25]
        false-alarm: [0.06, 0.01]
      - id: wander-felt
        name: it wanders here too
        repeats: wander
        hit: 0.9
        false-alarm: 0.05
"""

WANDER = """\
complaint:
  id: wander
  name: Wanders
  about: needs small corrections
  says: [wanders, weaves]
  leak: 0.03
  questions: [ask-tyres]
  source: estimate
  any:
    - mechanism: loose-steering
      name: the steering is loose
      any:
        - {cause: rod-end-play, strength: 0.45}
    - mechanism: two-soft
      name: two of three soft places
      at-least: 2
      of:
        - {cause: tyres-soft, strength: 0.5, at: front}
        - {cause: tyres-soft, strength: 0.5, at: rear}
        - {cause: rod-end-tight, strength: 0.2}
      leak: 0.01
      strength: 0.9
  area: course
"""

PULL = """\
complaint:
  id: pull
  name: Pulls to one side
  sided: yes
  leak: 0.05
  source: [estimate, demo-book]
  all:
    - {cause: tyres-soft, strength: 0.5}
    - {cause: rod-end-tight, strength: 0.3, at: this-side}
    - {use: loose-steering, strength: 0.8}
"""

SMALL: Mapping[str, str] = {
    "checks.yaml": CHECKS,
    "parts.yaml": PARTS,
    "pull.yaml": PULL,
    "tables.yaml": TABLES,
    "wander.yaml": WANDER,
}


def compiled(files: Mapping[str, str], over: Mapping[str, str] | None = None) -> tuple[Draft, list[Problem]]:
    """The draft of some files, and of others laid over them, with all problems in file order."""
    problems: list[Problem] = []
    roots = []
    for layer, texts in enumerate((files, over or {})):
        for name, text in texts.items():
            root, found = read(text.encode(), name)
            problems.extend(found)
            roots.append((layer, root))
    draft = build(gather(roots, problems))
    problems.extend(judge(draft))
    return draft, sorted(set(problems))


def edited(*edits: tuple[str, str, str]) -> dict[str, str]:
    """The small library with some places changed, each given as file, old text and new text."""
    files = dict(SMALL)
    for file, old, new in edits:
        assert files[file].count(old) == 1, f"{old!r} stands {files[file].count(old)} times in {file}"
        files[file] = files[file].replace(old, new)
    return files
