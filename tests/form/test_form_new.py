"""`cheque form new`: a definition begun from a form of the library, or measured with a ruler."""

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest
from form.samples import SHIPPED
from hypothesis import given, settings
from hypothesis import strategies as st
from journeys.firm import Firm, Said

from cheque import library
from cheque.errors import InputRefused
from cheque.form import Area, load
from cheque.form.check import check
from cheque.form.outline import Measured, outlined, what_of
from cheque.form.write import to_toml
from cheque.units import INCH, read_length

FRAMES = {
    "payee": "3/4 in, 1 1/4 in, 5 in, 1 11/16 in",
    "amount_words": "3/4 in, 5/8 in, 6 in, 1 1/4 in",
    "amount_figures": "6 3/8 in, 1 1/4 in, 8 1/8 in, 1 11/16 in",
    "date": "6 3/4 in, 3/8 in, 8 1/8 in, 3/4 in",
    "number": "6 3/4 in, 0 in, 8 1/8 in, 3/8 in",
    "signature": "5 in, 2 in, 8 in, 2 1/2 in",
}
PAPER = (
    "--country",
    "us",
    "--width",
    "8 1/2 in",
    "--length",
    "3 2/3 in",
    "--cheque",
    "whole",
    "--part",
    "payee=the payee",
)


@pytest.fixture
def bench(tmp_path: Path) -> Firm:
    """An empty folder, no settings."""
    return Firm(tmp_path)


def new(bench: Firm, *more: str, paper: tuple[str, ...] = PAPER, expect: int = 0, **frames: str) -> Said:
    """Make `harbour` from the frames above, some of them changed; "" leaves one out."""
    given = {**FRAMES, **frames}
    options = [f"--frame={name}={text}" for name, text in given.items() if text]
    return bench.run("form", "new", "harbour", *paper, *options, *more, expect=expect)


