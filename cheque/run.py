"""The run: laid out, encoded, decoded and compared, reserved, sent, form by form; and what stops it.

One way, no way back up: payment -> page -> bytes -> decoded and compared -> *sent* in the book -> device. The
bytes compared are the very bytes that go. The run knows nothing of terminals: what a person must be asked or
shown comes and goes through the callables it is given.
"""

import hashlib
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from functools import partial
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import NamedTuple

from cheque import crew, estimate, layout, prove, system
from cheque import language as languages
from cheque.alignment import written
from cheque.book import batches, runs
from cheque.book.book import Book, Reader
from cheque.book.ranges import whole
from cheque.book.stock import range_of
from cheque.device import Device, DeviceError, Stalled
from cheque.errors import BookRefused, Fault, InputRefused, RunStopped
from cheque.form.model import Form
from cheque.form.slack import max_shift
from cheque.language import Language, Look, Printer, Strikes
from cheque.page import Mark, Page, Shift, Slot, feed_steps
from cheque.payment import Payment, from_kept
from cheque.settings import Account, PrinterSettings
from cheque.tongue import tr

NO_SHIFT = Shift()
#: of a longer run so many forms, evenly chosen, tell how long it will take
SAMPLE = 200
#: so many forms go together where the processor is what is waited for; fewer wait for a printer
WIDE = 50


class Setting(NamedTuple):
    """Everything that turns a payment of a batch into the bytes of a form, fixed for a run."""

    form: Form
    drawer: layout.Drawer
    language: Language
    printer: Printer
    look: Look
    shift: Shift = NO_SHIFT

    def __reduce__(self) -> tuple[object, ...]:
        """Pickled for a worker, the language goes by its name: there it is the one that keeps what it worked out."""
        return _again, (self.form, self.drawer, self.printer, self.look, self.shift)


def _again(form: Form, drawer: layout.Drawer, printer: Printer, look: Look, shift: Shift) -> Setting:
    return Setting(form, drawer, languages.get(printer.language), printer, look, shift)


def drawer_of(account: Account) -> layout.Drawer:
    """The account as the layout needs it: with the number masked."""
    return layout.Drawer(
        name=account.drawer,
        address=account.address,
        bank=account.bank,
        account_masked=account.masked,
        currency=account.currency,
        locale=account.locale,
        substitute=account.substitute,
        two_signatures_over=account.two_signatures_over,
        place=account.place,
        stale_after_days=account.stale_after_days,
    )


def setting(form: Form, account: Account, printer: PrinterSettings, shift: Shift = NO_SHIFT) -> Setting:
    """The setting of a run on a printer."""
    return Setting(
        form,
        drawer_of(account),
        languages.get(printer.language),
        Printer(printer.language, printer.step, printer.table, printer.without, printer.width, printer.vouched),
        layout.look(form),
        shift,
    )


def unable(setting: Setting, parts: int) -> list[str]:
    """Why a printer cannot print a form at all, payment or no payment; empty when it can."""
    reasons = setting.language.cannot(setting.look, (), setting.printer)
    if len(setting.form.parts) > parts:
        reasons.append(
            tr(
                "the form has {count} parts, and the printer is rated for {parts}",
                count=len(setting.form.parts),
                parts=parts,
            )
        )
    return reasons


def shifted(marks: tuple[Mark, ...], shift: Shift) -> tuple[Mark, ...]:
    """The marks moved right and down."""
    if shift == (0, 0):
        return marks
    right, down = shift
    return tuple(Mark(x + right, y + down, pitch, weight, text) for x, y, pitch, weight, text in marks)


def advance(setting: Setting, k: int) -> int:
    """How far form k is fed (units): a whole number of the printer's true step, the error never adding up."""
    return feed_steps(setting.form.paper.length, setting.printer.step, k) * setting.printer.step


def encoded(setting: Setting, page: Page, number: str, k: int) -> bytes:
    """The bytes of one form."""
    marks = shifted(page.numbered(number), setting.shift)
    return setting.language.encode(marks, setting.look, setting.printer, advance(setting, k))


