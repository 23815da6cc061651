"""Every case with a known end makes a sheet in all its forms, whatever it has and lacks (long)."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from diagnose.job.case import read_case
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.job.steps import steps_of
from diagnose.sheet.as_json import sheet_json
from diagnose.sheet.html import html_of
from diagnose.sheet.made import sheet
from diagnose.sheet.markdown import markdown_of
from diagnose.sheet.material import Material
from diagnose.sheet.page import Reader
from tests.parsed import attributes_of, find, parsed
from tests.shipped import LIBRARY

CASES = sorted((Path(__file__).resolve().parents[2] / "cases").glob("*.yaml"))
READERS: tuple[Reader, ...] = ("workshop", "owner")


@pytest.mark.long
@pytest.mark.parametrize("file", CASES, ids=[file.stem for file in CASES])
def test_a_case_makes_a_sheet(file: Path) -> None:
    case = read_case(LIBRARY, file.read_bytes(), str(file))
    with Journal.open(Path(":memory:")) as journal:
        session = Session.start(LIBRARY, journal, "a case", case.workshop, steps_of(LIBRARY, case))
        material = Material(session, "", date(2031, 5, 14))
        for reader in READERS:
            page = sheet(material, reader)
            root = parsed(html_of(page))
            ids = [value for _, key, value in attributes_of(root) if key == "id"]
            assert len(ids) == len(set(ids)) and len(find(root, "h1")) == 1
            headings = [t for t in MarkdownIt().parse(markdown_of(page)) if t.type == "heading_open"]
            assert len(headings) == len(find(root, "h1", "h2", "h3", "h4"))
            assert json.dumps(sheet_json(page), allow_nan=False)
