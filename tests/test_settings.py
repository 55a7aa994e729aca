"""Settings: what `cheque setup` writes is read back, what is derived from them, what is hidden of them."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st
from stdnum.us import rtn

from cheque import library, run, settings
from cheque.errors import InputRefused
from cheque.settings import Settings, load, mask, parse, template
from cheque.units import INCH

#: a busy machine is no fault
unhurried = how(deadline=None, suppress_health_check=[HealthCheck.too_slow])

HERE = Path("/somewhere/cheque.toml")
PLAIN = st.text(st.characters(exclude_categories=("C", "Zl", "Zp", "Zs")), min_size=1, max_size=30)


def written(**other: object) -> str:
    """The template, filled in as at the boatyard but for what is other."""
    given_ = {
        "drawer": "Quillmere Boatyard Company", "address": ("1 Slipway Lane",), "bank": "Tidewrack Savings Bank",
        "routing": "123456780", "number": "000417293355", "currency": "USD", "locale": "en_US", **other,
    }  # fmt: skip
    return template(**given_)  # type: ignore[arg-type]


def changed(old: str, new: str) -> Settings:
    """The template with something else in it, read."""
    text = written()
    assert old in text
    return parse(text.replace(old, new), HERE)


def faults(old: str, new: str) -> list[str]:
    """What is wrong with the template with something else in it."""
    with pytest.raises(InputRefused) as refused:
        changed(old, new)
    return [str(fault) for fault in refused.value.faults]


@unhurried
@given(drawer=PLAIN, address=st.lists(PLAIN, max_size=4).map(tuple), bank=PLAIN)
def test_what_setting_up_writes_is_read_back_as_it_was_given(drawer: str, address: tuple[str, ...], bank: str) -> None:
    found = parse(written(drawer=drawer, address=address, bank=bank), HERE)
    account = found.accounts["main"]
    assert (account.drawer, account.address, account.bank) == (drawer, address, bank)
    assert (account.currency, account.locale, account.stale_after_days) == ("USD", "en_US", 180)
    assert found.printers["payroom"].language == "escp9"


def test_what_is_commented_out_may_be_put_in() -> None:
    text = written()
    for line in text.splitlines():
        if line.startswith("# ") and " = " in line.partition("#")[2].partition("#")[0]:
            key = line.removeprefix("# ").partition(" = ")[0]
            found = parse(text.replace(line, line.removeprefix("# ")), HERE)
            assert isinstance(found, Settings), key


def test_paths_are_from_the_folder_of_the_file() -> None:
    found = changed('# forms = "forms"', 'forms = "own/forms"')
    assert found.book == Path("/somewhere/book")
    assert found.forms == Path("/somewhere/own/forms")
    assert found.printers["payroom"].address == "file:/somewhere/payroom.prn"
    assert changed('"book"', '"/srv/book"').book == Path("/srv/book")
    assert changed("file:payroom.prn", "file:/srv/a.prn").printers["payroom"].address == "file:/srv/a.prn"
    assert (
        changed("file:payroom.prn", "socket://192.0.2.1:9100").printers["payroom"].address == "socket://192.0.2.1:9100"
    )


@unhurried
@given(st.text("0123456789", max_size=34))
def test_never_more_than_the_last_four_digits_of_an_account_are_shown(number: str) -> None:
    shown = mask(number)
    assert len(shown) == len(number)
    assert shown.count("*") >= len(number) - 4
    assert shown[-4:] == number[-4:] if len(number) > 6 else set(shown) <= {"*"}


def test_an_account_shows_its_number_masked() -> None:
    assert parse(written(), HERE).accounts["main"].masked == "********3355"


@pytest.mark.parametrize(("speed", "seconds"), [(20, 1639), (100, 328), (200, 164), (500, 66), (1100, 60)])
def test_a_printer_may_be_silent_as_long_as_it_needs_to_strike_a_full_memory(speed: int, seconds: int) -> None:
    printer = changed("speed = 200", f"speed = {speed}").printers["payroom"]
    assert printer.patience == seconds
    assert printer.patience * speed >= settings.MEMORY
    text = written().replace("speed = 200", f"speed = {speed}").replace("# stall_seconds = 164", "stall_seconds = 45")
    assert parse(text, HERE).printers["payroom"].patience == 45


def test_nobody_vouches_for_a_printer_unless_the_settings_say_so() -> None:
    assert parse(written(), HERE).printers["payroom"].vouched == frozenset()
    said = changed('# vouched = ["high-letters"]', 'vouched = ["high-letters"]')
    assert said.printers["payroom"].vouched == {"high-letters"}
    (fault,) = faults('# vouched = ["high-letters"]', 'vouched = ["everything"]')
    assert "printers.payroom.vouched: found 'everything'; wanted a list of high-letters" in fault
    form = library.read("payroll-us")
    assert run.setting(form, said.accounts["main"], said.printers["payroom"]).printer.vouched == {"high-letters"}


def test_lengths_of_a_printer_are_exact() -> None:
    printer = parse(written(), HERE).printers["payroom"]
    assert (printer.step, printer.width) == (INCH // 216, 136 * INCH // 10)
    assert changed('"13.6 in"', '"8 in"').printers["payroom"].width == 8 * INCH
    for language, parts in (("escp24", 180), ("plain", 6), ("ppds", 216)):
        text = written().replace('step = "1/216 in"', "").replace('language = "escp9"', f'language = "{language}"')
        assert parse(text, HERE).printers["payroom"].step == INCH // parts


NINE = st.integers(0, 999_999_999).map(lambda number: f"{number:09d}")
CHECKED = st.integers(0, 99_999_999).map(lambda number: f"{number:08d}").map(lambda t: t + rtn.calc_check_digit(t))


@unhurried
@given(NINE | CHECKED)
def test_routing_numbers_pass_and_fail_as_the_library_and_the_districts_say(text: str) -> None:
    """Nine digits, weights 3 7 1 (the stdnum library); first two digits 00-12, 21-32, 61-72, 80 (from memory)."""
    known = int(text[:2]) in (*range(13), *range(21, 33), *range(61, 73), 80)
    if rtn.is_valid(text) and known and text != "000000000":
        assert parse(written(routing=text), HERE).accounts["main"].routing == text
    else:
        with pytest.raises(InputRefused, match=r"accounts\.main\.routing: found"):
            parse(written(routing=text), HERE)


def test_a_routing_number_of_another_country_is_not_judged_by_the_rule_of_the_united_states() -> None:
    text = written(routing="20-00-00", locale="en_GB", currency="GBP")
    assert parse(text, HERE).accounts["main"].routing == "20-00-00"


@pytest.mark.parametrize("routing", ["1234567", "1234-5678-0", "12345678O", " 123456780"])
def test_what_is_no_routing_number_is_refused(routing: str) -> None:
    (fault,) = faults('"123456780"', f'"{routing}"')
    assert "wanted nine digits with a right check digit; copy it from the magnetic line" in fault


def test_a_limit_for_two_signatures_is_an_exact_amount_of_the_accounts_currency() -> None:
    found = changed('# two_signatures_over = "5000.00"', 'two_signatures_over = "5000.00"')
    assert found.accounts["main"].two_signatures_over == 500_000
    text = written(currency="JPY").replace('# two_signatures_over = "5000.00"', 'two_signatures_over = "5000"')
    assert parse(text, HERE).accounts["main"].two_signatures_over == 5_000
    assert "two_signatures_over" in faults('# two_signatures_over = "5000.00"', 'two_signatures_over = "5,000.00"')[0]


def test_a_substitute_for_letters_is_one_that_the_locale_has() -> None:
    assert "substitute" in faults('# substitute = ""', 'substitute = "capitals"')[0]


def test_faults_of_every_table_are_told_together() -> None:
    text = written(drawer="", currency="QQQ").replace("speed = 200", "sped = 200").replace("[book]", "[book]\nsize = 1")
    with pytest.raises(InputRefused, match="has 4 faults") as refused:
        parse(text, HERE)
    assert [fault.where.rpartition(", ")[2] for fault in refused.value.faults] == [
        "book.size", "accounts.main.drawer", "accounts.main.currency", "printers.payroom.sped",
    ]  # fmt: skip


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "cheque.toml"
    path.write_bytes(b"drawer = \xff")
    with pytest.raises(InputRefused, match="cannot be read"):
        load(path)
    with pytest.raises(InputRefused, match="cannot be read"):
        load(tmp_path)


def test_there_is_no_account_or_printer_but_those_in_the_file() -> None:
    found = parse(written(), HERE)
    with pytest.raises(InputRefused, match=r"there is no account 'yard' in /somewhere/cheque.toml; it has: main\."):
        found.account("yard")
    with pytest.raises(InputRefused, match=r"there is no printer 'attic'.*it has: payroom\. Name one of them, or add"):
        found.printer("attic")
    with pytest.raises(InputRefused, match="it has: none"):
        parse("", HERE).printer("attic")


@pytest.mark.parametrize("stream", ["book/book.sqlite", "book", "book/registers/x.prn", "cheque.toml"])
def test_a_print_stream_is_never_a_file_of_the_book_or_the_settings(tmp_path: Path, stream: str) -> None:
    text = written().replace("file:payroom.prn", f"file:{stream}")
    with pytest.raises(InputRefused) as refused:
        parse(text, tmp_path / "cheque.toml")
    assert "a file of the book's or the settings'" in str(refused.value)


def test_a_limit_for_two_signatures_is_above_nought(tmp_path: Path) -> None:
    text = written().replace('# two_signatures_over = "5000.00"', 'two_signatures_over = "-5.00"')
    with pytest.raises(InputRefused, match="above nought"):
        parse(text, tmp_path / "cheque.toml")


def test_a_user_without_a_home_still_finds_the_settings_that_are_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def homeless() -> Path:
        raise RuntimeError("no home")

    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    with pytest.raises(InputRefused, match="there are no settings"):
        settings.find(None, directory=tmp_path)
    (tmp_path / "cheque.toml").write_text("")
    assert settings.find(None, directory=tmp_path) == tmp_path / "cheque.toml"


@pytest.mark.parametrize(
    ("address", "more", "window"),
    [
        ("socket://192.0.2.17:9100", "", 1),
        ("file:payroom.prn", "", settings.TO_A_FILE),
        ("file:payroom.prn", "window = 1", 1),
        ("socket://192.0.2.17:9100", "window = 4", 4),
    ],
)
def test_forms_go_one_by_one_to_a_printer_and_many_together_to_a_file(address: str, more: str, window: int) -> None:
    text = '[accounts.main]\ndrawer = "Quillmere"\nbank = "Tidewrack"\ncurrency = "USD"\nlocale = "en_US"\n'
    text += f'[printers.payroom]\nlanguage = "escp9"\naddress = "{address}"\n{more}\n'
    assert parse(text, Path("/yard/cheque.toml")).printers["payroom"].window == window


def test_a_book_on_a_server_is_named_by_a_url_and_the_station_keeps_its_own_folder() -> None:
    found = parse(written(book="postgresql:///cheques?host=/run/postgresql"), HERE)
    assert found.server == "postgresql:///cheques?host=/run/postgresql"
    assert found.book == HERE.parent / "station"
    assert parse(written(), HERE).server == ""
    assert changed('place = "book"', 'place = "postgresql://h/d"\nstation = "here"').book == HERE.parent / "here"
    assert "unknown key" in faults('place = "book"', 'place = "book"\nstation = "here"')[0] or faults(
        'place = "book"', 'place = "book"\nstation = "here"'
    )


@pytest.mark.parametrize(
    "place",
    [
        "postgresql://clerk:sesame@h/d",
        "mysql://h/d",
        "postgresql://h/d?schema=No",
        "  ",
        "postgres//h/d",
        "PostgreSQL:h",
    ],
)
def test_a_place_that_is_no_place_is_refused(place: str) -> None:
    (fault,) = faults('place = "book"', f'place = "{place}"')
    assert "book.place" in fault
    assert "sesame" not in fault
