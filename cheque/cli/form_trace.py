"""`cheque form trace`: a scanned or photographed form under the fields of its definition, at true scale."""

from pathlib import Path

import click

from cheque import library
from cheque.cli.desk import no_such_file, private_write, say
from cheque.cli.form import own_forms
from cheque.cli.form_show import parts_of, watched
from cheque.errors import UsageRefused
from cheque.tongue import tr
from cheque.workbench.trace import Corners, read_corners

_KINDS = (".png", ".pdf")


@click.command("trace")
@click.argument("form")
@click.argument("scan")
@click.option(
    "--corners",
    required=True,
    metavar="POINTS",
    help="'x,y x,y x,y x,y' in dots of SCAN: the paper's corners after bursting, from the upper left clockwise; "
    "or whole, when SCAN is the paper and nothing else.",
)
@click.option("-o", "--output", metavar="FILE", help="The picture, .png or .pdf; else FORM-traced.png, here.")
@click.option("--part", type=int, metavar="N", default=1, show_default=True, help="The part that was scanned.")
@click.option("--dpi", type=click.IntRange(30, 600), default=150, show_default=True, help="Dots to the inch.")
@click.option("--slack", is_flag=True, help="Also how far each field may shift.")
@click.option("--replace", is_flag=True, help="Write over FILE when it is there.")
@click.option("--watch", is_flag=True, help="Draw anew whenever the definition or the scan is saved, until Ctrl-C.")
def trace_form(
    form: str,
    scan: str,
    corners: str,
    output: str | None,
    part: int,
    dpi: int,
    slack: bool,
    replace: bool,
    watch: bool,
) -> None:
    """Lay SCAN, a picture of a form, flat and at true scale under the fields of FORM, to match them by eye.

    Find the four corners of the paper in any picture viewer; a photograph may be taken at a slant. Printed at its true
    size the result can be held against the form itself. Ticks at its edges are the chart's columns and lines.
    """
    from cheque.workbench.trace import load_scan, to_bytes, traced

    own = own_forms()
    path = Path(output or f"{library.read(form, own).name}-traced.png")
    if path.suffix.lower() not in _KINDS:
        raise UsageRefused(
            tr("found -o {output!r}; wanted a name that ends in {kinds}.", output=output, kinds=tr(" or ").join(_KINDS))
        )
    if not replace:
        no_such_file(str(path))
    marked = _corners(corners)

    def draw() -> None:
        found, picture = library.read(form, own), load_scan(Path(scan))
        points = marked or read_corners(f"0,0 {picture.width},0 {picture.width},{picture.height} 0,{picture.height}")
        for x, y in points:
            if x > picture.width or y > picture.height:
                raise UsageRefused(
                    tr(
                        "found a corner at {x},{y}; wanted it within {width},{height}, the size of {scan}.",
                        x=x,
                        y=y,
                        width=picture.width,
                        height=picture.height,
                        scan=scan,
                    )
                )
        image = traced(found, picture, points, parts_of(found, part)[0], dpi=dpi, slack=slack)
        private_write(path, to_bytes(image, dpi, path.suffix.lower()))
        say(tr("{name} is traced in {path}, {dpi} dots to the inch.", name=found.name, path=path, dpi=dpi))

    if watch:
        watched(library.find(form, own), draw, Path(scan))
    else:
        draw()


def _corners(text: str) -> Corners | None:
    if text == "whole":
        return None
    try:
        return read_corners(text)
    except ValueError as error:
        raise UsageRefused(tr("found --corners {error}.", error=error)) from None
