"""The run: what is compared before it goes, when it counts as sent, and what stops it; with a device of our own."""

import hashlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from journeys.firm import Firm

from cheque import crew, run
from cheque.book import batches, runs
from cheque.book.book import Book, open_book
from cheque.book.shifts import keep
from cheque.device import DeviceError, Stalled
from cheque.errors import BookRefused, RunStopped
from cheque.form import from_text
from cheque.page import Mark, Shift, feed_steps
from cheque.run import Progress, Setting, Watch, shifted
from cheque.settings import load
from cheque.units import INCH


class Way:
    """A device that keeps what it got, and does what the test says before the n-th send (from 0)."""

    def __init__(self, before: Callable[[int], None] = lambda n: None) -> None:
        self.got: list[bytes] = []
        self.calls = 0
        self.finished = self.closed = False
        self._before = before

    def send(self, data: bytes) -> None:
        """Take it all."""
        self.calls += 1
        self._before(self.calls - 1)
        self.got.append(data)

    def finish(self) -> None:
        """All was sent."""
        self.finished = True

    def close(self) -> None:
        """Let go."""
        self.closed = True


class Desk:
    """A book with a batch of 24 proved, and what prints it."""

    def __init__(self, book: Book, folder: Path) -> None:
        self.book, self.folder = book, folder
        found = load(folder / "cheque.toml")
        self.batch = batches.get(book, 1)
        form = from_text(book.content(self.batch.form_digest))
        self.setting = run.setting(form, found.accounts["main"], found.printers["payroom"])
        self.told: list[Progress] = []

    def begin(self, count: int = 0) -> tuple[int, list[tuple[int, int]]]:
        """Reserve the numbers from 100501 on."""
        return runs.begin(
            self.book, batch=1, printer="payroom", address="file:x", language="escp9", first=100501, count=count,
            proof=batches.get(self.book, 1).proof,
        )  # fmt: skip

    def watch(
        self,
        first_form: Callable[[str], str] = lambda number: "",
        stop: Callable[[], str] = lambda: "",
        stalled: Callable[[str], bool] | None = None,
    ) -> Watch:
        """A watch that keeps what it is told."""
        plain = Watch(self.told.append, first_form, stop)
        return plain._replace(stalled=stalled) if stalled else plain

    def send(self, way: Way, watch: Watch | None = None, *, window: int = 1, setting: Setting | None = None) -> None:
        """Begin a run of the whole batch and send it."""
        number, planned = self.begin()
        run.send(self.book, number, planned, setting or self.setting, way, window=window, watch=watch or self.watch())

    def states(self) -> list[str]:
        """The states of the numbers that left the box, in order."""
        return [str(row[0]) for row in self.book.rows("SELECT state FROM number ORDER BY number")]

    def sent(self) -> list[dict[str, int | str]]:
        """The bodies of the events that bytes went out under."""
        return [event.data for event in events(self.book, "run.sent")]


