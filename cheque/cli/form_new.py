"""`cheque form new`: a definition of one's own, begun from a form of the library or measured with a ruler."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import click

from cheque import library
from cheque.cli.desk import answer, ask, ask_yes, interactive, no_such_file, say
from cheque.cli.form import own_forms
from cheque.errors import InputRefused, UsageRefused
from cheque.form import Form, load
from cheque.form.advise import warnings
from cheque.form.check import check as faults_of
from cheque.form.dates import check as date_pattern
from cheque.form.geometry import Area
from cheque.form.lengths import length as read_size
from cheque.form.outline import STOCK_NUMBER, STUBS, WANTED, Measured, outlined, what_of
from cheque.form.read import name_of
from cheque.form.rulers import corners, depth_of_ten
from cheque.form.rules import COUNTRIES, broken
from cheque.form.write import to_toml
from cheque.tongue import tr
from cheque.units import write_length

_FOUR = "left, top, right, bottom, from the paper's upper left corner after bursting"
_HEADING = """\
{title}

Measured with a ruler. Hold it against the paper: `cheque form show {name}.toml -o {name}.png`, and with a scan under
it `cheque form trace {name}.toml SCAN.png`; then add what the stock carries (preprint.text, .line and .box). Where the
chart stands on the paper, [grid] left and top, was chosen so that print stands best in the frames measured."""


_TYPED = click.core.ParameterSource.COMMANDLINE


class _Paper(NamedTuple):
    """What is asked of the paper itself."""

    width: int
    length: int
    strip: int
    cheque: Area | None


@click.command("new")
@click.argument("name")
@click.option("--like", metavar="FORM", help="Begin from a form of the library, for stock that is yet to be ordered.")
@click.option("--title", help="One line for people.")
@click.option("--country", metavar="XX", help="Two letters, as in US.")
@click.option("--currency", metavar="XXX", default="", help="ISO 4217, if the form takes only one.")
@click.option("--width", metavar="LENGTH", help="Of the paper after bursting.")
@click.option("--ten-forms", metavar="LENGTH", help="The length of ten forms, measured together.")
@click.option("--read-to", metavar="LENGTH", default="1/16 in", show_default=True, help="How finely the ruler is read.")
@click.option("--length", metavar="LENGTH", help="Of one form, where it is known.")
@click.option(
    "--strip", metavar="LENGTH", default="1/2 in", show_default=True, help="Width of a sprocket strip, or 0 in."
)
@click.option("--cheque", metavar="FRAME", help=f"Where the cheque is: {_FOUR}; or whole; or none, if it pays nothing.")
@click.option("--part", "parts", metavar="NAME=WHO", multiple=True, help="A part, the top one first: whom it goes to.")
@click.option("--blocked", metavar="PART=FRAME", multiple=True, help="An area of a part that takes no image.")
@click.option("--frame", "frames", metavar="WHAT=FRAME", multiple=True, help=f"Where something is printed: {_FOUR}.")
@click.option("--stub", type=click.Choice(list(STUBS)), default="wages", show_default=True, help="What the stub lists.")
@click.option("--date-form", metavar="PATTERN", default="", help="As in DD/MM/YYYY; else as the country does.")
@click.option("--sign", default="", help="A currency sign struck right before the figures.")
@click.option("-o", "--output", metavar="FILE", help="Where to; else NAME.toml in your folder of forms, or here.")
def new_form(name: str, like: str | None, output: str | None, **given: Any) -> None:
    """Make a definition called NAME, from a few questions or from options.

    For stock yet to be ordered begin from a form of the library with --like. For stock at hand measure it: ten forms
    together, and a frame for each thing that is printed, in inches or millimetres, exact fractions and all:

    cheque form new harbour --country US --width "8 1/2 in" --ten-forms "36 5/8 in" --cheque whole
    --part payee="the payee" --frame payee="1 1/8 in, 1 1/4 in, 5 in, 1 1/2 in" …

    NAME:WHAT is a frame of its own name (stub-date:date); stub.text, stub.earned, stub.deducted, stub.to_date and so on
    are columns of the stub; stock_number is where the stock's own number is preprinted.
    """
    try:
        name_of(name)
    except ValueError:
        raise UsageRefused(
            tr("found {name!r}; wanted a name of small letters, digits and hyphens.", name=name)
        ) from None
    path = no_such_file(output or str((own_forms() or Path()) / f"{name}.toml"))
    if path.name != f"{name}.toml":
        raise UsageRefused(
            tr("found -o {output!r}; wanted a file called {name}.toml, as its form.", output=output, name=name)
        )
    if like is not None:
        _only_like(given)
    undecided = like is None and interactive() and not given["width"] and not given["frames"]
    if undecided and not ask_yes("--like or --width", tr("Is the stock at hand, to be measured?")):
        like = ask("--like", tr("Begin from which form of the library (`cheque form list`)?"), _shipped)
    text = _copied(name, like, given["title"]) if like else _measured(name, given)
    form = load(text, f"{path.name}, as it would be written,")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    except OSError as error:
        raise InputRefused(
            tr("{path} cannot be written: {strerror}. Name another place.", path=path, strerror=error.strerror)
        ) from None
    _report(form, path)


def _report(form: Form, path: Path) -> None:
    answer(str(path))
    faults = [*faults_of(form), *broken(form)]
    for text in warnings(form):
        say(tr("  warning: {text}.", text=text))
    if form.cheque and form.country not in COUNTRIES:
        say(tr("  There are no rules of {country} here: ask the bank for its own.", country=form.country))
    for fault in faults:
        say(tr("  fault: {fault}", fault=fault))
    known = form.name if path.parent == own_forms() else str(path)
    say(
        tr(
            "Next: cheque form show {known} -o {name}.png; cheque form check {known}; then line it up: cheque align.",
            known=known,
            name=form.name,
        )
    )
    if faults:
        say(tr("{path} is written, but cannot be put to use before these are mended.", path=path))
        click.get_current_context().exit(1)


# ---------------------------------------------------------------- begun from another


def _shipped(text: str) -> str:
    try:
        library.find(text, own_forms())
    except InputRefused as refusal:
        raise ValueError(refusal.message) from None
    return text


#: options that say something of a form begun from another
_OF_A_COPY = ("title",)


def _only_like(given: dict[str, Any]) -> None:
    """A form begun from another takes everything from it: a measurement given beside it would be lost in silence."""
    context = click.get_current_context()
    stated = [key for key in given if key not in _OF_A_COPY and context.get_parameter_source(key) == _TYPED]
    if stated:
        options = {p.name: p.opts[0] for p in context.command.params}
        said = ", ".join(options[key] for key in stated)
        raise UsageRefused(
            tr(
                "found --like and {said}; wanted the one or the other: --like takes everything from that form, "
                "and the definition it writes can be edited.",
                said=said,
            )
        )


def _copied(name: str, like: str, title: str | None) -> str:
    """Another definition's text, comments and all, under a new name."""
    form = library.read(like, own_forms())
    text = library.find(like, own_forms()).read_text("utf-8-sig")
    head, mark, rest = text.partition("\n[")
    head, names = re.subn(r'(?m)^name\s*=\s*".*?"', f'name = "{name}"', head)
    if title:
        quoted = title.replace("\\", "\\\\").replace('"', '\\"')
        head = re.sub(r'(?m)^title\s*=\s*".*"', lambda _: f'title = "{quoted}"', head)
    text = f"# Begun from {form.name}.\n#\n{head}{mark}{rest}"
    if names == 1 and load(text, like).name == name:
        return text
    return to_toml(replace(form, name=name, title=title or form.title))


