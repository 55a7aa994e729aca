"""A whole batch as one HTML page for whoever approves it: totals and code first, then every form in all its parts.

One file that needs nothing else and may fetch nothing: its content security policy allows the page's own style and
script, by their digests, and no other. What came from a register stands in it as escaped text, or as numbers and
strings in JSON, which no browser runs. The script draws a form when it is scrolled near; without it every word is
there as text.
"""

import hashlib
import json
from base64 import b64encode
from collections.abc import Iterable, Sequence
from functools import cache
from html import escape
from importlib.resources import files
from typing import Any, BinaryIO, NamedTuple

from cheque.form.model import Form
from cheque.page import Mark
from cheque.picture.dotface import ROW, dots
from cheque.picture.drawing import MARGIN, draw_form, part_caption
from cheque.picture.proofbook import LOOK_AT, Totals
from cheque.picture.shapes import OFF_PAPER, Drawing, Group, Struck, Words, points
from cheque.picture.sheet import blank_sheet
from cheque.picture.svg import clean, dot_path, markup
from cheque.picture.text import to_text
from cheque.shown import escaped
from cheque.tongue import language, mark, tr

_ABOUT = mark(
    "Drawn from the bytes that go to the printer. This file shows names and amounts: keep it to yourself, and delete "
    "it when it is done with."
)
_NO_SCRIPT = mark(
    "The pictures are drawn by a script in this page, which this browser does not run. Everything struck is there as "
    "text under each payment; for pictures, make a proof that ends in .pdf."
)


class Entry(NamedTuple):
    """One payment of the list, all of it as it is to be read.

    `place`: in the register, from 1. `details`: name and value of what else is told ("Reference", "E-1042").
    `remarks`: what an approver should stop at ("new payee"), in words; `new` and `far`: whether it is that the payee
    is new, or the amount far from usual.
    """

    place: int
    payee: str
    amount: str
    details: Sequence[tuple[str, str]] = ()
    remarks: Sequence[str] = ()
    new: bool = False
    far: bool = False


class ProofPage:
    """A proof growing in `out`: the head and the list at once, a section for each `add`; `close` completes it.

    changes: sentences on what is not as it was last payday. `out` is written forwards only, and stays open; who may
    read it is the caller's affair.
    """

    def __init__(
        self, out: BinaryIO, form: Form, totals: Totals, entries: Sequence[Entry], changes: Sequence[str] = ()
    ) -> None:
        self._out, self._form = out, form
        self._dots: dict[str, tuple[str, str]] = {}
        self._write(
            *_head(totals),
            *_opening(form, totals),
            *_changes(changes),
            *_list(entries, totals.item_count),
            *_sheets(form),
        )
        self._write('<section aria-labelledby="every-form">', '<h2 id="every-form">Every form</h2>')

    def add(self, entry: Entry, forms: Sequence[Iterable[Mark]]) -> None:
        """One payment: its entry, and the decoded marks of each form that it takes (more than one when it goes on)."""
        drawn = [[_part(self._form, tuple(marks), index) for index in self._parts] for marks in forms]
        for part in (part for form in drawn for part in form):
            self._learn(part.data["struck"])
        self._write(*_payment(entry, self._form, drawn))

    def close(self) -> None:
        """Write the end of the page."""
        found = _json([[key, shape] for key, shape in self._dots.items()])
        self._write(
            "</section>",
            "</main>",
            f"<footer><p>{escape(tr(_ABOUT))}</p></footer>",
            '<svg class="sheets" aria-hidden="true"><defs id="struck-dots"></defs></svg>',
            f'<script type="application/json" id="dots" data-row="{ROW}">{found}</script>',
            f"<script>{_asset('proofpage.js')}</script>",
            "</body>",
            "</html>",
        )

    @property
    def _parts(self) -> range:
        return range(len(self._form.parts))

    def _learn(self, runs: Iterable[Sequence[Any]]) -> None:
        """Keep the dots of every character that is struck somewhere, once."""
        for _, _, pitch, weight, text, _ in runs:
            for char in text:
                key = f"{pitch} {weight} {char}"
                if char != " " and key not in self._dots:
                    centres, radius = dots(char, pitch, weight)
                    self._dots[key] = (points(2 * radius), dot_path(centres))

    def _write(self, *lines: str) -> None:
        self._out.write(("\n".join(lines) + "\n").encode())


