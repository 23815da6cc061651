"""Colours: text stands out from its ground, by the formula of WCAG 2.2."""

from __future__ import annotations

import pytest

from diagnose.sheet.style import DARK, LIGHT, STYLE

GROUNDS = ("ground", "panel", "danger-ground", "caution-ground")


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definitions."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_what_the_standard_says() -> None:
    # WCAG 2.2: black on white is 21 to 1; #767676 on white is the well-known 4.54 (from memory).
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", ["ink", "dim", "accent", "bad", "near", "good"])
def test_text_stands_out_from_every_ground(colours: dict[str, str], ground: str, text: str) -> None:
    # WCAG 2.2, 1.4.3: 4.5 to 1.
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("line", range(6))
def test_lines_of_pictures_stand_out(colours: dict[str, str], line: int) -> None:
    # WCAG 2.2, 1.4.11: 3 to 1 for what a picture needs to be understood.
    assert contrast(colours[f"line-{line}"], colours["ground"]) >= 3.0


def test_both_grounds_name_the_same_colours_and_all_are_used() -> None:
    assert LIGHT.keys() == DARK.keys()
    for name in LIGHT:
        assert f"var(--{name})" in STYLE, name


def test_nothing_is_fetched() -> None:
    assert "url(" not in STYLE and "@import" not in STYLE and "//" not in STYLE
