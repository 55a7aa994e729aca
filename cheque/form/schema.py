"""The JSON Schema of a form definition (draft 7, which editors of TOML understand), made from the reader's own lists.

It says what stands where: keys, kinds of value, choices, how lengths and dates are written. What only the whole form
can tell (names that lead somewhere, lengths that are exact and on the paper) is the reader's and the checks' to say.
`docs/form.schema.json` is this, written out; a test holds the two together, and both against the reader.
"""

from typing import Any

from cheque.fill import NOT_A_FILL
from cheque.form.fields import ALIGNS, MOST, TWO_SIGNATURES
from cheque.form.read import OVERFLOWS
from cheque.form.values import WEIGHTS
from cheque.form.what import ADVICE_WORDING, COLUMNS, WHAT
from cheque.payment import Kind, Role

Node = dict[str, Any]

_LENGTH = r"\s*-?\s*(\d+(\.\d+|\s+\d+/\d+)?|\d+/\d+)\s*(in|mm|cm|pt)\s*"
_NUMBER = r"(\d+(\s+\d+/[1-9]\d*)?|\d+/[1-9]\d*)"
_PLAIN = r"[^\u0000-\u001f\u007f-\u009f]"
_TWO_OR_FOUR_Y = r"(?=([^Y]*Y){2}(([^Y]*Y){2})?[^Y]*$)"


def _text(says: str, pattern: str = "", **more: Any) -> Node:
    node: Node = {"type": "string", "description": says}
    return node | ({"pattern": f"^{pattern}$"} if pattern else {}) | more


def _list(items: Node, says: str) -> Node:
    return {"type": "array", "items": items, "minItems": 1, "description": says}


def _table(says: str, properties: Node, required: tuple[str, ...] = (), **more: Any) -> Node:
    node: Node = {"type": "object", "description": says, "properties": properties, "additionalProperties": False}
    return node | ({"required": list(required)} if required else {}) | more


def _one_of(says: str, *choices: str) -> Node:
    return {"enum": list(choices), "description": says}


def _ref(name: str) -> Node:
    return {"$ref": f"#/definitions/{name}"}


def _either(*keys: str) -> Node:
    """Exactly one of these keys."""
    return {"oneOf": [{"required": [key]} for key in keys]}


def _only_if(condition: Node, key: str, *, required: bool = False) -> Node:
    """A key that stands only where something holds, or must stand there."""
    then: Node = {"required": [key]} if required else {}
    return {"if": condition, "then": then, "else": {"properties": {key: False}}}


def _what_is(*kinds: str) -> Node:
    return {"properties": {"what": {"enum": [what for what, one in WHAT.items() if one.kind in kinds]}}}


def schema() -> Node:
    """The whole schema."""
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "Form definition of cheque",
        "description": "One kind of numbered stock: its paper, its parts, what it carries and what is struck on it.",
        **_table("", _head(), ("name", "country", "paper", "grid", "part"), allOf=_of_roles()),
        "definitions": {
            **_measures(),
            **_small(),
            "area": _area("An area: its left and top, and its width or right, its height or bottom."),
            "when": _when(),
            "part": _part(),
            "field": _field(),
            "constant": _constant(),
            "table": _stub_table(),
            "column": _column(),
            "preprint": _preprint(),
        },
    }


def _head() -> Node:
    return {
        "name": _ref("name"),
        "title": _text("one line for people", f"{_PLAIN}*"),
        "country": _text("two letters; sets the wording of an advice and the rules", "[A-Z]{2}"),
        "currency": _text("an ISO 4217 code; left out, the form takes any", "[A-Z]{3}"),
        "payable": {"type": "boolean", "description": "false for a numbered paper that pays nothing by itself"},
        "roles": _list({"enum": [Role.CHEQUE.value, Role.ADVICE.value]}, 'what it is used for; ["cheque"] if left out'),
        "advice": _text("what an advice says in place of the amount", f"{_PLAIN}*"),
        "overflow": _one_of("what becomes of stub lines that do not fit", *OVERFLOWS),
        "set_aside": _list(_ref("name"), "rules of the country that the bank has agreed to do without"),
        "paper": _table(
            "the sheet after bursting",
            {
                "width": _ref("length"),
                "length": _ref("length"),
                "strip": _ref("size"),
                "perforations": _list(_ref("place"), "across, measured from the top"),
                "side_perforations": _list(_ref("place"), "down, measured from the left"),
            },
            ("width", "length"),
        ),
        "grid": _table(
            "the spacing chart",
            {"pitch": _ref("step"), "spacing": _ref("step"), "left": _ref("size"), "top": _ref("size")},
            ("pitch", "spacing"),
        ),
        "look": _table(
            "how the form is struck",
            {
                "quality": _one_of("draft marks later parts better", "draft", "letter"),
                "weight": _ref("weight"),
                "one_direction": {"type": "boolean"},
            },
        ),
        "cheque": _table(
            "where on the paper the cheque is, and the band kept clear at its bottom",
            {"left": _ref("place"), "top": _ref("place"), "width": _ref("size"), "height": _ref("size"),
             "clear_band": _ref("size")},
            ("top", "height"),
        ),
        "part": _list(_ref("part"), "the sheets of the set, the top one first"),
        "field": {"type": "array", "items": _ref("field")},
        "table": {"type": "array", "items": _ref("table")},
        "constant": {"type": "array", "items": _ref("constant")},
        "preprint": _ref("preprint"),
    }  # fmt: skip