def test_a_cheque_measured_with_a_ruler_can_be_put_to_use(bench: Firm) -> None:
    said = new(bench, "--sign", "$", "--frame", "stock_number=5 1/4 in, 1/16 in, 6 1/2 in, 1/4 in")
    assert said.out.strip() == "harbour.toml"
    form = library.load(str(bench.folder / "harbour.toml"))
    assert (form.paper.length, form.country) == (read_length("3 2/3 in"), "US")
    assert {field.what for field in form.fields} == set(FRAMES)
    boxes = {box.name: box.area for box in form.preprint.boxes}
    assert boxes["frame-payee"] == Area(INCH * 3 // 4, INCH * 5 // 4, INCH * 17 // 4, INCH * 7 // 16)
    assert all(field.box == boxes[f"frame-{field.what.replace('_', '-')}"] for field in form.fields)
    words = next(field for field in form.fields if field.what == "amount_words")
    assert (words.lines, words.fill) == (2, "*")
    (number,) = form.preprint.captions
    assert (number.what, number.size) == ("number", INCH * 13 // 72)


def test_the_depth_is_a_tenth_of_ten_forms_and_a_usual_one_only_when_a_person_says_so(bench: Firm) -> None:
    paper = ("--country", "US", "--width", "8 1/2 in", "--cheque", "whole", "--part", "payee=the payee")
    told = new(bench, "--ten-forms", "36 5/8 in", paper=paper, expect=2).err
    assert "within the ruler's 1/16 in that is the usual 3 2/3 in" in told
    assert "--length '3 2/3 in' or --length '3 53/80 in'" in told
    assert not (bench.folder / "harbour.toml").exists()
    told = new(bench, "--ten-forms", "41 1/4 in", paper=paper).err
    assert "One form is taken as 4 1/8 in, a tenth of 41 1/4 in." in told
    assert library.read(str(bench.folder / "harbour.toml")).paper.length == INCH * 33 // 8


def test_a_usual_depth_that_was_read_exactly_needs_no_question(bench: Firm) -> None:
    paper = ("--country", "US", "--width", "8 1/2 in", "--cheque", "whole", "--part", "payee=the payee")
    new(bench, "--ten-forms", "40 in", paper=paper)
    assert library.read(str(bench.folder / "harbour.toml")).paper.length == 4 * INCH


def test_a_stub_measured_column_by_column_is_hidden_where_a_part_is_blocked(bench: Firm) -> None:
    paper = (
        *("--country", "US", "--width", "8 1/2 in", "--length", "7 in", "--cheque", "0 in, 3 1/3 in, 8 1/2 in, 7 in"),
        *("--part", "payee=the employee", "--part", "file=the cheque file"),
    )
    frames = {name: _lower(text) for name, text in FRAMES.items()}
    said = new(
        bench,
        "--blocked=file=0 in, 1/2 in, 8 1/2 in, 3 1/4 in",
        "--frame=stub.text=1/2 in, 1 in, 4 in, 3 in",
        "--frame=stub.earned=4 in, 1 in, 5 1/2 in, 3 in",
        "--frame=stub.deducted=5 1/2 in, 1 in, 7 in, 3 in",
        "--frame=stub-number:number=6 3/4 in, 0 in, 8 1/8 in, 3/8 in",
        paper=paper,
        **frames,
    )
    form = library.read(str(bench.folder / "harbour.toml"))
    assert check(form) == [], said.err
    (table,) = form.tables
    assert [column.what for column in table.columns] == ["text", "amount", "amount"]
    assert [column.hidden_from for column in table.columns] == [("file",)] * 3
    assert table.lines >= 10
    assert form.paper.perforations == (INCH * 10 // 3,)
    assert next(field for field in form.fields if field.name == "stub-number").what == "number"


def _lower(text: str) -> str:
    left, top, right, bottom = text.split(", ")
    third = INCH * 10 // 3
    low, lower = ((read_length(text) + third) * 216 // INCH for text in (top, bottom))
    return f"{left}, {low}/216 in, {right}, {lower}/216 in"


def test_a_paper_that_pays_nothing_needs_a_number_and_no_cheque(bench: Firm) -> None:
    options = (
        "--country",
        "GB",
        "--width",
        "8 1/2 in",
        "--length",
        "4 in",
        "--cheque",
        "none",
        "--part",
        "cashier=the cashier",
    )
    bench.run("form", "new", "harbour", *options, "--frame", "number=6 in, 0 in, 8 in, 1/2 in",
              "--frame", "payee=1 in, 1 in, 5 in, 1 1/2 in")  # fmt: skip
    form = library.load(str(bench.folder / "harbour.toml"))
    assert not form.payable
    assert form.cheque is None


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--frame", "amount_words=1 in, 1 in, 1 1/16 in, 2 in"), "found 1/16 in by 1 in; wanted room for a character"),
        (("--frame", "wage=1 in, 1 in, 2 in, 2 in"), "'wage', which no form shows"),
        (("--frame", "stub.pay=1 in, 1 in, 2 in, 2 in"), "'pay', which no stub has"),
        (("--frame", "memo=1 in, 2 in"), "wanted four lengths"),
        (("--frame", "memo"), "wanted NAME=…"),
        (("--frame", "memo=1 in, 1 in, 2 in, 2 in", "--frame", "memo=1 in, 1 in, 2 in, 2 in"), "memo twice"),
        (("--blocked", "file=1 in, 1 in, 2 in, 2 in"), "wanted one of the parts payee"),
        (("--width", "8 ft"), "found --width '8 ft' is not a length"),
        (("--cheque", "half"), "found --cheque 'half'; wanted four lengths"),
        (("--width", "0"), "found --width '0' is not a length such as '8 1/2 in', '3.5 in' or '92 mm'."),
        (("--country", "Q1"), "found --country 'Q1'; wanted two letters"),
        (("--currency", "ZZZ"), "found --currency 'ZZZ'; wanted an ISO 4217 code"),
        (("--title", "two\nlines"), "wanted plain text on one line"),
        (("--date-form", "DD/MM"), "found --date-form 'DD/MM' has 0 Y"),
        (("--part", "Büro=the office"), "found --part 'Büro'; wanted a name of small letters"),
        (("--frame", "memo=1 in, 900 in, 3 in, 901 in"), "harbour.toml, as it would be written, line"),
        (("--like", "payroll-us"), "found --like and --country, --width, --length, --cheque, --part, --frame; wanted"),
        (("-o", "other.toml"), "wanted a file called harbour.toml, as its form"),
        (("--stub", "invoices", "--frame", "stub.earned=4 in, 2 in, 5 in, 3 in"), "a column of earning lines"),
    ],
)
def test_what_cannot_be_measured_so_is_refused_and_nothing_written(
    bench: Firm, options: tuple[str, ...], said: str
) -> None:
    frames = {"amount_words": ""} if options[1].startswith("amount_words") else {}
    told = new(bench, *options, expect=None, **frames)  # type: ignore[arg-type]
    assert told.status in {2, 3}
    assert said in told.err
    assert not list(bench.folder.iterdir())


@pytest.mark.parametrize("missing", ["--country", "--width", "--length", "--cheque", "--part", "--frame payee"])
def test_without_a_terminal_a_missing_answer_is_named_with_its_option(bench: Firm, missing: str) -> None:
    options = dict(zip(PAPER[::2], PAPER[1::2], strict=True))
    options.pop(missing, None)
    paper = tuple(word for pair in options.items() for word in pair)
    told = new(bench, paper=paper, expect=2, **({"payee": ""} if missing == "--frame payee" else {})).err
    assert "an answer is missing" in told
    assert missing in told


def test_without_a_terminal_everything_that_is_missing_is_named_together(bench: Firm) -> None:
    told = bench.run("form", "new", "harbour", "--country", "US", "--frame", f"payee={FRAMES['payee']}", expect=2).err
    assert told.startswith("cheque: 9 answers are missing: give --width, --cheque, --ten-forms or --length, --part, ")
    assert "--frame amount_words=…" in told
    assert "--frame payee" not in told
    told = bench.run("form", "new", "harbour", "--cheque", "none", expect=2).err
    assert "--frame number=…. " in told
    assert "amount_words" not in told


def test_a_country_without_rules_is_said_and_slack_is_told_as_a_ruler_reads_it(bench: Firm) -> None:
    said = new(bench, "--country", "NO", "--frame", "memo=20 mm, 45 mm, 80 mm, 51 mm")
    assert "There are no rules of NO here: ask the bank for its own." in said.err
    assert "may shift only about 0." in said.err
    assert "/381 in" not in said.err


def test_a_name_or_a_file_that_is_there_is_refused(bench: Firm) -> None:
    assert "wanted a name of small letters" in bench.run("form", "new", "My Form", expect=2).err
    new(bench)
    assert "harbour.toml is there already" in new(bench, expect=3).err


@pytest.mark.parametrize("like", SHIPPED)
def test_a_form_begun_from_another_is_the_same_but_for_its_name_and_keeps_its_comments(bench: Firm, like: str) -> None:
    bench.run("form", "new", "harbour", "--like", like, "--title", 'Our "own" stock')
    text = (bench.folder / "harbour.toml").read_text("utf-8")
    form = library.load(str(bench.folder / "harbour.toml"))
    assert text.startswith(f"# Begun from {like}.\n#\n# ")
    assert "# -------" in text
    assert form.title == 'Our "own" stock'
    assert form.fields == library.read(like).fields
    assert form.preprint == library.read(like).preprint


def test_a_form_begun_from_one_that_there_is_not_is_refused(bench: Firm) -> None:
    assert "there is no form 'xyzzy'" in bench.run("form", "new", "harbour", "--like", "xyzzy", expect=3).err


def test_a_draft_with_faults_is_written_and_said_to_be_no_use_yet(bench: Firm) -> None:
    said = new(bench, signature="5 in, 3 in, 8 in, 3 1/2 in", expect=1)  # in the clear band
    assert "where the cheque's clear band begins" in said.err
    assert "is written, but cannot be put to use" in said.err
    assert (bench.folder / "harbour.toml").exists()


def test_it_is_written_into_the_firms_own_folder_of_forms(bench: Firm) -> None:
    bench.run("setup", "--drawer", "Quillmere Boatyard Company", "--bank", "Tidewrack Savings Bank")
    bench.change('# forms = "forms"', 'forms = "our-forms"')
    new(bench)
    assert (bench.folder / "our-forms" / "harbour.toml").exists()
    assert "your own" in next(line for line in bench.run("form", "list").out.splitlines() if "harbour" in line)


def test_at_a_terminal_it_asks_one_thing_after_another(bench: Firm) -> None:
    answers = [
        ("to be measured?", "yes"), ("Which country", "us"), ("How wide", "8 1/2 in"), ("ten forms", "wide"),
        ("ten forms", "36 5/8 in"), ("Is it 3 2/3 in?", "yes"), ("Where is the cheque", "whole"),
        ("the top one", "payee=the payee"), ("or - for no more", "-"), ("frame of payee", FRAMES["payee"]),
        ("frame of amount_words", FRAMES["amount_words"]), ("frame of amount_figures", FRAMES["amount_figures"]),
        ("frame of date", FRAMES["date"]), ("frame of number", FRAMES["number"]),
        ("frame of signature", FRAMES["signature"]), ("own number", "-"),
        ("What else", "memo"), ("What else", "memo=1 in, 2 in, 4 in, 2 1/2 in"), ("What else", "-"),
    ]  # fmt: skip
    talk = _at_a_terminal(bench.folder, ["form", "new", "harbour"], answers)
    assert "'wide' is not a length" in talk
    assert "Write what it shows and its frame" in talk
    form = library.load(str(bench.folder / "harbour.toml"))
    assert "memo" in {field.what for field in form.fields}
    assert form.paper.length == read_length("3 2/3 in")
    talk = _at_a_terminal(
        bench.folder,
        ["form", "new", "second"],
        [("to be measured?", "no"), ("which form", "payrol"), ("which form", "cheque-gb")],
    )
    assert "did you mean payroll-us" in talk
    assert library.read(str(bench.folder / "second.toml")).country == "GB"


def _at_a_terminal(folder: Path, arguments: list[str], answers: list[tuple[str, str]]) -> str:
    """Run a command at a pseudo-terminal, giving each answer when its question stands there; gives what was said."""
    ours, theirs = pty.openpty()
    run = subprocess.Popen(
        [sys.executable, "-m", "cheque", *arguments], cwd=folder, stdin=theirs, stdout=theirs, stderr=theirs
    )
    os.close(theirs)
    said, seen, end = "", 0, time.monotonic() + 60
    for question, text in [*answers, ("", "")]:
        while question and question not in said[seen:].replace("\r\n", " ").replace("  ", " "):
            assert time.monotonic() < end, f"it never asked {question!r}: {said}"
            if select.select([ours], [], [], 1)[0]:
                said += os.read(ours, 65536).decode()
        seen = len(said)
        if question:
            os.write(ours, text.encode() + b"\n")
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        said += piece.decode()
    os.close(ours)
    assert run.wait(60) == 0, said
    return " ".join(said.split())


@settings(max_examples=60, deadline=None)
@given(
    st.fixed_dictionaries(
        {
            name: st.builds(
                lambda x, y, w, h: Area(x * INCH // 16, y * INCH // 16, w * INCH // 16, h * INCH // 16),
                st.integers(0, 90), st.integers(0, 40), st.integers(16, 60), st.integers(3, 12),
            )
            for name in (*FRAMES, "address", "stub.text", "stub.amount")
        }
    )
)  # fmt: skip
def test_whatever_is_measured_becomes_a_form_that_reads_back_or_is_refused(frames: dict[str, Area]) -> None:
    measured = Measured(
        "harbour", "Harbour", "GB", "GBP", 9 * INCH, 4 * INCH, INCH // 2, Area(0, 0, 9 * INCH, 4 * INCH),
        (("payee", "the payee"),), {}, frames, stub="invoices",
    )  # fmt: skip
    try:
        form = outlined(measured)
    except InputRefused as error:
        refused = error
    else:
        refused = None
    if refused:
        assert refused.faults
        return
    assert load(to_toml(form), "harbour.toml") == form
    told = [str(fault) for fault in check(form)]
    assert not any("inside its box" in fault for fault in told if "stub" not in fault)


def test_the_names_of_frames_say_what_is_shown() -> None:
    assert [what_of(name) for name in ("payee", "stub-date:date", "stub.earned", "stock_number")] == [
        "payee",
        "date",
        "earned",
        "stock_number",
    ]
