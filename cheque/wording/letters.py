"""Letters that a printer may lack: what each language accepts in their place, and marks of locale data.

A substitute is chosen by name in the settings, never in silence; without one every letter stays, and a form
whose printer lacks it is refused elsewhere. The reader folds its own words by the same table of letters, so
that what is read back is the very text that will be struck.
"""

from collections.abc import Mapping
from typing import NamedTuple

#: Marks that locale data put into numbers, and what a character table of the trade has for them.
MARKS = {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2019": "'", "\u2212": "-"}
_MARKS = str.maketrans(MARKS)


class Substitute(NamedTuple):
    """One accepted way to do without some letters. `capitals`: the whole text is put in capitals."""

    meaning: str
    letters: Mapping[str, str]
    capitals: bool = False


GERMAN = {
    "digraphs": Substitute(
        "ae, oe, ue and ss for ä, ö, ü and ß, as passports and typewriters have it "
        "(amtliche Regelung der deutschen Rechtschreibung, § 25 E2 for ß; DIN 5007; from memory)",
        {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"},
    )
}
FRENCH = {
    "plain-capitals": Substitute(
        "capitals throughout, without accents: tolerated where the accented capital is lacking "
        "(the Académie française prefers the accent; from memory)",
        dict(zip("àâäçéèêëîïôöùûüÿ", "aaaceeeeiioouuuy", strict=True)),
        capitals=True,
    )
}
SPANISH = {
    "plain-capitals": Substitute(
        "capitals throughout, without accents: tolerated where the accented capital is lacking "
        "(the Real Academia Española asks for the accent; from memory); ñ stays, a letter of its own",
        dict(zip("áéíóúü", "aeiouu", strict=True)),
        capitals=True,
    )
}
ITALIAN = {
    "apostrophes": Substitute(
        "an apostrophe after the vowel for its accent at the end of a word (ventitre'): common practice on typewriters",
        {"é": "e'", "è": "e'", "à": "a'", "ì": "i'", "ò": "o'", "ù": "u'"},
    )
}


def plain(text: str) -> str:
    """Text with the no-break spaces, the typographer's apostrophe and the minus sign of locale data mapped."""
    return text.translate(_MARKS)


def small(text: str, substitute: Substitute | None) -> str:
    """Words in small letters, with the letters replaced: how a reader folds its own words."""
    text = text.lower()
    return text.translate(_table(substitute)) if substitute else text


def struck(text: str, substitute: Substitute | None) -> str:
    """The text as it will be struck, with the letters replaced, capitals as capitals."""
    if not substitute:
        return text
    if substitute.capitals:
        return text.lower().translate(_table(substitute)).upper()
    return text.translate(_table(substitute))


def _table(substitute: Substitute) -> dict[int, str]:
    both = dict(substitute.letters)
    for letter, other in substitute.letters.items():
        if len(letter.upper()) == 1:  # ß has no capital of its own
            both[letter.upper()] = other.capitalize()
    return str.maketrans(both)
