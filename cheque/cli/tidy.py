"""`cheque tidy`: proofs and print streams of closed batches are deleted."""

import time
from pathlib import Path

import click

from cheque import made
from cheque.cli.desk import answer, answer_json, json_option, opened, say
from cheque.tongue import counted, mark, tr

#: how the reason begins for which a file is still there that ought to be gone
_STUCK = mark("it cannot be deleted")


@click.command("tidy")
@click.option("--look", is_flag=True, help="Only say what would be deleted, and what stays and why.")
@json_option
def tidy_command(look: bool, as_json: bool) -> None:
    """Delete the proofs and print streams of batches that are closed.

    They show what people are paid, and a print stream can be printed again. A batch is closed when each of its
    payments has its form and somebody has looked at the paper. Reports and registers are left alone. Only files made
    at this station are known, where they were made; copies and spooled jobs are yours to delete.
    """
    with opened() as (settings, book):
        fates = list(made.plan(book))
        folders = {settings.source.parent, Path.cwd(), *(fate.made.path.parent for fate in fates)}
        left = made.leftovers({folder.resolve() for folder in folders}, time.time())
        going = [fate.made for fate in fates if not fate.keep]
        going += [made.Made(tr("file left half-written"), path, ()) for path in left]
        if not look:
            fates += [made.Fate(one, why) for one in going if (why := _removed(one))]
            stuck = {fate.made.path for fate in fates if fate.keep}
            going = [one for one in going if one.path not in stuck]
            made.forget(book.place)
    if as_json:
        answer_json(
            {
                "deleted": [] if look else [str(one.path) for one in going],
                "to_delete": [str(one.path) for one in going] if look else [],
                "kept": [{"path": str(fate.made.path), "why": fate.keep} for fate in fates if fate.keep],
            }
        )
    else:
        _say(fates, going, look, bool(fates or left))
    if any(fate.keep.startswith(tr(_STUCK)) for fate in fates):
        click.get_current_context().exit(1)


def _say(fates: list[made.Fate], going: list[made.Made], look: bool, anything: bool) -> None:
    """What was deleted, or would be, what stays and why."""
    for one in going:
        of = tr(" of batch {list}", list=", ".join(map(str, one.batches))) if one.batches else ""
        file = {"what": tr(one.what), "of": of, "path": one.path}
        answer(
            tr("would be deleted: {what}{of}: {path}", **file) if look else tr("deleted: {what}{of}: {path}", **file)
        )
    for fate in fates:
        if fate.keep:
            answer(tr("stays: {what}: {path}: {keep}", what=tr(fate.made.what), path=fate.made.path, keep=fate.keep))
    if not anything:
        say(tr("Nothing is there to tidy away."))
    else:
        files = counted(len(going), "file")
        told = (
            tr("{files} would be deleted. What a disk has deleted can be read from it for a while yet.", files=files)
            if look
            else tr("{files} deleted. What a disk has deleted can be read from it for a while yet.", files=files)
        )
        say(told)


def _removed(one: made.Made) -> str:
    """Delete a file; gives why it cannot be, or ""."""
    try:
        made.remove(one)
    except FileNotFoundError:
        pass
    except OSError as error:
        return tr("{stuck}: {strerror}. See to it, then tidy again", stuck=tr(_STUCK), strerror=error.strerror)
    return ""
