"""`cheque words`: an amount in words and figures, proven, as a cheque would have it."""

import json
import sys

import click

from cheque import money
from cheque.cli.desk import answer, answer_json, columns, json_option
from cheque.errors import Fault, InputRefused, UsageRefused


@click.command("words")
@click.argument("amount", required=False)
@click.option("--currency", default="USD", show_default=True, help="A code of ISO 4217.")
@click.option("--locale", default="en_US", show_default=True, help="How the country writes it: --list names them.")
@click.option("--list", "listing", is_flag=True, help="The locales, their currencies, and how each is proven.")
@json_option
def words_command(amount: str | None, currency: str, locale: str, listing: bool, as_json: bool) -> None:
    """AMOUNT in words, as on a cheque (without protective fill). AMOUNT of - reads one a line."""
    if listing:
        _list(as_json)
        return
    if amount is None:
        raise UsageRefused("which amount? Give it as 1234.56, or - to read one a line.")
    try:
        money.digits(currency)
    except KeyError:
        raise UsageRefused(f"found --currency {currency!r}, which ISO 4217 does not know as money.") from None
    if amount != "-":
        _show(_worded(amount, currency, locale, "AMOUNT"), as_json)
        return
    faults: list[Fault] = []
    for number, line in enumerate(sys.stdin, 1):
        text = line.strip()
        if not text:
            continue
        try:
            _show(_worded(text, currency, locale, f"line {number}"), as_json)
        except InputRefused as refused:
            faults += refused.faults
    if faults:
        raise InputRefused(f"{len(faults)} amount{'s' if len(faults) > 1 else ''} refused.", faults)


def _worded(text: str, currency: str, locale: str, where: str) -> dict[str, str | int]:
    from cheque import wording

    try:
        found = wording.word(money.parse(text, currency), currency, locale)
    except (money.AmountError, wording.WordingError) as error:
        raise InputRefused("the amount is refused.", [Fault(where, str(error), "an amount it can prove")]) from None
    return {
        "amount": money.plain(found.minor, currency),
        "minor_units": found.minor,
        "currency": currency,
        "locale": locale,
        "whole": found.whole,
        "legal": found.legal,
        "figures": found.figures,
    }


def _show(found: dict[str, str | int], as_json: bool) -> None:
    answer(json.dumps(found, ensure_ascii=False) if as_json else str(found["legal"]))


def _list(as_json: bool) -> None:
    from cheque import wording

    if as_json:
        answer_json({"locales": [p._asdict() for p in wording.locales()], "refused": wording.refused()})
        return
    rows = [["locale", "language", "currencies", "proven by"]]
    rows += [[p.locale, p.language, " ".join(p.currencies), p.proof] for p in wording.locales()]
    answer(columns(rows))
    for name, why in wording.refused().items():
        answer(f"{name} is refused: {why}")
