"""The backward reader against amounts written by hand, and against a speller that goes the other way."""

import random

import pytest
from outside.words_backwards import NotAnAmountError, read, read_gb, read_us

US = {
    "One thousand two hundred thirty-four and 56/100": 123456,
    "One and 00/100": 100,
    "One and no/100": 100,
    "Zero and 56/100": 56,
    "Nineteen and 01/100": 1901,
    "Twenty and 99/100": 2099,
    "Twenty-one and 10/100": 2110,
    "One hundred and 00/100": 10000,
    "One hundred one and 00/100": 10100,
    "Nine hundred ninety-nine and 99/100": 99999,
    "One thousand and 00/100": 100000,
    "One thousand one and 00/100": 100100,
    "Forty thousand and 00/100": 4000000,
    "Twelve thousand three hundred forty-five and 67/100": 1234567,
    "One million two hundred thousand fourteen and 05/100": 120001405,
    "Three billion seven and no/100": 300000000700,
}

GB = {
    "One thousand two hundred and thirty-four pounds and fifty-six pence only": 123456,
    "ONE THOUSAND TWO HUNDRED AND THIRTY-FOUR POUNDS AND FIFTY-SIX PENCE ONLY": 123456,
    "one thousand two hundred and thirty-four pounds and fifty-six pence": 123456,
    "One pound only": 100,
    "One pound and one penny only": 101,
    "Two pounds only": 200,
    "Zero pounds and fifty-six pence only": 56,
    "Fifty-six pence only": 56,
    "One penny only": 1,
    "One hundred pounds only": 10000,
    "One hundred and one pounds only": 10100,
    "One thousand pounds only": 100000,
    "One thousand and one pounds only": 100100,
    "One thousand one hundred pounds only": 110000,
    "Two hundred and thirty-four thousand and five pounds and twenty pence only": 23400520,
    "One million two hundred thousand and fourteen pounds and five pence only": 120001405,
    "One million five thousand pounds only": 100500000,
}


@pytest.mark.parametrize(("text", "minor"), US.items())
def test_american(text: str, minor: int) -> None:
    assert read_us(text) == read(text, "en_US") == minor


@pytest.mark.parametrize(("text", "minor"), GB.items())
def test_british(text: str, minor: int) -> None:
    assert read_gb(text) == read(text, "en_GB") == minor


@pytest.mark.parametrize(
    "text",
    [
        "",
        "and 56/100",
        "56/100",
        "One",
        "one and 56/100",
        "ONE and 56/100",
        "One And 56/100",
        "One and 5/100",
        "One and 056/100",
        "One and 56/1000",
        "One and No/100",
        "One 56/100",
        "One and 56/100 ",
        " One and 56/100",
        "One and 56/100\n",
        "One  thousand and 56/100",
        "One and  56/100",
        "One and 56/100 dollars",
        "One hundred and one and 56/100",
        "One thousand and one and 56/100",
        "One thousand, one and 56/100",
        "Thirty four and 56/100",
        "Thirty-fourteen and 56/100",
        "Thirty-zero and 56/100",
        "Thirty- and 56/100",
        "-Thirty and 56/100",
        "Fourty and 56/100",
        "Thirty-four-five and 56/100",
        "Hundred and 56/100",
        "Thousand and 56/100",
        "Zero hundred and 56/100",
        "Zero thousand and 56/100",
        "One hundred zero and 56/100",
        "Ten hundred and 56/100",
        "One two and 56/100",
        "One hundred hundred and 56/100",
        "One thousand one million and 56/100",
        "One thousand one thousand and 56/100",
        "One thousand million and 56/100",
        "One lakh and 56/100",
        "One and ٥٦/100",
        "One thousand two hundred and thirty-four pounds and fifty-six pence only",
    ],
)
def test_american_refusals(text: str) -> None:
    with pytest.raises(NotAnAmountError):
        read_us(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "only",
        " only",
        " and ",
        "pounds only",
        "pence only",
        "one",
        "one only",
        "one pounds only",
        "two pound only",
        "zero pound only",
        "one pence only",
        "two penny only",
        "one pound and zero pence only",
        "one pound and one hundred pence only",
        "one pound one penny only",
        "one poundone penny only",
        "one pound and only",
        "one pound and one penny and one penny only",
        "one pound only only",
        "one pound only ",
        " one pound only",
        "one pound only\n",
        "one  pound only",
        "one penny and one pound only",
        "one hundred one pounds only",
        "one hundred and pounds only",
        "one thousand one pounds only",
        "one thousand and one hundred pounds only",
        "one thousand and pounds only",
        "one million and five thousand pounds only",
        "and one pounds only",
        "one thousand, two hundred pounds only",
        "thirty four pounds only",
        "fourty pounds only",
        "hundred pounds only",
        "a hundred pounds only",
        "one thousand thousand pounds only",
        "one thousand one million pounds only",
        "one thousand pounds and 56/100",
        "fifty\u2010six pounds only",
        "one \u212ailo pounds only",
    ],
)
def test_british_refusals(text: str) -> None:
    with pytest.raises(NotAnAmountError):
        read_gb(text)


def test_no_other_locale() -> None:
    with pytest.raises(ValueError, match="no reader"):
        read("One and 00/100", "en_IN")


SMALL = (
    "zero,one,two,three,four,five,six,seven,eight,nine,ten,eleven,twelve,thirteen,fourteen,fifteen,sixteen,"
    "seventeen,eighteen,nineteen"
)
LARGE = ((10**12, "trillion"), (10**9, "billion"), (10**6, "million"), (1000, "thousand"), (100, "hundred"))
TEN_WORDS = ("twen", "thir", "for", "fif", "six", "seven", "eigh", "nine")


def spelled(n: int, joint: str) -> str:
    """n in words; `joint` stands before the tens and units."""
    if n < 20:
        return SMALL.split(",")[n]
    if n < 100:
        tens, units = divmod(n, 10)
        return TEN_WORDS[tens - 2] + "ty" + ("-" + SMALL.split(",")[units] if units else "")
    value, name = next((v, w) for v, w in LARGE if n >= v)
    count, rest = divmod(n, value)
    tail = (joint if rest < 100 else " ") + spelled(rest, joint) if rest else ""
    return f"{spelled(count, joint)} {name}{tail}"


def amounts() -> list[int]:
    chance = random.Random(20)
    return [*range(12_000), *(chance.randrange(10 ** chance.randint(3, 15)) for _ in range(8_000))]


def test_every_american_whole_number_reads_back() -> None:
    for n in amounts():
        words = spelled(n, " ")
        assert read_us(f"{words[0].upper()}{words[1:]} and {n % 100:02}/100") == 100 * n + n % 100


def test_every_british_whole_number_reads_back() -> None:
    for n in amounts():
        unit = "pound" if n == 1 else "pounds"
        assert read_gb(f"{spelled(n, ' and ')} {unit} only".capitalize()) == 100 * n


def test_every_number_of_pence_reads_back() -> None:
    for n in range(1, 100):
        unit = "penny" if n == 1 else "pence"
        assert read_gb(f"Seven pounds and {spelled(n, ' and ')} {unit} only") == 700 + n
