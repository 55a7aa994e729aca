"""A scan or a slanted photograph of a form laid flat under its fields, at true scale."""

from fractions import Fraction
from pathlib import Path

import pytest
from form.small_form import SMALL, changed
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from journeys.firm import Firm
from PIL import Image, ImageChops, ImageStat

from cheque import library
from cheque.errors import InputRefused
from cheque.form import load
from cheque.picture.drawing import draw_form
from cheque.picture.png import to_image
from cheque.units import INCH
from cheque.workbench.trace import Corners, flat, load_scan, perspective, read_corners, traced

DPI = 100


def spots(x: int, y: int) -> st.SearchStrategy[tuple[int, int]]:
    """Points of one corner of a picture of 400 by 400 dots."""
    return st.tuples(st.integers(x, x + 150), st.integers(y, y + 150))


def found(numbers: tuple[Fraction, ...], x: Fraction | int, y: Fraction | int) -> tuple[Fraction, Fraction]:
    """Where a point of the flat picture is in the slanted one."""
    a, b, c, d, e, f, g, h = numbers
    under = g * x + h * y + 1
    return (a * x + b * y + c) / under, (d * x + e * y + f) / under


def around(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int], d: tuple[int, int]) -> Corners | None:
    try:
        return read_corners(" ".join(f"{x},{y}" for x, y in (a, b, c, d)))
    except ValueError:
        return None


@settings(max_examples=100, deadline=None)
@given(spots(0, 0), spots(250, 0), spots(250, 250), spots(0, 250))
def test_the_corners_of_the_paper_are_exactly_those_marked_and_its_middle_is_where_the_diagonals_cross(
    a: tuple[int, int], b: tuple[int, int], c: tuple[int, int], d: tuple[int, int]
) -> None:
    """A perspective keeps straight lines straight, so it takes the crossing of diagonals to the crossing of diagonals
    (projective geometry; any textbook)."""
    corners = around(a, b, c, d)
    assume(corners)
    assert corners
    numbers = perspective(corners, 850, 400)
    assert tuple(found(numbers, x, y) for x, y in ((0, 0), (850, 0), (850, 400), (0, 400))) == corners
    x, y = found(numbers, 425, 200)
    for (ax, ay), (cx, cy) in ((corners[0], corners[2]), (corners[1], corners[3])):
        assert (cx - ax) * (y - ay) == (cy - ay) * (x - ax)  # it lies on both diagonals


def test_a_flat_scan_is_only_moved_and_scaled() -> None:
    corners = read_corners("10,20 860,20 860,420 10,420")
    assert found(perspective(corners, 850, 400), 100, 50) == (110, 70)


@pytest.mark.parametrize(
    "text",
    ["", "1,2 3,4 5,6", "0,0 9,0 9,9 x,9", "0,0 0,9 9,9 9,0", "0,0 9,9 9,0 0,9", "0,0 9,0 9,0 0,9", "-1,0 9,0 9,9 0,9"],
)
def test_what_are_no_four_corners_in_their_order_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="wanted"):
        read_corners(text)


