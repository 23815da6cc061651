"""A plain terminal for a test, and what must hold of everything that it showed."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

import diagnose
from tests.terminal.test_walk_terminal import Terminal

ROOT = Path(diagnose.__file__).parents[1]


@pytest.fixture
def environ(tmp_path: Path) -> dict[str, str]:
    """80 columns, Unicode and colour, and a store of its own."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("LC_", "PYTHON")) and k != "NO_COLOR"}
    own = {"LINES": "24", "COLUMNS": "80", "DIAGNOSE_STORE": str(tmp_path / "jobs.sqlite")}
    return {**kept, **own, "PYTHONPATH": str(ROOT), "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}


@pytest.fixture
def started() -> Iterator[list[Terminal]]:
    """The terminals of a test; afterwards no line may have passed column 80, and no traceback been shown."""
    terminals: list[Terminal] = []
    yield terminals
    for terminal in terminals:
        terminal.child.close(force=True)
        assert "Traceback" not in terminal.text()
        # A file's own name is neither cut nor wrapped, so that it can be copied.
        assert [
            line for line in terminal.lines(wide=True) if len(line) > 80 and not line.startswith("Kept in ")
        ] == []
