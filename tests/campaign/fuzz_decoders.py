"""A long search for bytes that a decoder does not bear: any error but its own, a loop, unbounded memory.

    .venv/bin/pip install '.[dev,fuzz]'
    nice -n 19 .venv/bin/python tests/campaign/fuzz_decoders.py --executions 10000000 --seed 1

Coverage-guided (atheris), over every decoder. What a decoder accepts must also strike the same on printers left
in contrary states (`language.carriage`). Runs in rounds of `--round` executions; each round that ends well is
added to `corpus/decoders.json`, and the corpus, made small, to `corpus/decoders.hex` (one input a line), so that
it may be stopped and taken up again. A round that finds something stops the campaign, prints the input in hex,
and counts for nothing. Needs no printer and no network.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from functools import cache
from pathlib import Path

TESTS = Path(__file__).parents[1]
CORPUS = Path(__file__).parent / "corpus" / "decoders.hex"
TALLY = Path(__file__).parent / "corpus" / "decoders.json"
LONGEST = 600


@cache
def printers():
    """Every decoder, on printers that differ in all that a decoder heeds. The first byte of an input chooses."""
    from language.feeding import PRINTERS

    from cheque.language import Printer
    from cheque.units import INCH

    return (
        *PRINTERS,
        Printer("escp9", INCH // 216, "cp850"),
        Printer("escp9", INCH // 72, "national-de"),
        Printer("escp9", INCH // 216, "cp858", frozenset({"character-tables", "letter-quality", "one-direction"})),
        Printer("escp24", INCH // 360, "latin-1", frozenset({"horizontal-position", "15-to-the-inch"})),
        Printer("ppds", INCH // 216, "cp852", frozenset({"code-pages", "bold", "horizontal-position"})),
        Printer("plain", INCH // 6, "latin-2", width=8 * INCH),
    )


@cache
def tools():
    """What the search needs of the tool and the tests: fetched once, after the fuzzer has instrumented them."""
    from language.carriage import struck_on_all

    from cheque.language import DecodeError, get

    return printers(), {printer.language: get(printer.language) for printer in printers()}, DecodeError, struck_on_all


def check(data: bytes) -> None:
    """One input: strikes that every printer agrees on, or DecodeError. AssertionError, or any other, is a find."""
    if not data:
        return
    choices, languages, decode_error, struck_on_all = tools()
    printer, stream = choices[data[0] % len(choices)], data[1:]
    try:
        strikes = languages[printer.language].decode(stream, printer)
    except decode_error as error:
        if not 0 <= error.offset <= len(stream):
            raise AssertionError(f"offset {error.offset} outside {len(stream)} bytes") from None
        return
    assert sum(len(mark.text) for mark in strikes.marks) <= 2 * len(stream)
    assert all(0 <= mark.x <= printer.width and 0 <= mark.y <= strikes.advance for mark in strikes.marks)
    cells = []
    for x, y, pitch, weight, text in strikes.marks:
        times = 1 + weight if printer.language == "plain" else 1
        shown = 0 if printer.language == "plain" else int(weight)
        cells += [(y, x + i * pitch, pitch, shown, c) for i, c in enumerate(text) if c != " " for _ in range(times)]
    assert struck_on_all(stream, printer.language, printer) == (sorted(cells), strikes.advance)


def seeds() -> list[bytes]:
    """A form for every printer, as inputs."""
    from language.pages import form_of

    from cheque.language import Look, get
    from cheque.units import INCH

    found = []
    for choice, printer in enumerate(printers()):
        look, language = Look(3 * INCH, INCH // 6), get(printer.language)
        marks = tuple(m for m in form_of(printer.language).numbered("7") if not language.cannot(look, (m,), printer))
        found.append(bytes([choice]) + language.encode(marks, look, printer, look.length))
    return found


def words() -> str:
    """The commands, as a dictionary for the fuzzer."""
    from cheque.language import NAMES, get

    found = {"\r\n"}
    for name in NAMES:
        rep = getattr(get(name), "repertoire", None)
        for command in rep.commands if rep else ():
            found.add(bytes.fromhex(command.pattern[: 4 * command.named_by].replace("\\x", "")).decode("latin-1"))
        if rep:
            found |= {rep.jump.name, "\x1bJ", rep.reset}
    return "".join('"' + "".join(f"\\x{ord(c):02x}" for c in word) + '"\n' for word in sorted(found) if word)


def read_corpus() -> list[bytes]:
    """The inputs kept so far."""
    return [bytes.fromhex(line) for line in CORPUS.read_text().split()] if CORPUS.exists() else []


def child(arguments: list[str]) -> None:
    """One round, in a process of its own, because the fuzzer ends the process it runs in."""
    import atheris

    with atheris.instrument_imports(include=["cheque.language"]):
        for choice in {printer.language for printer in printers()}:
            __import__(f"cheque.language.{choice}")
    # The fuzzer begins itself anew, by a shell, to make the corpus small: it must be told how.
    atheris.Setup([f"{sys.executable} {__file__} --child", *arguments], check)
    atheris.Fuzz()


def fuzz(arguments: list[str]) -> int:
    """Run the fuzzer with these arguments; its exit status."""
    command = [sys.executable, __file__, "--child", *arguments]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    if done.returncode:
        print(done.stdout[-4000:], done.stderr[-4000:], file=sys.stderr)
    return done.returncode


def campaign(executions: int, each: int, seed: int) -> int:
    """Rounds until the tally holds so many executions in all. Returns the exit status."""
    tally = json.loads(TALLY.read_text()) if TALLY.exists() else {"executions": 0, "seconds": 0, "rounds": 0}
    with tempfile.TemporaryDirectory() as scratch:
        grown, small, finds = (Path(scratch) / name for name in ("grown", "small", "finds"))
        for folder in (grown, small, finds):
            folder.mkdir()
        (Path(scratch) / "words").write_text(words())
        for number, data in enumerate([*seeds(), *read_corpus()]):
            (grown / f"kept{number}").write_bytes(data)
        limits = [f"-max_len={LONGEST}", "-timeout=10", "-rss_limit_mb=600", f"-artifact_prefix={finds}/"]
        while tally["executions"] < executions:
            began = time.monotonic()
            runs = min(each, executions - tally["executions"])
            status = fuzz(
                [str(grown), f"-dict={scratch}/words", f"-runs={runs}", f"-seed={seed + tally['rounds']}", *limits]
            )
            if status:
                for find in finds.iterdir():
                    print(f"{find.name}: {find.read_bytes().hex()}")
                return 1
            if fuzz(["-merge=1", str(small), str(grown), *limits]):
                return 1
            kept = sorted((path.read_bytes() for path in small.iterdir()), key=lambda data: (len(data), data))
            CORPUS.write_text("".join(data.hex() + "\n" for data in kept))
            tally["executions"] += runs
            tally["rounds"] += 1
            tally["seconds"] += round(time.monotonic() - began)
            TALLY.write_text(json.dumps(tally, sort_keys=True) + "\n")
            print(f"{tally['executions']} executions, {tally['seconds']} s, {len(kept)} inputs kept", flush=True)
    return 0


def main() -> int:
    sys.path.insert(0, str(TESTS))
    if sys.argv[1:2] == ["--child"]:
        child(sys.argv[2:])
        return 0
    parser = argparse.ArgumentParser(description="Fuzz every decoder.")
    parser.add_argument("--executions", type=int, default=10_000_000, help="in all, with those of earlier runs")
    parser.add_argument("--round", type=int, default=500_000, help="executions a round")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    return campaign(chosen.executions, chosen.round, chosen.seed)


if __name__ == "__main__":
    sys.exit(main())
