"""The canonical text of a form definition, for the book and for its digest.

JSON with sorted keys and no blanks, lengths as whole numbers, everything that has its default left out: so
that a key added to the format later does not change the digest of the forms that do not use it.
"""

import hashlib
import json
import types
import typing
from dataclasses import MISSING, Field, fields, is_dataclass
from enum import StrEnum
from functools import cache
from typing import Any, cast

from cheque.form.model import Form
from cheque.tongue import tr


def to_text(form: Form) -> str:
    """The definition as canonical JSON; `from_text` gives an equal form."""
    return json.dumps(_body(form), sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def digest(form: Form) -> str:
    """SHA-256, as hex, of the canonical text in UTF-8."""
    return hashlib.sha256(to_text(form).encode()).hexdigest()


def from_text(text: str) -> Form:
    """The form that `to_text` wrote. ValueError when the text is not one."""
    try:
        return cast(Form, _value(Form, json.loads(text)))
    except (TypeError, KeyError, AttributeError) as error:
        raise ValueError(tr("not a form definition as the book keeps it: {error}", error=error)) from None


def _body(value: Any) -> Any:
    if is_dataclass(value):
        return {
            f.name: _body(getattr(value, f.name))
            for f in fields(value)
            if f.default is MISSING or getattr(value, f.name) != f.default
        }
    if isinstance(value, tuple):
        return [_body(item) for item in value]
    if isinstance(value, StrEnum):
        return str(value)
    return value


@cache
def _shape(kind: type) -> tuple[tuple[Field[Any], Any], ...]:
    hints = typing.get_type_hints(kind)
    return tuple((f, hints[f.name]) for f in fields(kind))


def _value(kind: Any, body: Any) -> Any:
    """A value of the annotated kind from what JSON gave."""
    if is_dataclass(kind) and isinstance(kind, type):
        known = {f.name: _value(hint, body[f.name]) for f, hint in _shape(kind) if f.name in body}
        if strange := sorted(body.keys() - known.keys()):
            raise KeyError(f"unknown {', '.join(strange)}")
        return kind(**known)
    if typing.get_origin(kind) is tuple:
        return tuple(_value(typing.get_args(kind)[0], item) for item in body)
    if isinstance(kind, types.UnionType):
        return None if body is None else _value(typing.get_args(kind)[0], body)
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind(body)
    if not isinstance(body, kind):
        raise TypeError(f"{body!r} is not {kind.__name__}")
    return body