def stand_in(page: Page) -> str:
    """What a proof shows where the form's own number will stand: a place, and no number yet (- is in every table)."""
    return "-" * min((slot.width for slot in page.slots), default=1)


class Proved(NamedTuple):
    """One payment of a proof: what its form's bytes decode to, and the digest of that page.

    `pages` is text: a payment whose stub goes on has a digest for each of its forms, with a blank between, and in
    `further` what the bytes of the forms after the first decode to.
    """

    payment: Payment
    strikes: Strikes
    pages: str
    further: tuple[Strikes, ...] = ()

    @property
    def forms(self) -> tuple[Strikes, ...]:
        """What each of its forms will show."""
        return (self.strikes, *self.further)


def proved(setting: Setting, payment: Payment, number: str = "") -> Proved:
    """Lay out, encode, decode: what one payment's form will show. InputRefused with the payment's faults."""
    try:
        pages = layout.lay_out(payment, setting.form, setting.drawer)
    except layout.LayoutError as error:
        raise InputRefused(tr("a payment does not fit its form."), error.faults) from None
    unshifted = setting._replace(shift=NO_SHIFT)
    forms, digests = [], []
    for place, page in enumerate(pages):
        shown = Slot(0, 0, 1, 0, 0, place).shows(number) if number else stand_in(page)
        try:
            data = encoded(unshifted, page, shown, 0)
        except languages.LanguageError as error:
            raise InputRefused(tr("a payment cannot be printed."), [_unprintable(payment, setting, error)]) from None
        strikes = setting.language.decode(data, setting.printer)
        forms.append(strikes)
        digests.append(prove.digest_strikes(strikes, slots=page.slots, number=shown))
    return Proved(payment, forms[0], " ".join(digests), tuple(forms[1:]))


def _unprintable(payment: Payment, setting: Setting, error: Exception) -> Fault:
    return Fault(
        tr("payment {item} ({payee})", item=payment.item, payee=payment.payee),
        str(error),
        tr("what {language} can print exactly", language=setting.printer.language),
        tr("change the register or the form, or print elsewhere"),
    )


def refuse_unprintable(payment: Payment, settings: Sequence[Setting]) -> list[Fault]:
    """What of a payment does not fit its form, or cannot be printed exactly on one of the printers, each once.

    The settings are of one form and drawer: it is laid out once, and encoded for each printer. Nothing is decoded
    here; a proof does that, and print.
    """
    if not settings:
        return []
    try:
        pages = layout.lay_out(payment, settings[0].form, settings[0].drawer)
    except layout.LayoutError as error:
        return list(error.faults)
    faults: list[Fault] = []
    for setting in settings:
        try:
            for page in pages:
                encoded(setting._replace(shift=NO_SHIFT), page, stand_in(page), 0)
        except languages.LanguageError as error:
            fault = _unprintable(payment, setting, error)
            faults += [fault] if fault not in faults else []
    return faults


def proved_pages(setting: Setting, kept: Sequence[tuple[int, str]]) -> list[str]:
    """The page digests of each of these payments, which are as the book keeps them. InputRefused as for `proved`."""
    return [proved(setting, from_kept(item, body)).pages for item, body in kept]


def prove_batch(reader: Reader, batch: int, setting: Setting) -> Iterator[Proved]:
    """Every payment of a batch, as its form will show it, in register order."""
    for payment in batches.payments(reader, batch):
        yield proved(setting, payment)


class ProofTally:
    """The digest of a proof, a payment at a time in register order."""

    def __init__(self, reader: Reader, batch: int, setting: Setting) -> None:
        found = batches.get(reader, batch)
        self._proof = prove.ProofDigest(
            form_digest=setting.form.digest,
            account=found.account,
            currency=found.currency,
            item_count=batches.shown(reader, batch),
            control_total=money_out(reader, batch),
        )

    def add(self, pages: str) -> None:
        """The page digests of the next payment."""
        self._proof.add(prove.payment_digest(pages.split()))

    def hexdigest(self) -> str:
        """The proof's digest. BookRefused when a payment was pulled meanwhile."""
        try:
            return self._proof.hexdigest()
        except ValueError:
            raise BookRefused(tr("a payment was pulled while the proof was made: make it again.")) from None