# ---------------------------------------------------------------- measured


def _measured(name: str, given: dict[str, Any]) -> str:
    if not interactive():
        _nothing_missing(given)
    _plain_words(given)
    country = _country(given["country"])
    paper = _paper_of(given)
    parts = _pairs("--part", given["parts"]) or _ask_parts()
    frames = {key: _frame("--frame", key, text) for key, text in _pairs("--frame", given["frames"])}
    frames = _all_frames(frames, paper.cheque is not None)
    blocked: dict[str, tuple[Area, ...]] = {}
    for key, text in _pairs("--blocked", given["blocked"]):
        if key not in dict(parts):
            raise UsageRefused(
                tr("found --blocked {key}=…; wanted one of the parts {list}.", key=key, list=", ".join(dict(parts)))
            )
        blocked[key] = (*blocked.get(key, ()), _frame("--blocked", key, text))
    measured = Measured(
        name=name,
        title=given["title"] or name,
        country=country,
        currency=given["currency"],
        width=paper.width,
        length=paper.length,
        strip=paper.strip,
        cheque=paper.cheque,
        parts=tuple(parts),
        blocked=blocked,
        frames=frames,
        date=given["date_form"],
        sign=given["sign"],
        stub=given["stub"],
    )
    form = outlined(measured)
    return to_toml(form, _HEADING.format(title=measured.title, name=name))


