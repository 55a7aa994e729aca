"""A long search for files that a reader does not bear: any error but its own, a loop, unbounded memory.

    .venv/bin/pip install '.[dev,fuzz]'
    nice -n 19 .venv/bin/python tests/campaign/fuzz_readers.py --executions 1000000 --seed 1 [--reader csv]

Coverage-guided (atheris), over each reader, and over the maps that say how a file is read. What a reader yields must be
payments and faults, every fault one printable line; what is judged good must have one canonical text, and read back
equal when it is written as CSV. Runs in rounds of `--round` executions; each round that ends well is added to
`corpus/readers.json`, and the corpus, made small, to `corpus/readers-NAME.hex` (one input a line), so that it may be
stopped and taken up again. A round that finds something stops the campaign, prints the input in hex, and counts for
nothing. Needs no printer and no network.
"""

import argparse
import io
import json
import subprocess
import sys
import tempfile
import time
import zipfile
from functools import cache
from pathlib import Path

TESTS = Path(__file__).parents[1]
CORPUS = Path(__file__).parent / "corpus"
TALLY = CORPUS / "readers.json"
LONGEST = 2_000
READERS = ("csv", "fixed-width", "pain.001", "xlsx", "map")
#: most payments that so short an input can hold, with room
MOST_ITEMS = LONGEST

CSV_MAPS = (
    "",
    'kind = "csv"\nlocale = "de_DE"\nencoding = "cp1252"\nseparator = ";"\ndate = "DD.MM.YYYY"\nskip_lines = 1\n'
    '[columns]\npayee = "NAME"\namount = "NETPAY"\ndeduction1_amount = "TAX"\n[always]\ndeduction1 = "Tax"',
    'kind = "csv"\nencoding = "cp037"\nthousands_mark = ","\nnegative = "parentheses"\ncurrency_sign = "$"',
    'kind = "csv"\nquote = ""\nescape = "\\\\"\nshort_decimals = true\ndate = "M/D/YY"\nfirst_year = 1950',
    'kind = "csv"\nheader = false\nleave_out_zero_lines = true\n[columns]\npayee = 1\namount = 2\ndate = 3\nnote1 = 4',
)
RECORDS = """
[[record]]
what = "skip"
when = [{ contains = "PAGE" }]
[[record]]
what = "header"
when = [{ at = 1, is = "H" }]
fields = { date = { at = 2, pattern = "YYDDD" }, item_count = { at = 8, picture = "9(3)" } }
required = false
[[record]]
what = "payment"
when = [{ at = 1, is = "P" }]
fields.payee = { at = 2, width = 8 }
fields.amount = { at = 10, picture = "S9(5)V99" USAGE }
fields.date = { at = 17, pattern = "YYYYMMDD" }
fields.employee = { at = 25, picture = "9(4)" }
[[record]]
what = "stub"
when = [{ at = 1, is = ["E", "+"] }, { at = 2, width = 1, has = "something" }]
fields.earning1 = { at = 2, width = 8 }
fields.earning1_hours = { at = 10, picture = "ZZ9.99-" }
fields.earning1_rate = { at = 17, picture = "$$,$$9.99CR" }
fields.earning1_amount = { at = 28, picture = "S9(3)V999", sign = "leading separate" }
fields.earning1_to_date = { at = 35, picture = "S9(5)V99", sign = "leading", blank_when_zero = true }
fields.deduction1 = { at = 42, width = 4 }
fields.deduction1_amount = { at = 46, width = 9 }
fields.address1 = { at = 55, width = 6 }
[[record]]
what = "trailer"
when = [{ at = 1, is = "T" }]
fields = { item_count = { at = 2, picture = "9(3)" }, total = { at = 5, picture = "S9(7)V99" } }
covers = "file"
required = false
"""
FIXED_HEADS = (
    ('encoding = "cp1252"', ""),
    ('encoding = "latin-1"\ncarriage_control = "asa"\npage_heading_lines = 1', ""),
    ('encoding = "utf-8"', ""),
    ('encoding = "cp500"', ""),
    ('encoding = "cp037"\nrecord_length = 60', ', usage = "packed"'),
)
REMITTANCE = """
kind = "pain.001"
date = "YYYYMMDD"
[[remittance]]
when = [{ at = 1, is = "PAY " }]
fields = { earning1 = { at = 5, width = 8 }, earning1_amount = { at = 14, picture = "ZZZ9.99-" } }
[[remittance]]
when = [{ at = 1, is = "PER " }]
fields = { period_from = { at = 5 }, period_to = { at = 14 } }
"""


