"""A batch as one HTML page: nothing from a register is ever markup or script, and nothing struck is left out."""

import hashlib
import io
import json
import re
from base64 import b64encode
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from picture.struck import at, by_way_of_bytes, marks_anywhere, payroll, small_form
from picture.test_proofbook import totals

from cheque.picture.dotface import dots
from cheque.picture.proofpage import Entry, ProofPage
from cheque.picture.shapes import points
from cheque.picture.strike import land

FORM = small_form()
HOSTILE = (
    "</script><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "<!-- <script>",
    "Ned & Sons <b>",
    "\u202egnoleB\u202c",
    "a\u2028b\x07\ud800",
    "${alert(1)} {{7*7}} javascript:alert(1)",
)


class Read(HTMLParser):
    """Elements, attributes, text, and what is inside scripts and styles, by the standard library's own parser."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.data, self.inside = [], [], {"script": [], "style": []}
        self._open = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag in self.inside:
            self._open = tag
            self.inside[tag].append("")

    def handle_endtag(self, tag):
        self._open = ""

    def handle_data(self, data):
        if self._open:
            self.inside[self._open][-1] += data
        else:
            self.data.append(data)


MARLOW = (Entry(1, "Marlow", "1.00"),)
STRUCK = ((at(4, 5, "Marlow***"),),)


def page(entries=MARLOW, marks=STRUCK, form=FORM, changes=()):
    out = io.BytesIO()
    proof = ProofPage(out, form, totals(len(entries)), list(entries), changes)
    for entry, one in zip(entries, marks, strict=False):
        proof.add(entry, [one])
    proof.close()
    return out.getvalue().decode()


def drawn(text):
    """What the script is given to draw: the parts of each payment, and the dots of each character."""
    scripts = [inside for inside in Read(text).inside["script"] if inside.startswith("[")]
    *payments, shapes = map(json.loads, scripts)
    return payments, dict(map(tuple, shapes))


def test_the_totals_and_the_proof_code_stand_before_any_payment():
    text = page(changes=("New payees: Marlow (1.00).",))
    first = text.index('id="payment-1"')
    for told in ("K7QF-29HM", "18,214.77 USD", "51,877", "New payees: Marlow (1.00)."):
        assert text.index(told) < first


def test_the_page_allows_its_own_style_and_script_by_their_digests_and_nothing_else():
    text = page()
    read = Read(text)
    (policy,) = (attrs["content"] for tag, attrs in read.elements if attrs.get("http-equiv"))
    told = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert told.pop("default-src") == "'none'"
    for name, inside in (("style-src", read.inside["style"][0]), ("script-src", read.inside["script"][-1])):
        assert told.pop(name) == f"'sha256-{b64encode(hashlib.sha256(inside.encode()).digest()).decode()}'"
    assert set(told.values()) == {"'none'"}
    assert len(read.inside["style"]) == 1
    assert not [attrs for _, attrs in read.elements if "style" in attrs or any(key.startswith("on") for key in attrs)]


def test_nothing_in_the_page_refers_to_anywhere_else():
    links = [
        value
        for _, attrs in Read(page(form=payroll())).elements
        for key, value in attrs.items()
        if key in ("href", "src", "action", "data", "poster", "srcset", "xlink:href")
    ]
    assert links
    assert all(link.startswith("#") for link in links)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_is_text_wherever_it_stands(name):
    tame = Read(page())
    entry = Entry(1, name, "1.00", (("Reference", name),), (name,))
    read = Read(page((entry,), changes=(name,)))
    extra = [tag for tag, _ in read.elements if tag not in {tag for tag, _ in tame.elements}]
    assert set(extra) <= {"dl", "div", "dt", "dd", "bdi", "p", "ul", "li", "h2"}
    assert len(read.inside["script"]) == len(tame.inside["script"])
    assert read.inside["script"][-1] == tame.inside["script"][-1]
    assert not any(char in "".join(read.data) for char in "\u202e\u2028\x07\ud800")


@given(marks_anywhere())
@settings(max_examples=40, deadline=None)
def test_every_character_that_lands_on_a_part_is_given_to_the_drawer_in_its_place_with_its_dots(marks):
    (parts,), shapes = drawn(page(marks=(marks,)))
    for index, part in enumerate(parts):
        landed = [shape for shape in land(FORM, marks, index).shapes if hasattr(shape, "pitch")]
        assert part["struck"] == [list(shape) for shape in landed]
        for _, _, pitch, weight, text, _ in part["struck"]:
            for char in set(text) - {" "}:
                width, path = shapes[f"{pitch} {weight} {char}"]
                centres, radius = dots(char, pitch, weight)
                assert width == points(2 * radius)
                assert path.count("M") == len(centres)


def test_what_is_struck_off_the_form_is_in_view_and_told():
    (parts,), _ = drawn(page(marks=((at(30, 5, "LOST"),),)))
    left, top, width, height = parts[0]["view"]
    ((x, y, pitch, _, _, _),) = parts[0]["struck"]
    assert left <= x < x + 4 * pitch <= left + width
    assert top <= y <= top + height
    assert "off the form" in parts[0]["rest"]


def test_without_a_script_every_word_is_there_as_text():
    marks = by_way_of_bytes((at(4, 5, "Marlow & Daughters***"), at(7, 12, "ONE & 00/100")))
    text = page(marks=(marks,))
    read = Read(text)
    assert "noscript" in {tag for tag, _ in read.elements}
    whole = "".join(read.data)
    assert "Marlow & Daughters***" in whole
    assert whole.count("Part 1 of 3") >= 2  # over the picture, and in the text


def test_a_payment_on_two_forms_shows_both():
    out = io.BytesIO()
    entry = Entry(1, "Marlow", "1.00")
    proof = ProofPage(out, FORM, totals(1), [entry])
    proof.add(entry, [(at(4, 5, "first"),), (at(4, 5, "second"),)])
    proof.close()
    (parts,), _ = drawn(out.getvalue().decode())
    assert [part["sheet"] for part in parts] == [0, 1, 2, 0, 1, 2]
    assert "form 2 of 2" in out.getvalue().decode()


def test_a_large_batch_grows_by_what_is_struck_and_not_by_sheets():
    def size(count):
        marks = [(at(4, 5, f"Payee {n}"),) for n in range(count)]
        return len(page([Entry(n + 1, f"Payee {n}", "1.00") for n in range(count)], marks))

    each = (size(300) - size(100)) / 200
    assert each < 4000
    assert not re.search(r"NaN|Infinity", page())
