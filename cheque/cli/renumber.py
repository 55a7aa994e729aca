"""`cheque renumber`: it is found that the paper was a form off; good cheques get the numbers that they stand on."""

import click

from cheque.book import renumber
from cheque.book.state import State
from cheque.cli.desk import answer_json, json_option, number_range, opened, say
from cheque.tongue import counted, tr


@click.command("renumber")
@click.argument("numbers")
@click.option("--by", type=int, required=True, help="How many forms further on they are (1; -1 for one back).")
@click.option(
    "--left", type=click.Choice([s.value for s in renumber.LEFT]), required=True, help="What the form skipped is."
)
@click.option("--reason", required=True, help="How it was found, for the record.")
@click.option("--approved-by", required=True, metavar="NAME", help="Who else looked at the paper and approves.")
@json_option
def renumber_command(numbers: str, by: int, left: str, reason: str, approved_by: str, as_json: bool) -> None:
    """Move a stretch of good cheques, NUMBERS as the book has them, to the numbers preprinted on their forms.

    For when a form was skipped and nobody noticed: every cheque after it is good, and stands on the next number.
    Both numbers are kept: the one preprinted on the form, and the one struck on it.
    """
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        event = renumber.move(
            book, account=account, first=first, last=last, by=by, left=State(left), reason=reason, approved=approved_by
        )
    if as_json:
        answer_json({"event": event.seq, "digest": event.digest, **event.data})
        return
    say(
        tr(
            "{numbers} of {account} moved: {first} to {last} are {first2} to {last2}. If the bank was told "
            "of these cheques, tell it again. Correct the list that goes out with them by hand, or print it "
            "anew: `cheque report issued`.",
            numbers=counted(last - first + 1, "number"),
            account=account,
            first=first,
            last=last,
            first2=first + by,
            last2=last + by,
        )
    )
