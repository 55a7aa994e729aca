"""The bank is told what was issued and what must not be paid, through the command line."""

import csv
import io
import stat
from calendar import monthrange
from datetime import date, timedelta
from pathlib import Path

import pytest
from bank.test_bank_camt109 import message
from journeys.firm import Firm

LAYOUTS = Path(__file__).resolve().parents[2] / "layouts"


def ago(days: int) -> str:
    """The day so many days ago, ISO 8601: the commands go by this machine's clock."""
    return (date.today() - timedelta(days)).isoformat()


def half_a_year_after(day: str) -> str:
    """Six calendar months on, or the last day of a shorter month."""
    of = date.fromisoformat(day)
    year, month = (of.year, of.month + 6) if of.month < 7 else (of.year + 1, of.month - 6)
    return date(year, month, min(of.day, monthrange(year, month)[1])).isoformat()


#: the last day of a stop that was confirmed 297 days ago
LAPSED = half_a_year_after(ago(297))


@pytest.fixture
def told(paid: Firm) -> Firm:
    """A payday of 24 good cheques, and a layout by the bank's rules that the settings name."""
    (paid.folder / "bank.toml").write_text(paid.run("notice", "example", "delimited").out)
    paid.change('# notice.layout = "bank-notice.toml"', 'notice.layout = "bank.toml"')
    return paid


def rows(firm: Firm, name: str) -> list[list[str]]:
    """A delimited notice, read back."""
    return list(csv.reader(io.StringIO((firm.folder / name).read_bytes().decode("ascii"), newline="")))


def test_a_batch_is_told_once_sent_and_accepted(told: Firm) -> None:
    said = told.run("notice", "issued", "1")
    assert said.out == "1\n"
    assert "Notice 1: 24 cheques, 18214.77 USD, in notice-1-issued.txt." in said.err
    found = rows(told, "notice-1-issued.txt")
    assert len(found) == 24
    assert found[0][:5] == ["000417293355", "I", "100501", "11/27/2026", found[0][4]]
    assert sum(int(row[4].replace(".", "")) for row in found) == 1821477
    assert stat.S_IMODE((told.folder / "notice-1-issued.txt").stat().st_mode) == 0o600
    assert "there is nothing to tell the bank of batch 1" in told.run("notice", "issued", "1", expect=5).err
    assert "was sent on" in told.run("notice", "sent", "1", "--by", "the bank's portal").err
    assert "was accepted on" in told.run("notice", "accepted", "1", "--by", "N. Vault").err
    assert told.run("notice", "list", "--json").json[0]["state"] == "accepted"
    assert "told to the bank in notice 1" in told.run("show", "100501").out
    assert told.run("book", "verify").status == 0


def test_asked_again_with_a_reason_it_goes_out_once_more(told: Firm) -> None:
    told.run("notice", "issued", "1")
    assert "is there already" in told.run(
        "notice", "issued", "1", "--again", "the bank lost it", "-o", "notice-1-issued.txt", expect=3
    ).err  # fmt: skip
    told.run("notice", "issued", "1", "--again", "the bank lost it", "-o", "again.txt")
    assert rows(told, "again.txt") == rows(told, "notice-1-issued.txt")
    assert told.events()[-1][1]["again"] == "the bank lost it"


def test_a_refused_notice_told_nothing(told: Firm) -> None:
    told.run("notice", "issued", "1")
    told.run("notice", "sent", "1", "--by", "the portal")
    said = told.run("notice", "refused", "1", "--reason", "a wrong total", "--by", "N. Vault").err
    assert "None of its cheques counts as told" in said
    told.run("notice", "issued", "1")
    assert len(rows(told, "notice-2-issued.txt")) == 24


def test_a_preview_changes_nothing_and_hides_the_account(told: Firm) -> None:
    before = told.events()
    said = told.run("notice", "issued", "1", "--preview")
    assert len(said.out.splitlines()) == 24
    assert "000417293355" not in said.out + said.err
    assert "3355,I,100501" in said.out
    assert told.events() == before
    assert not list(told.folder.glob("notice-*"))


