"""`[accounts.NAME]`: a bank account, read from the settings and held to what its keys may be."""

from pathlib import Path

from cheque import money
from cheque.settings_bank import take_notice, take_stop
from cheque.settings_shapes import NEAR_DAYS, Account, not_blank, within
from cheque.stale import honoured
from cheque.tomlfile import Checker
from cheque.tongue import tr


def take_account(name: str, table: Checker, folder: Path) -> Account:
    drawer = table.take("drawer", str, "", required=True, convert=not_blank, wanted=tr("the drawer's legal name"))
    address = table.take("address", list, [], wanted=tr("a list of lines of text"))
    if any(not isinstance(line, str) or not line.isprintable() for line in address):
        table.fault("address", ascii(address), tr("a list of lines of plain text"))
        address = []
    bank = table.take("bank", str, "", required=True, convert=not_blank, wanted=tr("the bank's name"))
    number = table.take("account_number", str, "", convert=_account_number, wanted=tr("letters and digits"))
    currency = table.take("currency", str, "USD", required=True, convert=_currency, wanted=tr("a code such as USD"))
    locale = table.take("locale", str, "en_US", required=True, convert=_locale, wanted=tr("a locale such as en_US"))
    routing = table.take("routing", str, "", wanted=tr("the bank's routing number"))
    if routing:
        _routing(table, routing, locale)
    usual = honoured(locale).days if isinstance(locale, str) else 180
    stale = table.take("stale_after_days", int, usual, convert=within(1, 3650), wanted=tr("days, from 1 to 3650"))
    unclaimed = _unclaimed(table)
    near = table.take("near_duplicate_days", int, NEAR_DAYS, convert=within(0, 366), wanted=tr("days, from 0 to 366"))
    limit = _limit(table, "two_signatures_over", currency)
    second = _limit(table, "second_approval_over", currency)
    place = table.take("place", str, "", convert=not_blank, wanted=tr("the place of issue, as a cheque states it"))
    substitute = table.take("substitute", str, "", convert=lambda v: _substitute(v, locale))
    notice, stop = take_notice(table, folder), take_stop(table)
    statement_account = table.take(
        "statement_account", str, "", convert=_account_number, wanted=tr("letters and digits")
    )
    places = table.take("cheque_numbers_from", list, [], wanted=tr("a list of places and patterns"))
    for number, text in enumerate(places):
        _number_place(table, number, text)
    table.finish()
    numbers_from = tuple(map(str, places))
    told = (currency, locale, substitute, stale, limit, place, near, unclaimed, statement_account, numbers_from)
    return Account(name, drawer, tuple(address), bank, routing, number, *told, notice, stop, second)


def _unclaimed(table: Checker) -> tuple[int, str] | None:
    """When a cheque is old enough for the law of unclaimed wages or property: in days or in years, never in both."""
    given = {
        unit: table.take(
            f"unclaimed_after_{unit}",
            int,
            0,
            convert=within(1, most),
            wanted=tr("{unit}, 1 to {most}", unit=unit, most=most),
        )
        for unit, most in (("days", 36_500), ("years", 100))
    }
    stated = [(number, unit) for unit, number in given.items() if number]
    if len(stated) > 1:
        table.fault("unclaimed_after_years", tr("unclaimed_after_days as well"), tr("one of the two"))
    return stated[0] if stated else None


def _number_place(table: Checker, number: int, text: object) -> None:
    from cheque.bank.statement import place_of

    try:
        place_of(text if isinstance(text, str) else "")
    except ValueError as error:
        table.fault(f"cheque_numbers_from.{number}", str(error), tr('such as "AddtlTxInf: CHEQUE ([0-9]+)"'))


def _limit(table: Checker, key: str, currency: str) -> int | None:
    """An amount of an account's currency, in minor units; None when it is not stated."""
    over = table.take(key, str, "", wanted=tr('an amount in quotes, such as "5000.00"'))
    if not over:
        return None
    try:
        limit = money.parse(over, currency)
        if limit <= 0:
            table.fault(key, repr(over), tr("an amount of {currency} above nought", currency=currency))
        return limit
    except (money.AmountError, KeyError) as error:
        table.fault(key, str(error), tr("an amount of {currency}", currency=currency))
        return None


def _account_number(text: str) -> str:
    if not all(c.isalnum() or c in " -" for c in text) or len(text) > 34:
        raise ValueError(
            tr("an account number of {count} characters that are not all letters and digits", count=len(text))
        )
    return text


def _locale(text: str) -> str:
    from cheque.wording import WordingError, locales, substitutions

    try:
        substitutions(text)
    except WordingError as error:
        refused = str(error).removeprefix(f"{text} is refused: ")
        if refused != str(error):
            raise ValueError(tr("{text!r}, which is refused: {refused}", text=text, refused=refused)) from None
        known = ", ".join(style.locale for style in locales())
        raise ValueError(tr("{text!r}, which is not among {known}", text=text, known=known)) from None
    return text


def _substitute(text: str, locale: str) -> str:
    from cheque.wording import substitutions

    known = list(substitutions(locale))
    if text and text not in known:
        raise ValueError(
            tr(
                "{text!r}, which {locale} does not have; it has {known}",
                text=text,
                locale=locale,
                known=", ".join(known) or tr("none"),
            )
        )
    return text


def _routing(table: Checker, routing: str, locale: str) -> None:
    """A United States routing number: nine digits with a right check digit (the stdnum library's), not zeros."""
    if not locale.endswith("_US"):
        return
    from stdnum.exceptions import ValidationError
    from stdnum.us import rtn

    found = ""
    if routing == "000000000":
        found = tr("000000000, which no bank has")
    else:
        try:
            if rtn.validate(routing) != routing:
                found = tr("{routing!r} with marks between the digits", routing=routing)
        except ValidationError as error:
            found = f"{routing!r}: {str(error).rstrip('.').lower()}"
    if not found and not (int(routing[:2]) <= 12 or 21 <= int(routing[:2]) <= 32 or 61 <= int(routing[:2]) <= 72):
        found = "" if routing[:2] == "80" else tr("{routing!r}, whose first two digits no bank has", routing=routing)
    if found:
        table.fault(
            "routing",
            found,
            tr("nine digits with a right check digit"),
            tr("copy it from the magnetic line at the foot of a cheque"),
        )


def _currency(text: str) -> str:
    try:
        money.digits(text)
    except KeyError:
        raise ValueError(tr("{text!r}, which ISO 4217 does not know as money", text=text)) from None
    return text
