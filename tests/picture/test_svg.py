"""Nothing in a payment can become markup, and the document refers to nothing outside itself."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from picture.struck import TENTH, at, by_way_of_bytes, small_form

from cheque.picture.drawing import draw_form, draw_parts
from cheque.picture.shapes import INK, Drawing, Struck, Words
from cheque.picture.svg import clean, to_html, to_svg
from cheque.units import INCH, POINT

FORM = small_form()
SPACE = "{http://www.w3.org/2000/svg}"


def texts(svg):
    return [text.text for text in ElementTree.fromstring(svg).iter(f"{SPACE}text")]


@pytest.mark.parametrize(
    "payee", ["</text><script>alert(1)</script>", '" onload="x', "Reed & Sons <Riggers>", "]]>", "&#x41;", "<!--"]
)
def test_markup_in_a_payee_stays_text(payee):
    drawing = draw_form(FORM, by_way_of_bytes([at(4, 5, payee)]), part_index=0, caption=payee)
    svg = to_svg(drawing)
    tree = ElementTree.fromstring(svg)
    assert payee in texts(svg)
    assert tree.find(f"{SPACE}title").text == payee
    assert {element.tag.removeprefix(SPACE) for element in tree.iter()} <= {
        "svg", "title", "defs", "path", "rect", "line", "circle", "g", "use", "text"
    }  # fmt: skip
    assert not any(name.startswith("on") for element in tree.iter() for name in element.attrib)


@settings(max_examples=100, deadline=None)
@given(st.text(st.characters(), max_size=20))
def test_any_text_makes_a_well_formed_document(text):
    shapes = (Struck(0, 0, TENTH, 0, text, INK), Words(0, INCH, 9 * POINT, text, INK))
    svg = to_svg(Drawing(0, 0, 4 * INCH, 2 * INCH, shapes, text))
    svg.encode("utf-8")
    ElementTree.fromstring(svg)
    inked = sum(1 for char in text if char != " ")
    assert svg.count("<use ") == inked


def test_control_characters_are_replaced_in_the_text_but_not_in_the_picture():
    svg = to_svg(Drawing(0, 0, INCH, INCH, (Struck(0, 0, TENTH, 0, "a\x1bb", INK),)))
    assert texts(svg) == ["a\ufffdb"]
    assert svg.count("<use ") == 3
    assert clean("\x00<\ud800") == "\ufffd&lt;\ufffd"


def test_nothing_is_fetched_and_nothing_runs():
    svg = to_svg(draw_parts(FORM, by_way_of_bytes([at(4, 5, "http://quillmere.example/")]), frames=True))
    assert re.findall(r'(?:href|src|url)\s*[=(]\s*"?([^#" ][^"]*)', svg) == []
    assert re.findall(r"<(?:script|style|image|foreignObject|a)\b", svg) == []


def test_each_shape_is_defined_once_however_often_it_is_struck():
    svg = to_svg(draw_form(FORM, by_way_of_bytes([at(4, 1, "A" * 50)]), part_index=0))
    assert svg.count('<path id="') == 1
    assert svg.count("<use ") == 50


def test_the_text_lies_over_its_dots():
    svg = to_svg(draw_form(FORM, by_way_of_bytes([at(4, 5, "Marlow")]), part_index=0))
    (text,) = ElementTree.fromstring(svg).iter(f"{SPACE}text")
    x = (FORM.grid.left + 4 * TENTH) / POINT
    assert float(text.get("x")) == pytest.approx(x, abs=0.001)
    assert float(text.get("textLength")) == pytest.approx(6 * 7.2, abs=0.001)
    assert text.get("fill-opacity") == "0"


def test_an_html_page_holds_several_pictures_with_names_of_their_own():
    drawings = [draw_form(FORM, [at(4, 5, "Ab")], part_index=part) for part in (0, 1)]
    page = to_html(drawings, "Proof <1>")
    assert page.count("<svg ") == 2
    assert "<title>Proof &lt;1&gt;</title>" in page
    names = re.findall(r' id="([^"]+)"', page)
    assert len(names) == len(set(names)) == 4
