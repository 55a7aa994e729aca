"""Which hands are kept apart, by the settings: what a command asks before it prints, voids or reconciles.

On SQLite a person is the name the operating system knows somebody by; the book records it, and whoever can write its
file can get round it. On a server with roles the same is held inside the database.
"""

from datetime import timedelta

from cheque.book import duties
from cheque.book.batches import Batch
from cheque.book.book import Book, Reader
from cheque.book.duties import ALONE, ASK
from cheque.book.gate import Asks
from cheque.book.owed import SETTLED
from cheque.errors import BookRefused
from cheque.money import plain
from cheque.settings import Account, Settings
from cheque.tongue import tr

YEAR = timedelta(days=366)


def asked(settings: Settings, reader: Reader) -> Asks:
    """The duties that are asked: by the database where the book is under roles, else by the settings."""
    by_itself = reader.store.asks()
    if by_itself is not None:
        return by_itself
    over = {name: account.second_approval_over for name, account in settings.accounts.items()}
    limits = {name: limit for name, limit in over.items() if limit is not None}
    return Asks(settings.duties.approve, settings.duties.reconcile, settings.duties.second_person, limits)


def needed(asks: Asks, account: Account, largest: int) -> tuple[int, str]:
    """How many have to approve a batch whose largest amount this is (minor units), and why."""
    over = asks.over.get(account.name)
    if over is not None and largest > over:
        return 2, tr(
            "it pays an amount over {amount} {currency}",
            amount=plain(over, account.currency),
            currency=account.currency,
        )
    return (1, "") if asks.approve else (0, "")


def missing(settings: Settings, reader: Reader, batch: Batch) -> str:
    """What approval a batch still needs before it is printed, as a sentence; "" when it has all."""
    account = settings.accounts.get(batch.account)
    if account is None:
        return ""
    wanted, why = needed(asked(settings, reader), account, duties.largest(reader, batch.id))
    given = duties.approvals(reader, batch) if wanted else []
    if len(given) >= wanted:
        return ""
    have = tr("; {given} approved it", given=tr(" and ").join(given)) if given else ""
    people = tr("two people") if wanted == 2 else tr("somebody")
    because = f" ({why})" if why else ""
    return tr(
        "batch {id} is printed once {people} other than {acceptor}, who accepted it, approved its "
        "proof{because}{have}. `cheque batch approve {id} --proof-code CODE`",
        id=batch.id,
        people=people,
        acceptor=duties.acceptor(reader, batch.id),
        because=because,
        have=have,
    )


def printing(settings: Settings, reader: Reader, batch: Batch) -> None:
    """BookRefused when a batch lacks an approval that the settings ask for."""
    if why := missing(settings, reader, batch):
        raise BookRefused(f"{why}.")


def allowed(book: Book, kind: str, doing: str) -> None:
    """BookRefused when the database would not let this person append this kind of event: asked before paper is loaded
    and the device opened, not after. `doing` says what, as in "print"."""
    if why := lacking(book, kind, doing):
        raise BookRefused(tr("{why} Nothing was done.", why=why))


def lacking(book: Book, kind: str, doing: str) -> str:
    """Why this person may not do something, as a sentence; "" when nothing stands against it."""
    roles = book.store.lacking(kind)
    if roles is None:
        return ""
    if not roles:
        return tr("{who} may not {doing} here: no role may.", who=book.who, doing=doing)
    return tr("{who} may not {doing} here: that wants the role {roles}.", who=book.who, doing=doing, roles=roles)


def alone_or_ask(settings: Settings, reader: Reader) -> int:
    """How a void or a manual cheque is done: alone, or asked of a second person."""
    return ASK if asked(settings, reader).second_person else ALONE


def disposing(settings: Settings, reader: Reader, account: str, number: int, disposition: str, who: str) -> None:
    """BookRefused when who voided a cheque would say, alone, that nothing is owed behind it any more."""
    if not asked(settings, reader).second_person or disposition not in SETTLED:
        return
    if (voider := duties.voider(reader, account, number)) == who:
        raise BookRefused(
            tr(
                "{voider} voided number {number} of {account}, so somebody else has to say that its payment is "
                "{disposition}.",
                voider=voider,
                number=number,
                account=account,
                disposition=disposition,
            )
        )


def reconciling_batch(settings: Settings, book: Book, batch: int) -> None:
    """BookRefused when who printed a batch would account for its numbers."""
    if asked(settings, book).reconcile and duties.printed_batch(book, book.who, batch):
        raise BookRefused(
            tr("{who} printed batch {batch}, so somebody else has to reconcile it.", who=book.who, batch=batch)
        )


def reconciling_account(settings: Settings, book: Book, account: str) -> None:
    """BookRefused when who printed from an account within a year would hold the bank's list against it."""
    if not asked(settings, book).reconcile:
        return
    since = (book.clock() - YEAR).date().isoformat()
    if duties.printed_from(book, book.who, account, since):
        raise BookRefused(
            tr(
                "{who} printed from {account} on or after {since}, so somebody else has to reconcile its statements.",
                who=book.who,
                account=account,
                since=since,
            )
        )
