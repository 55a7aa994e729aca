"""`cheque reconcile`: the numbers of a batch against the register, the stock and the money."""

from typing import Any

import click

from cheque.cli.desk import batch_number, opened
from cheque.cli.report import Output, how_options, standing


@click.group("reconcile")
def reconcile_command() -> None:
    """Account for every number of a batch."""


@reconcile_command.command("numbers")
@click.argument("batch")
@how_options
def numbers(batch: str, **how: Any) -> None:
    """Account for every number of BATCH, from the first to the last of its runs.

    What became of each, the payment it carries, the number that payroll expected; the register's total against
    the good cheques; what was received against what is accounted for. Exit 1 when something is not explained.
    """
    from cheque.reconcile.numbers import reconcile
    from cheque.report.reconciled import build

    output = Output(**how)
    with opened() as (settings, book), standing(book, None) as (reader, when):
        finding = reconcile(reader, batch_number(batch))
        output.write(build(finding, settings, when))
    if not finding.agrees:
        click.get_current_context().exit(1)
