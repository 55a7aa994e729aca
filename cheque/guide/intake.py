"""From a register lying near at hand to a batch: which file, what it is paid from, and the totals of payroll's slip.

The totals are keyed in before the register's own are shown: read off the screen, they would agree with anything.
"""

import hashlib
from collections.abc import Container
from pathlib import Path
from typing import NamedTuple

from cheque import accept, library, made, money
from cheque.book import batches, stock
from cheque.checking import Judged, NearlyTheSame
from cheque.control import Slip
from cheque.errors import InputRefused, Refusal, UsageRefused
from cheque.form.model import Form
from cheque.guide.payday import Payday, refused
from cheque.guide.talk import grouped, words
from cheque.money import plain
from cheque.register import Reading, kind_of, maps, name_of_kind
from cheque.settings import Account
from cheque.shown import escaped
from cheque.tongue import counted, tr

#: so many files near at hand are listed, the newest first
LISTED = 12
#: a file longer than this is not read through only to say in a list whether it was accepted before
LOOKED_THROUGH = 32 << 20
#: our own reports and proofs are no registers
OURS = ("proof-", "report-", "reconcile-")


class Near(NamedTuple):
    """A file near at hand that may be a register, and its kind."""

    path: Path
    kind: str
    size: int


class _Chosen:
    """What was answered so far."""

    def __init__(self) -> None:
        self.path = Path()
        self.kind = ""
        self.map: maps.Map | None = None
        self.account: Account | None = None
        self.form: Form | None = None
        self.total = self.items = 0
        self.hash: int | None = None


def near(folder: Path, but: Container[Path] = ()) -> list[Near]:
    """The files of a folder that may be registers, the newest first; none of `but`, by their whole paths."""
    found = []
    for path in folder.iterdir():
        if path.name.startswith((".", *OURS)) or path.resolve() in but or not path.is_file():
            continue
        try:
            with path.open("rb") as stream:
                head = stream.read(512)
            kind = name_of_kind(Reading(path.name, ""), head)
            if kind_of(path.name).suffixes or head:
                state = path.stat()
                found.append((-state.st_mtime_ns, path.name, Near(path, kind, state.st_size)))
        except (OSError, UsageRefused):
            continue
    return [one for _, _, one in sorted(found)[:LISTED]]


def register(payday: Payday) -> None:
    """Choose a register, key in its totals, and have it accepted."""
    chosen = _Chosen()
    payday.talk.in_order(
        lambda: _which(payday, chosen),
        lambda: _how(payday, chosen),
        lambda: _paid_from(payday, chosen),
        lambda: _total(payday, chosen),
        lambda: _count(payday, chosen),
        lambda: _hash(payday, chosen),
    )
    while not _accepted(payday, chosen):
        what = payday.talk.one_of(
            tr("Type slip to key in the totals again, register to choose another file, or q to leave."),
            ("slip", "register"),
            tr(
                "slip: a total was keyed in wrongly, or payroll corrected its slip. register: payroll sends a "
                "corrected register under another name. Never key in the register's own totals instead of "
                "payroll's."
            ),
        )
        if what == "register":
            return
        payday.talk.in_order(
            lambda: _total(payday, chosen), lambda: _count(payday, chosen), lambda: _hash(payday, chosen)
        )


def _which(payday: Payday, chosen: _Chosen) -> None:
    files = near(Path.cwd(), _no_registers(payday))
    if files:
        payday.talk.say(tr("Registers near at hand:"))
    for place, one in enumerate(files, 1):
        payday.talk.say(f"  {place}  {escaped(one.path.name)}, {one.kind}, {_size(one.size)}{_before(payday, one)}")

    def convert(text: str) -> Path:
        if not text:
            raise ValueError(tr("Type the number of a file in the list, or the name of another."))
        if text.isascii() and text.isdigit() and 1 <= int(text) <= len(files):
            return files[int(text) - 1].path
        if path := _file(text):
            return path
        raise ValueError(
            tr("There is no file '{text}'. Type a number of the list, or a file's name.", text=escaped(text))
        )

    chosen.path = payday.talk.ask(
        tr("Which register did payroll hand over? Its number in the list, or a file's name.")
        if files
        else tr("Which register did payroll hand over? Type the file's name."),
        convert,
        tr(
            "The register is the file with one payment a line. It can be CSV, a spreadsheet, ISO 20022 "
            "pain.001 or a fixed-width report; docs/registers.md describes each."
        ),
    )


