"""What is kept from form to form changes nothing: the quick ways give what the way from nothing gives, or give up."""

import random

import pytest
from campaign import fuzz_decoders
from hypothesis import given, settings
from hypothesis import strategies as st
from language.pages import SIXTH, TENTH, any_pages, looks, printers
from language.test_decoder_fuzzing import mutated
from language.test_languages import LOOK, PAY

from cheque.language import DecodeError, LanguageError, get, reading, writing
from cheque.units import INCH

ESC = ("escp9", "escp24", "ppds")
EACH_PRINTER = pytest.mark.parametrize("printer", [p for name in ESC for p in printers(name)], ids=str)


def judged(work, *arguments):
    """What a piece of work gives, or what it refuses with."""
    try:
        return work(*arguments)
    except LanguageError as error:
        return f"{type(error).__name__}: {error}"


def test_a_stream_reads_by_its_frame_as_it_reads_token_by_token():
    some = random.Random("frames")
    inputs = fuzz_decoders.seeds() + fuzz_decoders.read_corpus()
    quick = refused = 0
    for _ in range(4000):
        data = mutated(some, inputs) or b"\0"
        printer = fuzz_decoders.printers()[data[0] % len(fuzz_decoders.printers())]
        if printer.language == "plain":
            continue
        reader = reading.reader_of(get(printer.language).repertoire, printer)
        stream = data[1:].decode("latin-1")
        slow = judged(reader._by_tokens, stream)
        for _ in range(2):  # worked out, then kept
            fast = reader._by_frame(stream)
            assert fast in (None, slow)
        quick += fast is not None
        refused += fast is None and isinstance(slow, str)
    assert quick > 50
    assert refused > 200


@EACH_PRINTER
@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_form_written_into_a_mould_is_the_form_written_mark_by_mark(printer, data):
    look = data.draw(looks())
    first = data.draw(any_pages(printer.step))
    new_text = st.text(alphabet="abc xyz%é\x07", min_size=0, max_size=16)
    second = tuple(mark._replace(text=data.draw(new_text)) for mark in first)
    advance = look.length // printer.step * printer.step
    repertoire = get(printer.language).repertoire
    hand = writing.Hand(repertoire, look, printer)
    for marks in (first, first, first, second, second[::-1], second[::-1], second[::-1]):
        anew = judged(writing.Hand(repertoire, look, printer).write, marks, advance)
        assert judged(hand.write, marks, advance) == anew


@EACH_PRINTER
def test_no_more_moulds_and_frames_are_kept_than_there_is_room_for(printer, monkeypatch):
    monkeypatch.setattr(writing, "_MOULDS_KEPT", 3)
    monkeypatch.setattr(reading, "_MOST_FRAMES", 3)
    language = get(printer.language)
    hand = writing.Hand(language.repertoire, LOOK, printer)
    reader = reading.Reader(language.repertoire, printer)
    for column in range(20):
        marks = (PAY._replace(x=column * TENTH), PAY._replace(y=PAY.y + 4 * SIXTH))
        stream = hand.write(marks, 7 * INCH)
        assert reader.read(stream).marks == marks
        assert len(hand._mould_kept) <= 3
        assert len(reader._frames) <= 3


def test_a_byte_that_no_decoder_knows_is_refused_at_its_place_after_a_thousand_good_forms():
    (printer, *_) = printers("escp9")
    language = get("escp9")
    good = language.encode((PAY,), LOOK, printer, 7 * INCH)
    for _ in range(1000):
        assert language.decode(good, printer).marks == (PAY,)
    with pytest.raises(DecodeError) as refused:
        language.decode(good.replace(b"J.", b"J\x07"), printer)
    assert refused.value.offset == good.index(b"J.") + 1
