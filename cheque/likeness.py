"""When two invoices are the same invoice: vendor and number, whatever they are paid with and however they are keyed.

An invoice is paid twice because it is keyed twice: once as `INV-00417`, once as `inv 417`. So the number is compared
without case, blanks, punctuation and leading zeros (those of the number, and those right after its letters), and the
vendor's name without case, blanks, punctuation and accents. That these are what differs when an invoice is keyed again
is common practice of accounts payable.
"""

import re
from functools import lru_cache
from hashlib import blake2b
from unicodedata import normalize

from cheque.payment import Kind, Payment

_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")


@lru_cache(1024)
def plain_number(text: str) -> str:
    """An invoice's number as it is compared.

    >>> plain_number("INV-00417"), plain_number("inv 417"), plain_number("0000"), plain_number("2026/11/001")
    ('inv417', 'inv417', '0', '202611001')
    """
    return _ZEROS.sub("", "".join(filter(str.isalnum, normalize("NFKC", text).casefold())))


@lru_cache(1024)
def plain_name(text: str) -> str:
    """A vendor's name as it is compared.

    >>> plain_name("Thornquay & Söhne, Ltd."), plain_name("THORNQUAY+SOHNE LTD")
    ('thornquaysohneltd', 'thornquaysohneltd')
    """
    return "".join(filter(str.isalnum, normalize("NFKD", text).casefold()))


def invoice_key(payee: str, number: str, *, credit: bool = False) -> int:
    """A whole number of 63 bits that is the same for the same invoice (BLAKE2b, RFC 7693).

    A credit note may bear the number of the invoice that it corrects, and is another paper.
    """
    name = plain_name(payee) or payee
    same = f"{name}\0{plain_number(number) or number}{chr(0) if credit else ''}".encode(errors="surrogatepass")
    return int.from_bytes(blake2b(same, digest_size=8).digest(), "big") >> 1


def invoices(payment: Payment) -> dict[int, str]:
    """The keys of a payment's invoices, each with the number as it is written there."""
    return {
        invoice_key(payment.payee, line.text, credit=(line.amount or 0) < 0): line.text
        for line in payment.stub
        if line.kind is Kind.INVOICE
    }
