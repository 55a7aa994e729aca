"""The command line."""

import click

from cheque import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="cheque")
def main() -> None:
    """From a payment register to numbered cheques, every number accounted for."""
