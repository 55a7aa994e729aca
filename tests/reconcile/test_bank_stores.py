"""A statement entered and judged gives the same on a book in a file and on one on a server."""

from pathlib import Path

from book.quillmere import printed
from book.server import on_both as on_both

from cheque.bank.statement import Foot, Head, StatementEntry
from cheque.book import cheques, verify
from cheque.reconcile.balance import Keyed, sheet
from cheque.reconcile.bank import find
from cheque.reconcile.intake import Ours, take
from cheque.reconcile.judge import Rules


def test_a_statement_is_entered_judged_and_reconciled_on_either_store(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    with book:
        cheques.void(book, account="main", number=100505, reason="wrong", paper="in hand")
        entries = [
            StatementEntry("2026-12-01", -81_247, "100501"),
            StatementEntry("2026-12-01", -81_245, "100502"),
            StatementEntry("2026-12-02", -81_275, "100505"),
            StatementEntry("2026-12-02", -500, "77"),
            StatementEntry("2026-12-03", 81_261, "100503", reversal=True),
            StatementEntry("2026-12-31", -1500, about="fee"),
        ]
        total = sum(entry.amount for entry in entries)
        pieces = [Head("S", "", "USD", "2026-12-01", "2026-12-31", 500_000, 500_000 + total), *entries, Foot()]
        (taken,), _ = take(book, pieces, Ours("main", "USD"), "s")
        assert (taken.fresh, taken.entries) == (6, 6)
        assert take(book, pieces, Ours("main", "USD"), "s")[0][0].fresh == 0
        finding = find(book, "main", Rules("USD", 180), "2026-12-01", "2026-12-31")
        assert [(line.item.number, [one.kind for one in line.wrong]) for line in finding.lines] == [
            (100502, ["amount"]),
            (77, ["never issued"]),
            (100505, ["voided"]),
            (100503, ["taken back"]),
        ]
        made = sheet(
            book,
            "main",
            "USD",
            "2026-12-31",
            bank=taken.closing,
            ledger=500_000 - sum((81_247, 81_254, 81_261, 81_268, 81_282)) + 81_261,
            to_enter=[Keyed("2026-12-31", -1500, "fee")],
            others=finding.others,
        )
        assert [type(number) for number in (made.outstanding, made.to_put_right, made.difference)] == [int, int, int]
        assert (made.cheques_out, made.wrong, made.difference) == (3, 4, -81_261)
        assert made.explanations[0].startswith("The difference is the same as cheque 100503, Cora Selwick")
        assert verify.verify(book) == []