@cache
def maps_for(reader: str):
    """The maps that an input's first byte chooses from; None for none."""
    from cheque.register import maps

    if reader == "csv":
        return [maps.load(text, "map.toml") if text else None for text in CSV_MAPS]
    if reader == "fixed-width":
        texts = [
            f'kind = "fixed-width"\nfirst_year = 1970\n{head}\n{RECORDS.replace("USAGE", usage)}'
            for head, usage in FIXED_HEADS
        ]
        return [maps.load(text, "map.toml") for text in texts]
    return [None, maps.load(REMITTANCE, "map.toml")] if reader == "pain.001" else [None]


def check(reader: str, data: bytes) -> None:
    """One input. AssertionError, or any error that gets out, is a find."""
    if reader == "map":
        check_map(data)
    elif data:
        choices = maps_for(reader)
        body = package(data) if reader == "xlsx" else data[1:]
        judged(body, reader, choices[data[0] % len(choices)])


def reading_of(source: str, kind: str, by, said: list[str]):
    """What the reader is told."""
    from cheque.register import Reading

    return Reading(source, "USD", map=by, kind=kind, state=said.append)


def everything(body: bytes, reading) -> list:
    """Everything that a reader yields for a file."""
    from cheque.register import read_register

    return list(read_register(io.BytesIO(body), reading))


def judged(body: bytes, kind: str, by) -> None:
    """Read and judge a file; hold what is good against what it becomes as CSV."""
    from cheque.errors import Fault
    from cheque.payment import Payment, from_text, to_text
    from cheque.register import Reading, csvfile
    from cheque.register.judge import Judge

    said: list[str] = []
    reading = reading_of("payday.reg", kind, by, said)
    judge = Judge(reading)
    found = everything(body, reading)
    assert len(found) <= MOST_ITEMS + 100
    for item in found:
        assert isinstance(item, (Payment, Fault))
        if isinstance(item, Fault):
            text = str(item)
            assert text.isprintable(), text
            assert len(text) < 5_000
            assert item.where.startswith(("payday.reg", "map.toml"))
    assert all(sentence.isprintable() and sentence.startswith("payday.reg: ") for sentence in said)
    good = list(judge.payments(found))
    verdict = judge.verdict()
    if verdict.fault_count:
        return
    assert [payment.item for payment in good] == list(range(1, len(good) + 1))
    for payment in good:
        assert from_text(to_text(payment)) == payment._replace(line=0)
    out = io.BytesIO()
    hashed = "employee" if all(payment.hash_value is not None for payment in good) else ""
    again = [payment if hashed else payment._replace(hash_value=None) for payment in good]
    csvfile.write(again, out, "USD", hash_column=hashed)
    back = list(csvfile.read(io.BytesIO(out.getvalue()), Reading("again.csv", "USD", hashed)))
    assert [p._replace(line=0) for p in back if isinstance(p, Payment)] == [p._replace(line=0) for p in again]


def check_map(data: bytes) -> None:
    """A map is refused with its faults, or reads a file without an error."""
    from cheque.errors import InputRefused
    from cheque.register import maps

    try:
        by = maps.load(data.decode(), "map.toml")
    except UnicodeDecodeError:
        return
    except InputRefused as refusal:
        faults = refusal.faults
        by = None
    if by is None:
        assert faults
        assert all(fault.where.startswith("map.toml") for fault in faults)
        return
    for file in MAP_FILES:
        judged(package(file) if by.kind == "xlsx" else file, by.kind, by)