def _nothing_missing(given: dict[str, Any]) -> None:
    """Without a terminal nothing can be asked: everything that is missing is named together."""
    depth = given["ten_forms"] or given["length"]
    wanted = [
        ("--country", given["country"]),
        ("--width", given["width"]),
        ("--cheque", given["cheque"]),
        ("--ten-forms or --length", depth),
        ("--part", given["parts"]),
    ]
    missing = [option for option, value in wanted if not value]
    there = {text.partition("=")[0].strip().rpartition(":")[2] for text in given["frames"]}
    needed = ("number",) if given["cheque"] == "none" else tuple(what for what in WANTED if what != STOCK_NUMBER)
    missing += [f"--frame {what}=…" for what in needed if what not in there]
    if missing:
        some = "an answer is" if len(missing) == 1 else f"{len(missing)} answers are"
        raise UsageRefused(
            tr(
                "{some} missing: give {missing}. `cheque form new --help` tells what each is.",
                some=some,
                missing=", ".join(missing),
            )
        )


def _plain_words(given: dict[str, Any]) -> None:
    """What is taken as it was typed, held to what a definition takes: here, where the option's name is known."""
    from cheque import money

    for option in ("title", "sign"):
        if not (given[option] or "").isprintable():
            raise UsageRefused(
                tr("found --{option} {given!a}; wanted plain text on one line.", option=option, given=given[option])
            )
    try:
        if given["date_form"]:
            date_pattern(given["date_form"])
    except ValueError as error:
        raise UsageRefused(
            tr("found --date-form {error}; wanted a pattern such as 'MM/DD/YYYY'.", error=error)
        ) from None
    try:
        money.digits(given["currency"] or "USD")
    except KeyError:
        raise UsageRefused(
            tr("found --currency {currency!r}; wanted an ISO 4217 code, as in USD.", currency=given["currency"])
        ) from None
    for key, _ in _pairs("--part", given["parts"]):
        try:
            name_of(key)
        except ValueError:
            raise UsageRefused(
                tr("found --part {key!r}; wanted a name of small letters, digits and hyphens.", key=key)
            ) from None


def _country(text: str | None) -> str:
    if text is None:
        return ask("--country", tr("Which country, in two letters (US, CA, GB, IN, FR, DE, …)?"), _letters).upper()
    try:
        return _letters(text).upper()
    except ValueError:
        raise UsageRefused(tr("found --country {text!r}; wanted two letters, as in US.", text=text)) from None


def _paper_of(given: dict[str, Any]) -> _Paper:
    width = _size("--width", given["width"], "How wide is the paper after bursting, as in 8 1/2 in?")
    length = _depth(given)
    strip = 0 if given["strip"].split()[:1] == ["0"] else _size("--strip", given["strip"], "")
    question = f"Where is the cheque ({_FOUR}; or whole; or none)?"
    text = given["cheque"] or ask("--cheque", question, lambda t: t if t in ("whole", "none") else (corners(t), t)[1])
    if text == "none":
        return _Paper(width, length, strip, None)
    return _Paper(
        width, length, strip, Area(0, 0, width, length) if text == "whole" else _frame("--cheque", "cheque", text)
    )


def _size(option: str, text: str | None, question: str) -> int:
    if not text:
        return ask(option, question, read_size)
    try:
        return read_size(text)
    except ValueError as error:
        wanted = "" if "such as" in str(error) else "; wanted a length such as '8 1/2 in' or '92 mm'"
        raise UsageRefused(tr("found {option} {error}{wanted}.", option=option, error=error, wanted=wanted)) from None


