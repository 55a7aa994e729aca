"""Names in the order of an alphabet: the key by which payees and departments are sorted.

The order is that of the Unicode Collation Algorithm (UTS #10) with the root table of CLDR, for the characters that
printers have: blanks and marks before digits, digits before letters, an accented letter with its base letter, capitals
with small letters; and what Spanish and Polish change of it (CLDR's `collation/es.xml`, `pl.xml`). Two texts that are
the same so far go by their accents, then small letters before capitals, then by their code points, so that the order
never depends on where a line stood. Languages differ in that last step; here it is the same for all.
`tests/outside/test_collation.py` holds it against ICU.

>>> sorted(["Zoë", "Ærø", "Ay Li", "aylward", "Ayl"], key=key)
['Ærø', 'Ay Li', 'Ayl', 'aylward', 'Zoë']
>>> sorted(["Nuno", "Ñandu", "Oar"], key=lambda name: key(name, "es_ES"))
['Nuno', 'Ñandu', 'Oar']
"""

from functools import cache
from unicodedata import combining, normalize

_MARKS = " _‗-,;:!¡?¿.·'\"«»()[]{}§¶@*/\\&#%`´^¯˘˙¨˝¸˛ˇ°©®+±÷×<=>¬|¦~⁄¤¢$£¥₧₩€"
_LETTERS = "0123456789abcdefghiıjklmnopqrstuvwxyzþαβγδεζηθικλμνξοπρστυφχψωабвгґдеєжзиіїйклмнопрстуфхцчшщъыьэюя"
#: letters that sort as others, or as two
_AS = {"æ": "ae", "œ": "oe", "ß": "ss", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "ς": "σ"}
#: letters of their own although Unicode takes them apart, in every language
_WHOLE = frozenset("йї")
#: language -> letter -> the letter that it comes after
_AFTER = {
    "es": {"ñ": "n"},
    "pl": {"ą": "a", "ć": "c", "ę": "e", "ł": "l", "ń": "n", "ó": "o", "ś": "s", "ź": "z", "ż": "ź"},
}


def key(text: str, locale: str = "") -> str:
    """The key of a text; keys are compared by their code points. `locale` is as in `es_ES`, or "" for the root."""
    ranks = _ranks(locale.partition("_")[0])
    letters = normalize("NFC", text).lower()
    return "\0".join((letters.translate(ranks), letters, text.swapcase(), text))


class _Ranks(dict[int, str]):
    """Character -> what it sorts as, worked out when it is first met."""

    def __init__(self, language: str) -> None:
        own = _AFTER.get(language, {})
        order = _MARKS + _LETTERS
        for letter, before in own.items():
            order = order.replace(before, before + letter)
        self._whole = _WHOLE | set(own)
        self._rank = {letter: chr(place) for place, letter in enumerate(order, 1)}

    def __missing__(self, number: int) -> str:
        letter = chr(number)
        if letter in self._whole or letter in self._rank:
            found = self._rank[letter]
        elif letter in _AS:
            found = "".join(self._rank[one] for one in _AS[letter])
        else:
            bases = [one for one in normalize("NFKD", letter).lower() if not combining(one)]
            if bases and bases != [letter]:
                found = "".join(self[ord(one)] for one in bases)
            else:
                found = "" if combining(letter) else chr(0x1000 + number)  # after all that is known
        self[number] = found
        return found


@cache
def _ranks(language: str) -> _Ranks:
    return _Ranks(language)
