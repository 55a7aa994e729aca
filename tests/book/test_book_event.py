"""An event has one text and one digest, and no two different events have the same."""

import hashlib
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.book.event import GENESIS, Event, canonical, digest_of, packed, pages_digest, payments_digest, unpacked

words = st.text('ab1é€𐀀"\\\n\x00\x7f\u2028 {}[]:,', max_size=6)
whole = st.integers(-(2**63) + 1, 2**63 - 1)
bodies = st.dictionaries(
    words, st.recursive(words | whole, lambda inner: st.lists(inner) | st.dictionaries(words, inner), max_leaves=5)
)


@settings(deadline=None, max_examples=60)
@given(bodies)
def test_a_body_reads_back_as_what_was_written(body: dict[str, object]) -> None:
    text = canonical(body)
    assert Event(1, "", "", "", "", text, "", "").data == body
    assert canonical(json.loads(text)) == text


@settings(deadline=None, max_examples=60)
@given(bodies)
def test_a_body_has_one_text_whatever_the_order_of_its_keys(body: dict[str, object]) -> None:
    assert canonical(dict(reversed(body.items()))) == canonical(body)


@pytest.mark.parametrize("value", [1.5, True, None, b"bytes", {1: "a key that is no text"}, [0.1], {"deep": [None]}])
def test_a_body_holds_text_and_whole_numbers_only(value: object) -> None:
    with pytest.raises(TypeError):
        canonical({"reason": value})


def test_half_a_surrogate_pair_is_no_text() -> None:
    with pytest.raises(ValueError, match="bytes of another encoding"):
        canonical({"reason": "torn \udce9"})
    with pytest.raises(ValueError, match="bytes of another encoding"):
        canonical({"torn \udce9": "reason"})


@pytest.mark.parametrize("number", [2**63, -(2**63)])
def test_a_number_beyond_64_bits_is_refused(number: int) -> None:
    with pytest.raises(ValueError, match="too large"):
        canonical({"total": number})


parts = st.tuples(st.integers(1, 10**6), words, words, words, words, words, words)


@settings(deadline=None, max_examples=300)
@given(parts, parts)
def test_two_different_events_never_have_the_same_digest(one: tuple, other: tuple) -> None:  # type: ignore[type-arg]
    assert (digest_of(*one) == digest_of(*other)) == (one == other)


def test_moving_letters_from_one_part_to_the_next_changes_the_digest() -> None:
    one = digest_of(1, "2026", "clerk", "counter", "form.spoiled", "{}", GENESIS)
    other = digest_of(1, "2026", "clerkc", "ounter", "form.spoiled", "{}", GENESIS)
    assert one != other


def test_the_digest_is_sha_256_over_a_tag_and_each_part_with_its_length() -> None:
    """FIPS 180-4's function, over the serial form that `cheque.book.event` states, written out by hand."""
    plain = b"cheque event 1\n1:74:20264:Zo\xc3\xab0:1:k2:{}1:p"
    assert digest_of(7, "2026", "Zo\u00eb", "", "k", "{}", "p") == hashlib.sha256(plain).hexdigest()


lists = st.lists(st.tuples(st.integers(0, 10**6), words), max_size=5)


@settings(deadline=None, max_examples=200)
@given(lists, lists)
def test_two_different_lists_never_have_the_same_digest(
    one: list[tuple[int, str]], other: list[tuple[int, str]]
) -> None:
    assert (payments_digest(one) == payments_digest(other)) == (one == other)
    assert (pages_digest(one) == pages_digest(other)) == (one == other)


def test_payments_and_pages_are_not_digested_alike() -> None:
    assert payments_digest([(1, "a")]) != pages_digest([(1, "a")])


@settings(deadline=None, max_examples=30)
@given(st.lists(st.binary(min_size=32, max_size=32), min_size=1, max_size=4))
def test_page_digests_are_packed_and_unpacked_without_loss(digests: list[bytes]) -> None:
    text = " ".join(digest.hex() for digest in digests)
    assert packed(text) == b"".join(digests)
    assert unpacked(packed(text)) == text


@pytest.mark.parametrize("text", ["", "x", "ab", "AB" * 32, "ab" * 33, "ab" * 32 + "  " + "ab" * 32, " " + "ab" * 32])
def test_what_is_no_list_of_digests_is_not_packed(text: str) -> None:
    with pytest.raises(ValueError, match="hexadecimal"):
        packed(text)
