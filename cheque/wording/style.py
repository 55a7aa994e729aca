"""The shape of a style: how one country writes the legal amount, as data.

A style lists phrases, not rules in code. A phrase has these blanks to fill:

    {whole}    the whole number spelled, agreeing with the unit's gender
    {unit}     the currency's name, in the form that the number asks for
    {part}     the number of minor units spelled        {minor}  their name
    {figures}  the number of minor units in digits, with leading noughts
    {over}     how many minor units make one unit: 100, 1000

The composition (`cheque.wording.compose`) fills the phrases; the proof (`cheque.wording.proof`) takes a finished
text apart along the same phrases, by code of its own, and reads the numbers back.
"""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from cheque.wording.letters import Substitute
from cheque.wording.reading.grammar import Fold, Reader


class Name(NamedTuple):
    """What a currency is called. Forms stand in the order of the language's `unit_form`.

    unit: the forms of the unit ("pound", "pounds"). gender: what numbers before it agree with.
    minor: the forms of the minor unit ("penny", "pence"), or nothing where it is written as a fraction.
    alone: those forms where no unit stands beside them and they could be mistaken ("US cents").
    """

    unit: tuple[str, ...]
    gender: str = "m"
    minor: tuple[str, ...] = ()
    minor_gender: str = "m"
    alone: tuple[str, ...] = ()


class Phrases(NamedTuple):
    """The phrase for an amount with both units, with no minor units, and with minor units only.

    shorter: other lawful phrases for an amount with both, used when the first does not fit its field.
    """

    both: str
    whole: str
    part: str
    shorter: tuple[str, ...] = ()


def always(phrase: str) -> Phrases:
    """The same phrase for every amount: the way of a fraction ("and 00/100")."""
    return Phrases(phrase, phrase, phrase)


class Style(NamedTuple):
    """How one country writes the legal amount.

    locale: "en_US". language: its name, for people. practice: whose practice this is; its source.
    words: phrases for currencies whose minor unit has a name. fraction: for the others.
    undivided: the phrase for a currency without minor units (JPY).
    special: phrases for single currencies, before all those (a currency preprinted on the form).
    spell, unit_form: from `spelling`. reader: from `reading`; the two must not share code.
    brief: a shorter way to spell some whole numbers, or nothing.
    capitals: "first" letter of the whole, or of "each" word but *and*.
    group, point: marks of the figures. lakh: group by twos above a thousand.
    substitutes: how letters may be replaced where a printer lacks them, by the names of the settings.
    second: the language in which text2num reads every number of this style too, or "".
    """

    locale: str
    language: str
    practice: str
    names: Mapping[str, Name]
    words: Phrases
    fraction: Phrases
    undivided: str
    spell: Callable[[int, str], str]
    unit_form: Callable[[int], int]
    reader: Callable[[Fold], Reader]
    special: Mapping[str, Phrases] = {}
    brief: Callable[[int, str], str | None] | None = None
    capitals: str = "first"
    group: str = ","
    point: str = "."
    lakh: bool = False
    substitutes: Mapping[str, Substitute] = {}
    second: str = ""


def phrases(style: Style, currency: str, digits: int) -> Phrases:
    """The phrases that a style has for a currency with so many digits of minor units."""
    if currency in style.special:
        return style.special[currency]
    if not digits:
        return always(style.undivided)
    return style.words if style.names[currency].minor else style.fraction
