"""`rank --json`: every documented key, and the same bytes on every run."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import diagnose.errors
from diagnose.report import RANK_FORMAT
from tests.shipped import LIBRARY

ROOT = Path(diagnose.errors.__file__).parents[1]

#: Demo data: answers that do not fit together, several complaints, something dangerous.
CASE = """\
case: 1
vehicle: {name: demo van, km: 187000, years: 12, front: strut, conditions: {rough-roads: yes}}
complaints:
  - {id: wander}
  - {id: pull-to-one-side, side: left}
answers:
  - check: rock-the-steering-rack
    findings: {outer-end-shifts: {front-left: yes}}
    others: no
workshop: {currency: crowns, labour-rate: 90}
"""

NUMBER, TEXT, FLAG = (int, float), str, bool
PROPOSAL = {
    "check": TEXT,
    "name": TEXT,
    "positions": [TEXT],
    "set_up": TEXT,
    "minutes": NUMBER,
    "change_minutes": NUMBER,
    "expected_saving": NUMBER,
    "expected_saving_minutes": NUMBER,
    "needs": [TEXT],
    "cautions": [TEXT],
    "how": TEXT,
    "reason": TEXT,
    "outcomes": [
        {"finding": (str, type(None)), "position": (str, type(None)), "name": TEXT, "probability": NUMBER}
    ],
}
SHAPE: dict[str, Any] = {
    "format": TEXT,
    "library": TEXT,
    "vehicle": {"name": TEXT, "facts": dict, "conditions": dict, "km": NUMBER, "years": NUMBER},
    "complaints": [{"id": TEXT, "name": TEXT, "side": (str, type(None)), "probability": NUMBER}],
    "causes": [
        {
            "id": TEXT,
            "part": TEXT,
            "fault": TEXT,
            "name": TEXT,
            "position": TEXT,
            "probability": NUMBER,
            "prior": NUMBER,
            "moved": NUMBER,
            "to_blame": NUMBER,
            "to_blame_moved": NUMBER,
            "danger": (str, type(None)),
            "settling_check": (str, type(None)),
            "settling_minutes": (int, float, type(None)),
            "cost_of_cure": NUMBER,
            "per_minute": NUMBER,
            "per_money": NUMBER,
            "source": [TEXT],
        }
    ],
    "outside": {"name": TEXT, "probability": NUMBER},
    "mechanisms": [{"id": TEXT, "name": TEXT, "probability": NUMBER}],
    "together": [{"causes": [TEXT], "probability": NUMBER}],
    "next": [PROPOSAL],
    "conflicts": [{"bits": NUMBER, "observation": TEXT, "name": TEXT}],
    "unfit_to_drive": [TEXT],
    "conclusion": {
        "decide_now": FLAG,
        "cures": [
            {
                "remedy": TEXT,
                "name": TEXT,
                "place": TEXT,
                "causes": [TEXT],
                "cost": NUMBER,
                "needed": NUMBER,
                "to_blame": NUMBER,
                "cures_alone": NUMBER,
            }
        ],
        "chance": NUMBER,
        "cost": NUMBER,
        "minutes": NUMBER,
        "follow_ups": [{"id": TEXT, "name": TEXT}],
        "watch": [TEXT],
    },
    "currency": TEXT,
}


def rank(folder: Path, seed: str, text: str = CASE, **environ: str) -> bytes:
    """What `rank - --json` prints."""
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "rank", "-", "--json"],
        input=text.encode(),
        capture_output=True,
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            "PYTHONHASHSEED": seed,
            "DIAGNOSE_STORE": str(folder / "jobs.sqlite"),
            **environ,
        },
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return rank(tmp_path_factory.mktemp("cache"), "1")


@pytest.fixture(scope="module")
def ranking(printed: bytes) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(printed)
    return found


def fits(value: Any, shape: Any, where: str) -> None:
    if isinstance(shape, dict):
        assert isinstance(value, dict), where
        assert list(value) == list(shape), where
        for key, inner in shape.items():
            fits(value[key], inner, f"{where}.{key}")
    elif isinstance(shape, list):
        assert isinstance(value, list), where
        for number, each in enumerate(value):
            fits(each, shape[0], f"{where}[{number}]")
    else:
        assert isinstance(value, shape), f"{where} is {value!r}"


def test_the_shape(ranking: dict[str, Any]) -> None:
    fits(ranking, SHAPE, "ranking")
    assert ranking["format"] == RANK_FORMAT
    # Every list has something in it, so that its rows have been looked at; conflicts may be none.
    for key in ("complaints", "causes", "mechanisms", "together", "next", "unfit_to_drive"):
        assert ranking[key], key
    for key in ("cures", "follow_ups", "watch"):
        assert ranking["conclusion"][key], key


def test_every_key_is_documented() -> None:
    text = (ROOT / "docs" / "json.md").read_text(encoding="utf-8")
    documented = {word for span in re.findall(r"`([^`]+)`", text) for word in re.findall(r"[a-z_]+", span)}

    def keys(shape: Any) -> set[str]:
        if isinstance(shape, dict):
            return set(shape) | {key for inner in shape.values() for key in keys(inner)}
        return {key for inner in shape for key in keys(inner)} if isinstance(shape, list) else set()

    assert keys(SHAPE) - documented == set()


@pytest.mark.slow
def test_the_same_bytes_whatever_the_seed_of_hashes(printed: bytes, tmp_path: Path) -> None:
    """Another seed, an empty cache, and a second run that reads the compiled copy."""
    cache = str(tmp_path / "cache")
    assert rank(tmp_path, "2", DIAGNOSE_CACHE=cache) == printed
    assert rank(tmp_path, "3", DIAGNOSE_CACHE=cache) == printed


def test_pure_ascii(printed: bytes) -> None:
    assert printed.isascii()
    assert printed.endswith(b"}\n")


def test_what_was_told_comes_back(ranking: dict[str, Any]) -> None:
    assert ranking["vehicle"] == {
        "name": "demo van",
        "facts": {"front": "strut"},
        "conditions": {"rough-roads": True},
        "km": 187_000.0,
        "years": 12.0,
    }
    assert [(c["id"], c["side"]) for c in ranking["complaints"]] == [
        ("wander", None),
        ("pull-to-one-side", "left"),
    ]
    assert ranking["currency"] == "crowns"


def test_the_figures_are_probabilities_in_order(ranking: dict[str, Any]) -> None:
    causes = ranking["causes"]
    blame = [cause["to_blame"] for cause in causes]
    assert blame == sorted(blame, reverse=True)
    for cause in causes:
        assert 0.0 <= cause["to_blame"] <= cause["probability"] + 1e-9 <= 1.0 + 2e-9
        assert 0.0 < cause["prior"] < 1.0
        assert cause["source"]
    assert 0.0 < ranking["outside"]["probability"] < 1.0
    assert 0.0 < ranking["conclusion"]["chance"] < 1.0
    for proposal in ranking["next"]:
        assert sum(o["probability"] for o in proposal["outcomes"]) == pytest.approx(1.0, abs=1e-6)
        assert proposal["expected_saving"] > 0.0
    sets = [each["probability"] for each in ranking["together"]]
    assert sets == sorted(sets, reverse=True)


def test_ids_are_those_of_the_trees(ranking: dict[str, Any]) -> None:
    assert ranking["library"] == LIBRARY.digest
    assert {c["fault"] for c in ranking["causes"]} <= set(LIBRARY.faults)
    assert {c["part"] for c in ranking["causes"]} <= set(LIBRARY.parts)
    assert {c["settling_check"] for c in ranking["causes"]} - {None} <= set(LIBRARY.checks)
    assert {p["check"] for p in ranking["next"]} <= set(LIBRARY.checks)
    assert {m["id"] for m in ranking["mechanisms"]} <= set(LIBRARY.mechanisms)
    assert {s["remedy"] for s in ranking["conclusion"]["cures"]} <= set(LIBRARY.remedies)
    ids = {c["id"] for c in ranking["causes"]}
    assert {c for s in ranking["conclusion"]["cures"] for c in s["causes"]} & ids


@pytest.mark.slow
def test_a_case_without_answers(tmp_path: Path) -> None:
    text = "case: 1\ncomplaints: [{id: shimmy}]\nvehicle: {km: 1, years: 1}\n"
    found = json.loads(rank(tmp_path, "1", text))
    fits(found, SHAPE, "ranking")
    assert found["conflicts"] == []
    assert found["unfit_to_drive"] == []
