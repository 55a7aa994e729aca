"""What the handover sheet says of the bank: cheques it was not told of, notices not sent, voids it thinks good."""

from collections.abc import Iterable, Iterator

from cheque.book import notices
from cheque.book.book import Reader
from cheque.book.move import ranges_of
from cheque.reconcile.written import Preprinted, Written
from cheque.settings import Settings
from cheque.tongue import tr


def notes(
    reader: Reader, settings: Settings, forms: dict[str, list[Written]], batch: int, numbers: Preprinted
) -> Iterator[str]:
    """Notes on the good cheques of each account whose bank wants to be told, or was told before."""
    for account in sorted({*forms, *(name for name in settings.accounts if _is_told(reader, settings, name))}):
        if _is_told(reader, settings, account):
            yield from _untold(reader, account, forms.get(account, []), numbers)
            yield from _voided(reader, account, batch)


def _is_told(reader: Reader, settings: Settings, account: str) -> bool:
    wanted = account in settings.accounts and settings.accounts[account].notice.wanted
    return wanted or reader.value("SELECT 1 FROM notified WHERE account = ? LIMIT 1", account) is not None


def _untold(reader: Reader, account: str, forms: list[Written], numbers: Preprinted) -> Iterator[str]:
    stock = {form.number: form.stock for form in forms}
    never, unsent = notices.untold(reader, account, stock)
    if never:
        of = ", ".join(str(batch) for batch in sorted({form.batch for form in forms if form.number in set(never)}))
        yield (
            tr(
                "THE BANK HAS NOT BEEN TOLD of {listed} of {account}, and may refuse to pay: cheque notice "
                "issued {replace}",
                listed=_listed(never, stock, numbers),
                account=account,
                replace=of.replace(", ", " "),
            )
        )
    for notice, some in unsent.items():
        yield tr(
            "NOTICE {notice} WAS MADE AND NOT SENT: {listed} of {account}.",
            notice=notice,
            listed=_listed(some, stock, numbers),
            account=account,
        )


def _voided(reader: Reader, account: str, batch: int) -> Iterator[str]:
    voided = notices.voided_since(reader, account, batch)
    out = [str(number).zfill(digits) for number, digits, stop in voided if stop == "needed"]
    here = [str(number).zfill(digits) for number, digits, stop in voided if stop != "needed"]
    if out:
        yield tr(
            "The bank thinks {out} of {account} good, void and not in hand: ask it for a stop now.",
            out=", ".join(out),
            account=account,
        )
    if here:
        yield tr(
            "The bank thinks {here} of {account} good, and it is void: tell it, or ask for a stop.",
            here=", ".join(here),
            account=account,
        )


def _listed(some: Iterable[int], stock: dict[int, int], numbers: Preprinted) -> str:
    return ", ".join(numbers.stretch(stock[first], first, last) for first, last in ranges_of(sorted(some)))
