"""Reports made up for the renderers, with names that no register should hold."""

from cheque.report.page import (
    Column,
    Digest,
    Fact,
    Group,
    Kind,
    Money,
    Place,
    Report,
    Table,
    Total,
)

HOSTILE = (
    '=HYPERLINK("http://nowhere.invalid";"Ay Li")',
    "+1-1",
    "-2+3",
    "@SUM(1+9)*cmd|' /C calc'!A0",
    "\t=1+1",
    "\r=1+1",
    "  =1+1",
    "'=1+1",
    "＝1+1",
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</td></table><h1>Paid",
    "&lt;b&gt; &amp; &#x41;",
    "Ay \u202eiL\u202c",
    "\x1b[2J\x1b]0;owned\x07",
    "\x0cAy Li",
    "Ay\x00Li",
    "李爱",
    "W" * 300,
    'l\'Écureuil, "le Grand"; Cie\\n',
)
COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("reason", "Reason", place=Place.BELOW),
    Column("account", place=Place.DATA),
)


def with_payees(payees: tuple[str, ...]) -> Report:
    """A report with each text as a payee, a reason, a fact, a title, a note, and whatever else is free text."""
    rows = tuple(
        (f"{100501 + place:06d}", payee, Money(place * 100 - 250, "USD"), payee, payee)
        for place, payee in enumerate(payees)
    )
    total = Money(sum(row[2].minor for row in rows), "USD")
    totals = (Total(payees[-1], (None, None, total, None, None)),)
    return Report(
        "sample",
        payees[0],
        payees[0],
        "2026-11-27 12:00",
        "2026-11-27 12:01",
        facts=(*(Fact("payee", payee, payee) for payee in payees), Fact("digest", "Digest", Digest("ab" * 32))),
        tables=(Table("cheques", payees[0], COLUMNS, (Group(payees[0], rows, totals),), totals, notes=payees),),
        notes=payees,
        signatures=("Printed by",),
        agrees=True,
    )


def of_rows(count: int) -> Report:
    """A long report of ordinary rows."""
    rows = tuple((f"{100501 + i}", f"Payee {i} of the boatyard", Money(i * 7, "USD"), "", "main") for i in range(count))
    total = Money(sum(row[2].minor for row in rows), "USD")
    return Report(
        "long",
        "Cheques issued",
        "Quillmere Boatyard Company",
        "2026-11-27 12:00",
        "2026-11-27 12:01",
        tables=(
            Table(
                "cheques",
                "Good cheques",
                COLUMNS,
                (Group("All of them", rows),),
                (Total("in all", (None, None, total, None, None)),),
            ),
        ),
        signatures=("Printed by",),
    )
