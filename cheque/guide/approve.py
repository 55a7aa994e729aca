"""The proof: drawn from the bytes, looked at, and its code keyed in."""

from pathlib import Path

from cheque import duties, made, prove, run
from cheque.book import batches
from cheque.book import duties as hands
from cheque.book.batches import Batch
from cheque.errors import BookRefused
from cheque.guide.payday import Payday
from cheque.guide.talk import Left, whole, words
from cheque.money import plain
from cheque.payment import Role
from cheque.picture.text import to_text
from cheque.proofing import make
from cheque.run import Setting
from cheque.sending import same_code
from cheque.shown import escaped
from cheque.station import setting_of
from cheque.tongue import counted, tr

#: how a proof may be looked at -> the ending of its file's name
KINDS = {"pdf": ".pdf", "page": ".html", "text": ".txt"}


def proof(payday: Payday) -> None:
    """Make the proof, say where it is, and ask for its code until it is the right one."""
    talk, batch = payday.talk, payday.get()
    setting = setting_of(payday.settings, payday.book, batch, None)
    digest, _ = make(payday.book, batch, setting)
    code = prove.proof_code(digest)
    usual = "text" if talk.plain else "pdf"
    kinds = [kind for kind, ending in KINDS.items() if kind == "text" or ending in payday.files.kinds]
    kind = talk.one_of(
        tr("How will you look at the proof: {kinds}? Press Enter for {usual}.", kinds=", ".join(kinds), usual=usual),
        kinds,
        tr(
            "pdf: a document, every form with all its parts. page: the same for a browser, with a search. "
            "text: every form as letters in their places, for a screen reader or a terminal."
        ),
        default=usual,
    )
    path = free(f"proof-batch-{batch.id}{KINDS[kind]}")
    if kind == "text":
        payday.files.save(path, as_text(payday, batch, setting, code).encode())
    else:
        payday.files.proof(path, batch, setting, code)
    made.remember(payday.book.place, made.PROOF, path, batch.id)
    talk.say(tr("The proof is in the file {path}. Only you can read it.", path=path))
    talk.say(tr("When the batch is closed, `cheque tidy` deletes it."))
    _opened(payday, path)
    talk.say(tr("Hold every payee and amount against the register, one by one."))
    _code(payday)


def free(name: str) -> Path:
    """A name in this folder that no file has yet: nothing is written over."""
    path, place = Path(name), 1
    while path.exists() or path.is_symlink():
        place += 1
        path = Path(f"{Path(name).stem}-{place}{Path(name).suffix}")
    return path


def _opened(payday: Payday, path: Path) -> None:
    what = payday.talk.one_of(
        tr("Type open to have it shown by the desktop, or press Enter when you look at it yourself."),
        ("open", "enter"),
        tr(
            "open hands the file to the desktop's own viewer. Over a serial line or without a desktop, look "
            "at the file from another machine, or on paper."
        ),
        default="enter",
    )
    if what == "open" and (why := payday.files.show(path)):
        payday.talk.say(tr("  It cannot be opened from here: {why}. Look at {path} yourself.", why=why, path=path))


def _code(payday: Payday) -> None:
    """Ask for the code of the proof. `wrong` leads to what can be done about a proof that is not right."""

    def convert(text: str) -> str:
        if text.lower() == "wrong":
            return ""
        try:
            same_code(payday.get(), text)
        except BookRefused:
            raise ValueError(
                tr(
                    "'{text}' is not the code of this proof, so nothing is printed. It stands at the top of the "
                    "proof: eight letters and digits, in two groups of four. Look at the proof again, and key in its "
                    "code.",
                    text=escaped(text),
                )
            ) from None
        return text

    keyed = payday.talk.ask(
        tr("Key in the code that stands at the top of the proof; or type wrong if something on it is not right."),
        convert,
        tr(
            "The code says that this very proof was looked at: only what it shows can then be printed. With "
            "wrong you can take a payment out of the batch, or the whole batch."
        ),
    )
    if keyed:
        payday.since = payday.since._replace(code=payday.get().proof)
        payday.talk.say(tr("That is its code: what this proof shows, and nothing else, will be printed."))
        approval(payday)
    else:
        _wrong(payday)