def events(book: Book, kind: str) -> list:  # type: ignore[type-arg]
    """All events of a kind."""
    from cheque.book.book import COLUMNS
    from cheque.book.event import Event

    return [Event(*row) for row in book.rows(f"SELECT {COLUMNS} FROM event WHERE kind = ? ORDER BY seq", kind)]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A batch accepted and proved."""
    firm = Firm(tmp_path).set_up()
    firm.accept()
    firm.proof()
    with open_book(tmp_path / "book") as book:
        yield Desk(book, tmp_path)


def test_every_window_is_in_the_book_by_digest_and_length_before_its_bytes_go(desk: Desk) -> None:
    seen: list[int] = []
    way = Way(lambda n: seen.append(len(desk.sent())))
    desk.send(way)
    assert seen == list(range(1, 25))  # at the n-th send, n windows were sent in the book
    for data, told in zip(way.got, desk.sent(), strict=True):
        assert told["digest"] == hashlib.sha256(data).hexdigest()
        assert told["length"] == len(data)
    assert [told["k"] for told in desk.sent()] == list(range(24))
    assert way.finished
    assert not way.closed  # whoever opened it closes it
    assert desk.states() == ["sent"] * 24
    assert runs.get(desk.book, 1).state == "finished"


def test_the_first_form_goes_alone_whatever_the_window(desk: Desk) -> None:
    looked: list[str] = []

    def look(number: str) -> str:
        looked.append(number)
        return ""

    way = Way()
    desk.send(way, desk.watch(look), window=10)
    assert [(told["first"], told["last"], told["k"]) for told in desk.sent()] == [
        (100501, 100501, 0), (100502, 100511, 1), (100512, 100521, 11), (100522, 100524, 21),
    ]  # fmt: skip
    assert looked == ["100501"]
    assert desk.told == [
        Progress("100501", 1, 24), Progress("100511", 11, 24), Progress("100521", 21, 24), Progress("100524", 24, 24),
    ]  # fmt: skip
    assert desk.states() == ["sent"] * 24


def test_the_same_bytes_go_whatever_the_window(desk: Desk) -> None:
    way = Way()
    desk.send(way, window=7)
    form_by_form = [
        run.encoded(
            desk.setting,
            run.layout.lay_out(payment, desk.setting.form, desk.setting.drawer)[0],
            str(100500 + payment.item),
            payment.item - 1,
        )
        for payment in batches.payments(desk.book, 1)
    ]
    assert b"".join(way.got) == b"".join(form_by_form)


def test_a_run_of_one_form_asks_nothing_about_the_first(desk: Desk) -> None:
    def never(number: str) -> str:
        raise AssertionError("there is nothing after it to stop")

    number, planned = desk.begin(1)
    run.send(desk.book, number, planned, desk.setting, Way(), window=1, watch=desk.watch(never))
    assert desk.states() == ["sent"]


def test_a_first_form_that_is_not_right_leaves_the_rest_reserved(desk: Desk) -> None:
    way = Way()
    with pytest.raises(RunStopped, match=r"stopped after 1 of 24 forms: crooked\. Look at the paper"):
        desk.send(way, desk.watch(lambda number: "crooked"))
    assert len(way.got) == 1
    assert not way.finished
    assert desk.states() == ["sent"] + ["reserved"] * 23
    assert runs.get(desk.book, 1).cause == "crooked"


def test_a_wish_to_stop_is_heard_between_windows_and_not_within(desk: Desk) -> None:
    way = Way()
    with pytest.raises(RunStopped, match="stopped after 11 of 24 forms: enough"):
        desk.send(way, desk.watch(stop=lambda: "enough" if len(way.got) == 2 else ""), window=10)
    assert desk.states() == ["sent"] * 11 + ["reserved"] * 13


def test_a_wish_to_stop_after_the_last_form_stops_nothing(desk: Desk) -> None:
    way = Way()
    desk.send(way, desk.watch(stop=lambda: "too late" if len(way.got) == 24 else ""))
    assert runs.get(desk.book, 1).state == "finished"


@pytest.mark.parametrize(
    ("error", "cause"),
    [
        (DeviceError("the cable is out. Plug it in.", taken=5), "the cable is out. Plug it in"),
        (KeyboardInterrupt("stopped at once by the operator"), "stopped at once by the operator"),
        (KeyboardInterrupt(), "stopped at once by the operator"),
        (
            Stalled("nothing was taken for 60 s. Look at the printer."),
            "nothing was taken for 60 s. Look at the printer",
        ),
    ],
)
def test_a_device_that_fails_leaves_its_window_in_doubt_and_the_rest_reserved(
    desk: Desk, error: BaseException, cause: str
) -> None:
    def fail(n: int) -> None:
        if n == 3:
            raise error

    with pytest.raises(RunStopped) as stopped:
        desk.send(Way(fail))
    assert str(stopped.value) == (
        f"the run stopped after 3 of 24 forms: {cause}. Look at the paper, then `cheque resume 1`."
    )
    assert runs.get(desk.book, 1).cause == cause
    assert desk.states() == ["sent"] * 4 + ["reserved"] * 20


def test_a_device_that_fails_at_the_very_end_leaves_all_in_doubt(desk: Desk) -> None:
    way = Way()

    def fail() -> None:
        raise DeviceError("reset before it was finished.")

    way.finish = fail  # type: ignore[method-assign]
    with pytest.raises(RunStopped, match="stopped after 24 of 24 forms: reset before it was finished"):
        desk.send(way)
    assert desk.states() == ["sent"] * 24
    assert runs.get(desk.book, 1).state == "stopped"


def test_a_printer_put_right_is_waited_for_and_gets_nothing_twice(desk: Desk) -> None:
    def stall(n: int) -> None:
        if n in (4, 5):
            raise Stalled("nothing was taken for 60 s.")

    said: list[str] = []

    def put_right(what: str) -> bool:
        said.append(what)
        return True

    way = Way(stall)
    desk.send(way, desk.watch(stalled=put_right))
    assert said == ["nothing was taken for 60 s"] * 2
    # The device holds the rest of the window: what it is given then is nothing.
    assert way.calls == 26
    assert way.got[4] == b""
    assert [len(data) > 0 for data in way.got].count(False) == 1
    assert runs.get(desk.book, 1).state == "finished"


def test_nobody_is_asked_about_a_stall_when_the_run_is_to_stop(desk: Desk) -> None:
    asked: list[str] = []
    stop = [""]

    def stall(n: int) -> None:
        if n == 2:
            stop[0] = "stopped by SIGTERM"
            raise Stalled("nothing was taken for 60 s.")

    with pytest.raises(RunStopped, match="nothing was taken"):
        desk.send(Way(stall), desk.watch(stop=lambda: stop[0], stalled=lambda what: not asked.append(what)))
    assert asked == []


def test_what_is_not_what_the_proof_showed_never_goes(desk: Desk) -> None:
    other = desk.setting._replace(drawer=desk.setting.drawer._replace(bank="Gullwick Savings Bank"))
    way = Way()
    with pytest.raises(BookRefused, match="do not strike what the proof showed"):
        desk.send(way, setting=other)
    assert way.got == []
    assert desk.states() == ["reserved"] * 24
    assert desk.sent() == []


@pytest.mark.parametrize("spoil", [b"\x07", b" X", b"\r\n"])
def test_bytes_that_an_encoder_adds_are_found_before_they_go(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, spoil: bytes
) -> None:
    whole = run.encoded
    monkeypatch.setattr(run, "encoded", lambda *given: whole(*given) + spoil)
    way = Way()
    with pytest.raises(BookRefused, match="the bytes of form 100501"):
        desk.send(way)
    assert way.got == []


def test_a_number_that_is_not_the_one_reserved_is_found_before_it_goes(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = run.encoded
    monkeypatch.setattr(run, "encoded", lambda setting, page, number, k: whole(setting, page, "100999", k))
    way = Way()
    with pytest.raises(BookRefused, match="the place of the number holds '100999' instead of 100501"):
        desk.send(way)
    assert way.got == []


def test_a_payment_that_is_not_in_the_latest_proof_never_goes(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = batches.proved_kept
    monkeypatch.setattr(batches, "proved_kept", lambda *which: [(item, body, "") for item, body, _ in whole(*which)])
    with pytest.raises(BookRefused, match="payment 1 is not in the latest proof"):
        desk.send(Way())


def test_bytes_that_are_not_those_that_were_read_back_never_go(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    whole, changed = run.made, [0]

    def altered(setting: Setting, window: run.Window) -> tuple[bytes, str]:
        """As if a byte had changed between the process that read the bytes back and the one that sends them."""
        data, digest = whole(setting, window)
        changed[0] += window.k == 9
        return (data.replace(b"100512", b"100521") if window.k == 9 else data), digest

    monkeypatch.setattr(run, "made", altered)
    way = Way()
    with pytest.raises(RunStopped, match="the bytes about to go are not those that were read back"):
        desk.send(way, window=8)
    assert changed == [1]
    assert len(way.got) == 2
    assert desk.states() == ["sent"] * 9 + ["reserved"] * 15


def test_what_was_read_before_a_newer_proof_was_made_does_not_count(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_order = crew.in_order
    monkeypatch.setattr(crew, "in_order", lambda work, jobs, each: in_order(work, iter(list(jobs)), each=each))
    pages = list(batches.page_digests(desk.book, 1).items())
    newer = [(item, page if item < 12 else page[::-1]) for item, page in pages]
    way = Way(lambda n: None if n else batches.proved(desk.book, 1, "f" * 64, newer) and None)
    with pytest.raises(BookRefused, match="the bytes of form 100512 do not strike what the proof showed"):
        desk.send(way, window=8)
    assert desk.states() == ["sent"] * 9 + ["reserved"] * 15


def test_looking_ahead_reserves_nothing_and_tells_how_long_it_will_take(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned = runs.plan(desk.book, 1, 100501)
    before = desk.book.head.seq
    all_of_them = run.look_ahead(desk.book, 1, planned, desk.setting, 200)
    assert 24 * 5_000 < all_of_them < 24 * 25_000
    assert run.look_ahead(desk.book, 1, planned, desk.setting, 400) < all_of_them
    monkeypatch.setattr(run, "SAMPLE", 6)
    laid_out: list[int] = []
    lay_out = run._pages
    monkeypatch.setattr(
        run, "_pages", lambda payment, setting: laid_out.append(payment.item) or lay_out(payment, setting)
    )
    assert abs(run.look_ahead(desk.book, 1, planned, desk.setting, 200) - all_of_them) < all_of_them // 10
    assert laid_out == [1, 1, 5, 9, 13, 17, 21]  # the first one also as it will be sent
    assert desk.book.head.seq == before


def test_looking_ahead_refuses_a_shift_that_the_form_has_no_room_for(desk: Desk) -> None:
    planned = runs.plan(desk.book, 1, 100501)
    keep(desk.book, "payroom", "payroll-us", Shift(INCH, 0))
    for shift in (Shift(INCH, 0), Shift(0, -INCH), Shift(-INCH, INCH)):
        with pytest.raises(BookRefused, match="more than some field of the form has room for"):
            run.look_ahead(desk.book, 1, planned, desk.setting._replace(shift=shift), 200)
    run.look_ahead(desk.book, 1, planned, desk.setting._replace(shift=Shift(INCH // 60, 0)), 200)


def test_a_shift_moves_every_mark_and_leaves_the_proof_as_it_was(desk: Desk) -> None:
    marks = (Mark(0, 0, 10, 0, "a"), Mark(5, 7, 10, 1, "b"))
    assert shifted(marks, Shift()) is marks
    assert shifted(marks, Shift(3, -4)) == (Mark(3, -4, 10, 0, "a"), Mark(8, 3, 10, 1, "b"))
    moved = desk.setting._replace(shift=Shift(INCH // 60, INCH // 216))
    way = Way()
    desk.send(way, setting=moved)
    plain = [proved.pages for proved in run.prove_batch(desk.book, 1, desk.setting)]
    assert [proved.pages for proved in run.prove_batch(desk.book, 1, moved)] == plain
    assert len(way.got) == 24


def test_forms_are_fed_by_whole_steps_and_the_error_never_adds_up(desk: Desk) -> None:
    form, step = desk.setting.form, desk.setting.printer.step
    assert run.advance(desk.setting, 5) == feed_steps(form.paper.length, step, 5) * step
    assert sum(run.advance(desk.setting, k) for k in range(1000)) == 1000 * form.paper.length


def test_a_printer_is_held_by_one_run_at_a_time(tmp_path: Path) -> None:
    (tmp_path / "locks").mkdir()
    with run.holding(tmp_path, "payroom"):
        with (
            pytest.raises(BookRefused, match=rf"printer payroom is in use by another run \(process {os.getpid()}\)"),
            run.holding(tmp_path, "payroom"),
        ):
            raise AssertionError("it is held")
        with run.holding(tmp_path, "attic"):
            pass
    with run.holding(tmp_path, "payroom"):
        pass


def test_what_a_batch_pays_leaves_out_what_was_pulled(desk: Desk) -> None:
    assert run.money_out(desk.book, 1) == 1821477
    batches.pull(desk.book, 1, 24, "left the firm")
    assert run.money_out(desk.book, 1) == 1821477 - 60743
