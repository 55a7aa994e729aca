"""The forms at hand: shipped, and the firm's own."""

from pathlib import Path

import pytest
from form.small_form import SMALL, changed

from cheque import library
from cheque.errors import InputRefused


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A folder with one form of the firm's own."""
    folder = tmp_path / "forms"
    folder.mkdir()
    (folder / "small.toml").write_text(SMALL, encoding="utf-8")
    return folder


def refusal(name: str, own: Path | None = None) -> str:
    with pytest.raises(InputRefused) as caught:
        library.load(name, own)
    assert caught.value.status == 3
    return str(caught.value)


def test_a_shipped_form_is_found_by_its_name() -> None:
    assert library.load("payroll-us").name == "payroll-us"
    assert "payroll-us" in [entry.name for entry in library.entries()]
    assert not any(entry.own for entry in library.entries())


def test_every_shipped_form_loads() -> None:
    for entry in library.entries():
        assert library.load(entry.name).name == entry.path.stem


def test_a_form_of_ones_own_is_found_by_name_and_by_path(own: Path) -> None:
    assert library.load("small", own) == library.load(str(own / "small.toml"))
    assert [(entry.name, entry.own) for entry in library.entries(own) if entry.own] == [("small", True)]


def test_a_form_of_ones_own_goes_before_a_shipped_one_of_the_same_name(own: Path) -> None:
    mine = changed(('name = "small"', 'name = "payroll-us"'))
    (own / "payroll-us.toml").write_text(mine, encoding="utf-8")
    assert library.load("payroll-us", own).title == "A small cheque with a stub of four lines"
    assert library.load("payroll-us").title != library.load("payroll-us", own).title
    assert [entry.own for entry in library.entries(own) if entry.name == "payroll-us"] == [True]


def test_a_byte_order_mark_is_no_fault(own: Path) -> None:
    (own / "small.toml").write_text(SMALL, encoding="utf-8-sig")
    assert library.load("small", own).name == "small"


def test_a_form_that_is_not_there_is_refused_with_what_is_near(own: Path, tmp_path: Path) -> None:
    assert "there is no form 'payrol-us'; did you mean payroll-us?" in refusal("payrol-us", own)
    assert "there is no form 'xyzzy'; there are " in refusal("xyzzy")
    assert "payroll-us" in refusal("xyzzy")
    assert "no form definition at ./nowhere.toml" in refusal("./nowhere.toml")
    assert "there is no form 'xyzzy'" in refusal("xyzzy", tmp_path / "no such folder")


def test_a_form_whose_file_has_another_name_is_refused(own: Path) -> None:
    (own / "other.toml").write_text(SMALL, encoding="utf-8")
    told = refusal("other", own)
    assert "other.toml, name: found 'small'; wanted 'other', as the file is called" in told


def test_a_form_with_faults_can_be_read_but_not_put_to_use(own: Path) -> None:
    (own / "small.toml").write_text(changed(("line = 22", "line = 24")), encoding="utf-8")
    assert library.read("small", own).name == "small"
    assert "signature (line 24, column 50): found print down to 4 in" in refusal("small", own)


def test_a_file_that_is_no_text_or_cannot_be_read_is_refused(own: Path) -> None:
    (own / "bytes.toml").write_bytes(b'name = "\xff"')
    assert "is not UTF-8 text: byte 8 is FF" in refusal("bytes", own)
    (own / "long.toml").write_bytes(b"#" * 1_000_001)
    assert "longer than any form definition" in refusal("long", own)
    (own / "folder.toml").mkdir()
    assert "there is no form 'folder'" in refusal("folder", own)


def test_a_file_that_cannot_be_opened_is_refused(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(self: Path, mode: str) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", denied)
    assert "cannot be read: Permission denied" in refusal("small", own)


def test_an_installed_copy_has_its_forms_inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "cheque"
    (package / "shipped_forms").mkdir(parents=True)
    monkeypatch.setattr(library, "__file__", str(package / "library.py"))
    assert library.shipped() == package / "shipped_forms"
    (package / "shipped_forms").rmdir()
    assert library.shipped() == tmp_path / "forms"
    assert library.entries() == []
