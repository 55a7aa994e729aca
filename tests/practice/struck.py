"""A practice printer for tests: small forms of three inches, in any language, and the bytes of one."""

from language.pages import SHORT, STEPS, form_of

from cheque.language import HIGH_LETTERS, Printer, get
from cheque.practice import Mechanism, Sheet

LENGTH = SHORT.length


def _printer(language: str) -> Printer:
    """A printer that letters at bytes 80 to 9F were seen on, so that plain text can have them."""
    return Printer(language, STEPS[language][0], vouched=frozenset({HIGH_LETTERS}))


def mechanism(
    language: str = "escp9", *, memory: int = 1 << 16, sensor: bool = True, first: int | None = 501
) -> Mechanism:
    """A printer whose forms begin at 501."""
    made = Mechanism(get(language), _printer(language), LENGTH, memory=memory, sensor=sensor)
    if first is not None:
        made.load(first)
    return made


def form(number: int, language: str = "escp9") -> bytes:
    """The bytes of one form that carries its number."""
    page, printer = form_of(language), _printer(language)
    return get(language).encode(page.numbered(str(number)), SHORT, printer, LENGTH)


def struck(made: Mechanism, *numbers: int, language: str = "escp9") -> dict[int, Sheet]:
    """Send forms, and strike everything."""
    for number in numbers:
        made.take(form(number, language))
    made.strike(1 << 20)
    return {sheet.number: sheet for sheet in made.sheets()}


def says(sheet: Sheet) -> str:
    """The number struck on a form, "" when there is none."""
    found = [mark.text for mark in sheet.marks if mark.text.strip().isdigit()]
    return found[0].strip() if found else ""