def test_no_account_number_is_in_any_message_or_in_the_book(told: Firm) -> None:
    said = told.run("notice", "issued", "1")
    said_too = told.run("notice", "stopped", "100507", "--reason", "lost")
    for text in (said.out, said.err, said_too.out, said_too.err, str(told.events())):
        assert "000417293355" not in text


def test_a_void_after_the_notice_is_told_and_asked_for(told: Firm) -> None:
    told.run("notice", "issued", "1")
    said = told.run("void", "100503", "--reason", "wrong hours", "--paper", "in-hand").err
    assert "The bank was told in notice 1 that 100503 is good" in said
    assert "cheque notice issued 1" in said
    told.run("notice", "issued", "1")
    assert [row[1:3] for row in rows(told, "notice-2-issued.txt")] == [["V", "100503"]]


def test_a_stop_is_asked_for_confirmed_lapses_and_is_renewed(told: Firm) -> None:
    told.run("notice", "issued", "1")
    told.run("void", "100507", "--reason", "lost in the post", "--paper", "not-in-hand")
    said = told.run("notice", "stopped", "main:100507", "--reason", "lost").err
    assert "Asking is not stopping: until the bank confirms it, main:100507 can be paid." in said
    (row,) = rows(told, "notice-2-stopped.txt")
    assert (row[1], row[2], row[6]) == ("S", "100507", "01")
    assert "has not answered" in told.run("notice", "stopped", "100507", "--reason", "lost", expect=5).err
    assert "has not confirmed a stop" in told.run("reprint", "100507", expect=5).err
    said = told.run("notice", "stopped", "100507", "--confirmed-by", "N. Vault", "--spoken", "--on", ago(5)).err
    assert f"It holds until {ago(5 - 14)} (14 days, UCC § 4-403(b))" in said
    assert "ask for it in writing" in said
    said = told.run("notice", "stopped", "100507", "--renew", "--confirmed-by", "N. Vault", "--on", ago(1)).err
    assert (
        f"it holds until {half_a_year_after(ago(5))} (6 months, UCC § 4-403(b))" in said
    )  # from the day on which it was spoken
    told.run("reprint", "100507")


def test_a_lapsed_stop_blocks_a_reprint(told: Firm) -> None:
    told.run("void", "100507", "--reason", "lost in the post", "--paper", "not-in-hand")
    told.run("notice", "stopped", "100507", "--confirmed-by", "N. Vault", "--on", ago(297))
    assert "the bank's stop of it has lapsed" in told.run("reprint", "100507", expect=5).err
    said = told.run("notice", "stopped", "100507", "--renew", "--confirmed-by", "N. Vault", expect=5).err
    assert "a lapsed stop is not renewed" in said


def test_every_report_says_that_a_stop_has_lapsed(told: Firm) -> None:
    told.run("void", "100507", "--reason", "lost in the post", "--paper", "not-in-hand")
    said = told.run("notice", "stopped", "100507", "--confirmed-by", "N. Vault", "--on", ago(297)).err
    assert f"IT HAS LAPSED, after {LAPSED}" in said
    told.run("notice", "stopped", "100508", "--confirmed-by", "N. Vault", "--on", ago(297))
    voids = " ".join(told.run("report", "voids").out.split())
    assert f"Stop: LAPSED after {LAPSED}; it was confirmed by N. Vault on {ago(297)}" in voids
    assert "The stop of 100507 HAS LAPSED" in voids
    assert "The bank's stop of 100507 HAS LAPSED" in " ".join(told.run("report", "owed").out.split())
    assert f"LAPSED after {LAPSED}: the bank may pay it" in told.run("report", "outstanding").out
    numbers = " ".join(told.run("reconcile", "numbers", "1").out.split())
    assert f"100507 is voided with payment 7 on it, and the bank's stop lapsed after {LAPSED}" in numbers
    assert "bank's stop  LAPSED" in told.run("show", "100507").out
    told.run("notice", "stopped", "100507", "--confirmed-by", "N. Vault")
    for report in ("voids", "owed"):
        assert "LAPSED" not in told.run("report", report).out
    assert "stop" not in told.run("reconcile", "numbers", "1").out


