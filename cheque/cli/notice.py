"""`cheque notice`: what the bank is told, and what it answered."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cheque.book import notices
from cheque.book.book import Reader
from cheque.cli.desk import (
    answer,
    answer_bare,
    answer_json,
    batch_number,
    columns,
    json_option,
    opened,
    say,
    whole,
)
from cheque.cli.notice_stop import stopped_command
from cheque.errors import UsageRefused
from cheque.money import plain
from cheque.tongue import counted, tr

if TYPE_CHECKING:
    from cheque.notify import Outcome


@click.group("notice")
def notice_command() -> None:
    """Tell the bank which cheques were issued and which must not be paid, and record what it answers.

    \b
    cheque notice issued 3                  the notice of batch 3, by the bank's layout
    cheque notice sent 1 --by "the portal"  it went out; then: accepted, or refused
    cheque notice stopped 100507 --reason lost
    cheque notice stopped 100507 --confirmed-by "N. Vault"
    """


notice_command.add_command(stopped_command)


@notice_command.command("issued")
@click.argument("batch", nargs=-1, required=True)
@click.option("--layout", default="", metavar="FILE", help="The layout; else the one that cheque.toml names.")
@click.option("--as", "as_", type=click.Choice(["text", "camt107"]), help="Text by a layout, or ISO 20022 camt.107.")
@click.option("-o", "--output", metavar="FILE", help="The file to write, which must not be there yet.")
@click.option("--again", default="", metavar="REASON", help="Tell those told before as well, and why.")
@click.option("--preview", is_flag=True, help="Show what would be written, and change nothing.")
@json_option
def issued(
    batch: tuple[str, ...], layout: str, as_: str | None, output: str | None, again: str, preview: bool, as_json: bool
) -> None:
    """Make the notice of the cheques issued in BATCH, or in several batches.

    Good cheques that the bank has not been told of are in, with reprints and those written by hand; so are those
    voided since it was told of them, their paper in hand. What does not fit is refused by number and field.
    """
    from cheque import notify
    from cheque.book import batches

    some = list(dict.fromkeys(batch_number(text) for text in batch))
    again = notices.asked_again(again)
    with opened() as (settings, book):
        accounts = [batches.get(book, one).account for one in some]
        way = notify.way_of(settings, dict.fromkeys(accounts), "issued", layout, _way(as_))
        if preview:
            from cheque.cli.notice_preview import show_preview

            def tells() -> Iterator[notices.Tell]:
                return notices.to_tell(book, some, again=bool(again))

            present = sorted({one.account for one in tells()})
            show_preview(way, notify.notice_of(book, settings, tells, present, hidden=True))
            return
        made = notify.issued(book, settings, some, way, path=Path(output) if output else None, again=again)
        doubtful = _doubtful(book, some)
    tell_made(made, as_json)
    if doubtful:
        say(
            tr(
                "Left out, because nobody has said what became of them: {forms}. Use `cheque confirm`.",
                forms=counted(doubtful, "form"),
            )
        )


def _way(as_: str | None) -> str:
    return {"camt107": "camt", "camt108": "camt"}.get(as_ or "", as_ or "")


def _doubtful(book: Reader, some: list[int]) -> int:
    marks = ", ".join("?" * len(some))
    sql = f"SELECT count(*) FROM number WHERE batch IN ({marks}) AND state IN ('reserved', 'sent')"
    return int(book.value(sql, *some))


def tell_made(made: "Outcome", as_json: bool) -> None:
    """Say what was made: its file, how many cheques of how much, and what to do with it."""
    totals = [f"{plain(int(total), str(currency))} {currency}" for currency, total in made.telling.totals]
    if as_json:
        answer_json(
            {
                "notice": made.notice,
                "file": str(made.path),
                "cheques": made.telling.items,
                "totals": totals,
                "cut": made.cuts,
                "told before with another payment": made.otherwise,
            }
        )
    for cut in made.cuts[:20]:
        say(f"  {cut}.")
    if len(made.cuts) > 20:
        say(tr("  … and {count} more cut as the layout says.", count=len(made.cuts) - 20))
    if made.otherwise:
        say(
            tr(
                "The bank was told of {otherwise} before with another payment, because the cheques were "
                "renumbered since: ask it how it wants that put right.",
                otherwise=", ".join(made.otherwise),
            )
        )
    if as_json:
        return
    say(
        tr(
            "Notice {notice}: {cheques}, {totals}, in {path}.",
            notice=made.notice,
            cheques=counted(made.telling.items, "cheque"),
            totals=", ".join(totals),
            path=made.path,
        )
    )
    say(
        tr(
            "Only you can read it: it names payees and, where the layout has it, the account. Delete it when "
            "it is sent."
        )
    )
    say(tr('Send it in the bank\'s own way; then: cheque notice sent {notice} --by "how"', notice=made.notice))
    answer_bare(str(made.notice))


def _on(text: str) -> str:
    """The day given, or today; not in the future, nor over a year ago."""
    try:
        day = date.fromisoformat(text) if text else date.today()
    except ValueError:
        raise UsageRefused(tr("found --on {text!r}; wanted a date such as 2026-11-27.", text=text)) from None
    if day > date.today():
        raise UsageRefused(tr("found --on {text}, which is yet to come.", text=text))
    if day < date.today() - timedelta(days=366):
        raise UsageRefused(tr("found --on {text}, over a year ago. Look at the year.", text=text))
    return day.isoformat()


def _settled(notice: str, state: str, by: str, on: str, reason: str = "") -> notices.Made:
    try:
        number = whole(notice)
    except ValueError:
        raise UsageRefused(
            tr("found {notice!r}; wanted a notice's number, as `cheque notice list` shows it.", notice=notice)
        ) from None
    day = _on(on)
    with opened() as (_, book):
        return notices.settle(book, number, state, by=by, on=day, reason=reason)


_BY = click.option("--by", required=True, metavar="NAME", help="By whom, or in what way.")
_WHEN = click.option("--on", default="", metavar="DATE", help="When, as 2026-11-27; today unless given.")


@notice_command.command("sent")
@click.argument("notice")
@_BY
@_WHEN
def sent(notice: str, by: str, on: str) -> None:
    """Record that NOTICE went to the bank."""
    found = _settled(notice, "sent", by, on)
    say(tr("Notice {id} was sent on {on_day} by {by_whom}.", id=found.id, on_day=found.on_day, by_whom=found.by_whom))
    say(tr("When the bank answers: cheque notice accepted {id} --by NAME, or refused, with --reason.", id=found.id))


@notice_command.command("accepted")
@click.argument("notice")
@_BY
@_WHEN
def accepted(notice: str, by: str, on: str) -> None:
    """Record that the bank took NOTICE."""
    found = _settled(notice, "accepted", by, on)
    say(
        tr(
            "Notice {id} was accepted on {on_day} by {by_whom}.",
            id=found.id,
            on_day=found.on_day,
            by_whom=found.by_whom,
        )
    )


@notice_command.command("refused")
@click.argument("notice")
@click.option("--reason", required=True, help="What the bank says is wrong with it.")
@_BY
@_WHEN
def refused(notice: str, reason: str, by: str, on: str) -> None:
    """Record that the bank refused NOTICE: then nothing in it was told."""
    found = _settled(notice, "refused", by, on, reason)
    say(
        tr(
            "Notice {id} was refused on {on_day} by {by_whom}: {reason}.",
            id=found.id,
            on_day=found.on_day,
            by_whom=found.by_whom,
            reason=found.reason,
        )
    )
    if found.what == "issued":
        say(tr("None of its cheques counts as told: put right what was wrong, and make the notice again."))
    else:
        say(tr("The bank has stopped nothing. Telephone it now: the cheque can be paid at any moment."))


@notice_command.command("answer")
@click.argument("file")
@json_option
@click.pass_context
def answered(ctx: click.Context, file: str, as_json: bool) -> None:
    """Read FILE, the bank's answer to requests to stop cheques (ISO 20022 camt.109), and record what it says.

    Exit 1 when something in it does not agree with what was asked.
    """
    from cheque import answered as answers

    with opened() as (settings, book):
        found = answers.enter(book, settings, Path(file))
    if as_json:
        answer_json([{"number": one.number, "is": one.verdict, "entered": one.entered} for one in found])
    else:
        for one in found:
            answer(f"{one.number}: {one.verdict}")
        say(
            tr(
                "{answers} entered, of {count}.",
                answers=counted(sum(one.entered for one in found), "answer"),
                count=len(found),
            )
        )
    ctx.exit(1 if any(one.odd for one in found) else 0)


@notice_command.command("list")
@json_option
def listed(as_json: bool) -> None:
    """Every notice, and how it stands."""
    with opened() as (_, book):
        found = list(notices.every(book))
    if as_json:
        answer_json([one._asdict() for one in found])
        return
    if not found:
        say(tr("No notice was made yet: cheque notice issued BATCH makes one."))
        return
    rows = [["notice", "of", "as", "cheques", "is", "on", "by", "file"]]
    for one in found:
        state = one.state + (f": {one.reason}" if one.reason else "")
        rows.append([str(one.id), one.what, one.written, str(one.items), state, one.on_day, one.by_whom, one.file])
    answer(columns(rows, right=frozenset({0, 3})))


@notice_command.command("check")
@click.argument("layout")
def check(layout: str) -> None:
    """Check LAYOUT, a file by the bank's rules, and show what it makes of three invented cheques."""
    from cheque import notify
    from cheque.cli.notice_preview import show_sample

    found, _ = notify.read_layout(Path(layout))
    show_sample(found)


@notice_command.command("example")
@click.argument("name", required=False)
def example(name: str | None) -> None:
    """Print the layout NAME, of an invented bank, to start one of your own from; without NAME, list them."""
    from cheque.library import shipped_layouts

    known = shipped_layouts()
    if name is None:
        answer(columns([[each, told] for each, (_, told) in known.items()]))
        return
    if name not in known:
        raise UsageRefused(tr("there is no example {name!r}; there is {known}.", name=name, known=", ".join(known)))
    answer(known[name][0].read_text("utf-8").rstrip("\n"))
