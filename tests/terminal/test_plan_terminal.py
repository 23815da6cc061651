"""A plan made, kept and held against what happened, through the real command on a pseudo-terminal."""

from __future__ import annotations

import pytest

from tests.terminal.conftest import ROOT
from tests.terminal.test_walk_terminal import COLOUR, Terminal


def told(environ: dict[str, str], started: list[Terminal], *arguments: str) -> str:
    terminal = Terminal(environ, *arguments)
    started.append(terminal)
    assert terminal.end() == 0
    return " ".join(terminal.text().split())


def test_a_plan_is_kept_and_held_against_the_repair(environ: dict[str, str], started: list[Terminal]) -> None:
    # Left at the first question after the complaint.
    terminal = Terminal(
        environ, "walk", "floaty rear over long waves", "--currency", "EUR", "--labour-rate", "85"
    )
    started.append(terminal)
    terminal.prompt()
    terminal.send("q")
    assert terminal.end() == 0
    page = told(environ, started, "plan", "--keep")
    assert "renew both rear dampers" in page
    assert "Kept in the job." in page
    told(environ, started, "repair", "renew-rear-dampers", "--price", "190", "--hours", "1.5")
    told(environ, started, "repair", "--felt", "no")
    page = told(environ, started, "plan")
    assert "So far" in page
    assert "318 EUR spent" in page
    assert "it is gone, for less than the 850 EUR that it was worth" in page


@pytest.mark.slow
@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_without_colour_the_plan_reads_the_same(
    environ: dict[str, str], started: list[Terminal], more: dict[str, str]
) -> None:
    terminal = Terminal({**environ, **more}, "plan", str(ROOT / "tests" / "plans" / "van.yaml"))
    started.append(terminal)
    assert terminal.end() == 0
    assert not COLOUR.search(terminal.raw)
    assert terminal.text().isascii() == (more.get("TERM") == "dumb")
    assert "Stage 1" in terminal.text()