def money_out(reader: Reader, batch: int) -> int:
    """What a batch pays by cheque, pulled payments left out (minor units)."""
    return int(
        reader.value(
            "SELECT coalesce(sum(amount), 0) FROM claim WHERE batch = ? AND pulled = '' AND role = 'cheque'", batch
        )
    )


class Progress(NamedTuple):
    """How far a run is."""

    number: str
    done: int
    forms: int


def _give_up(_: str) -> bool:
    """What is done about a printer that takes nothing while nobody is there to put it right."""
    return False


class Watch(NamedTuple):
    """What the run tells and asks while it goes.

    progress: called after each window has left; first_form: called once the first form has left; stop: looked
    at between windows. The last two give a reason to stop, or "". stalled: called, with what the device says,
    when the printer takes nothing; True when it was put right and the run is to go on waiting for it.
    """

    progress: Callable[[Progress], None]
    first_form: Callable[[str], str]
    stop: Callable[[], str]
    stalled: Callable[[str], bool] = _give_up


def look_ahead(reader: Reader, batch: int, planned: Sequence[tuple[int, int]], setting: Setting, speed: int) -> int:
    """How long a planned run will take on paper (milliseconds), at `speed` characters a second.

    BookRefused for what would stop it at its first form: a shift greater than the form's slack, settings that
    have changed since the proof. Nothing is reserved yet.
    """
    found = batches.get(reader, batch)
    room = max_shift(setting.form) if setting.shift != NO_SHIFT else None
    if room and not room.allows(setting.shift):
        raise BookRefused(
            tr(
                "nothing is sent: the print of {name} is kept {written} on this printer, which is more than some "
                "field of the form has room for. Line it up again: `cheque align {name}`.",
                name=setting.form.name,
                written=written(setting.shift),
            )
        )
    text = range_of(reader, found.account, planned[0][0]).text
    some = range(0, len(planned), -(-len(planned) // SAMPLE))
    taken = 0
    try:
        _first(reader, batch, planned[: whole(planned, 1)], text, setting)
        for place in some:
            number, item = planned[place]
            page = _pages(batches.payment(reader, batch, item), setting)[_sheet(planned, place)]
            taken += estimate.milliseconds(page.numbered(text(number)), setting.look, speed)
    except ValueError as error:  # a ProofError, or a later number too long for its place
        raise BookRefused(_unproved(found.id, str(error), tr("nothing is sent"))) from None
    return taken * len(planned) // len(some)


def _unproved(batch: int, cause: str, what: str) -> str:
    return tr(
        "{what}: {cause}. What the proof of batch {batch} showed can no longer be printed as it was: "
        "settings, form or printer may have changed since. Put it back, or make a new proof: `cheque "
        "proof {batch}`.",
        what=what,
        cause=cause,
        batch=batch,
    )


def send(
    book: Book,
    run: int,
    planned: Sequence[tuple[int, int]],
    setting: Setting,
    device: Device,
    *,
    window: int,
    watch: Watch,
) -> None:
    """Send the forms of a run. Raises RunStopped when it did not get to its end; the book knows how far.

    For every window: encode, decode, compare with the proof, commit *sent*, and only then let the bytes go.
    """
    done = 0
    alone = whole(planned, 1)
    text = range_of(book, runs.get(book, run).account, planned[0][0]).text
    try:
        for done in _sent(book, run, planned, setting, device, window, watch):
            watch.progress(Progress(text(planned[done - 1][0]), done, len(planned)))
            if done == alone < len(planned) and (why := watch.first_form(text(planned[0][0]))):
                raise RunStopped(why)
        device.finish()
    except (RunStopped, DeviceError, prove.ProofError, KeyboardInterrupt) as error:
        raise _stopped(book, run, error, done, len(planned)) from None
    runs.finished(book, run)


def _sent(
    book: Book,
    run: int,
    planned: Sequence[tuple[int, int]],
    setting: Setting,
    device: Device,
    window: int,
    watch: Watch,
) -> Iterator[int]:
    """Send window after window; after each, how many forms have gone."""
    batch = runs.get(book, run).batch
    text = range_of(book, runs.get(book, run).account, planned[0][0]).text
    done = 0
    each = window if window >= WIDE else 0
    asked = _asked(book, batch, planned, window, text)
    with closing(crew.in_order(partial(made, setting), asked, each=each)) as windows:
        for chunk in _windows(planned, window):
            if why := watch.stop():
                raise RunStopped(why)
            wanted, (data, digest) = next(windows)
            if wanted.proof != batches.get(book, batch).proof_seq:  # proved anew since it was read: nothing else counts
                data, digest = made(setting, _read(book, batch, chunk, text, done))
            if hashlib.sha256(data).hexdigest() != digest:
                raise RunStopped(tr("the bytes about to go are not those that were read back: nothing of them is sent"))
            runs.sent(book, run, chunk[0][0], chunk[-1][0], digest=digest, length=len(data), k=done)
            _hand_over(device, data, watch)
            done += len(chunk)
            yield done


class Window(NamedTuple):
    """A window of forms to be made: its numbers as preprinted with the payment on each, those payments as the book
    keeps them with their page digests, `k` the first form's place in the run, and the event that made the proof."""

    forms: tuple[tuple[str, int], ...]
    kept: list[tuple[int, str, str]]
    k: int
    proof: int


def _asked(
    reader: Reader, batch: int, planned: Sequence[tuple[int, int]], window: int, text: Callable[[int], str]
) -> Iterator[Window]:
    """Every window of a run, its payments read from the book in one go."""
    k = 0
    for chunk in _windows(planned, window):
        yield _read(reader, batch, chunk, text, k)
        k += len(chunk)


def _read(reader: Reader, batch: int, chunk: Sequence[tuple[int, int]], text: Callable[[int], str], k: int) -> Window:
    """One window as the book has it now. BookRefused when it lacks a payment."""
    proof = batches.get(reader, batch).proof_seq  # first: what is proved while the rest is read is seen to be newer
    kept = batches.proved_kept(reader, batch, chunk[0][1], chunk[-1][1])
    there = {item for item, _, _ in kept}
    for _, item in chunk:
        if item not in there:
            batches.payment(reader, batch, item)  # refused: there is none
    return Window(tuple((text(number), item) for number, item in chunk), kept, k, proof)


def made(setting: Setting, window: Window) -> tuple[bytes, str]:
    """The bytes of a window, each form's decoded and held against the proof, and the digest of what was decoded.

    ProofError when they differ in anything. It may be called in another process than the one that sends: the digest
    is made here of the bytes as they were decoded, and there of the bytes as they go.
    """
    hasher = hashlib.sha256()
    parts = []
    for data in _forms(setting, window):
        hasher.update(data)
        parts.append(data)
    return b"".join(parts), hasher.hexdigest()


def _hand_over(device: Device, data: bytes, watch: Watch) -> None:
    """Send, and wait for a printer that takes nothing as long as somebody says that it was put right."""
    while True:
        try:
            device.send(data)
        except Stalled as stalled:
            if watch.stop() or not watch.stalled(_sentence(stalled)):
                raise
            data = b""  # the device still holds the rest
        else:
            return


def _stopped(book: Book, run: int, error: BaseException, done: int, forms: int) -> Exception:
    """Enter that a run stopped; gives what is to be raised."""
    cause = _sentence(error) or tr("stopped at once by the operator")
    batch = runs.get(book, run).batch
    runs.stopped(book, run, cause)
    how_far = tr("the run stopped after {done} of {forms} forms", done=done, forms=forms)
    if isinstance(error, prove.ProofError):
        return BookRefused(_unproved(batch, cause, how_far) + tr(" Then `cheque resume {batch}`.", batch=batch))
    return RunStopped(
        tr(
            "{how_far}: {cause}. Look at the paper, then `cheque resume {batch}`.",
            how_far=how_far,
            cause=cause,
            batch=batch,
        )
    )


def _sentence(error: BaseException) -> str:
    """What an error says, without a full stop at its end, to stand in a sentence."""
    return str(error).rstrip().removesuffix(".")


@contextmanager
def holding(place: Path, printer: str) -> Iterator[None]:
    """Hold a printer for one run. BookRefused when another run of this book, in a live process, holds it."""
    path = place / "locks" / f"{system.file_stem(printer)}.lock"
    handle = os.open(path, os.O_CREAT | os.O_RDWR | system.NO_LINK, 0o600)
    try:
        try:
            system.lock(handle)
        except OSError:
            other = os.read(handle, 200).decode(errors="replace").strip()
            raise BookRefused(
                tr(
                    "printer {printer} is in use by another run ({other}). Let it end, or stop it with Ctrl-C in its "
                    "own terminal.",
                    printer=printer,
                    other=other or tr("just begun"),
                )
            ) from None
        os.ftruncate(handle, 0)
        os.write(handle, f"process {os.getpid()}".encode())
        yield
    finally:
        os.close(handle)


def _windows(planned: Sequence[tuple[int, int]], window: int) -> Iterator[Sequence[tuple[int, int]]]:
    """The forms in windows; the first form goes alone, because a person looks at it.

    All forms of a payment are in one window, which may be longer for it: no payment is left half sent at a stop.
    """
    start, end = 0, whole(planned, 1)
    while start < len(planned):
        yield planned[start:end]
        start, end = end, whole(planned, min(end + window, len(planned)))


def _sheet(planned: Sequence[tuple[int, int]], place: int) -> int:
    """Which of its payment's forms stands at a place of a plan, from 0."""
    sheet = 0
    while sheet < place and planned[place - sheet - 1][1] == planned[place][1]:
        sheet += 1
    return sheet


def _pages(payment: Payment, setting: Setting) -> tuple[Page, ...]:
    """A payment laid out. ProofError when it no longer fits."""
    try:
        return layout.lay_out(payment, setting.form, setting.drawer)
    except layout.LayoutError as error:
        first = str(error.faults[0]).rstrip(".") if error.faults else error.message
        raise prove.ProofError(
            tr("payment {item} no longer fits its form ({first})", item=payment.item, first=first)
        ) from None


def _first(
    reader: Reader, batch: int, first: Sequence[tuple[int, int]], text: Callable[[int], str], setting: Setting
) -> None:
    """ProofError unless the forms of the first payment of a plan can be sent as they were proved."""
    made(setting, _read(reader, batch, first, text, 0))


def _forms(setting: Setting, window: Window) -> Iterator[bytes]:
    """The bytes of each form of a window, compared."""
    k = window.k
    proved_payments = {item: (body, digests) for item, body, digests in window.kept}
    for item, forms in groupby(window.forms, itemgetter(1)):
        numbers = [number for number, _ in forms]
        body, proved_here = proved_payments[item]
        pages, digests = _pages(from_kept(item, body), setting), proved_here.split()
        if not digests:
            raise prove.ProofError(tr("payment {item} is not in the latest proof", item=item))
        if not len(pages) == len(digests) == len(numbers):
            raise prove.ProofError(
                tr(
                    "payment {item} takes {count} forms now, {count2} in the proof, and {count3} here",
                    item=item,
                    count=len(pages),
                    count2=len(digests),
                    count3=len(numbers),
                )
            )
        for number, page, digest in zip(numbers, pages, digests, strict=True):
            yield _compared(item, page, digest, number, setting, k)
            k += 1


def _compared(item: int, page: Page, proved_page: str, number: str, setting: Setting, k: int) -> bytes:
    """The bytes of one form, decoded and held against the proof. ProofError when they differ in anything."""
    try:
        data = encoded(setting, page, number, k)
    except ValueError as error:  # a LanguageError, or a number too long for its place
        raise prove.ProofError(
            tr("payment {item} cannot be printed exactly on this printer ({error})", item=item, error=error)
        ) from None
    prove.check_form(
        data,
        setting.language,
        setting.printer,
        slots=page.slots,
        number=number,
        shift=setting.shift,
        advance=advance(setting, k),
        page_digest=proved_page,
    )
    return data
