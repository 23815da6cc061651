"""Elements: text comes out as text, numbers short, names are checked."""

from __future__ import annotations

import pytest

from diagnose.sheet.element import element, rendered


def test_text_and_values_are_escaped() -> None:
    found = rendered(element("td", "<b> & \"x\" 'y'", data_label='"><script>'))
    assert found == (
        '<td data-label="&quot;&gt;&lt;script&gt;">&lt;b&gt; &amp; &quot;x&quot; &#x27;y&#x27;</td>\n'
    )


def test_blanks_between_text_and_its_neighbours_stay() -> None:
    assert rendered(element("span", "a ", element("b", "c"), " ", "d")) == "<span>a <b>c</b> d</span>\n"


def test_numbers_are_written_to_a_hundredth() -> None:
    assert (
        rendered(element("rect", x=1.5, y=-0.0001, width=100)) == '<rect x="1.5" y="0" width="100"></rect>\n'
    )


def test_what_is_none_is_left_out_and_lists_are_flattened() -> None:
    assert rendered(element("i", None, ["a", [element("br")]], class_=None)) == "<i>a<br></i>\n"


@pytest.mark.parametrize("name", ["", "a b", "a>", "1a", "a/"])
def test_no_other_name_is_taken(name: str) -> None:
    with pytest.raises(ValueError, match="is not a name"):
        element(name)
    with pytest.raises(ValueError, match="is not a name"):
        element("a", **{name: "x"})


def test_a_style_sheet_cannot_end_early() -> None:
    with pytest.raises(ValueError, match="without '<'"):
        rendered(element("style", "a {} </style><script>"))