def _of_roles() -> list[Node]:
    """An advice has a wording, of its country or its own, and nothing else has; what pays nothing is no cheque."""
    pays_nothing: Node = {"properties": {"payable": {"const": False}}, "required": ["payable"]}
    advice: Node = {
        "properties": {"roles": {"contains": {"const": Role.ADVICE.value}}},
        "required": ["roles"],
        "not": pays_nothing,
    }
    own: Node = {"required": ["advice"], "properties": {"advice": {"minLength": 1}}}
    known: Node = {"properties": {"country": {"enum": sorted(ADVICE_WORDING)}}}
    return [
        {"if": advice, "else": {"properties": {"advice": {"maxLength": 0}}}},
        {"if": {"allOf": [advice, {"not": known}]}, "then": own},
        {"if": pays_nothing, "then": {"properties": {"roles": {"items": {"const": Role.ADVICE.value}}}}},
    ]  # fmt: skip


def _measures() -> Node:
    return {
        "length": _text("a length, as in '8 1/2 in', '92 mm' or '6 pt'", _LENGTH),
        "size": _text("a length, or '12 columns', '2 1/2 lines'", rf"({_LENGTH}|\s*{_NUMBER}\s+(line|column)s?\s*)"),
        "place": _text(
            "a place: a length from the paper's corner, 'column 12' or 'line 9 1/2'",
            rf"({_LENGTH}|\s*(line|column)\s+{_NUMBER}\s*)",
        ),
        "step": _text("'10 to the inch', or a length", rf"({_LENGTH}|\s*\d+(\.\d+)? to the inch\s*)"),
        "count": {"type": "integer", "minimum": 1, "maximum": MOST},
    }


def _small() -> Node:
    mark = "".join("\\" + c if c in "()+$./'&" else c for c in NOT_A_FILL)
    return {
        "name": _text("small letters, digits and hyphens", "[a-z0-9]([a-z0-9-]*[a-z0-9])?"),
        "weight": _one_of("how hard it is struck", *WEIGHTS),
        "align": _one_of("where in its width it stands", *ALIGNS),
        "fill": _text('the mark that closes open columns, or "none"', rf"(none|[^\s0-9A-Za-z{mark}])"),
        "parts": _list({"type": "string"}, "names of parts"),
        "pattern": _text(
            "of a date: Y, M and D stand for digits, every mark for itself, as in DD/MM/YYYY",
            _TWO_OR_FOUR_Y + r"(?=([^M]*M){2}[^M]*$)(?=([^D]*D){2}[^D]*$)[^0-9A-CE-LN-XZa-z\u0000-\u001f]*",
        ),
        "box": {
            "description": "the frame it must stay in: the name of a preprinted box, or an area",
            "oneOf": [{"type": "string"}, _ref("area")],
        },
    }


def _area(says: str, **more: Node) -> Node:
    sides = {key: _ref("place") for key in ("left", "top", "right", "bottom")}
    sizes = {key: _ref("size") for key in ("width", "height")}
    ends = [_either("width", "right"), _either("height", "bottom")]
    return _table(says, {**sides, **sizes, **more}, ("left", "top"), allOf=ends)


def _when() -> Node:
    limit = _text(f'"{TWO_SIGNATURES}", or an amount', rf"({TWO_SIGNATURES}|\d+(\.\d+)?)")
    day = _text("a day, as in 2026-12-24", r"\d{4}-\d{2}-\d{2}")
    return _table(
        "on which forms it is struck; all conditions together",
        {
            "roles": _list({"enum": [role.value for role in Role]}, "on forms of these roles"),
            "over": limit,
            "up_to": limit,
            "departments": _list(_text("a department", f"{_PLAIN}*"), "when the payee is in one of them"),
            "since": day,
            "until": day,
        },
        minProperties=1,
    )


def _part() -> Node:
    shown = {"enum": sorted({*WHAT, *COLUMNS})}
    return _table(
        "one sheet of the set",
        {
            "name": _ref("name"),
            "goes_to": _text("whom it goes to", f"{_PLAIN}*"),
            "legend": _text("wording preprinted on this part", f"{_PLAIN}*"),
            "left": _ref("size"),
            "width": _ref("size"),
            "must_not_show": _list(shown, "what its reader must never see, wherever it is struck"),
            "blocked": {"type": "array", "items": _ref("area"), "description": "areas that take no image"},
        },
        ("name", "goes_to"),
    )


def _common() -> Node:
    return {
        "name": {"type": "string", "description": "a name for messages"},
        "line": _ref("count"),
        "column": _ref("count"),
        "pitch": _ref("step"),
        "weight": _ref("weight"),
        "when": _ref("when"),
        "hidden_from": _ref("parts"),
        "box": _ref("box"),
    }