MAP_FILES = (
    b'payee,amount,date\nAy Li,1.00,2026-11-27\nZo\xc3\xab,"2,00",27.11.2026\n',
    b"PAy Li     0000100202611270001\nEwork    1.00\nT0010000001{0\n\x01\x02\x0c\xc1\xc2\x15",
)

#: the parts of a spreadsheet that an input can stand for, and what stands there else
PARTS = {
    "xl/worksheets/sheet1.xml": b'<worksheet xmlns="m"><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c t="s"><v>1'
    b'</v></c><c t="s"><v>2</v></c></row><row r="2"><c r="A2" t="inlineStr"><is><t>Ay Li</t></is></c>'
    b'<c r="B2"><f>A1</f><v>1.5</v></c><c r="C2" s="1"><v>46353</v></c></row></sheetData></worksheet>',
    "xl/sharedStrings.xml": b'<sst xmlns="m"><si><t>payee</t></si><si><r><t>amount</t></r></si>'
    b"<si><t>date</t></si></sst>",
    "xl/styles.xml": b'<styleSheet xmlns="m"><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>',
    "xl/workbook.xml": b'<workbook xmlns="m" xmlns:r="r"><sheets><sheet name="A" r:id="a"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": b'<Relationships xmlns="p"><Relationship Id="a" Type="t/worksheet" '
    b'Target="worksheets/sheet1.xml"/><Relationship Id="b" Type="t/sharedStrings" Target="sharedStrings.xml"/>'
    b'<Relationship Id="c" Type="t/styles" Target="styles.xml"/></Relationships>',
    "_rels/.rels": b'<Relationships xmlns="p"><Relationship Id="a" Type="t/officeDocument" Target="xl/workbook.xml"/>'
    b"</Relationships>",
}


def package(data: bytes) -> bytes:
    """A spreadsheet file of which one part is the input, or the input itself as a zip file."""
    names = [*PARTS, ""]
    chosen = names[data[0] % len(names)]
    if not chosen:
        return data[1:]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        for name, part in PARTS.items():
            file.writestr(zipfile.ZipInfo(name), data[1:] if name == chosen else part)
    return made.getvalue()


def seeds(reader: str) -> list[bytes]:
    """Small good files for a reader, as inputs."""
    if reader == "csv":
        plain = b'payee,amount,date,earning1,earning1_amount,note1\nAy Li,1.00,2026-11-27,Regular,1.00,"a ""b"""\n'
        german = b"TITLE\r\nNAME;NETPAY;date;TAX\r\nAy Li;1.234,50;27.11.2026;0,00\r\n"
        host = 'payee,amount,date\nAy Li,"$1,234.50",2026-11-27\n'.encode("cp037")
        bare = b"payee|amount|date|memo\nAy Li|1.5|1/3/26|a\\|b\n"
        utf16 = plain.decode().encode("utf-16")
        return [
            b"\0" + plain,
            b"\1" + german,
            b"\2" + host,
            b"\3" + bare,
            b"\4Ay Li,1.00,2026-11-27,n\n",
            b"\0" + utf16,
        ]
    if reader == "fixed-width":
        stub = f"+{'work':8}{'1.00':>6} {'$1.00':>9}  +123000A000100{'tax':4}     1.00Tar 1"
        lines = ["H26331 001", "PAy Li   000012C202611270001", stub]
        text = "\n".join([*lines, "T00100000012C", ""])
        records = [line.encode("cp037") for line in lines]
        records[1] = records[1][:9] + bytes.fromhex("0000123c") + "   ".encode("cp037") + records[1][16:]
        packed = b"".join(record.ljust(60, b"\x40") for record in records)
        asa = "".join(f"{mark}{line}\n" for mark, line in zip("1 0 ", ["PAGE 1", *lines], strict=True))
        ebcdic = text.replace("\n", "\x85").encode("cp500")
        return [b"\0" + text.encode(), b"\1" + asa.encode(), b"\2" + text.encode(), b"\3" + ebcdic, b"\4" + packed]
    if reader == "pain.001":
        return [bytes([choice]) + message(version) for choice, version in ((0, "03"), (1, "09"), (0, "12"))]
    if reader == "xlsx":
        parts = [bytes([place]) + part for place, part in enumerate(PARTS.values())]
        return [*parts, bytes([len(PARTS)]) + package(parts[0])]
    texts = [text for text in CSV_MAPS if text] + [REMITTANCE, 'kind = "xlsx"\nsheet = "A"']
    texts += [f'kind = "fixed-width"\nfirst_year = 1970\n{FIXED_HEADS[0][0]}\n{RECORDS.replace("USAGE", "")}']
    return [text.encode() for text in texts]


