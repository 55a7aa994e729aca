"""`cheque book roles`: a book on a server put under roles, and who has them."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from cheque.cli.desk import answer, answer_json, columns, json_option, opened, say
from cheque.errors import UsageRefused
from cheque.tongue import heading, tr

if TYPE_CHECKING:
    from cheque.book.gate import Asks
    from cheque.book.postgres import PostgresStore
    from cheque.settings import Settings


@click.group("roles")
def roles_command() -> None:
    """On a PostgreSQL server: hands kept apart by the database itself. Run by who owns the book there.

    Stations then write through functions alone, which know who is at the other end: docs/duties.md.
    """


@contextmanager
def _on_server() -> "Iterator[tuple[Settings, PostgresStore]]":
    with opened() as (settings, book):
        if not book.server:
            raise UsageRefused(
                tr("this book is in a folder, where there are no roles: whoever can write the file can all.")
            )
        from cheque.book.postgres import PostgresStore

        assert isinstance(book.store, PostgresStore)
        yield settings, book.store


def _asked(settings: "Settings") -> "Asks":
    """What the settings of who runs this ask."""
    from cheque.book.gate import Asks

    duties, over = settings.duties, {name: one.second_approval_over for name, one in settings.accounts.items()}
    limits = {name: limit for name, limit in over.items() if limit is not None}
    return Asks(duties.approve, duties.reconcile, duties.second_person, limits)


@roles_command.command("make")
def make() -> None:
    """Put the book under roles; or make its functions anew after an upgrade, everything else staying as it is.

    The duties that this cheque.toml asks are asked by the database from then on, whatever a station's says.
    """
    from cheque.book.gate import keeping

    with _on_server() as (settings, store):
        again = bool(store.me)
        keeping.make(store, _asked(settings))
    if again:
        say(tr("The functions of this release are in place; people, rights and duties are as they were."))
        return
    say(tr("The book is under roles: nobody but its owner can write its tables any more."))
    say(tr("Next: cheque book roles grant ROLE PERSON, for everybody; `cheque book roles show` shows them."))


@roles_command.command("grant")
@click.argument("role")
@click.argument("people", metavar="PERSON...", nargs=-1, required=True)
def grant(role: str, people: tuple[str, ...]) -> None:
    """Give ROLE to each PERSON, a role of the server that logs in."""
    from cheque.book.gate import keeping

    with _on_server() as (_, store):
        keeping.grant(store, role, people)
    say(f"{tr(' and ').join(people)}: {role}.")


@roles_command.command("take")
@click.argument("role")
@click.argument("people", metavar="PERSON...", nargs=-1, required=True)
def take(role: str, people: tuple[str, ...]) -> None:
    """Take ROLE from each PERSON."""
    from cheque.book.gate import keeping

    with _on_server() as (_, store):
        keeping.grant(store, role, people, take=True)
    say(tr("{people}: not {role} any more.", people=tr(" and ").join(people), role=role))


@roles_command.command("allow")
@click.argument("role")
@click.argument("kind")
def allow(role: str, kind: str) -> None:
    """Let ROLE write events of KIND, such as stock.received, as well."""
    from cheque.book.gate import keeping

    with _on_server() as (_, store):
        keeping.allow(store, role, kind)
    say(tr("{role} may write {kind}.", role=role, kind=kind))


@roles_command.command("deny")
@click.argument("role")
@click.argument("kind")
def deny(role: str, kind: str) -> None:
    """Let ROLE write events of KIND no more."""
    from cheque.book.gate import keeping

    with _on_server() as (_, store):
        keeping.allow(store, role, kind, deny=True)
    say(tr("{role} may not write {kind}.", role=role, kind=kind))


@roles_command.command("ask")
def ask() -> None:
    """Ask the duties that this cheque.toml asks ([duties], second_approval_over), and no others, from now on."""
    from cheque.book.gate import keeping

    with _on_server() as (settings, store):
        keeping.ask(store, _asked(settings))
        say(_told(store.asks()))


@roles_command.command("show")
@json_option
def show(as_json: bool) -> None:
    """Who has which role, what each may write, which duties are asked."""
    from cheque.book.gate import keeping

    with _on_server() as (_, store):
        hands, above, asks = keeping.hands(store), keeping.over_all(store), store.asks()
    if as_json:
        roles = {one.name: {"role": one.role, "people": one.people, "may": one.kinds} for one in hands}
        answer_json({"roles": roles, "superusers": above, "asks": asks._asdict() if asks else {}})
        return
    answer(
        columns(
            [tuple(heading("role", "people")), *((one.name, ", ".join(one.people) or tr("nobody")) for one in hands)]
        )
    )
    for one in hands:
        answer(
            tr(
                "{name} ({role}) may write: {kinds}",
                name=one.name,
                role=one.role,
                kinds=", ".join(one.kinds) or tr("nothing"),
            )
        )
    answer(_told(asks))
    if above:
        answer(
            tr(
                "Whatever these roles say, a superuser of the server can do everything: {above}.",
                above=", ".join(above),
            )
        )


def _told(asks: "Asks | None") -> str:
    if asks is None:
        return ""
    told = [name for name in ("approve", "reconcile", "second_person") if getattr(asks, name)]
    told += [
        tr("second_approval_over of {account}: {limit} minor units", account=account, limit=limit)
        for account, limit in sorted(asks.over.items())
    ]
    return tr("Duties asked: {told}.", told=", ".join(told) or tr("none"))


@roles_command.command("drop")
@click.option("--yes", is_flag=True, help="Yes, do it.")
def drop(yes: bool) -> None:
    """Take the book out from under roles: its tables are its owner's alone then."""
    from cheque.book.gate import keeping

    if not yes:
        raise UsageRefused(tr("the database keeps no hands apart then. Say --yes if that is meant."))
    with _on_server() as (_, store):
        keeping.drop(store)
    say(tr("The book is under no roles any more; only its owner can open it, until somebody is let at it."))