class _Part(NamedTuple):
    """One part of a form: what the script draws it from, and the same as text."""

    data: dict[str, Any]
    text: str


@cache
def _asset(name: str) -> str:
    return files("cheque.picture").joinpath(name).read_text("utf-8")


def _digest(text: str) -> str:
    return f"'sha256-{b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _json(value: Any) -> str:
    """JSON that can stand in a page: nothing in it can end the element or begin another."""
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _own(text: str) -> str:
    """Text from a register: escaped, and its direction its own."""
    return f"<bdi>{clean(escaped(text))}</bdi>"


def _title(totals: Totals) -> str:
    return tr("Proof of {batch}", batch=totals.batch)


def _head(totals: Totals) -> list[str]:
    style, script = _asset("proofpage.css"), _asset("proofpage.js")
    policy = (
        f"default-src 'none'; style-src {_digest(style)}; script-src {_digest(script)}; base-uri 'none'; "
        "form-action 'none'"
    )
    return [
        "<!doctype html>",
        f'<html lang="{language()}">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="referrer" content="no-referrer">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{clean(escaped(_title(totals)))}</title>",
        f"<style>{style}</style>",
        "</head>",
    ]


def _opening(form: Form, totals: Totals) -> list[str]:
    facts = (
        (tr("Item count"), str(totals.item_count)),
        (tr("Control total"), totals.control_total),
        (tr("Hash total"), totals.hash_total or tr("none")),
        (tr("Account"), totals.account),
        (tr("Form"), totals.form),
        (tr("Stock"), totals.stock),
    )
    return [
        "<body>",
        f'<a class="skip" href="#list">{escape(tr("To the payees and amounts"))}</a>',
        "<header>",
        f"<div><h1>{_own(_title(totals))}</h1>",
        f"<p>{clean(totals.promise)}</p></div>",
        *([] if totals.alone else [_code(totals)]),
        "</header>",
        "<main>",
        "<dl>",
        *(f"<dt>{escape(name)}</dt><dd>{_own(value)}</dd>" for name, value in facts),
        "</dl>",
        f'<noscript><p class="plain">{escape(tr(_NO_SCRIPT))}</p></noscript>',
        f"<h2>{escape(tr('What to look at'))}</h2>",
        "<ol>",
        *(f"<li>{escape(tr(sentence))}</li>" for sentence in LOOK_AT),
        "</ol>",
    ]


def _code(totals: Totals) -> str:
    return f'<p class="code"><span>{escape(tr("Proof code"))}</span><strong>{clean(totals.proof_code)}</strong></p>'


def _changes(changes: Sequence[str]) -> list[str]:
    if not changes:
        return []
    lines = (f"<li>{_own(sentence)}</li>" for sentence in changes)
    return [f'<h2 id="changed">{escape(tr("Not as it was last payday"))}</h2>', "<ul>", *lines, "</ul>"]


def _list(entries: Sequence[Entry], items: int) -> list[str]:
    return [
        f'<h2 id="list">{escape(tr("Payee and amount, in the order of printing"))}</h2>',
        '<div class="tools" id="tools" hidden>',
        f"<label>{escape(tr('Search'))} "
        '<input type="search" id="search" autocomplete="off" spellcheck="false"></label>',
        f'<output id="found" for="search" data-items="{items}" data-some="{clean(tr("COUNT of ITEMS shown"))}" '
        f'data-all="{clean(tr("COUNT in the batch"))}"></output>',
        f'<output id="looked" data-said="{clean(tr("COUNT of ITEMS held against the register"))}"></output>',
        f'<label><input type="checkbox" id="frames">{escape(tr("Show where each field may be struck"))}</label>',
        "</div>",
        '<table aria-labelledby="list"><thead><tr>',
        f'<th scope="col" class="figure">{escape(tr("No."))}</th><th scope="col">{escape(tr("Payee"))}</th>'
        f'<th scope="col" class="figure">{escape(tr("Amount"))}</th><th scope="col">{escape(tr("To stop at"))}</th>'
        f'<th scope="col">{escape(tr("Held against the register"))}</th></tr></thead>',
        "<tbody>",
        *(_row(entry) for entry in entries),
        "</tbody></table>",
    ]


