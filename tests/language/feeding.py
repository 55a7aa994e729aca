"""A carton of 10,000 forms, fed in every language and step: the rows of the documents' table."""

from cheque.language import Look, Printer, get
from cheque.page import feed_steps
from cheque.units import INCH, read_length, write_length

FORMS = 10_000
LENGTHS = ("3 1/2 in", "3 2/3 in", "4 in", "7 in", "92 mm", "102 mm")
PRINTERS = (
    Printer("escp9", INCH // 216),
    Printer("escp9", INCH // 72),
    Printer("escp24", INCH // 180),
    Printer("escp24", INCH // 360),
    Printer("ppds", INCH // 216),
    Printer("ppds", INCH // 180, without=frozenset({"216ths"})),
    Printer("ppds", INCH // 72),
    Printer("plain", INCH // 6),
)


def largest_error(length: int, printer: Printer) -> int | None:
    """Units the paper is off by, at most, after each of the carton's forms, by what the bytes feed.

    None when the language refuses the form.
    """
    language, look = get(printer.language), Look(length, INCH // 6)
    if language.cannot(look, (), printer):
        return None
    fed: dict[int, int] = {}  # the two feeds there are: bytes are the same for the same feed
    at = worst = 0
    for k in range(FORMS):
        advance = feed_steps(length, printer.step, k) * printer.step
        if advance not in fed:
            fed[advance] = language.decode(language.encode((), look, printer, advance), printer).advance
        at += fed[advance]
        worst = max(worst, abs((k + 1) * length - at))
    return worst


def rows() -> list[str]:
    """The table, as in docs/printer-languages.md."""
    found = [
        "| language | true step | " + " | ".join(LENGTHS) + " |",
        "| --- | --- |" + " --- |" * len(LENGTHS),
    ]
    for printer in PRINTERS:
        errors = [largest_error(read_length(length), printer) for length in LENGTHS]
        shown = ["refused" if e is None else "none" if e == 0 else of_a_step(e, printer.step) for e in errors]
        found.append(f"| {printer.language} | {write_length(printer.step)} | " + " | ".join(shown) + " |")
    return found


def of_a_step(error: int, step: int) -> str:
    """A length as thousandths of a step, rounded up."""
    return f"{-(-1000 * error // step) / 1000:.3f} step"
