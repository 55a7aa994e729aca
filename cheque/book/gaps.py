"""After a backup was put back: the numbers up to the one at the head that nobody has accounted for yet."""

from cheque.book import stock
from cheque.book.book import Reader
from cheque.errors import BookRefused
from cheque.tongue import counted, tr


def unaccounted(reader: Reader) -> list[tuple[stock.Range, int, int]]:
    """Numbers of the gaps that are on hand as far as the book knows: the box, the first, the last of each range."""
    found = []
    for account, first, last in list(reader.rows("SELECT account, first, last FROM gap ORDER BY account, first")):
        box = stock.range_of(reader, account, first)
        found += [(box, start, end) for start, end in stock.on_hand(reader, box, first, last)]
    return found


def refuse_unaccounted(reader: Reader) -> None:
    """BookRefused, with what to do, while a number of a gap is not accounted for."""
    left = unaccounted(reader)
    if not left:
        return
    box, first, last = left[0]
    more = tr(" and {ranges}", ranges=counted(len(left) - 1, "more range")) if len(left) > 1 else ""
    raise BookRefused(
        tr(
            "the book was put back from a copy, and nobody has said yet what became of "
            "{account}:{first}-{last}{more}: nothing is printed before. Look at the paper: a number that "
            "bears a cheque is entered with `cheque manual NUMBER --payment BATCH:ITEM` (accept its register "
            "first, if the book lacks it), one that does not with `cheque spoil` or `cheque missing`.",
            account=box.account,
            first=box.text(first),
            last=box.text(last),
            more=more,
        )
    )