def _row(entry: Entry) -> str:
    agrees = tr("payment {place}, {payee}: agrees with the register", place=entry.place, payee=entry.payee)
    return (
        f'<tr data-find=""><td class="figure">{entry.place}</td>'
        f'<td><a href="#payment-{entry.place}">{_own(entry.payee)}</a></td>'
        f'<td class="figure">{clean(entry.amount)}</td><td class="remark">{_own(", ".join(entry.remarks))}</td>'
        f'<td><input type="checkbox" aria-label="{clean(escaped(agrees))}"></td></tr>'
    )


def _sheets(form: Form) -> list[str]:
    """The unstruck sheets, once each, and the frames of the fields."""
    lines = ['<svg class="sheets" aria-hidden="true" fill="none" stroke-linecap="round" stroke-linejoin="round"><defs>']
    for index in range(len(form.parts)):
        bare = blank_sheet(form, index).shapes
        framed = blank_sheet(form, index, True).shapes[len(bare) :]
        lines += [f'<g id="sheet-{index}">{markup(bare)}</g>', f'<g id="frames-{index}">{markup(framed)}</g>']
    return [*lines, "</defs></svg>"]


def _part(form: Form, marks: tuple[Mark, ...], index: int) -> _Part:
    drawing: Drawing = draw_form(form, marks, part_index=index, caption="")
    struck = [
        (shape.x, shape.y, shape.pitch, shape.weight, shape.text, shape.colour)
        for shape in drawing.shapes
        if isinstance(shape, Struck)
    ]
    rest = tuple(
        shape
        for shape in drawing.shapes
        if not isinstance(shape, Struck | Group) and not (isinstance(shape, Words) and not shape.text)
    )
    view = (drawing.left, drawing.top, drawing.width, drawing.height)
    if not any(shape[-1] == OFF_PAPER for shape in struck):  # no caption stands over the paper here
        strip, edge = form.paper.strip, MARGIN // 2
        view = (-strip - edge, -edge, form.paper.width + 2 * (strip + edge), form.paper.length + 2 * edge)
    data = {"sheet": index, "view": view, "struck": struck, "rest": markup(rest)}
    return _Part(data, to_text(form, marks, index, outlined=False))


def _payment(entry: Entry, form: Form, forms: Sequence[Sequence[_Part]]) -> list[str]:
    heading = f"{entry.place} · {_own(entry.payee)} · {clean(entry.amount)}"
    find = " ".join(
        (str(entry.place), entry.payee, entry.amount, *(value for _, value in entry.details), *entry.remarks)
    )
    lines = [
        f'<section class="payment" id="payment-{entry.place}" aria-labelledby="name-{entry.place}" '
        f'data-find="{clean(escaped(find))}">',
        f'<h3 id="name-{entry.place}">{heading}</h3>',
    ]
    if entry.remarks:
        lines.append(f'<p class="remark">{_own(", ".join(entry.remarks))}</p>')
    if entry.details:
        told = (f"<div><dt>{clean(name)}</dt><dd>{_own(value)}</dd></div>" for name, value in entry.details)
        lines += ['<dl class="details">', *told, "</dl>"]
    lines.append('<div class="parts">')
    for number, parts in enumerate(forms, 1):
        for index in range(len(parts)):
            caption = part_caption(form, index) + (
                tr(" · form {number} of {count}", number=number, count=len(forms)) if len(forms) > 1 else ""
            )
            label = tr("Payment {place}: {caption}", place=entry.place, caption=caption)
            lines.append(
                f"<figure{'' if index else ' class=first'}><figcaption>{clean(caption)}</figcaption>"
                f'<div class="picture" data-label="{clean(label)}"></div></figure>'
            )
    texts = "\n".join(part.text for parts in forms for part in parts)
    lines += [
        "</div>",
        f'<details><summary>{escape(tr("The same as text"))}</summary><pre tabindex="0">{clean(texts)}</pre></details>',
        f'<p class="back"><a href="#list">{escape(tr("Back to the list"))}</a></p>',
        f'<script type="application/json">{_json([part.data for parts in forms for part in parts])}</script>',
        "</section>",
    ]
    return lines
