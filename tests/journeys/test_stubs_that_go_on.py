"""More invoices than the stub holds: the stub goes on on the next forms, and nobody is paid by those."""

from fractions import Fraction
from pathlib import Path

import pytest
from journeys.attending import Attend
from journeys.firm import DEMO, Firm, Said
from outside.paper import read

from cheque import library

#: invoices of each supplier; a form of remittance-us holds 31
INVOICES = {"Tarry Rope Walk": 3, "Saltmarsh Timber Yard": 70, "Copperhythe Fastenings": 1, "Lee Shore Sailcloth": 40}
#: which numbers each payment takes, from the first of the box on
FORMS = {1: [200501], 2: [200502, 200503, 200504], 3: [200505], 4: [200506, 200507]}
LENGTH = Fraction(11)


def supplier_register(invoices: dict[str, int] = INVOICES) -> list[str]:
    """A register of suppliers, each with so many invoices of 10.00: head and rows."""
    most = max(invoices.values())
    head = ["payee", "amount", "date", "reference"]
    head += [name for n in range(1, most + 1) for name in (f"invoice{n}", f"invoice{n}_date", f"invoice{n}_net")]
    rows = [",".join(head)]
    for place, (payee, count) in enumerate(invoices.items(), 1):
        cells = [payee, f"{count * 10}.00", "2026-11-30", f"R-{place}"]
        for n in range(1, most + 1):
            cells += [f"{payee[0]}{n:04}", "2026-11-02", "10.00"] if n <= count else ["", "", ""]
        rows.append(",".join(cells))
    return rows


def accept(firm: Firm, form: str = "remittance-us") -> Said:
    """The suppliers' batch accepted, with a box of the form from 200501 on."""
    firm.run("stock", "receive", form, "--account", "main", "--first", "200501", "--last", "200600")
    head, *rows = supplier_register()
    name = firm.write("suppliers.csv", *rows, head=head)
    return firm.run("batch", "accept", name, "--form", form, "--control-total", "1140.00", "--item-count", "4")


@pytest.fixture
def suppliers(firm: Firm) -> Firm:
    """The suppliers' batch accepted."""
    accept(firm)
    return firm


def lines_of(firm: Firm) -> list[str]:
    """Every form on the paper, as one text, read by a decoder that is not the package's."""
    paper = read(firm.stream, "escp9")
    forms = int(paper.fed / LENGTH)
    assert paper.fed == forms * LENGTH
    found = []
    for form in range(forms):
        lines: dict[Fraction, dict[Fraction, str]] = {}
        for strike in paper.form(form, LENGTH):
            lines.setdefault(strike.y, {})[strike.x] = strike.character
        text = []
        for y in sorted(lines):
            at = {int(x * 10): letter for x, letter in lines[y].items()}
            text.append("".join(at.get(column, " ") for column in range(max(at) + 1)))
        found.append("\n".join(text))
    return found


