"""`cheque completion`: what a shell needs to finish commands, options and names."""

import click

from cheque.cli.desk import answer, say
from cheque.tongue import mark, tr

#: shell -> where its completions are read from
_WHERE = {
    "bash": "~/.local/share/bash-completion/completions/cheque",
    "zsh": mark("a folder of $fpath, as _cheque"),
    "fish": "~/.config/fish/completions/cheque.fish",
}


@click.command("completion")
@click.argument("shell", type=click.Choice(list(_WHERE)))
def completion_command(shell: str) -> None:
    """Print what SHELL needs to complete commands and options.

    Keep it where the shell looks: cheque completion bash > ~/.local/share/bash-completion/completions/cheque
    """
    from click.shell_completion import get_completion_class

    found = get_completion_class(shell)
    assert found is not None
    root = click.get_current_context().find_root().command
    source = found(root, {}, "cheque", "_CHEQUE_COMPLETE").source_vars()
    answer(found.source_template % source)
    say(tr("Keep this where {shell} looks: {where}", shell=shell, where=tr(_WHERE[shell])))
