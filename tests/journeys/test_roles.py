"""A payday on a server under roles, each person at a station of their own: accepted, approved, printed, voided by two,
reconciled; and what each is told who tries what is another's."""

from pathlib import Path

import pytest
from book.roles import Harbour
from journeys.attending import Attend
from journeys.firm import Firm

PEOPLE = {"pru": "preparer", "ada": "approver", "abe": "approver", "pip": "printer", "rex": "reconciler",
          "aud": "auditor", "rea": "reader"}  # fmt: skip


class Yard:
    """A firm whose people have stations of their own, all with one book."""

    def __init__(self, folder: Path) -> None:
        self.harbour = Harbour.bare(folder, *PEOPLE)
        (folder / "owner").mkdir()
        self.owner = Firm(folder / "owner").set_up(book=self.harbour.url(self.harbour.owner))
        self.owner.change("[duties]\n", "[duties]\napprove = true\nreconcile = true\nsecond_person = true\n")
        self.owner.run("book", "roles", "make")
        for person, role in PEOPLE.items():
            self.owner.run("book", "roles", "grant", role, self.harbour.login(person))
        self.stations = {person: self._station(folder, person) for person in PEOPLE}

    def _station(self, folder: Path, person: str) -> Firm:
        place = folder / person
        place.mkdir()
        text = (self.owner.folder / "cheque.toml").read_text("utf-8").replace("approve = true", "approve = false")
        login = self.harbour.login(person)
        (place / "cheque.toml").write_text(text.replace(f"user={self.harbour.owner}", f"user={login}"), "utf-8")
        return Firm(place)

    def __getattr__(self, person: str) -> Firm:
        return self.stations[person]


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


def test_a_payday_by_five_people(yard: Yard) -> None:
    yard.pru.accept()
    code = yard.pru.proof(1)
    login = yard.harbour.login
    said = yard.pip.print(1, 100501, expect=5)  # this station's own settings ask for no approval
    assert f"other than {login('pru')}, who accepted it" in said.err
    assert (
        "somebody else has to approve it" in yard.pru.run("batch", "approve", "1", "--proof-code", code, expect=5).err
    )
    assert "is approved by " + login("ada") in yard.ada.run("batch", "approve", "1", "--proof-code", code).err
    yard.pip.print(1, 100501, "--count", "20")
    yard.pip.run("confirm", "1", "--good-count", "20")
    yard.pip.print(1, 100521)
    yard.pip.run("confirm", "1", "--good-count", "4")
    said = yard.ada.run("void", "100503", "--reason", "wrong hours", "--paper", "in-hand")
    assert "Asked for" in said.err
    assert "somebody else" in yard.ada.run("void", "100503", "--second", expect=5).err
    yard.abe.run("void", "100503", "--second")
    assert yard.pru.run("reprint", "100503").out.strip() == "2"
    code = yard.pru.proof(2)
    yard.ada.run("batch", "approve", "2", "--proof-code", code)
    yard.pip.print(2, 100525)
    yard.pip.run("confirm", "2", "--good-count", "1")
    assert "somebody else has to reconcile" in yard.pip.run("reconcile", "numbers", "1", expect=5).err
    yard.rex.run("reconcile", "numbers", "1")
    for person in (yard.aud, yard.rea, yard.owner):
        found = person.run("book", "verify", "--json").json
        assert found["whole"], found["faults"]
    told = yard.aud.run("report", "control", "--batch", "1").out
    assert login("pru") in told
    assert f"by {login('ada')}" in told
    assert yard.rea.run("show", "100503", "--json").json["is"] == "voided"


def test_what_is_anothers_is_refused_by_name(yard: Yard) -> None:
    login = yard.harbour.login
    said = yard.pip.run(
        "batch", "accept", yard.pip.register(), "--form", "payroll-us", "--control-total", "18214.77", "--item-count",
        "24", "--hash-total", "51877", expect=5,
    )  # fmt: skip
    assert f"{login('pip')} may not do this (batch.accepted)" in said.err
    assert "owner or preparer" in said.err
    said = yard.rea.run("stock", "receive", "payroll-us", "--account", "main", "--first", "1", "--last", "9", expect=5)
    assert "a reader only looks" in said.err
    said = yard.pru.run("--as", "ada", "stock", "list", expect=2)
    assert f"you are {login('pru')} there: leave --as out" in said.err
    for command in (
        ["make"],
        ["ask"],
        ["grant", "approver", login("pru")],
        ["take", "reader", login("rea")],
        ["allow", "preparer", "run.begun"],
        ["deny", "printer", "run.begun"],
        ["drop", "--yes"],
    ):
        said = yard.pru.run("book", "roles", *command, expect=5)
        assert f"only {yard.harbour.owner} does this" in said.err


def test_who_may_not_print_is_told_before_paper_is_loaded(yard: Yard) -> None:
    yard.pru.accept()
    yard.pru.proof(1)
    login = yard.harbour.login("pru")
    said = yard.pru.print(1, 100501, expect=5)
    assert f"{login} may not print here: that wants the role printer. Nothing was done." in said.err
    assert "Load paper" not in said.err
    said = yard.pru.run("align", "payroll-us", "--printer", "payroom", "--on", "plain", "--paper-loaded", expect=5)
    assert "may not line up a form here" in said.err
    assert not (yard.pru.folder / "payroom.prn").exists()


def test_a_guided_payday_stops_at_the_step_that_is_anothers(yard: Yard, attend: Attend) -> None:
    yard.pru.accept()
    yard.ada.run("batch", "approve", "1", "--proof-code", yard.pru.proof(1))
    operator = attend(yard.pru)
    assert operator.to_the_end() == 0
    assert "may not print here: that wants the role printer." in " ".join(operator.shown.split())
    assert "Whoever has it goes on here with cheque payday." in " ".join(operator.shown.split())
    assert "Load paper" not in operator.shown
    reader = attend(yard.rea)
    assert reader.to_the_end() == 0
    assert "may not make a proof here: that wants the role" in " ".join(reader.shown.split())


def test_the_roles_are_shown_and_changed(yard: Yard) -> None:
    login = yard.harbour.login
    shown = yard.aud.run("book", "roles", "show").out
    assert f"approver    {login('abe')}, {login('ada')}" in shown
    assert "Duties asked: approve, reconcile, second_person." in shown
    assert "superuser of the server can do everything: keeper" in shown
    yard.owner.run("book", "roles", "allow", "printer", "stock.received")
    yard.owner.run("book", "roles", "take", "approver", login("abe"))
    found = yard.owner.run("book", "roles", "show", "--json").json["roles"]
    assert "stock.received" in found["printer"]["may"]
    assert found["approver"]["people"] == [login("ada")]
    yard.owner.change("approve = true", "approve = false")
    assert "asked: reconcile, second_person." in yard.owner.run("book", "roles", "ask").err
    yard.pru.accept()
    yard.pip.print(1, 100501)  # nobody approved it, and nobody has to
    assert "as they were" in yard.owner.run("book", "roles", "make").err
    assert "keeps no hands apart then" in yard.owner.run("book", "roles", "drop", expect=2).err
    yard.owner.run("book", "roles", "drop", "--yes")
    assert "is not open to" in yard.pru.run("stock", "list", expect=5).err
    yard.owner.run("book", "verify")


def test_a_book_in_a_folder_has_no_roles(tmp_path: Path) -> None:
    firm = Firm(tmp_path).set_up()
    assert "whoever can write the file" in firm.run("book", "roles", "make", expect=2).err