def test_a_stop_only_asked_for_protects_nothing_in_any_report(told: Firm) -> None:
    told.run("void", "100507", "--reason", "lost in the post", "--paper", "not-in-hand")
    told.run("notice", "stopped", "100507", "--reason", "lost")
    assert "confirmed no stop of 100507" in " ".join(told.run("report", "owed").out.split())
    assert "no stop is confirmed: ask the bank" in " ".join(told.run("reconcile", "numbers", "1").out.split())


def test_why_a_stop_was_refused_is_no_reason_of_the_one_that_is_given_after_all(told: Firm) -> None:
    told.run("notice", "stopped", "100507", "--reason", "lost")
    told.run("notice", "stopped", "100507", "--refused-by", "N. Vault", "--told", "paid this morning")
    assert "paid this morning" in told.run("report", "stops").out
    told.run("notice", "stopped", "100507", "--confirmed-by", "N. Vault")
    said = told.run("report", "stops").out
    assert "Reason: lost" in said
    assert "paid this morning" not in said


def test_the_bank_may_refuse_a_stop(told: Firm) -> None:
    told.run("notice", "stopped", "100507", "--reason", "lost")
    said = told.run("notice", "stopped", "100507", "--refused-by", "N. Vault", "--told", "paid this morning").err
    assert "refused to stop main:100507: it can be paid" in said


def test_in_france_a_stop_is_for_loss_theft_fraud_or_insolvency_only(told: Firm) -> None:
    # Code monétaire et financier L131-35
    told.change('currency = "USD"', 'currency = "EUR"')
    told.change('locale = "en_US"', 'locale = "fr_FR"')
    told.change('routing = "123456780"', 'routing = ""')
    for reason in ("customer", "duplicate"):
        said = told.run("notice", "stopped", "100507", "--reason", reason, expect=2).err
        assert "wanted one of lost, stolen, fraud, insolvency" in said
        assert "L131-35" in said
        said = told.run("notice", "stopped", "100507", "--reason", reason, "--confirmed-by", "N. Coffre", expect=2).err
    assert "L131-35" in told.run("notice", "stopped", "100507", "--confirmed-by", "N. Coffre", expect=2).err
    told.run("notice", "stopped", "100507", "--reason", "lost")
    said = told.run("notice", "stopped", "100507", "--confirmed-by", "N. Coffre").err
    assert "ask your bank when" in said


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "give --reason to ask the bank for a stop, or --confirmed-by"),
        (("--renew",), "who at the bank renewed the stop?"),
        (("--reason", "other"), "--reason other wants words with --told"),
        (("--reason", "lost", "--spoken"), "give --confirmed-by"),
        (("--confirmed-by", "N. Vault", "--refused-by", "N. Vault"), "wanted one of them"),
        (("--confirmed-by", "N. Vault", "--preview"), "found --preview with the bank's answer"),
        (("--confirmed-by", "N. Vault", "--renew", "--spoken"), "renewed in writing"),
        (("--confirmed-by", "N. Vault", "--lapses", "next year"), "wanted a date"),
        (("--confirmed-by", "N. Vault", "--lapses", "2001-01-01"), "the day of the stop"),
    ],
)
def test_options_of_a_stop_that_do_not_go_together(told: Firm, arguments: tuple[str, ...], said: str) -> None:
    assert said in told.run("notice", "stopped", "100507", *arguments, expect=2).err


def test_an_account_that_names_no_layout_says_which_setting_is_missing(paid: Firm) -> None:
    said = paid.run("notice", "issued", "1", expect=3).err
    assert "[accounts.main.notice]" in said
    assert "cheque notice example" in said


def test_a_missing_account_number_is_named_as_a_setting(told: Firm) -> None:
    told.change('account_number = "000417293355"', 'account_number = ""')
    said = told.run("notice", "issued", "1", expect=3).err
    assert "account_number under [accounts.main] in cheque.toml" in said
    assert not list(told.folder.glob("notice-*"))