def _depth(given: dict[str, Any]) -> int:
    """One form's depth: as stated, or a tenth of ten, which is a usual depth if a person says so."""
    if given["length"]:
        return _size("--length", given["length"], "")
    text = given["ten_forms"] or ask(
        "--ten-forms or --length", tr("How long are ten forms together, as in 36 5/8 in?"), _ten
    )
    try:
        depth = depth_of_ten(text, given["read_to"])
    except ValueError as error:
        raise UsageRefused(tr("found --ten-forms {error}.", error=error)) from None
    measured = write_length(depth.measured)
    for usual in depth.usual:
        if usual == depth.measured:
            return usual
        said = write_length(usual)
        question = (
            f"Ten forms of {text} make one of {measured}; within the ruler's {given['read_to']} that is the usual "
            f"{said}. Is it {said}?"
        )
        if ask_yes(f"--length '{said}' or --length '{measured}'", question):
            return usual
    say(tr("One form is taken as {measured}, a tenth of {text}.", measured=measured, text=text))
    return depth.measured


def _ten(text: str) -> str:
    depth_of_ten(text)
    return text


def _letters(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z]{2}", text):
        raise ValueError(tr("Two letters, as in US."))
    return text


def _pairs(option: str, texts: Sequence[str]) -> list[tuple[str, str]]:
    found = []
    for text in texts:
        key, mark, value = text.partition("=")
        if not mark or not key.strip() or not value.strip():
            raise UsageRefused(tr("found {option} {text!r}; wanted NAME=… .", option=option, text=text))
        found.append((key.strip(), value.strip()))
    for key, _ in found:
        if option != "--blocked" and [k for k, _ in found].count(key) > 1:
            raise UsageRefused(tr("found {option} {key} twice; wanted each once.", option=option, key=key))
    return found


def _frame(option: str, key: str, text: str) -> Area:
    try:
        if option == "--frame":
            what_of(key)
        return corners(text)
    except ValueError as error:
        if option == "--cheque":
            raise UsageRefused(tr("found --cheque {error}; or whole; or none.", error=error)) from None
        raise UsageRefused(tr("found {option} {key}: {error}.", option=option, key=key, error=error)) from None


def _ask_parts() -> list[tuple[str, str]]:
    """The parts, one after another; at least one."""
    parts: list[tuple[str, str]] = []

    def convert(text: str) -> str:
        if text == "-" and parts:
            return ""
        key, mark, who = text.partition("=")
        if not mark or not who.strip():
            raise ValueError(tr("Write a short name and whom it goes to, as in file=the cheque file."))
        name_of(key.strip())
        return text

    while True:
        which = f"part {len(parts) + 1}" + (", or - for no more" if parts else ", the top one")
        text = ask("--part", tr("Which is {which} (name=whom it goes to)?", which=which), convert)
        if not text:
            return parts
        key, _, who = text.partition("=")
        parts.append((key.strip(), who.strip()))


def _all_frames(frames: dict[str, Area], is_cheque: bool) -> dict[str, Area]:
    """The frames given, and those still wanted, asked for."""
    there = {what_of(name) for name in frames}
    missing = not there.issuperset(set(WANTED) - {STOCK_NUMBER})
    for what in WANTED if is_cheque else ("number", STOCK_NUMBER):
        if what in there:
            continue
        if what == STOCK_NUMBER:
            if not interactive():
                continue
            question = f"Where is the stock's own number ({_FOUR}; or - if nowhere)?"
            text = ask("--frame stock_number", question, lambda t: t if t == "-" else (corners(t), t)[1])
            if text != "-":
                frames[what] = corners(text)
            continue
        frames[what] = ask(
            f"--frame {what}=…", tr("Where is the frame of {what} ({four})?", what=what, four=_FOUR), corners
        )
    return _more_frames(frames) if interactive() and missing else frames


def _more_frames(frames: dict[str, Area]) -> dict[str, Area]:
    """Whatever else is printed, one after another: address, bank, the stub's columns."""

    def convert(text: str) -> tuple[str, Area] | None:
        if text == "-":
            return None
        name, mark, four = text.partition("=")
        if not mark:
            raise ValueError(
                tr("Write what it shows and its frame, as in stub.text=1/2 in, 5/8 in, 4 in, 1 5/8 in; or -.")
            )
        what_of(name.strip())
        return name.strip(), corners(four)

    while found := ask(
        "--frame", tr("What else is printed (WHAT=left, top, right, bottom; or - for no more)?"), convert
    ):
        frames[found[0]] = found[1]
    return frames
