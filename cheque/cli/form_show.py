"""`cheque form show`: the blank form, everything struck on it, slack, parts, and who sees what."""

from collections.abc import Callable
from pathlib import Path

import click

from cheque import library
from cheque.cli.desk import answer, answer_json, columns, json_option, no_such_file, private_write, say
from cheque.cli.form import own_forms
from cheque.cli.form_matrix import matrix_json, matrix_text
from cheque.errors import InputRefused, UsageRefused
from cheque.form import Form
from cheque.tongue import tr
from cheque.workbench.chart import chart, listed

_KINDS = (".txt", ".svg", ".pdf", ".png")
_DPI = 120


@click.command("show")
@click.argument("form")
@click.option("-o", "--output", metavar="FILE", help="A picture: FILE ends in .svg, .pdf, .png or .txt.")
@click.option("--part", type=int, metavar="N", help="Only this part, counted from 1.")
@click.option("--slack", is_flag=True, help="Also how far each field may shift.")
@click.option("--who", is_flag=True, help="Only who sees what, as a table.")
@click.option("--replace", is_flag=True, help="Write over FILE when it is there.")
@click.option("--watch", is_flag=True, help="Draw anew whenever the definition is saved, until Ctrl-C.")
@json_option
def show_form(
    form: str,
    output: str | None,
    part: int | None,
    slack: bool,
    who: bool,
    replace: bool,
    watch: bool,
    as_json: bool,
) -> None:
    """Show FORM (a name, or a file): the blank form, its fields, its parts and who sees what.

    As text, or as a picture with -o. Colours of a picture: a field that the part shows, pale when it is hidden from it,
    red when only a piece of it is; a dashed frame is how far it may shift.
    """
    own = own_forms()
    path = Path(output) if output else None
    if path and path.suffix.lower() not in _KINDS:
        raise UsageRefused(
            tr("found -o {output!r}; wanted a name that ends in {kinds}.", output=output, kinds=", ".join(_KINDS))
        )
    if path and not replace:
        no_such_file(str(path))

    def draw() -> None:
        found = library.read(form, own)
        parts = parts_of(found, part)
        if as_json:
            answer_json({"form": found.name, "title": found.title, "parts": matrix_json(found)})
        elif path:
            private_write(path, picture(path.suffix.lower(), found, parts, slack=slack, who=who))
            say(tr("{name} is drawn in {path}.", name=found.name, path=path))
        else:
            answer(_text(found, parts, slack=slack, who=who))

    if watch:
        watched(library.find(form, own), draw)
    else:
        draw()


def watched(path: Path, draw: Callable[[], None], *more: Path) -> None:
    """Draw now and at every save, until Ctrl-C; a definition with faults is told, and waited for."""
    from cheque.workbench.watch import watch

    def redraw() -> None:
        try:
            draw()
        except InputRefused as refusal:
            say(str(refusal))

    say(tr("Watching; Ctrl-C ends it."))
    try:
        watch((path, *more), redraw)
    except KeyboardInterrupt:
        say(tr("No longer watching."))


def parts_of(form: Form, part: int | None) -> list[int]:
    """The part asked for, counted from 0, or all. UsageRefused when the form has no such part."""
    if part is None:
        return list(range(len(form.parts)))
    if not 1 <= part <= len(form.parts):
        raise UsageRefused(
            tr(
                "found --part {part}; wanted 1 to {count}, for {name} has so many.",
                part=part,
                count=len(form.parts),
                name=form.name,
            )
        )
    return [part - 1]


def _text(form: Form, parts: list[int], *, slack: bool, who: bool) -> str:
    if who:
        return matrix_text(form)
    pieces = [f"{form.name}: {form.title}", *(chart(form, index).rstrip() for index in parts)]
    pieces += [columns(listed(form, with_slack=slack)), matrix_text(form)]
    return "\n\n".join(pieces)


def picture(kind: str, form: Form, parts: list[int], *, slack: bool, who: bool) -> bytes:
    """The parts under each other, and who sees what, as a file of a kind (".svg", ".pdf", ".png", ".txt")."""
    from cheque.picture.drawing import below
    from cheque.workbench.show import draw_matrix, draw_part

    if kind == ".txt":
        return (_text(form, parts, slack=slack, who=who) + "\n").encode()
    drawings = [] if who else [draw_part(form, index, with_slack=slack) for index in parts]
    if who or len(parts) > 1:
        drawings.append(draw_matrix(form))
    if kind == ".pdf":
        from cheque.picture.pdf import to_pdf

        return to_pdf(drawings, title=form.title)
    drawing = below(drawings, title=form.title)
    if kind == ".svg":
        from cheque.picture.svg import to_svg

        return to_svg(drawing).encode()
    from cheque.picture.png import to_png

    return to_png(drawing, _DPI)
