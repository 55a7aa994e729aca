"""Proofs a second, and memory a page, beside the libraries for PDF that could serve, each writing the same text.

    .venv/bin/python tests/bench/bench_picture.py [--pages 1000]

One proof is a page with all three parts of the shipped payroll form, struck with payments of the made register,
by way of bytes: encoded, decoded, drawn. The proof's time is everything from decoded marks to the finished file:
drawing, the blank sheets, the opening pages. A library's time is the bare text alone, its places worked out
beforehand, in a font built into it: no sheets, no rules, no dots. Libraries that are not installed are left out.

Times are of the processor, so that other work on the machine does not count. Each runs in a process of its own
and writes to a file on disk. Memory a page is how much the largest resident size grows from 200 pages to all of
them, in other runs, in which nothing is worked out beforehand. A ratio to reportlab over 1.5 ends with exit
status 1. The last column is our time as a multiple of the library's.
"""

import argparse
import io
import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from functools import cache
from itertools import cycle, islice
from pathlib import Path
from tempfile import TemporaryFile
from typing import BinaryIO, NamedTuple

from cheque.form import Form, load
from cheque.language import Printer, get
from cheque.layout import Drawer, lay_out, look
from cheque.page import Mark
from cheque.picture.pdf import PAPERS
from cheque.picture.proofbook import ProofBook, Totals, layout, opening
from cheque.picture.shapes import Drawing, Struck, Words
from cheque.picture.strike import land
from cheque.register import Reading
from cheque.units import INCH, POINT

ROOT = Path(__file__).resolve().parents[2]
WANTED = 1.5
DISTINCT = 100
SIZE = PAPERS["a4"]

Text = tuple[float, float, float, str]
#: set in the runs that measure memory
lazy = False


class Result(NamedTuple):
    """What one process measured."""

    seconds: float
    size: int
    largest: int


@cache
def form() -> Form:
    """The shipped payroll form."""
    return load((ROOT / "forms" / "payroll-us.toml").read_text("utf-8"), "payroll-us.toml")


