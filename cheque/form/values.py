"""Small values out of a form definition: lists, names of weights, text that may be printed."""

import unicodedata
from collections.abc import Callable
from typing import Any

from cheque.page import Weight
from cheque.tomlfile import Checker
from cheque.tongue import tr

#: weight as written in a definition -> as struck
WEIGHTS = {
    "normal": int(Weight.NORMAL),
    "double": int(Weight.DOUBLE),
    "bold": int(Weight.BOLD),
    "double bold": int(Weight.DOUBLE | Weight.BOLD),
}


def printable(text: str) -> str:
    """Text with nothing in it that could steer a printer. ValueError naming the first such character."""
    for character in text:
        if unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}:
            raise ValueError(tr("U+{ord:04X}, which is no printable character", ord=ord(character)))
    return text


def take_list(
    table: Checker,
    key: str,
    choices: list[Any] | None,
    convert: Callable[[str], Any],
    default: tuple[Any, ...],
    wanted: str = "",
) -> tuple[Any, ...]:
    """A list of texts, each converted and among the choices; each that is not is a fault of its own."""
    found: list[Any] = []
    asked = wanted or tr("a list of {list}", list=", ".join(str(c) for c in choices or ()))
    for item in table.take(key, list, None, wanted=asked) or []:
        if not isinstance(item, str):
            table.fault(key, repr(item), tr("text in quotes"))
            continue
        if choices is not None and item not in [str(c) for c in choices]:
            table.fault(
                key, repr(item), tr("one of ") + (", ".join(str(c) for c in choices) or tr("none, as there are none"))
            )
            continue
        if item in table.table[key][: table.table[key].index(item)]:
            continue
        try:
            found.append(convert(item))
        except ValueError as error:
            table.fault(key, str(error), asked)
    if key in table.table and not table.table[key]:
        table.fault(key, tr("an empty list"), asked, tr("take the key out, or name at least one"))
    return tuple(found) or default