def message(version: str) -> bytes:
    """A small pain.001 message with one of everything that is read."""
    date = "<Dt>2026-11-27</Dt>" if version != "03" else "2026-11-27"
    amounts = '<DuePyblAmt Ccy="USD">2.00</DuePyblAmt><RmtdAmt Ccy="USD">2</RmtdAmt>'
    if version == "12":
        amounts = '<RmtAmtAndTp><Tp><Cd>REMI</Cd></Tp><Amt Ccy="USD">2.00</Amt></RmtAmtAndTp>'
    text = (
        f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:pain.001.001.{version}"><CstmrCdtTrfInitn><GrpHdr><NbOfTxs>1'
        "</NbOfTxs><CtrlSum>2.00</CtrlSum></GrpHdr><PmtInf><PmtMtd>CHK</PmtMtd>"
        f"<ReqdExctnDt>{date}</ReqdExctnDt><CdtTrfTxInf><PmtId><EndToEndId>R1</EndToEndId></PmtId><Amt><InstdAmt "
        'Ccy="USD">2.00</InstdAmt></Amt><ChqInstr><ChqTp>CCHQ</ChqTp><MemoFld>m</MemoFld></ChqInstr><Cdtr>'
        "<Nm>Ay Li</Nm><PstlAdr><StrtNm>Tar</StrtNm><AdrLine>x</AdrLine></PstlAdr><Id><PrvtId><Othr><Id>7</Id><SchmeNm>"
        "<Cd>EMPL</Cd></SchmeNm></Othr></PrvtId></Id></Cdtr><RmtInf><Ustrd>PER 20261116 20261122</Ustrd><Strd>"
        f"<RfrdDocInf><Nb>T1</Nb></RfrdDocInf><RfrdDocAmt>{amounts}</RfrdDocAmt></Strd></RmtInf></CdtTrfTxInf></PmtInf></CstmrCdtTrfInitn>"
        "</Document>"
    )
    return text.encode()


def words(reader: str) -> str:
    """A dictionary for the fuzzer: names and marks of the reader's files."""
    found = {"\r\n", '""', "\u00e9", "\ufeff", "0001", "1.00", "2026-11-27", "-", "USD"}
    for data in seeds(reader):
        text = data.decode("latin-1")
        for mark in '<>,;|"=\n{}[]':
            text = text.replace(mark, " ")
        found |= {word for word in text.split() if 2 < len(word) < 30}
    hexed = ("".join(f"\\x{byte:02x}" for byte in word.encode("utf-8")) for word in sorted(found))
    return "".join(f'"{word}"\n' for word in hexed)


def corpus_of(reader: str) -> Path:
    """Where a reader's inputs are kept."""
    return CORPUS / f"readers-{reader}.hex"


def read_corpus(reader: str) -> list[bytes]:
    """The inputs kept so far."""
    path = corpus_of(reader)
    return [bytes.fromhex(line) for line in path.read_text().split()] if path.exists() else []


