"""A book that is somewhere else than before: moved there by other means, or put back from a backup.

A backup does not know what was done after it was made. So the number now at the head of each printer is asked for:
those below it that the copy has on hand are a gap (`cheque.book.gaps`), to be accounted for before anything prints;
and every proof has to be looked at anew, for what waits in the copy may have been printed since.
"""

from collections.abc import Iterable
from typing import NamedTuple

from cheque.book import stock
from cheque.book import verify as verifying
from cheque.book.book import Book, Reader
from cheque.book.moving import Place, copy
from cheque.book.verify import wanted_digest
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import tr

Gap = tuple[str, int, int]


class Restored(NamedTuple):
    """What a restore left: the numbers to account for; whether the digest from the paper is in the book, or None."""

    gaps: list[Gap]
    known: bool | None


def moved_here(book: Book) -> None:
    """Somebody says that the book was moved here, and that nobody uses it where it was."""
    with book.change(strange=True) as change:
        change.append("book.placed", {"from": book.elsewhere, "to": book.server or str(book.place)})
    book.settle()


def gaps_below(reader: Reader, heads: Iterable[tuple[str, int]]) -> list[Gap]:
    """The numbers on hand below those now at the heads, as ranges; `heads` are (account, number), one for each box.

    One past the last number of a box means that the box is empty. UsageRefused while a box with forms on hand is not
    spoken of, or a number is of no box.
    """
    boxes = stock.ranges(reader)
    at: dict[int, int] = {}
    for account, number in heads:
        fit = [box for box in boxes if box.account == account and box.first <= number <= box.last + 1]
        inside = [box for box in fit if number <= box.last] or fit
        if not inside:
            raise UsageRefused(
                tr(
                    "found --next-number {account}:{number}, which is on no stock in the copy.",
                    account=account,
                    number=number,
                )
            )
        at[inside[0].id] = number
    free = {box.id: stock.on_hand(reader, box, box.first, box.last) for box in boxes}
    left = [box for box in boxes if free[box.id] and box.id not in at]
    if left:
        told = ", ".join(f"{box.account}:{box.text(box.first)}-{box.text(box.last)}" for box in left)
        raise UsageRefused(
            tr(
                "which number is at the head, or on top, of {told}? Give it with --next-number ACCOUNT:NUMBER "
                "for each box: its first number if nothing of it was used, the one after its last if nothing is "
                "left.",
                told=told,
            )
        )
    return [
        (box.account, first, min(last, at[box.id] - 1))
        for box in boxes
        for first, last in free[box.id]
        if first < at.get(box.id, 0)
    ]


def restored_here(book: Book, heads: Iterable[tuple[str, int]], *, digest: str = "") -> Restored:
    """The book is a copy that goes on as the book: note the gaps. `digest`: from the latest paper, or "".

    BookRefused when the copy is not whole; UsageRefused as `gaps_below`, or when the digest is none.
    """
    wanted = wanted_digest(digest)
    faults = verifying.verify(book)
    if faults:
        raise BookRefused(tr("the copy is not whole, so it is not put to use. Take another backup."), faults)
    gaps = gaps_below(book, heads)
    full = book.value("SELECT digest FROM event WHERE digest LIKE ? LIMIT 1", f"{wanted}%") if wanted else None
    with book.change(strange=True) as change:
        change.append(
            "book.restored",
            {"to": book.server or str(book.place), "digest": full or "", "gaps": [list(gap) for gap in gaps]},
        )
    book.settle()
    return Restored(gaps, bool(full) if wanted else None)


def restore(copy_of: Reader, target: Place, heads: Iterable[tuple[str, int]]) -> None:
    """Put a copy of a book where none is, once its heads are told; `restored_here` is then to be entered there."""
    faults = verifying.verify(copy_of)  # type: ignore[arg-type]
    if faults:
        raise BookRefused(tr("the backup is not whole. Take another."), faults)
    gaps_below(copy_of, heads)
    copy(copy_of, target)