def test_what_does_not_fit_is_refused_by_number_and_nothing_is_written(told: Firm) -> None:
    text = (told.folder / "bank.toml").read_text()
    (told.folder / "bank.toml").write_text(text.replace("width = 60", "width = 12"))
    said = told.run("notice", "issued", "1", expect=3).err
    assert "nothing is left out or cut in silence" in said
    assert "number main:1005" in said
    assert "characters; wanted at most 12" in said
    assert not list(told.folder.glob("notice-*"))
    (told.folder / "bank.toml").write_text(text.replace("width = 60", 'width = 12, too_long = "cut"'))
    said = told.run("notice", "issued", "1").err
    assert "as the layout says" in said


def test_a_cheque_written_by_hand_and_a_reprint_are_told(told: Firm) -> None:
    told.run("notice", "issued", "1")
    told.run("void", "100503", "--reason", "wrong hours", "--paper", "in-hand")
    batch = told.run("reprint", "100503").out.strip()
    told.run("manual", "100900", "--payment", f"{batch}:1", "--reason", "the printer is away")
    told.run("notice", "issued", batch)
    assert [row[1:3] for row in rows(told, "notice-2-issued.txt")] == [["I", "100900"]]


def test_a_layout_with_faults_tells_all_of_them_with_their_lines(told: Firm) -> None:
    (told.folder / "wrong.toml").write_text('kind = "fixd"\nencoding = "klingon"\n[[record]]\nwhat = "check"\n')
    said = told.run("notice", "check", "wrong.toml", expect=3).err
    for part in ("line 1, kind", "did you mean 'fixed'", "line 2, encoding", "line 4, record.0.what", "record.0.field"):
        assert part in said


@pytest.mark.parametrize("name", sorted(path.stem for path in LAYOUTS.glob("*.toml")))
def test_every_example_is_sound_and_takes_the_demos_payday(told: Firm, name: str) -> None:
    (told.folder / "bank.toml").write_text(told.run("notice", "example", name).out)
    said = told.run("notice", "check", "bank.toml")
    assert "no fault found" in said.err
    assert "18214.77 USD" in told.run("notice", "issued", "1").err
    data = (told.folder / "notice-1-issued.txt").read_bytes()
    assert b"100524" in data


def test_several_batches_go_in_one_notice(told: Firm) -> None:
    told.write("more.csv", "Cora Selwick,100.00,2026-11-28,X-1,9")
    told.run("batch", "accept", "more.csv", "--form", "payroll-us", "--control-total", "100.00", "--item-count", "1")
    told.print(2, 100525)
    told.run("confirm", "2", "--good-count", "1")
    told.run("notice", "issued", "1", "2")
    assert len(rows(told, "notice-1-issued.txt")) == 25


def test_a_form_in_doubt_is_left_out_and_said(told: Firm) -> None:
    told.write("more.csv", "Cora Selwick,100.00,2026-11-28,X-1,9")
    told.run("batch", "accept", "more.csv", "--form", "payroll-us", "--control-total", "100.00", "--item-count", "1")
    told.print(2, 100525)
    said = told.run("notice", "issued", "1", "2").err
    assert "Left out, because nobody has said what became of them: 1 form." in said


def answer(told: Firm, *cheques: tuple[str, str, str]) -> str:
    """The bank's camt.109, by the standard's classes, in the firm's folder."""
    (told.folder / "answer.xml").write_bytes(message(*cheques).replace(b"2026-11-24", ago(1).encode()))
    return "answer.xml"


def amount_of(told: Firm, number: str) -> str:
    return str(told.run("show", number, "--json").json["amount"]).split()[0]


