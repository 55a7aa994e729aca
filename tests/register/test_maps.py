"""Maps: what one may say, and every fault of one with its line."""

import pytest
from register.november import NOVEMBER

from cheque.errors import InputRefused
from cheque.register import maps


def faults(text: str) -> list[str]:
    with pytest.raises(InputRefused) as refused:
        maps.load(text, "map.toml")
    return [str(fault).removeprefix("map.toml ") for fault in refused.value.faults]


FIXED = 'kind = "fixed-width"\n[[record]]\nwhat = "payment"\n[record.fields]\npayee = { at = 1, width = 9 }\n'
AMOUNT = 'amount = { at = 10, picture = "S9(5)V99" }\n'


@pytest.mark.parametrize("path", sorted(NOVEMBER.glob("*.toml")), ids=lambda path: path.name)
def test_every_map_of_the_demo_is_good(path) -> None:  # type: ignore[no-untyped-def]
    assert maps.load(path.read_text(encoding="utf-8"), path.name).source == path.name


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "map.toml, kind: found nothing; wanted text in quotes; add kind = …."),
        ('kind = "pdf"', "line 1, kind: found 'pdf'; wanted one of csv, fixed-width, pain.001, xlsx."),
        ('kind = "csv"\ndecimal_mark = ";"', "line 2, decimal_mark: found ';'; wanted one of ., ,."),
        (
            'kind = "csv"\nthousands_mark = "."',
            "line 2, thousands_mark: found '.'; wanted another mark than before the decimals.",
        ),
        (
            'kind = "csv"\nlocale = "xx_XX"',
            "line 2, locale: found 'xx_XX', no locale that is known here; wanted a locale such as de_DE.",
        ),
        (
            'kind = "csv"\nnegative = "red"',
            "line 2, negative: found 'red'; wanted one of leading, trailing, parentheses.",
        ),
        (
            'kind = "csv"\nencoding = "utf-7"',
            "line 2, encoding: found 'utf-7', no encoding of text files that is known here; wanted the name of an "
            "encoding.",
        ),
        ('kind = "csv"\nseparator = "ab"', "line 2, separator: found 'ab'; wanted one character."),
        ('kind = "csv"\nskip_lines = -1', "line 2, skip_lines: found -1; wanted 0 to 1000 lines."),
        ('kind = "xlsx"\nseparator = ","', "line 2, separator: found an unknown key; wanted a key of the documents;"),
        (
            'kind = "csv"\ndate = "MM.YYYY"',
            "line 2, date: found 'MM.YYYY', which does not give year, month and day, each once; wanted a pattern such "
            "as DD.MM.YYYY.",
        ),
        (
            'kind = "csv"\ndate = "DD.MM.YY"',
            "line 2, date: found 'DD.MM.YY', whose years have two digits, without the first year they can mean;",
        ),
        (
            'kind = "csv"\n[columns]\nearning1_wage = "X"',
            "line 3, columns.earning1_wage: found 'earning1_wage'; wanted a column of a register, our name on the left",
        ),
        (
            'kind = "csv"\n[columns]\npayee = "A"\nmemo = "a "',
            "line 4, columns.memo: found 'a '; wanted another column",
        ),
        (
            'kind = "csv"\n[columns]\npayee = 0',
            "line 3, columns.payee: found 0; wanted the file's name of the column.",
        ),
        (
            'kind = "csv"\nheader = false\n[columns]\npayee = 1',
            "line 3, columns: found no amount; wanted the place of every column, as there is no header.",
        ),
        (
            'kind = "csv"\nheader = false\n[columns]\npayee = "A"\namount = 2',
            "line 4, columns.payee: found 'A'; wanted the column's place, from 1.",
        ),
        (
            'kind = "csv"\n[always]\namount = "1.00"',
            "line 3, always.amount: found 'amount'; wanted a text of a payment, or what a stub line says.",
        ),
        ('kind = "csv"\n[always]\ndate = "soon"', "line 3, always.date: found 'soon'; wanted a date as YYYY-MM-DD."),
        (
            'kind = "csv"\n[always]\nearning1 = "Pay"',
            "line 3, always.earning1: found a stub line without figures; wanted earning1_amount among the columns.",
        ),
        (
            'kind = "csv"\n[columns]\nmemo = "M"\n[always]\nmemo = "x"',
            "line 5, always.memo: found a column of the file; wanted either of the two; take one out.",
        ),
        ('kind = "fixed-width"', "map.toml, record: found none that is a payment;"),
        (FIXED, "line 2, record.0: found a payment without amount; wanted a field amount."),
        (
            FIXED + 'amount = { at = 10, picture = "9Q" }',
            "line 6, record.0.fields.amount.picture: found '9Q', no picture that is understood; wanted a picture such",
        ),
        (
            FIXED + 'amount = { at = 10, picture = "Z9Z" }',
            "line 6, record.0.fields.amount.picture: found 'Z9Z', no picture that is understood;",
        ),
        (
            FIXED + 'amount = { at = 10, picture = "9(19)" }',
            "line 6, record.0.fields.amount.picture: found '9(19)', with 19 digits, not 1 to 18;",
        ),
        (
            FIXED + 'amount = { at = 10, width = 6, picture = "9(5)V99" }',
            "line 6, record.0.fields.amount.width: found 6; wanted 7, the width of its picture or pattern;",
        ),
        (
            FIXED + 'amount = { at = 10, picture = "9(5)V99", sign = "trailing" }',
            "line 6, record.0.fields.amount.sign: found 'trailing'; wanted no sign, because the picture has no S;",
        ),
        (
            FIXED + 'amount = { at = 0, picture = "9(5)V99" }',
            "line 6, record.0.fields.amount.at: found position 0, 7 wide; wanted a place and a width within 4096",
        ),
        (
            FIXED + "amount = { at = 10 }",
            "line 6, record.0.fields.amount.at: found position 10, with no width; wanted a place and a width",
        ),
        (
            FIXED + 'amount = { at = 10, picture = "X(9)" }',
            "line 6, record.0.fields.amount.picture: found 'X(9)'; wanted a picture of a number, for amount.",
        ),
        (
            FIXED + 'amount = { at = 10, picture = "ZZ9.99", usage = "packed" }',
            "line 6, record.0.fields.amount.picture: found 'ZZ9.99'; wanted a picture of plain digits, such as",
        ),
        (
            FIXED + AMOUNT + 'employee = { at = 20, picture = "9(4)V9" }',
            "line 7, record.0.fields.employee.picture: found '9(4)V9'; wanted a whole number, for employee.",
        ),
        (
            FIXED + AMOUNT + 'date = { at = 20, picture = "9(5)", pattern = "YYYYMMDD" }',
            "line 7, record.0.fields.date.picture: found '9(5)' with the pattern 'YYYYMMDD'; wanted as many digits",
        ),
        (
            FIXED + AMOUNT + "gross = { at = 20, width = 9 }",
            "line 7, record.0.fields.gross: found a field of that name; wanted a column of a register; take it out.",
        ),
        (
            FIXED + AMOUNT + "earning1_amount = { at = 20, width = 9 }",
            "line 7, record.0.fields.earning1_amount: found no field 'earning1'; wanted what the line says;",
        ),
        (
            FIXED + 'amount = { at = 10, picture = "S9(5)V99", usage = "packed" }',
            "map.toml, record_length: found nothing, and packed fields; wanted no packed fields in lines, because a "
            "byte of theirs may look like the end of one; add it.",
        ),
        (
            FIXED.replace("[[", "record_length = 12\n[[", 1) + AMOUNT,
            "map.toml, encoding: found nothing; wanted the encoding of the file, for records of one length; add it.",
        ),
        (
            FIXED.replace("[[", 'record_length = 12\nencoding = "cp037"\n[[', 1) + AMOUNT,
            "line 2, record_length: found 12; wanted 16 at least, for map.toml line 4, record.0.",
        ),
        (
            FIXED.replace("[[", 'record_length = 99\nencoding = "utf-8"\n[[', 1) + AMOUNT,
            "line 3, encoding: found 'utf-8'; wanted an encoding of one byte a character, for records of one length.",
        ),
        (
            FIXED + AMOUNT + '[[record]]\nwhat = "skip"',
            "line 7, record.1.when: found nothing; wanted what tells these records; add when = [{ … }].",
        ),
        (
            FIXED + AMOUNT + '[[record]]\nwhat = "skip"\nwhen = [{ at = 1, is = ["A", "BC"] }]',
            "line 9, record.1.when.0.is: found ['A', 'BC']; wanted a text, or texts of one length, that stand there.",
        ),
        (
            FIXED + AMOUNT + '[[record]]\nwhat = "trailer"\n[record.fields]\namount = { at = 1, width = 9 }',
            "line 10, record.1.fields.amount: found a field of that name; wanted one of item_count, total, hash_total, "
            "record_count; take it out.",
        ),
        (
            FIXED + AMOUNT + '[[record]]\nwhat = "stub"\n[record.fields]\npayee = { at = 1, width = 9 }',
            "line 10, record.1.fields.payee: found a field of that name; wanted a column of stub lines, or one of",
        ),
        (
            'kind = "pain.001"\n[[remittance]]\n[remittance.fields]\nearning1 = { at = 1, width = 9 }\n'
            'earning1_amount = { at = 10, picture = "9(5)", usage = "packed" }',
            "map.toml, record_length: found nothing, and packed fields; wanted no packed fields in text; add it.",
        ),
    ],
)
def test_a_fault_of_a_map_is_told_with_its_line(text: str, message: str) -> None:
    found = faults(text)
    assert any(fault.startswith(message) for fault in found), found


def test_all_faults_of_a_map_are_told_together() -> None:
    assert len(faults('kind = "csv"\nquote = "xx"\nheader = 1\nlocale = 5\n[columns]\nnothing = "N"')) == 4


def test_what_is_not_toml_is_refused() -> None:
    (fault,) = faults("kind = csv")
    assert "wanted well-formed TOML" in fault
