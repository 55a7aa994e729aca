"""The same payday from every kind of file, through the command line: the same batch, the same proof code."""

import hashlib
from pathlib import Path

import pytest
from journeys.firm import DEMO, REGISTER, TOTALS, Firm
from register.november import KINDS, NOVEMBER, Kind

PAYDAY = "payday-2026-11-27"
ACCEPT = ("--form", "payroll-us", *TOTALS)
IDS = [kind.suffix for kind in KINDS]


def options(kind: Kind) -> tuple[str, ...]:
    return ("--map", str(NOVEMBER / kind.payroll)) if kind.payroll else ()


@pytest.fixture(scope="session")
def code(stages: dict[str, Firm]) -> str:
    """The proof code of the payday accepted from the CSV register."""
    return stages["accepted"].proof()


@pytest.mark.parametrize("kind", KINDS, ids=IDS)
def test_a_payday_from_another_kind_of_file_has_the_same_proof_code(firm: Firm, code: str, kind: Kind) -> None:
    said = firm.run("batch", "accept", str(NOVEMBER / f"{PAYDAY}{kind.suffix}"), *ACCEPT, *options(kind))
    assert said.out.strip() == "1"
    assert firm.proof() == code


@pytest.mark.parametrize("kind", KINDS, ids=IDS)
def test_a_payday_from_standard_input_has_the_same_proof_code(firm: Firm, code: str, kind: Kind) -> None:
    data = (NOVEMBER / f"{PAYDAY}{kind.suffix}").read_bytes()
    firm.run("batch", "accept", "-", *ACCEPT, *options(kind), "--kind", kind.kind, stdin=data)
    assert firm.proof() == code


@pytest.mark.parametrize("kind", KINDS, ids=IDS)
def test_checking_a_register_gives_the_same_digest_and_says_how_it_was_read(firm: Firm, kind: Kind) -> None:
    path = str(NOVEMBER / f"{PAYDAY}{kind.suffix}")
    said = firm.run("register", "check", path, *options(kind), "--json")
    plain = firm.run("register", "check", str(DEMO / REGISTER), "--json").json
    for total in ("item_count", "control_total", "hash_total", "pairs_digest"):
        assert said.json[total] == plain[total]
    (how, *_) = said.json["notes"]
    assert how.startswith(f"{PAYDAY}{kind.suffix}: ")
    assert f"note: {how}" in said.err


def test_a_payday_accepted_from_one_file_is_not_accepted_from_another(accepted: Firm) -> None:
    said = accepted.run("batch", "accept", str(NOVEMBER / f"{PAYDAY}.xlsx"), *ACCEPT, expect=3)
    assert "the same payee, amount, date and reference as payment 24 of batch 1" in said.err


def test_a_message_that_asks_a_bank_to_pay_is_accepted_with_a_warning(firm: Firm) -> None:
    path = str(NOVEMBER / f"{PAYDAY}.xml")
    said = firm.run("batch", "accept", path, *ACCEPT, "--map", str(NOVEMBER / "payroll-remittance.toml"))
    assert "if it is also sent to the bank, every payment in it is made twice" in said.err


def test_the_map_by_which_a_register_was_read_is_kept_with_it(firm: Firm) -> None:
    text = (NOVEMBER / "payroll-report.toml").read_bytes()
    firm.run(
        "batch", "accept", str(NOVEMBER / f"{PAYDAY}.prn"), *ACCEPT, "--map", str(NOVEMBER / "payroll-report.toml")
    )
    digest = hashlib.sha256(text).hexdigest()
    assert [path.read_bytes() for path in firm.folder.rglob(digest)] == [text]
    (accepted,) = [body for kind, body in firm.events() if kind == "batch.accepted"]
    assert (accepted["kind"], accepted["map"]) == ("fixed-width", digest)
    firm.run("book", "verify")


def test_a_totals_difference_is_explained_for_every_kind_and_what_was_read_is_said_once(firm: Firm) -> None:
    path = str(NOVEMBER / f"{PAYDAY}.prn")
    wrong = ("--form", "payroll-us", "--control-total", "18214.14", "--item-count", "24")
    said = firm.run("batch", "accept", path, *wrong, "--map", str(NOVEMBER / "payroll-report.toml"), expect=3)
    assert "The control total is 18214.14 on the slip and 18214.77 in the register" in said.err
    assert said.err.count("laid out by payroll-report.toml") == 1


def test_one_date_can_be_given_for_all(firm: Firm) -> None:
    name = firm.write("undated.csv", "Ay Li,1.00,U-1,2112", head="payee,amount,reference,employee")
    totals = ("--form", "payroll-us", "--control-total", "1.00", "--item-count", "1")
    assert "no column 'date'" in firm.run("batch", "accept", name, *totals, expect=3).err
    firm.run("batch", "accept", name, *totals, "--date", "2026-12-04")
    assert firm.run("batch", "show", "1", "--json").json["payments"][0]["date"] == "2026-12-04"


@pytest.mark.parametrize(
    ("arguments", "said", "status"),
    [
        (("--kind", "pdf"), "pdf", 2),
        (("--map", "nowhere.toml"), "the map nowhere.toml cannot be read: No such file or directory.", 2),
        (("--map", REGISTER), "payday-2026-11-27.csv is not TOML.", 3),
        (("--map", str(NOVEMBER / f"{PAYDAY}.xlsx")), "is no map that can be used: it is not UTF-8.", 3),
        (("--encoding", "rot13"), "found --encoding 'rot13', no encoding of text files", 2),
        (("--date", "27/11/2026"), "found --date 27/11/2026; wanted a real date as YYYY-MM-DD.", 2),
        (
            ("--kind", "xlsx", "--map", str(NOVEMBER / "payroll-report.toml")),
            "cannot be xlsx: its map is for fixed-width.",
            2,
        ),
        (("--kind", "fixed-width"), "a map that lays out its records", 3),
        (("--kind", "xlsx"), "found no zip file, or a damaged one", 3),
        (("--kind", "pain.001"), "wanted well-formed XML", 3),
    ],
)
def test_options_that_do_not_fit_are_refused(firm: Firm, arguments: tuple[str, ...], said: str, status: int) -> None:
    firm.register()
    assert said in firm.run("register", "check", REGISTER, *arguments, expect=status).err
    assert said in firm.run("batch", "accept", REGISTER, *ACCEPT, *arguments, expect=status).err


def test_a_map_with_faults_is_refused_with_all_of_them_and_their_lines(firm: Firm, tmp_path: Path) -> None:
    (tmp_path / "map.toml").write_text('kind = "csv"\nseperator = ";"\n[columns]\nnetpay = "NETPAY"\namount = ""\n')
    firm.register()
    said = firm.run("register", "check", REGISTER, "--map", "map.toml", expect=3).err
    assert "map.toml line 2, seperator: found an unknown key" in said
    assert "map.toml line 4, columns.netpay: found 'netpay'; wanted a column of a register" in said
    assert "map.toml line 5, columns.amount: found ''" in said
