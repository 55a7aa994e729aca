"""No garbage gets through: what passes the check strikes the same on every printer, whatever state it was in.

`carriage` is a printer apart from the tool's decoder: it is run from different starts and with the habits in
which models differ. A stream passes when all of them agree. A changed byte that still passes is harmless:
one CR more or less where the head stands at the first column; a setting that nothing struck depends on
before it is set again; draft for letter quality, or one direction for two; the form length, which only the
front panel's form feed uses; a national set that changes no letter on the form.
"""

import random
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language.carriage import Garbage, struck_on_all
from language.pages import SHORT as LOOK
from language.pages import SIXTH, STEPS, any_pages, cells, form_of, plain_pages, printers

from cheque.language import NAMES, DecodeError, Look, Printer, get
from cheque.page import Shift
from cheque.prove import ProofError, check_form, laid_out_digest
from cheque.units import INCH

EVERY = pytest.mark.parametrize("name", NAMES)
EACH_PRINTER = pytest.mark.parametrize("printer", [p for name in NAMES for p in printers(name)], ids=str)


@EACH_PRINTER
@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_form_strikes_the_same_on_printers_left_in_any_state(printer, data):
    name = printer.language
    marks = data.draw(plain_pages() if name == "plain" else any_pages(printer.step))
    language, look = get(name), Look(7 * INCH, SIXTH)
    marks = tuple(m for m in marks if not language.cannot(look, (m,), printer))
    if language.cannot(look, marks, printer):
        return
    sent = language.encode(marks, look, printer, look.length)
    assert struck_on_all(sent, name, printer) == (cells(marks, name), look.length)


@EVERY
def test_no_single_byte_changed_dropped_or_doubled_strikes_anything_else(name):
    language, printer, page = get(name), printers(name)[0], form_of(name)
    marks = page.numbered("100501")
    sent = language.encode(marks, LOOK, printer, LOOK.length)
    right = (cells(marks, name), LOOK.length)
    assert struck_on_all(sent, name, printer) == right
    some = random.Random(f"one byte of {name}")
    passed = refused = 0
    for place, byte in enumerate(sent):
        others = {byte ^ 1 << bit for bit in range(8)} | {some.randrange(256) for _ in range(8)} - {byte}
        for instead in [b"", bytes([byte, byte]), *(bytes([other]) for other in others)]:
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
                    page_digest=laid_out_digest(page),
                )
            except ProofError:
                refused += 1
                continue
            passed += 1
            assert struck_on_all(changed, name, printer) == right, (place, instead)
    assert refused > 20 * passed > 0


@EVERY
@settings(max_examples=200, deadline=None)
@given(st.data())
def test_what_the_decoder_reads_is_what_every_printer_strikes(name, data):
    """For streams that are not ours: pieces of them in any order."""
    language, printer = get(name), printers(name)[0]
    sent = language.encode(form_of(name).numbered("7"), LOOK, printer, LOOK.length)
    cuts = sorted(data.draw(st.lists(st.integers(0, len(sent)), min_size=2, max_size=8)))
    pieces = [sent[a:b] for a, b in pairwise(cuts)]
    stream = sent[: data.draw(st.sampled_from([0, cuts[0], len(sent)]))] + b"".join(data.draw(st.permutations(pieces)))
    try:
        strikes = language.decode(stream, printer)
    except DecodeError:
        return
    assert struck_on_all(stream, name, printer) == (cells(strikes.marks, name), strikes.advance)


@pytest.mark.parametrize("byte", [0x11, 0x13, 0x1A])
@pytest.mark.parametrize("name", ["escp9", "escp24", "ppds"])
def test_flow_control_is_refused_even_as_a_number(name, byte):
    language, printer = get(name), Printer(name, STEPS[name][0])
    sent = language.encode((), LOOK, printer, LOOK.length)
    place = sent.index(b"\x1bC") + 2
    with pytest.raises(DecodeError, match="flow control"):
        language.decode(sent[:place] + bytes([byte]) + sent[place + 1 :], printer)


def test_the_printer_of_these_tests_does_tell_states_apart():
    printer = Printer("escp9", INCH // 216)
    for unset in (b"\r\x1b@x\r", b"\r\x1bP\x12\x1bF\x1bH[\r", b"\r" + 4 * b"\x1bJ\xd8"):
        with pytest.raises(Garbage, match="different"):
            struck_on_all(unset, "escp9", printer)
