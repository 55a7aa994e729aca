"""TOML held to a shape: every fault with its key, its line and what is near, all of them together."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.errors import Fault, InputRefused
from cheque.tomlfile import Checker, Document

TEXT = """\
# printers
title = "yard"

[printers.payroom]
step = "1/216 in"   # true
parts = 4

[[field]]
line = 1
[[field]]
line = 2
  column = 7
[[field.part]]
name = "a"
[[field.part]]
name = "b"
long = \"\"\"
step = not a key
\"\"\"
after = true
"""


def checked(text: str) -> tuple[Checker, list[Fault]]:
    """A checker for the root of a text, and where its faults gather."""
    document, faults = Document(text, "some.toml"), []  # type: tuple[Document, list[Fault]]
    return Checker(document, document.data, "", faults), faults


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("title", 2),
        ("printers.payroom", 4),
        ("printers.payroom.step", 5),
        ("printers.payroom.parts", 6),
        ("field.0.line", 9),
        ("field.1.line", 11),
        ("field.1.column", 12),
        ("field.1.part.0.name", 14),
        ("field.1.part.1.name", 16),
        ("field.1.part.1.after", 20),
    ],
)
def test_every_key_is_found_on_its_line(path: str, line: int) -> None:
    assert Document(TEXT, "some.toml").where(path) == f"some.toml line {line}, {path}"


def test_a_key_that_is_missing_is_placed_at_what_encloses_it() -> None:
    document = Document(TEXT, "some.toml")
    assert document.where("printers.payroom.address") == "some.toml line 4, printers.payroom.address"
    assert document.where("accounts") == "some.toml, accounts"


@pytest.mark.parametrize(
    "text", ["[book", "a = ", "a = 1\na = 2", "a = 1.2.3", "[" * 5000, "a = " + "[" * 5000, "a = " + "1" * 5000]
)
def test_what_is_not_toml_is_one_fault_and_no_traceback(text: str) -> None:
    with pytest.raises(InputRefused, match=r"some\.toml is not TOML") as refused:
        Document(text, "some.toml")
    assert len(refused.value.faults) == 1
    assert "well-formed TOML" in str(refused.value)


@given(st.text(max_size=60) | st.text("ab.=[]{}\"'#,1\n \\-:T", max_size=60))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_as_the_standard_library_reads_it_or_refused(text: str) -> None:
    try:
        wanted = tomllib.loads(text)
    except ValueError:
        with pytest.raises(InputRefused, match="is not TOML"):
            Document(text, "some.toml")
    else:
        document = Document(text, "some.toml")
        assert document.data == wanted
        assert document.where("ab").startswith("some.toml")


def test_a_value_of_the_wrong_kind_gives_the_default_and_a_fault() -> None:
    root, faults = checked('speed = "fast"\nflag = 1\ncount = true\nname = 7')
    assert root.take("speed", int, 200, wanted="characters a second") == 200
    assert root.take("flag", bool, False) is False
    assert root.take("count", int, 3) == 3  # true is no number here
    assert root.take("name", str, "") == ""
    assert [str(fault) for fault in faults] == [
        "some.toml line 1, speed: found 'fast'; wanted characters a second.",
        "some.toml line 2, flag: found 1; wanted true or false.",
        "some.toml line 3, count: found True; wanted a whole number.",
        "some.toml line 4, name: found 7; wanted text in quotes.",
    ]


def test_choices_suggest_what_is_near_and_conversions_say_what_they_found() -> None:
    root, faults = checked('language = "escp99"\nstep = "1 line"')
    assert root.take("language", str, "escp9", choices=("escp9", "plain")) == "escp9"

    def refuse(value: str) -> int:
        raise ValueError(f"{value!r}, which is no length")

    assert root.take("step", str, 5, convert=refuse, wanted="a length") == 5
    assert "wanted one of escp9, plain; did you mean 'escp9'?" in str(faults[0])
    assert "found '1 line', which is no length; wanted a length." in str(faults[1])


def test_what_is_required_and_missing_says_what_to_add() -> None:
    root, faults = checked("")
    root.take("drawer", str, "", required=True, wanted="the drawer's legal name")
    assert str(faults[0]) == "some.toml, drawer: found nothing; wanted the drawer's legal name; add drawer = …."


def test_keys_nobody_asked_for_are_faults_with_what_is_near() -> None:
    root, faults = checked("sped = 1\ncolour = 2")
    root.take("speed", int)
    root.finish()
    assert "some.toml line 1, sped: found an unknown key" in str(faults[0])
    assert "did you mean 'speed'?" in str(faults[0])
    assert str(faults[1]).endswith("take it out.")


def test_tables_and_arrays_of_tables_are_walked_with_their_paths() -> None:
    root, faults = checked(TEXT + "\n[accounts]\nmain = 7\n")
    names = [name for name, _ in root.table_at("printers").named_tables()]
    assert names == ["payroom"]
    fields = root.tables_at("field")
    assert [field.take("line", int) for field in fields] == [1, 2]
    assert fields[1].at("column") == "field.1.column"
    assert root.table_at("accounts").named_tables() == []
    assert "accounts.main: found a whole number; wanted a table; write [accounts.main]" in str(faults[0])
    other, more = checked("field = [1]\nbook = 2")
    assert other.tables_at("field") == []
    other.table_at("book").finish()
    assert [fault.found for fault in more] == ["a whole number", "a whole number"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("account_number = 417293355", "a whole number"),
        ("account_number = 417293355.0", "neither text nor a whole number"),
        ("account_number = [417293355]", "a list of 1"),
        ('account_number = { number = "417293355" }', "a table"),
        ("routing = 417293355", "a whole number"),
        ("drawer = [417293355, 417293355]", "a list of 2"),
        (f"drawer = 0x{'f' * 20_000}", "a whole number"),
    ],
)
def test_no_message_shows_an_account_number_or_a_whole_list_or_table(text: str, found: str) -> None:
    root, faults = checked(text)
    root.take(text.partition(" ")[0], str)
    assert [fault.found for fault in faults] == [found]
    assert "417293355" not in str(faults[0])


def test_tables_in_the_wrong_brackets_are_told_by_their_kind() -> None:
    root, faults = checked('[[accounts]]\naccount_number = "417293355"')
    root.table_at("accounts")
    other, more = checked('accounts = { main = "417293355" }\nprinters = "417293355"')
    other.table_at("accounts").named_tables()
    other.table_at("printers")
    assert [fault.found for fault in faults + more] == ["a list of 1", "text", "text"]


@given(st.text(st.characters(categories=("Cc", "Cf", "Cs", "Zl", "Zp")), min_size=1))
def test_nothing_of_a_file_steers_the_screen_that_shows_a_message(text: str) -> None:
    document, faults = Document("", "some.toml"), []  # type: tuple[Document, list[Fault]]
    root = Checker(document, {text: text, "kind": text}, text, faults)
    root.take(text, int, convert=None)
    root.take("kind", str, choices=("escp9",))
    root.take("kind", str, convert=lambda value: int(f"x{value}") or value)
    root.fault("kind", text, text, text)
    root.finish()
    assert len(faults) == 4
    assert all(str(fault).isprintable() for fault in faults)


def test_a_key_with_a_terminals_command_in_it_is_shown_with_escapes() -> None:
    root, faults = checked('"\\u001b]0;x\\u0007" = 1')
    root.finish()
    assert "some.toml, \\x1b]0;x\\x07: found an unknown key" in str(faults[0])