def test_the_banks_answer_to_a_camt_108_is_entered_where_it_agrees(told: Firm) -> None:
    told.run("notice", "issued", "1", "--as", "camt107")
    for number in ("100503", "100507", "100508"):
        told.run("notice", "stopped", number, "--reason", "lost", "--as", "camt108")
    assert "OrgnlInstrId" in (told.folder / "notice-2-stopped.xml").read_text()
    file = answer(
        told,
        ("100503", amount_of(told, "100503"), "ACCR"),
        ("100507", amount_of(told, "100507"), "RJCR"),
        ("100508", "1.00", "ACCR"),
        ("100509", amount_of(told, "100509"), "ACCR"),
    )
    said = told.run("notice", "answer", file, expect=1)
    assert said.out.splitlines()[0] == f"main:100503: stopped, until {half_a_year_after(ago(1))}"
    assert "main:100507: NOT STOPPED, it can be paid: as asked" in said.out
    assert "main:100508: the bank answers of 1.00 USD" in said.out
    assert "100509: the bank was not asked to stop it" in said.out
    assert "2 answers entered, of 4." in said.err
    story = f"stop confirmed by the bank, TSB-77 on {ago(1)}, until {half_a_year_after(ago(1))}"
    assert story in told.run("show", "100503").out
    assert "main:100503: in the book already" in told.run("notice", "answer", file, expect=1).out


def test_an_answer_that_is_no_answer_changes_nothing(told: Firm) -> None:
    before = told.events()
    (told.folder / "answer.xml").write_bytes(b'<!DOCTYPE x [<!ENTITY a "b">]><Document>&a;</Document>')
    assert "a document type" in told.run("notice", "answer", "answer.xml", expect=3).err
    assert "cannot be read" in told.run("notice", "answer", "nothing.xml", expect=3).err
    assert told.events() == before


def test_the_handover_sheet_warns_until_the_notice_is_sent(told: Firm) -> None:
    def sheet() -> str:
        return " ".join(told.run("report", "handover").out.split())

    assert "THE BANK HAS NOT BEEN TOLD of 100501-100524 of main" in sheet()
    told.run("notice", "issued", "1")
    assert "NOTICE 1 WAS MADE AND NOT SENT: 100501-100524 of main." in sheet()
    told.run("notice", "sent", "1", "--by", "the portal")
    assert "THE BANK" not in sheet()
    assert "NOTICE" not in sheet()
    told.run("void", "100503", "--reason", "wrong hours", "--paper", "in-hand")
    told.run("void", "100507", "--reason", "lost in the post", "--paper", "not-in-hand")
    assert "The bank thinks 100507 of main good, void and not in hand: ask it for a stop now." in sheet()
    assert "The bank thinks 100503 of main good, and it is void: tell it, or ask for a stop." in sheet()
    told.run("notice", "issued", "1")
    told.run("notice", "stopped", "100507", "--reason", "lost")
    assert "The bank thinks" not in sheet()


def test_a_firm_whose_bank_wants_no_notice_is_not_warned(paid: Firm) -> None:
    assert "THE BANK" not in paid.run("report", "handover").out


def test_the_report_of_stops_lists_what_to_renew(told: Firm) -> None:
    assert "No cheque is stopped" in told.run("report", "stops").out
    for number in ("100503", "100507", "100508", "100509"):
        told.run("void", number, "--reason", "lost in the post", "--paper", "not-in-hand")
    told.run("notice", "stopped", "100503", "--confirmed-by", "N. Vault", "--on", ago(297))
    told.run("notice", "stopped", "100507", "--confirmed-by", "N. Vault", "--spoken")
    told.run("notice", "stopped", "100508", "--reason", "lost")
    said = told.run("report", "stops").out
    order = [said.index(part) for part in ("LAPSED", "Lapse soon", "Asked for", "Void and out of hand")]
    assert order == sorted(order)
    places = [said.index(number) for number in ("100503", "100507", "100508", "100509")]
    assert places == sorted(places)
    assert "In force" in told.run("report", "stops", "--within", "3").out
    rows = told.run("report", "stops", "--json").json["tables"][0]["rows"]
    assert {row["number"]: row["spoken"] for row in rows}["100507"] == "yes"
    voids = " ".join(told.run("report", "voids").out.split())
    assert f"LAPSED after {LAPSED}" in voids
    assert "asked for, NOT CONFIRMED" in voids