def _field() -> Node:
    what = {
        "description": "what it shows",
        "oneOf": [{"const": name, "description": one.says} for name, one in WHAT.items()],
    }
    bare: Node = {"properties": {"prefix": {"maxLength": 0}, "suffix": {"maxLength": 0}, "fill": {"const": "none"}}}
    properties = {
        "what": what,
        "width": _ref("count"),
        "lines": _ref("count"),
        "align": _ref("align"),
        "fill": _ref("fill"),
        "case": _one_of("as it is, or in capitals", "as-is", "upper"),
        "form": _ref("pattern"),
        "prefix": _text("right before it, as the $ of an amount", f"{_PLAIN}*"),
        "suffix": _text("right after it", f"{_PLAIN}*"),
        **_common(),
    }
    return _table(
        "a place for one thing",
        properties,
        ("what", "line", "column", "width"),
        allOf=[
            _only_if(_what_is("date"), "form", required=True),
            _only_if(_what_is("block", "words", "name", "space"), "lines"),
            {"if": _what_is("words", "name"), "then": {"properties": {"lines": {"maximum": 2}}}},
            {"if": _what_is("slot", "space"), "then": bare},
            {"if": _what_is("slot", "other"), "then": {"properties": {"when": {"propertyNames": {"const": "roles"}}}}},
            {"if": _what_is("other"), "then": {"properties": {"suffix": {"maxLength": 0}, "align": {"const": "left"}}}},
        ],
    )


def _constant() -> Node:
    text = _text(
        "the wording; {days} stands for the days after which the account's cheques are stale",
        rf"(?=.*\S)(?!.*\{{(?!days\}})\w*\}}){_PLAIN}*",
    )
    return _table("wording that is struck as it stands", {"text": text, **_common()}, ("text", "line", "column"))


def _stub_table() -> Node:
    common = _common()
    properties = {
        "name": common["name"],
        "shows": _list({"enum": [kind.value for kind in Kind]}, "kinds of stub line"),
        "line": _ref("count"),
        "lines": _ref("count"),
        "column": _list(_ref("column"), "what of each line it shows"),
        "wrap": {"type": "boolean", "description": "a long text goes on in the next line; one column of text only"},
        "weight": _ref("weight"),
        "when": {"allOf": [_ref("when"), {"propertyNames": {"const": "roles"}}]},
        "hidden_from": _ref("parts"),
        "box": _ref("box"),
    }
    wrapped: Node = {"properties": {"wrap": {"const": True}}, "required": ["wrap"]}
    one_text: Node = {"properties": {"column": {"maxItems": 1, "items": {"properties": {"what": {"const": "text"}}}}}}
    required = ("name", "shows", "line", "lines", "column")
    return _table("stub lines, one a printed line", properties, required, allOf=[{"if": wrapped, "then": one_text}])


def _column() -> Node:
    what = {
        "description": "what of a stub line it shows",
        "oneOf": [{"const": name, "description": says} for name, (_, says) in COLUMNS.items()],
    }
    properties = {
        "what": what,
        "column": _ref("count"),
        "width": _ref("count"),
        "align": _ref("align"),
        "form": _ref("pattern"),
        "kinds": _list({"enum": [kind.value for kind in Kind]}, "only lines of these kinds have something here"),
        "hidden_from": _ref("parts"),
    }
    dated = _only_if({"properties": {"what": {"const": "date"}}}, "form", required=True)
    return _table("one column of a table", properties, ("what", "column", "width"), allOf=[dated])


def _preprint() -> Node:
    parts = {"parts": _ref("parts")}
    text = _table(
        "preprinted wording",
        {
            "what": _one_of(
                "plain wording, each part's own legend, or the stock's own number", "text", "legend", "number"
            ),
            "text": _text("the wording, or a specimen of the number", f"{_PLAIN}*"),
            "at": _ref("place"),
            "top": _ref("place"),
            "size": _ref("length"),
            "align": _one_of("which end or middle `at` is", "left", "centre", "right"),
            "bold": {"type": "boolean"},
            **parts,
        },
        ("at", "top"),
        allOf=[
            {
                "if": {"properties": {"what": {"const": "legend"}}, "required": ["what"]},
                "else": {"required": ["text"]},
            }
        ],
    )
    line = _table(
        "a preprinted line, across or down",
        {
            "left": _ref("place"), "top": _ref("place"), "right": _ref("place"), "bottom": _ref("place"),
            "width": _ref("size"), "height": _ref("size"), "thickness": _ref("length"), **parts,
        },
        ("left", "top"),
        **_either("width", "right", "height", "bottom"),
    )  # fmt: skip
    box = _area(
        "a preprinted frame",
        name=_ref("name"),
        drawn=_one_of("how it is printed; none is a frame only the checks know", "outline", "shade", "none"),
        thickness=_ref("length"),
        parts=_ref("parts"),
    )
    return _table(
        "what the stock carries before it is struck",
        {
            "text": {"type": "array", "items": text},
            "line": {"type": "array", "items": line},
            "box": {"type": "array", "items": box},
        },
    )
