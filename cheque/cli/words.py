"""`cheque words`: an amount in words and figures, proven, as a cheque would have it."""

import json
import sys
from typing import Any

import click

from cheque import money
from cheque.cli.desk import answer, answer_json, json_option
from cheque.errors import Fault, InputRefused, UsageRefused
from cheque.tongue import tr


@click.command("words")
@click.argument("amount", required=False)
@click.option("--currency", default="USD", show_default=True, help="A code of ISO 4217.")
@click.option("--locale", default="en_US", show_default=True, help="How the country writes it: --list names them.")
@click.option("--substitute", default="", metavar="WAY", help="How accented letters are replaced, where --list has it.")
@click.option("--list", "listing", is_flag=True, help="The locales, their currencies, and how each is proven.")
@json_option
def words_command(
    amount: str | None, currency: str, locale: str, substitute: str, listing: bool, as_json: bool
) -> None:
    """AMOUNT in words, as on a cheque (without protective fill). AMOUNT of - reads one a line."""
    if listing:
        _list(as_json)
        return
    if amount is None:
        raise UsageRefused(tr("which amount? Give it as 1234.56, or - to read one a line."))
    try:
        money.digits(currency)
    except KeyError:
        raise UsageRefused(
            tr("found --currency {currency!r}, which ISO 4217 does not know as money.", currency=currency)
        ) from None
    if amount != "-":
        _show(_worded(amount, currency, locale, substitute, "AMOUNT"), as_json)
        return
    faults: list[Fault] = []
    if sys.stdin is None:
        raise UsageRefused(tr("standard input is closed: nothing can be read from it."))
    for number, line in enumerate(sys.stdin.buffer, 1):
        try:
            text = line.decode().strip()
        except UnicodeDecodeError:
            faults.append(
                Fault(
                    tr("line {number}", number=number),
                    tr("bytes that are not UTF-8 text"),
                    tr("an amount such as 1234.56"),
                )
            )
            continue
        if not text:
            continue
        try:
            _show(_worded(text, currency, locale, substitute, tr("line {number}", number=number)), as_json)
        except InputRefused as refused:
            faults += refused.faults
    if faults:
        raise InputRefused(
            tr("{count} amount{more} refused.", count=len(faults), more="s" if len(faults) > 1 else ""), faults
        )


def _worded(text: str, currency: str, locale: str, substitute: str, where: str) -> dict[str, Any]:
    from cheque import wording

    try:
        found = wording.word(money.parse(text, currency), currency, locale, substitute=substitute)
    except money.AmountError:
        wanted = tr(
            "an exact {currency} amount such as {amount}, with all its decimals or none",
            currency=currency,
            amount=money.plain(123456, currency),
        )
        raise InputRefused(tr("the amount is refused."), [Fault(where, repr(text), wanted)]) from None
    except wording.WordingError as error:
        raise InputRefused(
            tr("the amount is refused."), [Fault(where, repr(text), tr("what can be proven: {error}", error=error))]
        ) from None
    return {
        "amount": money.plain(found.minor, currency),
        "minor_units": found.minor,
        "currency": currency,
        "locale": locale,
        "whole": found.whole,
        "legal": found.legal,
        "shorter": list(found.shorter),
        "figures": found.figures,
    }


def _show(found: dict[str, Any], as_json: bool) -> None:
    answer(json.dumps(found, ensure_ascii=False) if as_json else str(found["legal"]))


def _list(as_json: bool) -> None:
    from cheque import wording

    if as_json:
        told = [{**p._asdict(), "substitutes": list(wording.substitutions(p.locale))} for p in wording.locales()]
        answer_json({"locales": told, "refused": wording.refused()})
        return
    for found in wording.locales():
        answer(f"{found.locale}  {found.language}")
        ways = ", ".join(wording.substitutions(found.locale))
        for name, text in (
            ("practice", found.practice),
            (tr("proven by"), found.proof),
            ("currencies", " ".join(found.currencies)),
            (tr("left to the form"), " ".join(found.preprinted)),
            ("substitutes", ways),
        ):
            if text:
                answer(f"    {name:<17} {text}")
    for name, why in wording.refused().items():
        answer(tr("{name} is refused: {why}", name=name, why=why))