def _no_registers(payday: Payday) -> set[Path]:
    """Files that are none: proofs and print streams made here, and where a printer's bytes go to a file."""
    streams = (printer.address.partition(":") for printer in payday.settings.printers.values())
    to_files = {Path(place).resolve() for kind, _, place in streams if kind == "file"}
    return to_files | {one.path for one in made.known(payday.book.place)}


def _file(text: str) -> Path | None:
    """The file of a name that was typed; None when there is none, or it cannot be one's name."""
    try:
        path = Path(text).expanduser()  # RuntimeError for ~ and a name that is nobody's
        return path if path.is_file() else None
    except (OSError, RuntimeError):
        return None


def _size(octets: int) -> str:
    return tr("{octets} bytes", octets=octets) if octets < 10_000 else tr("{octets} kB", octets=octets // 1000)


def _before(payday: Payday, one: Near) -> str:
    """Whether a file is a batch already."""
    if one.size > LOOKED_THROUGH:
        return ""
    try:
        digest = hashlib.sha256(one.path.read_bytes()).hexdigest()
    except OSError:
        return ""
    for account in payday.settings.accounts:
        if found := batches.of_register(payday.book, account, digest):
            return tr(", batch {found} already", found=found[0])
    return ""


def _how(payday: Payday, chosen: _Chosen) -> None:
    """The kind of register, and the map by which somebody else's file is read."""
    name = escaped(chosen.path.name)
    try:
        with chosen.path.open("rb") as stream:
            chosen.kind = name_of_kind(Reading(name, ""), stream.read(512))
    except OSError as error:
        raise InputRefused(tr("{name} cannot be read: {strerror}.", name=name, strerror=error.strerror)) from None
    payday.talk.say(tr("{name} is read as {kind}.", name=name, kind=chosen.kind))
    chosen.map = None
    if chosen.kind != "fixed-width":
        return

    def convert(text: str) -> maps.Map:
        if (path := _file(text)) is None:
            raise ValueError(tr("There is no file '{text}'. Type the map's file name.", text=escaped(text)))
        try:
            return maps.load(path.read_text("utf-8-sig"), path.name)
        except (OSError, UnicodeDecodeError, Refusal) as error:
            raise ValueError(tr("{text} cannot be used: {error}", text=escaped(text), error=error)) from None

    chosen.map = payday.talk.ask(
        tr("By which map is it read? Type the map's file name."),
        convert,
        tr("A map is a short TOML file that says where in a line each field stands: docs/registers.md."),
    )


def _paid_from(payday: Payday, chosen: _Chosen) -> None:
    """The account and the form, asked for only where there are several."""
    accounts = payday.settings.accounts
    if not accounts:
        raise InputRefused(tr("{source} has no account: add [accounts.main].", source=payday.settings.source))
    names = list(accounts)
    name = names[0]
    if len(names) > 1:
        name = payday.talk.one_of(
            tr("From which account is it paid: {names}?", names=", ".join(names)),
            names,
            tr("The accounts are those of cheque.toml."),
        )
    chosen.account = accounts[name]
    boxes = [box for box in stock.ranges(payday.book, name) if stock.on_hand(payday.book, box, box.first, box.last)]
    forms = sorted({box.form for box in boxes})
    if not forms:
        raise InputRefused(
            tr(
                "there is no form on hand for account {name}: enter the box of forms first, with the numbers on "
                "it: `cheque stock receive FORM --account {name} --first NUMBER --last NUMBER`.",
                name=name,
            )
        )
    form = forms[0]
    if len(forms) > 1:
        form = payday.talk.one_of(
            tr("On which form: {forms}?", forms=", ".join(forms)),
            forms,
            tr("The forms on hand for this account. `cheque form show` draws one."),
        )
    chosen.form = library.load(form, payday.settings.forms)
    payday.talk.say(tr("It will be paid from account {name}, on form {form}.", name=name, form=form))


def _total(payday: Payday, chosen: _Chosen) -> None:
    currency = _account(chosen).currency
    chosen.total = payday.talk.ask(
        tr("What is the control total on payroll's slip, in {currency}?", currency=currency),
        lambda text: money.parse(text, currency, group="," if "," in text else ""),
        tr("The sum of the amounts, as payroll wrote it down. Take it from the slip, not from the register."),
    )


def _count(payday: Payday, chosen: _Chosen) -> None:
    chosen.items = payday.talk.ask(
        tr("What is the item count on the slip?"), grouped, tr("How many payments there are, as payroll counted them.")
    )


def _hash(payday: Payday, chosen: _Chosen) -> None:
    chosen.hash = payday.talk.ask(
        tr("What is the hash total on the slip? Press Enter if the slip has none."),
        lambda text: grouped(text) if text else None,
        tr(
            "The sum of a number that stands for each payee, such as the employee number. It means nothing "
            "by itself; it shows a payee exchanged for another."
        ),
    )


def _account(chosen: _Chosen) -> Account:
    assert chosen.account is not None
    return chosen.account


def _accepted(payday: Payday, chosen: _Chosen) -> bool:
    """Have the register accepted. False when it was refused, and why was said."""
    account, talk = _account(chosen), payday.talk
    stated: list[str] = []
    reading = Reading(escaped(chosen.path.name), account.currency, state=stated.append, map=chosen.map)
    try:
        with chosen.path.open("rb") as stream:
            kept = accept.keep(payday.book.place, stream, reading.source)
        done = _none_twice(payday, kept, _wanted(payday, chosen, reading))
    except Refusal as refusal:
        talk.say(refused(refusal))
        return False
    except OSError as error:
        talk.say(tr("Refused: {source} cannot be read: {strerror}.", source=reading.source, strerror=error.strerror))
        return False
    for note in (*stated, *map(str, done.verdict.warnings), *done.verdict.notes, *done.notes):
        talk.say(tr("  note: {note}", note=note))
    totals = done.totals
    talk.say(
        tr(
            "Batch {batch} is accepted: {payments}, {amount} {currency}, as the slip says.",
            batch=done.batch,
            payments=counted(totals.item_count, "payment"),
            amount=plain(totals.control_total, account.currency),
            currency=account.currency,
        )
    )
    payday.take(done.batch)
    return True


def _wanted(payday: Payday, chosen: _Chosen, reading: Reading) -> accept.Wanted:
    """What the register is to be accepted as. InputRefused when no printer can print the form."""
    account, form = _account(chosen), chosen.form
    assert form is not None
    printers, reasons = accept.able(form, account, payday.settings.printers.values())
    if not printers:
        raise InputRefused(
            tr(
                "no printer can print {name}: {reasons}.",
                name=form.name,
                reasons=" | ".join(reasons) or tr("there is none"),
            )
        )
    slip = Slip(chosen.items, chosen.total, chosen.hash)
    return accept.Wanted(Judged(reading, account, printers, ()), form, slip)


def _none_twice(payday: Payday, kept: accept.Kept, wanted: accept.Wanted) -> accept.Accepted:
    """The register accepted. Whether payments that are nearly earlier ones are paid twice is asked."""
    talk = payday.talk
    try:
        return accept.accept(payday.book, kept, wanted)
    except NearlyTheSame as nearly:
        for line in nearly.message.split("\n")[:-1]:
            talk.say(line)
    if talk.yes(tr("Is any of them paid twice?"), tr("Ask payroll. A payment made twice is seldom given back.")):
        raise InputRefused(
            tr("{source} pays twice, so it is not accepted. Payroll takes the payment out of it.", source=kept.source)
        )
    why = talk.ask(tr("Why are they none of those?"), words, tr("For the record: who said so, and why."))
    silent = wanted.how.reading._replace(state=lambda sentence: None)  # it has been said
    return accept.accept(
        payday.book, kept, wanted._replace(how=wanted.how._replace(reading=silent), not_a_duplicate=why)
    )