def test_a_photograph_at_a_slant_lies_flat_again() -> None:
    """The blank form drawn, put aslant by Pillow, and laid flat by our own arithmetic: the same but for blur."""
    form = library.read("cheque-gb")
    drawing = draw_form(form, (), part_index=0)
    straight = to_image(drawing, DPI)
    inset = tuple(-side * DPI / INCH for side in drawing[:2])
    size = (form.paper.width * DPI // INCH, form.paper.length * DPI // INCH)
    paper = straight.crop((round(inset[0]), round(inset[1]), round(inset[0]) + size[0], round(inset[1]) + size[1]))
    quad = ((60, 40), (890, 90), (850, 470), (20, 400))
    # Pillow's own QUAD takes four corners of the source: aslant means the paper's corners fall on `quad`
    back = perspective(read_corners(" ".join(f"{x},{y}" for x, y in quad)), *size)
    photo = Image.new("RGB", (950, 520), (80, 70, 60))
    inverse = _inverted(back)
    photo = paper.transform(photo.size, Image.Transform.PERSPECTIVE, inverse, Image.Resampling.BICUBIC)
    again = flat(photo, read_corners(" ".join(f"{x},{y}" for x, y in quad)), form, DPI)
    difference = ImageStat.Stat(ImageChops.difference(again.resize(size), paper)).mean
    assert max(difference) < 4, difference
    aside = flat(photo, read_corners("80,40 890,90 850,470 20,400"), form, DPI)  # one corner 20 dots off
    assert max(ImageStat.Stat(ImageChops.difference(aside.resize(size), paper)).mean) > max(difference) * 2


def _inverted(n: tuple[Fraction, ...]) -> tuple[float, ...]:
    """The perspective that undoes another: the inverse of its matrix, by cofactors."""
    a, b, c, d, e, f, g, h = n
    one = Fraction(1)
    rows = [
        [e * one - f * h, c * h - b * one, b * f - c * e],
        [f * g - d * one, a * one - c * g, c * d - a * f],
        [d * h - e * g, b * g - a * h, a * e - b * d],
    ]
    return tuple(float(value / rows[2][2]) for row in rows for value in row)[:8]


def test_the_fields_stand_over_the_scan_where_the_definition_has_them() -> None:
    form = load(SMALL, "small.toml")
    white = Image.new("RGB", (800, 450), (255, 255, 255))
    picture = traced(form, white, read_corners("0,0 800,0 800,450 0,450"), 0, dpi=DPI)
    assert picture.size == (800, 450)
    payee = next(field for field in form.fields if field.what == "payee")
    x, y = (payee.column - 1) * 10, (payee.line - 1) * DPI // 6
    edge = [picture.getpixel((at, y + 8)) for at in (x - 1, x, x + 1)]
    assert any(sum(dot) < 600 for dot in edge if isinstance(dot, tuple))  # the left side of its frame
    assert picture.getpixel((x + 5, y - 8)) == (255, 255, 255)


@pytest.fixture
def bench(tmp_path: Path) -> Firm:
    """The small form and a scan of nothing."""
    (tmp_path / "small.toml").write_text(SMALL, "utf-8")
    Image.new("RGB", (420, 250), (250, 248, 240)).save(tmp_path / "scan.png")
    return Firm(tmp_path)


def test_a_form_is_traced_at_its_true_size(bench: Firm) -> None:
    bench.run(
        "form", "trace", "small.toml", "scan.png", "--corners", "5,4 410,8 408,240 7,236", "--part", "2", "--slack"
    )
    with Image.open(bench.folder / "small-traced.png") as picture:
        assert picture.size == (1200, 675)
        assert [round(dots) for dots in picture.info["dpi"]] == [150, 150]
    again = ("form", "trace", "small.toml", "scan.png", "--corners", "whole", "-o", "a.pdf", "--dpi", "72")
    bench.run(*again)
    assert (bench.folder / "a.pdf").read_bytes().startswith(b"%PDF")
    assert "is there already" in bench.run(*again, expect=3).err
    bench.run(*again, "--replace")


@pytest.mark.parametrize(
    ("options", "status", "said"),
    [
        (("scan.png", "--corners", "1,2 3,4"), 2, "found --corners '1,2 3,4'; wanted four points"),
        (("scan.png", "--corners", "0,0 999,0 999,200 0,200"), 2, "found a corner at 999,0; wanted it within 420,250"),
        (("small.toml", "--corners", "whole"), 3, "small.toml is no picture that can be read"),
        (("nothing.png", "--corners", "whole"), 3, "nothing.png is no picture that can be read"),
        (("scan.png", "--corners", "whole", "-o", "a.svg"), 2, "wanted a name that ends in .png or .pdf"),
        (("scan.png", "--corners", "whole", "--part", "3"), 2, "wanted 1 to 2"),
        (("scan.png",), 2, "Missing option '--corners'"),
    ],
)
def test_what_cannot_be_traced_is_refused(bench: Firm, options: tuple[str, ...], status: int, said: str) -> None:
    assert said in bench.run("form", "trace", "small.toml", *options, expect=status).err


def test_a_picture_too_big_for_a_scan_is_refused(bench: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cheque.workbench.trace.LARGEST", 420 * 250 - 1)
    with pytest.raises(InputRefused, match="more than any scan"):
        load_scan(bench.folder / "scan.png")


def test_it_is_drawn_anew_when_the_definition_is_saved_and_faults_are_told(
    bench: Firm, monkeypatch: pytest.MonkeyPatch
) -> None:
    form, out = bench.folder / "small.toml", bench.folder / "small-traced.png"
    seen: list[bytes] = []

    def mistaken() -> None:
        form.write_text("name = ", "utf-8")

    def mended() -> None:
        form.write_text(changed(("column = 2\nwidth = 30\n\n", "column = 2\nwidth = 44\n\n")), "utf-8")

    def stop() -> None:
        raise KeyboardInterrupt

    steps = [mistaken, mended, lambda: None, stop]

    def sleep(seconds: float) -> None:
        seen.append(out.read_bytes())
        steps.pop(0)()

    monkeypatch.setattr("cheque.workbench.watch.time.sleep", sleep)
    said = bench.run("form", "trace", "small.toml", "scan.png", "--corners", "whole", "--watch")
    assert "small.toml is not TOML" in said.err
    assert said.err.count("is traced in") == 2
    assert said.err.endswith("No longer watching.\n")
    assert seen[0] == seen[1] != seen[2] == seen[3]


def test_a_form_shown_is_drawn_anew_too(bench: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    def sleep(seconds: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("cheque.workbench.watch.time.sleep", sleep)
    said = bench.run("form", "show", "small.toml", "-o", "small.svg", "--watch")
    assert "small is drawn in small.svg" in said.err
