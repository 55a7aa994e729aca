"""What several reports have in common: whose they are, which accounts, how many cheques, and their sum."""

from collections.abc import Iterable, Sequence

from cheque import tongue
from cheque.payment import Role
from cheque.reconcile.written import Written
from cheque.report.page import Column, Fact, Money, Total, line_of
from cheque.settings import Settings
from cheque.tongue import tr


def firm(settings: Settings, accounts: Iterable[str]) -> str:
    """Whose report it is: the drawer's legal name, or the drawers' when there are several."""
    names = [settings.accounts[name].drawer for name in accounts if name in settings.accounts]
    return ", ".join(dict.fromkeys(names)) or tr("Drawer not in the settings")


def account_named(settings: Settings, name: str) -> str:
    """An account as it may be shown: its name, the last of its number, its bank."""
    account = settings.accounts.get(name)
    if account is None:
        return tr("{name} (no longer in the settings)", name=name)
    return f"{name} {account.masked}, {account.bank}" if account.number else f"{name}, {account.bank}"


def accounts_of(found: Iterable[str], asked: str, settings: Settings) -> list[str]:
    """The accounts that a report is about: those with something in it; else the one asked for; else all."""
    return list(dict.fromkeys(found)) or ([asked] if asked else list(settings.accounts))


def account_facts(settings: Settings, accounts: Sequence[str]) -> list[Fact]:
    """A fact for each account; the keys of later ones are numbered."""
    return [
        Fact(f"account_{place}" if place > 1 else "account", "Account", account_named(settings, name))
        for place, name in enumerate(accounts, 1)
    ]


def counted(forms: int, what: str = "cheque") -> str:
    """How many, in words: 1 cheque, 2 cheques."""
    return tongue.counted(forms, what)


def money_of(forms: Iterable[Written], currency: str) -> Money:
    """The sum of forms' amounts; only a cheque is money, and neither an advice nor a form on which a stub goes on."""
    return Money(sum(form.amount or 0 for form in forms if form.role == Role.CHEQUE), currency)


def sum_of(columns: tuple[Column, ...], forms: Sequence[Written], currency: str, after: str = "") -> Total:
    """A line of totals: how many cheques, and their amount."""
    return Total(counted(len(forms)) + after, line_of(columns, {"amount": money_of(forms, currency)}))