def approval(payday: Payday) -> None:
    """Have the proof approved, where the settings ask for it: by whoever is here, if they may. Left when it still
    lacks an approval: what is missing is somebody else's to give."""
    talk, book, batch = payday.talk, payday.book, payday.get()
    if not duties.missing(payday.settings, book, batch):
        return
    may = book.who != hands.acceptor(book, batch.id) and book.who not in hands.approvals(book, batch)
    if may and talk.yes(
        tr("Do you approve it, as {who}: every payee and amount as in the register?", who=book.who),
        tr(
            "The settings ask that somebody other than who accepted the register looks at the proof before "
            "it is printed. yes enters your name in the book. no enters nothing, and nothing is printed."
        ),
    ):
        hands.approve(book, batch.id)
        talk.say(tr("The proof of batch {id} is approved by {who}.", id=batch.id, who=book.who))
    if lacking := duties.missing(payday.settings, book, batch):
        talk.say(
            tr(
                "Nothing is printed yet: {lacking}. Or they run `cheque payday` from a login of their own (where "
                "several share one: `cheque --as NAME payday`), and are asked. They look at the proof and read "
                "its code there, off no slip of yours.",
                lacking=lacking,
            )
        )
        raise Left("quit")


def _wrong(payday: Payday) -> None:
    talk, batch = payday.talk, payday.get()
    what = talk.one_of(
        tr("Is one payment to be left out (payment), or the whole batch (batch)? Press Enter for neither."),
        ("payment", "batch", "neither"),
        tr(
            "A payment left out is not printed; payroll has to know. A batch taken out can be accepted again "
            "from a corrected register. The amounts themselves are payroll's: they are never changed here."
        ),
        default="neither",
    )
    if what == "payment":
        item = talk.ask(
            tr("Which payment, by its number in the register?"), whole, tr("The proof names it beside each form.")
        )
        one = batches.payment(payday.book, batch.id, item)
        talk.say(
            tr(
                "  Payment {item}: {payee}, {amount} {currency}.",
                item=item,
                payee=escaped(one.payee),
                amount=plain(one.amount, batch.currency),
                currency=batch.currency,
            )
        )
        reason = talk.ask(tr("Why is it left out?"), words, tr("For the record: who said so, and why."))
        if talk.yes(tr("Leave it out?"), tr("It cannot be put back into this batch.")):
            batches.pull(payday.book, batch.id, item, reason)
            talk.say(tr("Payment {item} is out of batch {id}. A new proof is made.", item=item, id=batch.id))
    elif what == "batch":
        reason = talk.ask(tr("Why is the batch taken out?"), words, tr("For the record: who said so, and why."))
        if talk.yes(
            tr("Take out batch {id}, all {payments} of it?", id=batch.id, payments=counted(batch.items, "payment")),
            tr("Only while nothing of it is printed. The register can then be accepted again, corrected."),
        ):
            batches.withdraw(payday.book, batch.id, reason)
            talk.say(tr("Batch {id} is taken out.", id=batch.id))
            payday.take(0)


def as_text(payday: Payday, batch: Batch, setting: Setting, code: str) -> str:
    """A proof as text: its code and totals, payees and amounts, then every part of every form."""
    money = plain(run.money_out(payday.book, batch.id), batch.currency)
    payments = list(batches.payments(payday.book, batch.id))
    lines = [
        tr("Proof of batch {id}", id=batch.id),
        tr("Proof code: {code}", code=code),
        tr("Account: {account}", account=batch.account),
        tr("Form: {title}", title=setting.form.title),
        tr("Item count: {count}", count=len(payments)),
        tr("Control total: {money} {currency}", money=money, currency=batch.currency),
        *([tr("Hash total: {hash}", hash=batch.hash)] if batch.hash else []),
        "",
    ]
    for one in payments:
        new = "" if batches.known_payee(payday.book, batch.account, one.payee, before=batch.id) else tr(", new payee")
        advice = tr(", advice") if one.role is Role.ADVICE else ""
        lines.append(f"{one.item}. {escaped(one.payee)}, {plain(one.amount, batch.currency)}{new}{advice}")
    for shown in run.prove_batch(payday.book, batch.id, setting):
        for sheet, strikes in enumerate(shown.forms, 1):
            of = tr(", sheet {sheet} of {count}", sheet=sheet, count=len(shown.forms)) if shown.further else ""
            for part, leaf in enumerate(setting.form.parts, 1):
                payee = escaped(shown.payment.payee)
                lines += [
                    "",
                    tr(
                        "Payment {item}, {payee}{of}: part {part}, {name}",
                        item=shown.payment.item,
                        payee=payee,
                        of=of,
                        part=part,
                        name=leaf.name,
                    ),
                    "",
                ]
                lines.append(to_text(setting.form, strikes.marks, part - 1))
    return "\n".join(lines) + "\n"