def child(reader: str, arguments: list[str]) -> None:
    """One round, in a process of its own, because the fuzzer ends the process it runs in."""
    import atheris

    with atheris.instrument_imports(include=["cheque.register", "cheque.money", "cheque.tomlfile"]):
        from cheque.register import KINDS, kind_of

        for kind in KINDS:
            kind_of("", kind=kind)
        import cheque.register.judge  # noqa: F401
    # The fuzzer begins itself anew, by a shell, to make the corpus small: it must be told how.
    atheris.Setup([f"{sys.executable} {__file__} --child {reader}", *arguments], lambda data: check(reader, data))
    atheris.Fuzz()


def fuzz(reader: str, arguments: list[str]) -> int:
    """Run the fuzzer with these arguments; its exit status."""
    command = [sys.executable, __file__, "--child", reader, *arguments]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    if done.returncode:
        print(done.stdout[-6000:], done.stderr[-6000:], file=sys.stderr)
    return done.returncode


def tally_of(reader: str) -> dict[str, int]:
    """What is counted so far for a reader."""
    every = json.loads(TALLY.read_text()) if TALLY.exists() else {}
    return every.get(reader, {"executions": 0, "seconds": 0, "rounds": 0})


def keep(reader: str, tally: dict[str, int]) -> None:
    every = json.loads(TALLY.read_text()) if TALLY.exists() else {}
    TALLY.write_text(json.dumps({**every, reader: tally}, sort_keys=True) + "\n")


def campaign(reader: str, executions: int, each: int, seed: int) -> int:
    """Rounds until the tally holds so many executions of a reader in all. Returns the exit status."""
    tally = tally_of(reader)
    with tempfile.TemporaryDirectory() as scratch:
        grown, finds = Path(scratch) / "grown", Path(scratch) / "finds"
        for folder in (grown, finds):
            folder.mkdir()
        (Path(scratch) / "words").write_text(words(reader))
        for number, data in enumerate([*seeds(reader), *read_corpus(reader)]):
            (grown / f"kept{number}").write_bytes(data)
        limits = [f"-max_len={LONGEST}", "-timeout=10", "-rss_limit_mb=600", f"-artifact_prefix={finds}/"]
        while tally["executions"] < executions:
            began = time.monotonic()
            runs = min(each, executions - tally["executions"])
            options = [f"-dict={scratch}/words", f"-runs={runs}", f"-seed={seed + tally['rounds']}", *limits]
            if fuzz(reader, [str(grown), *options]):
                for find in finds.iterdir():
                    print(f"{reader} {find.name}: {find.read_bytes().hex()}")
                return 1
            small = Path(scratch) / f"small{tally['rounds']}"
            small.mkdir()
            if fuzz(reader, ["-merge=1", str(small), str(grown), *limits]):
                return 1
            kept = sorted((path.read_bytes() for path in small.iterdir()), key=lambda data: (len(data), data))
            corpus_of(reader).write_text("".join(data.hex() + "\n" for data in kept))
            tally["executions"] += runs
            tally["rounds"] += 1
            tally["seconds"] += round(time.monotonic() - began)
            keep(reader, tally)
            print(f"{reader}: {tally['executions']} executions, {tally['seconds']} s, {len(kept)} kept", flush=True)
    return 0


def main() -> int:
    sys.path.insert(0, str(TESTS))
    if sys.argv[1:2] == ["--child"]:
        child(sys.argv[2], sys.argv[3:])
        return 0
    parser = argparse.ArgumentParser(description="Fuzz every reader.")
    parser.add_argument("--executions", type=int, default=1_000_000, help="of each, in all, with those of earlier runs")
    parser.add_argument("--round", type=int, default=100_000, help="executions a round")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--reader", choices=READERS, action="append", help="this one alone; may be given again")
    chosen = parser.parse_args()
    return max(campaign(each, chosen.executions, chosen.round, chosen.seed) for each in chosen.reader or READERS)


if __name__ == "__main__":
    sys.exit(main())
