"""Every byte of a form changed to every other, dropped and doubled: refused, or strikes the same everywhere.

    .venv/bin/python tests/campaign/every_byte.py

The exhaustive form of `language/test_garbage.py`, for every language. Prints a table; exit status 1 when a change
that passes the check before sending strikes anything else on some printer.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))


def tried(name: str) -> tuple[int, int, int, list[str]]:
    """Bytes of the form, changes refused, changes passed, and those that passed wrongly."""
    from language.carriage import Garbage, struck_on_all
    from language.pages import SHORT as LOOK
    from language.pages import STEPS, cells, form_of

    from cheque.language import Printer, get
    from cheque.page import Shift
    from cheque.prove import ProofError, check_form, laid_out_digest

    language, printer, page = get(name), Printer(name, STEPS[name][0]), form_of(name)
    marks = page.numbered("100501")
    sent, right, digest = (
        language.encode(marks, LOOK, printer, LOOK.length),
        (cells(marks, name), LOOK.length),
        laid_out_digest(page),
    )
    refused = passed = 0
    wrong = []
    for place, byte in enumerate(sent):
        others = [bytes([other]) for other in range(256) if other != byte]
        for instead in [b"", bytes([byte, byte]), *others]:
            changed = sent[:place] + instead + sent[place + 1 :]
            try:
                check_form(
                    changed,
                    language,
                    printer,
                    slots=page.slots,
                    number="100501",
                    shift=Shift(),
                    advance=LOOK.length,
                    page_digest=digest,
                )
            except ProofError:
                refused += 1
                continue
            passed += 1
            try:
                same = struck_on_all(changed, name, printer) == right
            except Garbage:
                same = False
            if not same:
                wrong.append(f"{name}: byte {place} ({byte:02X}) as {instead.hex() or 'nothing'}")
    return len(sent), refused, passed, wrong


def main() -> int:
    """Print the table."""
    from cheque.language import NAMES

    print(
        "| language | bytes of the form | changes tried | refused | pass and strike the same | strike anything else |"
    )
    print("| --- | --- | --- | --- | --- | --- |")
    every = []
    for name in NAMES:
        size, refused, passed, wrong = tried(name)
        every += wrong
        print(f"| {name} | {size} | {refused + passed:,} | {refused:,} | {passed - len(wrong)} | {len(wrong)} |")
    print(*every, sep="\n")
    return 1 if every else 0


if __name__ == "__main__":
    sys.exit(main())
