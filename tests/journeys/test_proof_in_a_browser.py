"""The proof as a page in a real browser: read, searched, ticked and printed; safe whatever a payee is called."""

import io

import pytest
from browsing import chromium, visiting
from journeys.firm import Firm
from picture.struck import at, by_way_of_bytes, payroll
from picture.test_proofbook import totals
from picture.test_proofpage import HOSTILE

from cheque.picture.proofpage import Entry, ProofPage
from cheque.units import INCH


@pytest.fixture(scope="module")
def browser():
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def proof(tmp_path_factory):
    firm = Firm(tmp_path_factory.mktemp("firm")).set_up()
    firm.register()
    firm.accept()
    said = firm.run("proof", "1", "-o", "proof.html")
    return firm.folder / "proof.html", said.out.strip()


def write(path, entries, forms):
    with path.open("wb") as file:
        page = ProofPage(file, payroll(), totals(len(entries)), entries)
        for entry, form in zip(entries, forms, strict=True):
            page.add(entry, [form])
        page.close()
    return path


def test_it_opens_with_the_code_and_asks_the_network_for_nothing(browser, proof):
    path, code = proof
    with visiting(browser, path) as visit:
        assert visit.page.inner_text(".code strong") == code
        assert visit.page.inner_text("h1") == "Proof of batch 1"
        assert "18214.77 USD" in visit.page.inner_text("main > dl")
        visit.page.keyboard.press("End")
        visit.page.wait_for_timeout(200)
        assert visit.asked == [path.resolve().as_uri()]
        assert visit.said == []


def test_no_fault_is_found_for_the_keyboard_or_a_screen_reader(browser, proof):
    with visiting(browser, proof[0]) as visit:
        assert visit.faults() == []


def test_the_check_for_such_faults_can_fail(browser, tmp_path):
    (tmp_path / "bad.html").write_text("<!doctype html><title>x</title><input><img src='data:,'>")
    with visiting(browser, tmp_path / "bad.html") as visit:
        assert {fault.split(":")[0] for fault in visit.faults()} >= {"html-has-lang", "image-alt", "label"}


def test_a_form_is_drawn_when_it_is_scrolled_to_and_forgotten_when_it_is_far(browser, proof):
    with visiting(browser, proof[0]) as visit:
        drawn = "() => Array.from(document.querySelectorAll('section.payment svg'), s => s.closest('section').id)"
        visit.page.evaluate("document.getElementById('payment-24').scrollIntoView()")
        visit.until("document.querySelectorAll('#payment-24 svg').length === 3")
        visit.until("document.querySelectorAll('#payment-1 svg').length === 0")
        assert len(set(visit.page.evaluate(drawn))) < 12


def test_what_the_picture_says_is_what_is_struck(browser, proof):
    with visiting(browser, proof[0]) as visit:
        visit.page.evaluate("document.getElementById('payment-3').scrollIntoView()")
        visit.page.wait_for_selector("#payment-3 svg text")
        struck = visit.page.evaluate(
            "Array.from(document.querySelectorAll('#payment-3 figure.first svg text'), t => t.textContent)"
        )
        assert any(text.startswith("Six hundred twenty-seven and 28/100***") for text in struck)
        visit.page.wait_for_selector("#payment-3 figure.first canvas")
        inked = visit.page.evaluate(
            "(() => {const c = document.querySelector('#payment-3 figure.first canvas');"
            "const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; let n = 0;"
            "for (let i = 3; i < d.length; i += 4) n += d[i] > 128 ? 1 : 0; return n})()"
        )
        assert inked > 5000
        label = visit.page.get_attribute("#payment-3 figure.first svg", "aria-label")
        assert label == "Payment 3: Part 1 of 3 · employee · goes to the employee: cheque and stub"


def test_a_payee_is_found_by_part_of_the_name_without_its_accents_and_by_number(browser, proof):
    with visiting(browser, proof[0]) as visit:
        shown = "Array.from(document.querySelectorAll('section.payment')).filter(s => !s.hidden).map(s => s.id)"
        for words, expected in (("bjorn", ["payment-3"]), ("100524", ["payment-24"]), ("W48-2101", ["payment-1"])):
            visit.page.fill("#search", words)
            assert visit.page.evaluate(shown) == expected
            assert visit.page.inner_text("#found") == "1 of 24 shown"
        visit.page.fill("#search", "nobody at all")
        assert visit.page.evaluate(shown) == []
        visit.page.fill("#search", "")
        assert len(visit.page.evaluate(shown)) == 24