def test_no_line_is_lost_and_every_form_names_the_others(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    paper = lines_of(suppliers)
    assert len(paper) == 7
    for payee, item in zip(INVOICES, FORMS, strict=True):
        forms = [paper[number - 200501] for number in FORMS[item]]
        struck = "\n".join(forms)
        for n in range(1, INVOICES[payee] + 1):
            assert struck.count(f"{payee[0]}{n:04}") == 1
    first, second, third = (paper[number - 200501] for number in FORMS[2])
    assert "SHEET 1/3" in first
    assert "CONTINUED ON 200503" in first
    assert "CONTINUES" not in first
    assert "SHEET 2/3" in second
    assert "CONTINUED ON 200504" in second
    assert "CONTINUES 200502" in second
    assert "SHEET 3/3" in third
    assert "CONTINUED ON" not in third
    assert "CONTINUES 200502" in third
    assert "SHEET" not in paper[0]


def test_the_forms_after_the_first_can_be_paid_by_nobody_and_say_no_total(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    first, *further = (lines_of(suppliers)[number - 200501] for number in FORMS[2])
    assert "Seven hundred and 00/100" in first
    assert "700.00" in first
    assert "VOID" not in first
    for text in further:
        assert text.count("VOID*VOID") >= 4
        assert "700.00" not in text
        assert "hundred" not in text
        assert "Tidewrack" not in text


def test_the_numbers_are_used_up_and_are_no_money_out(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    suppliers.run("confirm", "1", "--good-count", "7")
    assert {item: one[0] for item, one in suppliers.numbers().items()} == {i: f[0] for i, f in FORMS.items()}
    assert suppliers.run("show", "200503", "--json").json["role"] == "continuation"
    suppliers.run("reconcile", "numbers", "1")
    assert "Stubs go on on 200503, 200504, 200507" in suppliers.run("report", "issued", "--batch", "1").out
    for report in ("issued", "control", "numbers", "outstanding", "handover"):
        said = suppliers.run("report", report, "--batch", "1").out
        assert "2,540.00" not in said
    issued = suppliers.run("report", "issued", "--batch", "1", "--format", "json").json
    assert "1140.00" in str(issued)
    suppliers.run("book", "verify")


def test_a_form_that_only_goes_on_is_not_voided_stopped_or_printed_by_itself(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    suppliers.run("confirm", "1", "--good-count", "7")
    for command in (
        ("void", "200503", "--reason", "x", "--paper", "in-hand"),
        ("reprint", "200503"),
    ):
        said = suppliers.run(*command, expect=5).err
        assert "the stub of 200502 of main goes on there" in said
    assert "nothing for a bank to stop" in suppliers.run(
        "notice", "stopped", "200503", "--confirmed-by", "M. Teller", "--on", "2026-11-24", expect=5
    ).err  # fmt: skip
    suppliers.run("void", "200502", "--reason", "disputed", "--paper", "in-hand")
    assert [suppliers.state(number) for number in FORMS[2]] == ["voided"] * 3
    suppliers.run("reprint", "200502")
    suppliers.print(2, 200508)
    suppliers.run("confirm", "2", "--good-count", "3")
    assert suppliers.run("show", "200509", "--json").json["role"] == "continuation"
    assert suppliers.state(200508) == "printed"
    suppliers.run("reconcile", "numbers", "1")
    suppliers.run("reconcile", "numbers", "2")
    suppliers.run("book", "verify")


def test_a_cheque_whose_stub_is_torn_is_kept_or_all_of_it_is_printed_again_as_somebody_says(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    said = suppliers.run("confirm", "1", "--good-count", "6", "--spoiled", "200504=torn", expect=2).err
    assert "200502 is good, but 200504, where its stub goes on, is not" in said
    assert "--incomplete" in said
    assert suppliers.state(200502) == "sent"
    suppliers.run("confirm", "1", "--good-count", "6", "--spoiled", "200504=torn", "--incomplete", "again")
    assert [suppliers.state(number) for number in FORMS[2]] == ["spoiled"] * 3
    suppliers.run(
        "resume", "1", "--power-cycled", "--next-number", "200508", "--paper-loaded", "--after-first", "go-on"
    )
    suppliers.run("confirm", "1", "--good-count", "3")
    assert suppliers.numbers()[2] == (200508, "printed")
    suppliers.run("reconcile", "numbers", "1")
    suppliers.run("book", "verify")


def test_a_cheque_may_be_kept_without_the_rest_of_its_stub(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    said = suppliers.run("confirm", "1", "--good-count", "6", "--spoiled", "200507=torn", "--incomplete", "keep").err
    assert "hand out `cheque report listing 1 --payment 4` with it" in said
    assert suppliers.state(200506) == "printed"
    assert suppliers.state(200507) == "spoiled"
    assert "Every payment of batch 1 has its form" in suppliers.run(
        "resume", "1", "--power-cycled", "--paper-loaded", "--after-first", "go-on"
    ).err  # fmt: skip
    suppliers.run("book", "verify")


def test_a_stub_is_worth_nothing_without_its_cheque(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    suppliers.run("confirm", "1", "--good-count", "6", "--spoiled", "200502=torn")
    assert [suppliers.state(number) for number in FORMS[2]] == ["spoiled"] * 3
    assert "Still without a form: 1 payment" in suppliers.run(
        "resume", "1", "--power-cycled", "--next-number", "200508", "--paper-loaded", "--after-first", "go-on"
    ).err  # fmt: skip


@pytest.mark.parametrize("at", range(1, 8))
def test_a_jam_at_any_form_pays_everybody_once(suppliers: Firm, at: int) -> None:
    suppliers.print(1, 200501)
    last_good = 200500 + at - 1
    torn = 200500 + at
    answers = (str(last_good) if at > 1 else "none", str(torn + 1))
    suppliers.resume(*answers, "--between", "jammed", "--incomplete", "again")
    sent = [item for item, (_, state) in suppliers.numbers().items() if state == "sent"]
    # what was good before the jam stays so, and each payment that was torn apart is printed again as a whole
    assert sent == [item for item, forms in FORMS.items() if torn <= forms[-1]]
    suppliers.run("confirm", "1", "--good-count", str(sum(len(FORMS[item]) for item in sent)))
    assert sorted(suppliers.numbers()) == [1, 2, 3, 4]
    assert {state for _, state in suppliers.numbers().values()} == {"printed"}
    suppliers.run("reconcile", "numbers", "1")
    suppliers.run("book", "verify")


def test_a_payment_is_never_torn_apart_by_a_count_or_the_end_of_a_box(suppliers: Firm, tmp_path: Path) -> None:
    suppliers.print(1, 200501, "--count", "3")
    assert suppliers.numbers()[2] == (0, "waiting")
    suppliers.run("confirm", "1", "--good-count", "1")
    said = suppliers.print(1, 200502, "--count", "2", expect=2).err
    assert "payment 2 of batch 1 takes 3 forms" in said


@pytest.fixture
def listing(firm: Firm) -> Firm:
    """The suppliers' batch accepted on a form whose stubs do not go on, but say that there is a listing."""
    text = (library.shipped() / "remittance-us.toml").read_text("utf-8")
    text = text.replace('name = "remittance-us"', 'name = "our-remittance"').replace('"continue"', '"listing"')
    start, end = text.index('[[field]]\nwhat = "sheet"'), text.index('[[table]]\nname = "invoices"')
    note = 'what = "listed"\nprefix = "LINES ON SEPARATE LISTING: "\nline = 6\ncolumn = 46\nwidth = 33'
    text = text[:start] + f'[[field]]\n{note}\nhidden_from = ["file"]\nbox = "supplier"\n\n' + text[end:]
    (firm.folder / "forms").mkdir()
    (firm.folder / "forms" / "our-remittance.toml").write_text(text, "utf-8")
    firm.change('# forms = "forms"', 'forms = "forms"')
    assert "2 of the payments have more stub lines than the form holds" in accept(firm, "our-remittance").err
    return firm


def test_a_form_may_say_that_the_rest_is_on_a_listing_which_has_every_line(listing: Firm) -> None:
    listing.print(1, 200501)
    paper = lines_of(listing)
    assert len(paper) == 4
    assert "LINES ON SEPARATE LISTING: 39" in paper[1]
    assert "S0031" in paper[1]
    assert "S0032" not in paper[1]
    assert "700.00" in paper[1]
    assert "LISTING" not in paper[0]
    said = listing.run("report", "listing", "1", "--page-lines", "0").out
    assert [said.count(f"S{n:04}") for n in range(1, 71)] == [1] * 70
    assert [said.count(f"L{n:04}") for n in range(1, 41)] == [1] * 40
    assert "T0001" not in said
    assert "Saltmarsh Timber Yard, R-2, dated 2026-11-30, form 200502" in said
    assert "This is no cheque" in said
    assert "T0003" in listing.run("report", "listing", "1", "--payment", "1").out
    assert "has no payment 9" in listing.run("report", "listing", "1", "--payment", "9", expect=5).err


def test_the_detail_of_a_cheque_that_was_kept_without_it_is_on_the_listing(suppliers: Firm) -> None:
    assert "every stub is whole" in suppliers.run("report", "listing", "1").out
    suppliers.print(1, 200501)
    suppliers.run("confirm", "1", "--good-count", "6", "--spoiled", "200507=torn", "--incomplete", "keep")
    said = suppliers.run("report", "listing").out
    assert "L0040" in said
    assert "S0001" not in said


def test_the_proof_shows_every_form(suppliers: Firm) -> None:
    suppliers.run("proof", "1", "-o", "proof.txt", "--payment", "2")
    text = (suppliers.folder / "proof.txt").read_text()
    for n in range(1, 71):
        assert f"S{n:04}" in text
    assert "SHEET 3/3" in text
    suppliers.run("proof", "1", "-o", "proof.pdf")
    suppliers.run("proof", "1", "-o", "proof.html")


def test_several_printers_never_share_a_payment(suppliers: Firm) -> None:
    settings = (suppliers.folder / "cheque.toml").read_text()
    start = settings.index("[printers.payroom]")
    more = settings[start:].replace("payroom", "second")
    (suppliers.folder / "cheque.toml").write_text(f"{settings}\n{more}", "utf-8")
    suppliers.run(
        "print", "1", "--printer", "payroom=200501", "--printer", "second=200551", "--proof-code", suppliers.proof(),
        "--paper-loaded", "--after-first", "go-on",
    )  # fmt: skip
    assert suppliers.numbers() == {
        1: (200501, "sent"), 2: (200502, "sent"), 3: (200551, "sent"), 4: (200552, "sent")
    }  # fmt: skip


def test_a_box_may_end_in_front_of_a_payment_that_takes_more_forms(suppliers: Firm) -> None:
    suppliers.run("stock", "receive", "remittance-us", "--account", "main", "--first", "300001", "--last", "300100")
    suppliers.print(1, 200598, "--then", "300001", "--tear-off", "0", "--lead-in", "1", "--next-loaded")
    assert suppliers.numbers() == {
        1: (200598, "sent"), 2: (300002, "sent"), 3: (300005, "sent"), 4: (300006, "sent")
    }  # fmt: skip
    assert [suppliers.state(n) for n in (200599, 200600, 300001)] == ["spoiled"] * 3


def test_the_dry_count_of_forms_is_told_before_anything_prints(firm: Firm) -> None:
    assert "7 forms for 4 payments" in accept(firm).err
    said = firm.print(1, 200595, expect=5).err
    assert "6 forms for 4 payments, which need 7 forms" in said


def test_accepting_says_when_the_box_will_not_do_continuations_counted(firm: Firm) -> None:
    head, *rows = supplier_register()
    name = firm.write("suppliers.csv", *rows, head=head)
    for last, said in (
        (0, "none of remittance-us is on hand"),
        (1, "1 of remittance-us is"),
        (6, "6 of remittance-us are"),
    ):
        if last:
            first = "1" if last == 1 else "2"
            firm.run("stock", "receive", "remittance-us", "--account", "main", "--first", first, "--last", str(last))
        told = firm.run("register", "check", name, "--form", "remittance-us").err
        assert f"7 forms are needed, continuations counted, and {said}" in told
    slip = ("--control-total", "1140.00", "--item-count", "4")
    told = firm.run("batch", "accept", name, "--form", "remittance-us", *slip).err
    assert "7 forms are needed, continuations counted, and 6 of remittance-us are on hand for main" in told
    firm.run("batch", "withdraw", "1", "--reason", "a box first")
    firm.run("stock", "receive", "remittance-us", "--account", "main", "--first", "7", "--last", "7")
    assert "needed" not in firm.run("register", "check", name, "--form", "remittance-us").err


def test_the_guided_run_counts_the_forms_that_stubs_go_on_on_before_paper_is_loaded(
    suppliers: Firm, attend: Attend
) -> None:
    operator = attend(suppliers)
    operator.until("Is the paper loaded")
    assert "To print: 7 forms for 4 payments, about" in operator.shown
    operator.type("q")
    assert operator.terminal.ended() == 0


def test_the_boatyards_december_has_suppliers_of_more_invoices_than_a_form_holds(firm: Firm) -> None:
    """45, 2 and 33 invoices (`demo/suppliers-2026-12.csv`), of which a form of remittance-us holds 31."""
    firm.run("stock", "receive", "remittance-us", "--account", "main", "--first", "200501", "--last", "200505")
    slip = ("--control-total", "51228.43", "--item-count", "3")
    said = firm.run("batch", "accept", str(DEMO / "suppliers-2026-12.csv"), "--form", "remittance-us", *slip).err
    assert "5 forms for 3 payments" in said
    assert "needed" not in said
    firm.print(1, 200501)
    paper = "".join(lines_of(firm))
    assert len(lines_of(firm)) == 5
    for number in ("TT-4600", "TT-4908", "BP 21012", "H/26/1001", "H/26/1033"):
        assert paper.count(number) == 1
    firm.run("confirm", "1", "--good-count", "5")
    firm.run("reconcile", "numbers", "1")


def test_a_missing_form_on_which_only_a_stub_goes_on_is_no_lost_cheque(suppliers: Firm) -> None:
    suppliers.print(1, 200501)
    said = suppliers.run("confirm", "1", "--good-count", "6", "--missing", "200507=gone", "--incomplete", "keep").err
    assert "on which only a stub goes on pays nobody" in said
    assert "may bear a good cheque" not in said
