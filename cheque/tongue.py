"""The language the tool speaks in: every message is marked with `tr`, and looked up where there is a translation.

What is marked is what a person reads: talk, questions, refusals, reports. Never marked are what is struck on a form,
what a program reads in the book or the bank in a file, the names of commands, options, columns and keys, and what a
script reads (JSON, CSV): they are the same in every language. Nothing is looked up until `speak` is called; English
is what stands in the code. `cheque.tongues` finds the translations on disk; `docs/translating.md` says how to make
one.

>>> tr("{count} of {total} sent", count=3, total=24)
'3 of 24 sent'
>>> counted(1, "form"), counted(0, "form"), counted(24, "form")
('1 form', '0 forms', '24 forms')
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Catalogue(Protocol):
    """A translation, as the standard library's `gettext` has it."""

    def gettext(self, message: str) -> str:
        """The message in this language, or as it is."""

    def ngettext(self, one: str, many: str, number: int) -> str:
        """The form of the message for so many, by the language's own rule of plurals."""


#: the translation in use; none for English
_spoken: list[Catalogue] = []
#: the language spoken, as BCP 47 writes it
_name = ["en"]


def speak(catalogue: Catalogue | None, language: str = "en") -> None:
    """From now on, speak by this translation, `language` being its name; None: English."""
    _spoken[:] = [catalogue] if catalogue else []
    _name[0] = language.replace("_", "-") if catalogue else "en"


def language() -> str:
    """The language spoken, as a page says it of itself: en, fr, fr-CA."""
    return _name[0]


@contextmanager
def english() -> Iterator[None]:
    """Speak English meanwhile: for what a script reads, or the bank."""
    kept, name = list(_spoken), _name[0]
    speak(None)
    try:
        yield
    finally:
        _spoken[:], _name[0] = kept, name


def tr(message: str, /, **places: object) -> str:
    """The message in the language spoken, its places filled as `str.format` does.

    Without `places` nothing is filled, and braces stand for themselves. A message of nothing is nothing.
    """
    if _spoken and message:
        message = _spoken[0].gettext(message)
    return message.format(**places) if places else message


def mark(message: str) -> str:
    """A message that is said later, by `tr`: marked where it stands, in a table made when its module is imported."""
    return message


def heading(*titles: str) -> list[str]:
    """The titles of a table's columns."""
    return [tr(title) for title in titles]


def speaks() -> bool:
    """Whether a language other than English is spoken."""
    return bool(_spoken)


def yes_or_no(text: str) -> bool | None:
    """What was typed for yes or no, in English or in the language spoken; None when it is neither.

    >>> yes_or_no("Yes"), yes_or_no("no"), yes_or_no("y")
    (True, False, None)
    """
    word = text.strip().lower()
    if word in ("yes", tr("yes")):
        return True
    return False if word in ("no", tr("no")) else None


def counted(number: int, what: str) -> str:
    """1 form, 2 forms: as many of a thing as there are, `what` being one of them in English."""
    one, many = "{number} " + what, "{number} " + what + "s"
    if _spoken:
        return _spoken[0].ngettext(one, many, number).format(number=number)
    return (one if number == 1 else many).format(number=number)
