"""`cheque proof`: what will be printed, drawn from the bytes, and its proof code."""

from collections.abc import Iterable
from pathlib import Path
from typing import BinaryIO

import click

from cheque import made, prove, run
from cheque.book import batches
from cheque.book.book import Book
from cheque.cli.desk import (
    answer,
    answer_json,
    batch_number,
    json_option,
    no_such_file,
    opened,
    private_file,
    say,
)
from cheque.errors import UsageRefused
from cheque.form.model import Form
from cheque.money import plain
from cheque.page import Mark
from cheque.proofing import make
from cheque.run import Proved, Setting
from cheque.station import setting_of
from cheque.tongue import counted, mark, tr

KINDS = (".pdf", ".html", ".svg", ".png", ".txt")
#: kinds to which --frames makes no difference -> why
_NO_FRAMES = {
    ".html": mark("a page has them behind its box 'Show where each field may be struck'"),
    ".txt": mark("text has no lines"),
}


@click.command("proof")
@click.argument("batch")
@click.option("-o", "--output", metavar="FILE", help="Where to draw it: .pdf, .html, .svg, .png or .txt.")
@click.option("--payment", type=click.IntRange(min=1), help="Draw one payment only, by its place in the register.")
@click.option("--printer", help="The printer whose bytes it is drawn from; the code is the same for every one.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="letter", show_default=True, help="For a PDF.")
@click.option("--frames", is_flag=True, help="Draw the fields' frames as well.")
@json_option
def proof_command(
    batch: str,
    output: str | None,
    payment: int | None,
    printer: str | None,
    paper: str,
    frames: bool,
    as_json: bool,
) -> None:
    """Show what will be printed of BATCH, and give its proof code.

    Look at the proof: payee beside amount, one by one. Its code, keyed in at `cheque print`, says that this is
    what was looked at; nothing else can then be printed.
    """
    path = no_such_file(output) if output else None
    if path and path.suffix.lower() not in KINDS:
        raise UsageRefused(
            tr("found -o {output!r}; wanted a name that ends in {kinds}.", output=output, kinds=", ".join(KINDS))
        )
    if payment and not path:
        raise UsageRefused("--payment says which one to draw: say where to with -o, such as -o proof-1.png.")
    with opened() as (found, book):
        which = batches.get(book, batch_number(batch))
        setting = setting_of(found, book, which, printer)
        digest, shown = make(book, which, setting)
        code = prove.proof_code(digest)
        money = plain(run.money_out(book, which.id), which.currency)
        if path:
            draw(path, book, which, setting, code, payment or 0, paper, frames)
            made.remember(book.place, made.PROOF, path, which.id)
    if as_json:
        answer_json({"batch": which.id, "proof_code": code, "digest": digest, "payments": shown})
        return
    total = tr(
        "Batch {id}: {payments}, {money} {currency}.",
        id=which.id,
        payments=counted(shown, "payment"),
        money=money,
        currency=which.currency,
    )
    if path:
        say(tr("The proof is at {path}; only you can read it. Delete it when it is done with.", path=path))
        if frames and path.suffix.lower() in _NO_FRAMES:
            say(tr("--frames makes no difference to it: {why}.", why=tr(_NO_FRAMES[path.suffix.lower()])))
        if payment and shown > 1:
            say(
                tr(
                    "{total} Payment {payment} alone is drawn: look at the whole proof before the code is keyed in.",
                    total=total,
                    payment=payment,
                )
            )
        else:
            say(
                tr(
                    "{total} Hold payee and amount against the register, one by one; then key in the code to print.",
                    total=total,
                )
            )
    else:
        say(
            tr(
                "{total} Nothing was drawn: this is the code alone. Before it is keyed in to print or approve, "
                "somebody looks at the proof, payee beside amount: cheque proof {id} -o proof-{id}.pdf",
                total=total,
                id=which.id,
            )
        )
    answer(code)


def draw(
    path: Path, book: Book, batch: batches.Batch, setting: Setting, code: str, payment: int, paper: str, frames: bool
) -> None:
    """Draw the proof, or one payment of it, into a file that only its owner can read."""
    one = batches.payment(book, batch.id, payment) if payment else None
    drawn = [run.proved(setting, one)] if one else run.prove_batch(book, batch.id, setting)
    with private_file(path) as file:
        if path.suffix.lower() == ".pdf":
            _pdf(file, book, batch, setting, code, drawn, payment, paper, frames)
        elif path.suffix.lower() == ".html":
            _page(file, book, batch, setting, code, drawn, payment)
        else:
            file.write(_picture(path.suffix.lower(), setting.form, drawn, frames))


def _pdf(
    file: BinaryIO,
    book: Book,
    batch: batches.Batch,
    setting: Setting,
    code: str,
    drawn: Iterable[Proved],
    payment: int,
    paper: str,
    frames: bool,
) -> None:
    from cheque.picture.proofbook import ProofBook
    from cheque.proofing import contents

    totals = contents(book, batch, setting, code, payment).totals
    proof = ProofBook(file, setting.form, totals, paper=paper, frames=frames)
    for one in drawn:
        amount = plain(one.payment.amount, batch.currency)
        for sheet, strikes in enumerate(one.forms, 1):
            of = tr(" · sheet {sheet} of {count}", sheet=sheet, count=len(one.forms)) if one.further else ""
            heading = tr(
                "payment {item} · {payee} · {amount} {currency}{of}",
                item=one.payment.item,
                payee=one.payment.payee,
                amount=amount,
                currency=batch.currency,
                of=of,
            )
            proof.add(strikes.marks, heading)
    proof.close()


def _page(
    file: BinaryIO,
    book: Book,
    batch: batches.Batch,
    setting: Setting,
    code: str,
    drawn: Iterable[Proved],
    payment: int,
) -> None:
    from cheque.picture.proofpage import ProofPage
    from cheque.proofing import contents

    totals, entries, changes = contents(book, batch, setting, code, payment)
    shown = {entry.place: entry for entry in entries if payment in (0, entry.place)}
    proof = ProofPage(file, setting.form, totals, list(shown.values()), changes)
    for one in drawn:
        proof.add(shown[one.payment.item], [strikes.marks for strikes in one.forms])
    proof.close()


def _marks(drawn: Iterable[Proved]) -> Iterable[tuple[Mark, ...]]:
    return (strikes.marks for one in drawn for strikes in one.forms)


def _picture(kind: str, form: Form, drawn: Iterable[Proved], frames: bool) -> bytes:
    """One form or several under each other, all parts side by side, as SVG, PNG or text."""
    from cheque.picture.drawing import below, draw_parts

    if kind == ".txt":
        from cheque.picture.text import to_text

        texts = [to_text(form, marks, part) for marks in _marks(drawn) for part in range(len(form.parts))]
        return "\n".join(texts).encode()
    drawing = below([draw_parts(form, marks, frames=frames) for marks in _marks(drawn)], title=form.title)
    if kind == ".svg":
        from cheque.picture.svg import to_svg

        return to_svg(drawing).encode()
    from cheque.picture.png import TooLarge, to_png

    try:
        return to_png(drawing, 120)
    except TooLarge as error:
        raise UsageRefused(tr("{error}. Draw one payment with --payment, or make a .pdf.", error=error)) from None