@cache
def struck() -> tuple[tuple[str, tuple[Mark, ...]], ...]:
    """Different payments, each with what a decoder read from its bytes."""
    from make_register import lines

    from cheque.payment import Payment
    from cheque.register.csvfile import read

    data = "".join(lines(DISTINCT)).encode()
    payments = [one for one in read(io.BytesIO(data), Reading("made", "USD")) if isinstance(one, Payment)]
    drawer = Drawer("Quillmere Boatyard Ltd", ("3 Slipway Lane", "Quillmere"), "Tidewater", "···4471", "USD", "en_US")
    printer = Printer("escp9", INCH // 216, "cp850")
    language = get("escp9")
    found = []
    for payment in payments:
        for page in lay_out(payment, form(), drawer):
            data = language.encode(page.numbered("100501"), look(form()), printer, form().paper.length)
            found.append((payment.payee, language.decode(data, printer).marks))
    return tuple(found)


def forms(pages: int) -> Iterator[tuple[str, tuple[Mark, ...]]]:
    """As many forms as pages."""
    return islice(cycle(struck()), pages)


def totals(pages: int) -> Totals:
    """An opening page."""
    pairs = [(payee, "1,234.56") for payee, _ in forms(pages)]
    return Totals("payday", "main", "payroll-us", "100501-200500", pages, "18,214.77 USD", "51,877", "K7QF-29HM", pairs)


def heading(number: int, payee: str) -> str:
    """What stands over a form."""
    return f"{number} · {payee} · 1,234.56 USD"


def ours(pages: int) -> tuple[float, int]:
    """The whole proof."""
    struck()
    front = totals(pages)
    with TemporaryFile() as out:
        start = time.process_time()
        book = ProofBook(out, form(), front)
        for number, (payee, marks) in enumerate(forms(pages), 1):
            book.add(marks, heading(number, payee))
        book.close()
        out.flush()
        return time.process_time() - start, out.tell()


@cache
def text_of_form(index: int) -> tuple[Text, ...]:
    """The struck text of one form on all its parts: x, y from the top, type size, text, in points."""
    found = []
    marks = struck()[index][1]
    for part, (left, top, (num, den)) in enumerate(layout(form(), SIZE)):
        for run in land(form(), marks, part).shapes:
            if isinstance(run, Struck):
                x, y = left + run.x * num // den, top + (run.y + 7 * POINT) * num // den
                found.append((x / POINT, y / POINT, 12 * num / den, run.text))
    return tuple(found)


def text_pages(pages: int) -> Iterator[list[Text]]:
    """The text of every page of the same proof."""
    for drawing in opening(totals(pages), SIZE):
        yield _words_of(drawing)
    for number, (payee, _) in enumerate(forms(pages)):
        over = (36.0, 30.0, 10.0, heading(number + 1, payee))
        yield [over, *text_of_form(number % DISTINCT)]


def _words_of(drawing: Drawing) -> list[Text]:
    words = [shape for shape in drawing.shapes if isinstance(shape, Words)]
    return [(w.x / POINT, w.y / POINT, w.size / POINT, w.text) for w in words]


def reportlab(pages: int) -> tuple[float, int]:
    """BSD licence; pure Python."""
    from reportlab.pdfgen.canvas import Canvas

    def write(work: Iterator[list[Text]], out: BinaryIO) -> None:
        canvas = Canvas(out, pagesize=(SIZE[0] / POINT, SIZE[1] / POINT), pageCompression=1, invariant=1)
        for page in work:
            size = 0.0
            for x, y, points, text in page:
                if points != size:
                    size = points
                    canvas.setFont("Courier", size)
                canvas.drawString(x, SIZE[1] / POINT - y, text)
            canvas.showPage()
        canvas.save()

    return _timed(write, pages)


def fpdf2(pages: int) -> tuple[float, int]:
    """LGPL; pure Python, with Pillow, fontTools and defusedxml."""
    from fpdf import FPDF

    def write(work: Iterator[list[Text]], out: BinaryIO) -> None:
        pdf = FPDF(unit="pt", format="A4")
        pdf.set_auto_page_break(False)
        for page in work:
            pdf.add_page()
            size = 0.0
            for x, y, points, text in page:
                if points != size:
                    size = points
                    pdf.set_font("Courier", size=size)
                pdf.text(x, y, text.encode("latin-1", "replace").decode("latin-1"))
        out.write(pdf.output())

    return _timed(write, pages)


def cairo(pages: int) -> tuple[float, int]:
    """LGPL; cairocffi over the system's libcairo and fontconfig."""
    import cairocffi

    def write(work: Iterator[list[Text]], out: BinaryIO) -> None:
        surface = cairocffi.PDFSurface(out, SIZE[0] / POINT, SIZE[1] / POINT)
        context = cairocffi.Context(surface)
        context.select_font_face("monospace")
        for page in work:
            for x, y, points, text in page:
                context.set_font_size(points)
                context.move_to(x, y)
                context.show_text(text)
            context.show_page()
        surface.finish()

    return _timed(write, pages)


def pymupdf(pages: int) -> tuple[float, int]:
    """AGPL; a compiled library inside the wheel."""
    import pymupdf

    def write(work: Iterator[list[Text]], out: BinaryIO) -> None:
        document = pymupdf.open()
        for page in work:
            sheet = document.new_page(width=SIZE[0] / POINT, height=SIZE[1] / POINT)
            by_size: dict[float, list[Text]] = {}
            for one in page:
                by_size.setdefault(one[2], []).append(one)
            shape = sheet.new_shape()
            for points, texts in by_size.items():
                for x, y, _, text in texts:
                    shape.insert_text((x, y), text, fontname="cour", fontsize=points)
            shape.commit()
        out.write(document.tobytes(deflate=True))

    return _timed(write, pages)


def pillow(pages: int) -> tuple[float, int]:
    """MIT-CMU licence; pictures only, at 100 dots to the inch: no text in the file."""
    from PIL import Image, ImageDraw, ImageFont

    def write(work: Iterator[list[Text]], out: BinaryIO) -> None:
        font = ImageFont.load_default(12)

        def images() -> Iterator[Image.Image]:
            for page in work:
                image = Image.new("L", (827, 1169), 255)
                pen = ImageDraw.Draw(image)
                for x, y, _, text in page:
                    pen.text((x * 100 / 72, y * 100 / 72), text, font=font)
                yield image

        made = images()
        next(made).save(out, "PDF", save_all=True, append_images=made, resolution=100)

    return _timed(write, pages)


def _timed(write: Callable[[Iterator[list[Text]], BinaryIO], None], pages: int) -> tuple[float, int]:
    """Places and texts are ready beforehand, so that the time is the library's alone."""
    work = text_pages(pages)
    if not lazy:
        ready = list(work)
        with TemporaryFile() as out:
            write(iter(ready[:3]), out)  # whatever is loaded on first use
        work = iter(ready)
    with TemporaryFile() as out:
        start = time.process_time()
        write(work, out)
        out.flush()
        return time.process_time() - start, out.seek(0, io.SEEK_END)


WAYS: dict[str, Callable[[int], tuple[float, int]]] = {
    "cheque": ours,
    "reportlab": reportlab,
    "fpdf2": fpdf2,
    "cairo": cairo,
    "pymupdf": pymupdf,
    "pillow": pillow,
}


def measured(name: str, pages: int, *more: str) -> Result | None:
    """One way in a process of its own; None when its library is not installed."""
    command = [sys.executable, __file__, "--only", name, "--pages", str(pages), *more]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode:
        if "ModuleNotFoundError" in done.stderr:
            return None
        raise SystemExit(done.stderr)
    return Result(*json.loads(done.stdout))


def main() -> int:
    """Measure all, print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--pages", type=int, default=1000)
    parser.add_argument("--repeat", type=int, default=3, help="the best of so many")
    parser.add_argument("--only", choices=WAYS)
    parser.add_argument("--lazy", action="store_true")
    options = parser.parse_args()
    if options.only:
        global lazy
        lazy = options.lazy
        seconds, size = WAYS[options.only](options.pages)
        print(json.dumps([seconds, size, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024]))
        return 0
    print(f"{options.pages:,} proofs; best of {options.repeat}")
    print(f"{'':12s}{'seconds':>9s}{'pages/s':>9s}{'kB/page':>9s}{'memory kB/page':>16s}{'start MB':>10s}{'ratio':>7s}")
    best: dict[str, float] = {}
    for name in WAYS:
        few, many = measured(name, 200, "--lazy"), measured(name, options.pages, "--lazy")
        runs = [measured(name, options.pages) for _ in range(options.repeat)] if few else []
        done = [run for run in runs if run]
        if not few or not many:
            print(f"{name:12s}  not installed")
            continue
        best[name] = seconds = min(run.seconds for run in done)
        grown = (many.largest - few.largest) / (options.pages - 200) / 1000
        ratio = f"{best['cheque'] / seconds:7.2f}"
        print(
            f"{name:12s}{seconds:9.2f}{options.pages / seconds:9.0f}{done[0].size / options.pages / 1000:9.1f}"
            f"{grown:16.1f}{few.largest / 1e6:10.0f}{ratio}"
        )
    if "reportlab" in best and best["cheque"] > WANTED * best["reportlab"]:
        print(f"slower than {WANTED} times reportlab alone")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
