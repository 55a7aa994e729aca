"""The styles, one small file a locale.

To add one: copy the file nearest to it, change the data, add its name to `LOCALES`, and run the tests in
`tests/wording/` and `tests/outside/`. A language not yet here needs a file in `spelling/`, one in `reading/` and
one in `names/` as well. A style that does not read back, or that no reference bears out, is not shipped: its
language goes to `REFUSED` with the reason.
"""

from functools import cache
from importlib import import_module
from typing import cast

from cheque.wording.style import Style

LOCALES = (
    "de_CH",
    "de_DE",
    "en_CA",
    "en_GB",
    "en_IN",
    "en_US",
    "es_ES",
    "es_MX",
    "fr_BE",
    "fr_CA",
    "fr_CH",
    "fr_FR",
    "it_IT",
    "nl_NL",
    "pl_PL",
    "pt_BR",
    "pt_PT",
)

#: language -> its name, and why no style of it is offered
REFUSED = {
    "tr": (
        "Turkish",
        'num2words 0.5.14 drops a word: 631,536 comes out as "altıyüzotuzbinbeşyüzotuzaltı", which is 630,536; '
        "it stays refused until its words are mended and proven to read back",
    ),
}


@cache
def get(locale: str) -> Style:
    """The style of that locale; KeyError when there is none."""
    if locale not in LOCALES:
        raise KeyError(locale)
    return cast(Style, import_module(f"cheque.wording.styles.{locale.lower()}").STYLE)
