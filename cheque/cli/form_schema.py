"""`cheque form schema`: the JSON Schema of form definitions, so that an editor completes and checks them."""

import json
from pathlib import Path

import click

from cheque.cli.desk import answer, no_such_file, say
from cheque.errors import InputRefused
from cheque.tongue import tr


@click.command("schema")
@click.option("-o", "--output", metavar="FILE", help="Write it there instead of saying it.")
def schema_form(output: str | None) -> None:
    """The JSON Schema (draft 7) of form definitions.

    An editor of TOML that knows JSON Schema then completes keys, shows what they mean and marks what is wrong: put
    #:schema ./form.schema.json on the first line of a definition beside the file.
    """
    from cheque.form.schema import schema

    text = json.dumps(schema(), ensure_ascii=False, indent=2)
    if output is None:
        answer(text)
        return
    path: Path = no_such_file(output)
    try:
        path.write_text(text + "\n", "utf-8")
    except OSError as error:
        raise InputRefused(
            tr("{path} cannot be written: {strerror}. Name another place.", path=path, strerror=error.strerror)
        ) from None
    say(tr("{path}: begin a definition with the line  #:schema ./{name}", path=path, name=path.name))
