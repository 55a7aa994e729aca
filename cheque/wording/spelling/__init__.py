"""Whole numbers in words: one small file a language, composed from groups of three digits.

The words of a group (0 to 999) are num2words' own, which agree with ICU in every language used here but for
the slips each file names and mends; how groups are joined by thousands and millions is stated in the
language's file, because that is where num2words goes wrong. Every function takes the number and the form in
which it counts ("m", "f", "n": the gender of the noun that follows) and knows nothing of money.

Nothing here is shared with `cheque.wording.reading`, which reads the words back.
"""

import sys
from collections.abc import Callable
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType

_ALONE = f"{__name__}._num2words"


@cache
def group(language: str, number: int) -> str:
    """num2words' words for 0 to 999, without the commas that it puts between orders."""
    return str(_cardinal(language)(number)).replace(",", "")


@cache
def _cardinal(language: str) -> Callable[[int], str]:
    """num2words' own speller of one language.

    Its package reads in all of its sixty languages when it is imported, which takes a third of the time of a short
    command; so one language is imported by itself, in a package of our own that looks in the same folder. Where that
    cannot be done, the whole is imported.
    """
    try:
        if _ALONE not in sys.modules:
            found = find_spec("num2words")  # finds it, runs nothing of it
            alone = ModuleType(_ALONE)
            alone.__path__ = list(found.submodule_search_locations or ()) if found else []
            sys.modules[_ALONE] = alone
        module = import_module(f"{_ALONE}.lang_{language.upper()}")
        cardinal: Callable[[int], str] = getattr(module, f"Num2Word_{language.upper()}")().to_cardinal
    except (ImportError, AttributeError, ValueError):
        from num2words import num2words

        return lambda number: str(num2words(number, lang=language))
    return cardinal