def test_everything_is_reached_by_the_keyboard_alone(browser, proof):
    with visiting(browser, proof[0]) as visit:
        visit.page.keyboard.press("Tab")
        assert visit.page.evaluate("document.activeElement.textContent") == "To the payees and amounts"
        visit.page.keyboard.press("Enter")
        visit.page.keyboard.press("Tab")
        assert visit.page.evaluate("document.activeElement.id") == "search"
        visit.page.keyboard.type("ingrid")
        for _ in range(3):
            visit.page.keyboard.press("Tab")
        visit.page.keyboard.press("Space")
        assert visit.page.inner_text("#looked") == "1 of 24 held against the register"


def test_all_of_it_is_drawn_when_it_is_printed(browser, tmp_path):
    """Three payments, of which the window shows one at most: drawing on paper takes Chromium long."""
    import pypdf

    marks = [by_way_of_bytes((at(4, 5, f"Payee {place}***"), at(30, 5, "ONE***")), 7 * INCH) for place in (1, 2, 3)]
    entries = [Entry(place, f"Payee {place}", "1.00") for place in (1, 2, 3)]
    path = write(tmp_path / "three.html", entries, marks)
    for paper in ("A4", "Letter"):
        with visiting(browser, path) as visit:
            data = visit.page.pdf(format=paper)
        pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
        assert len(pages) >= 4  # totals and list, then one for each payment
        for place in (1, 2, 3):
            assert "".join(pages).count(f"Payee {place}***") == 2  # the third part is blocked there
        assert "".join(pages).count("ONE***") == 9  # on each part of each


def test_without_scripts_the_words_are_there(browser, proof):
    with visiting(browser, proof[0], java_script_enabled=False) as visit:
        assert "which this browser does not run" in visit.page.inner_text("main")
        visit.page.click("#payment-3 summary")
        assert "Six hundred twenty-seven and 28/100***" in visit.page.inner_text("#payment-3 pre")


def test_no_script_of_a_payee_runs_and_nothing_is_fetched(browser, tmp_path):
    marks = by_way_of_bytes((at(4, 5, "Marlow <script>alert(1)</script> & Co"),))
    entries = [Entry(place, name, "1.00", (("Reference", name),), (name,)) for place, name in enumerate(HOSTILE, 1)]
    path = write(tmp_path / "hostile.html", entries, [marks] * len(entries))
    with visiting(browser, path) as visit:
        for entry in entries:
            visit.page.evaluate(f"document.getElementById('payment-{entry.place}').scrollIntoView()")
            visit.page.wait_for_selector(f"#payment-{entry.place} svg text")
        visit.page.fill("#search", HOSTILE[0])
        assert visit.page.inner_text("#found") == f"1 of {len(entries)} shown"
        assert (
            visit.page.evaluate("document.querySelectorAll('img, b, iframe, section script:not([type])').length") == 0
        )
        assert visit.asked == [path.resolve().as_uri()]
        assert visit.said == []
        assert visit.faults() == []


def test_a_thousand_cheques_keep_few_pictures_at_a_time(browser, tmp_path):
    marks = by_way_of_bytes(tuple(at(line, 5, f"line {line} " + "x" * 50) for line in range(1, 35)), 7 * INCH)
    entries = [Entry(place, f"Payee {place}", f"{place}.00") for place in range(1, 1001)]
    path = write(tmp_path / "thousand.html", entries, [marks] * 1000)
    with visiting(browser, path) as visit:
        most = 0
        for place in range(1, 1001, 90):
            visit.page.evaluate(f"document.getElementById('payment-{place}').scrollIntoView()")
            visit.page.wait_for_selector(f"#payment-{place} svg text", state="attached")
            most = max(most, visit.page.evaluate("document.querySelectorAll('section.payment svg').length"))
        assert 3 <= most <= 60
        assert visit.said == []
