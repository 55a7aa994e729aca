"""Several processes on one book, processes that are killed, and disks that fail: the book is whole after each.

Kills are real (SIGKILL), at moments drawn from a seed and at the n-th call of the system that syncs or writes;
the faults of a disk are put into those calls by strace. After each, the book opens, verifies, has every event
that was acknowledged, and at most the one more that was in hand.
"""

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from book.children import injecting, run, script
from book.quillmere import FORM, accept, begin, payday, prove, refused

from cheque.book import place as places
from cheque.book import stock, story, verify, where
from cheque.book.book import FILE, create, open_book
from cheque.errors import BookRefused

#: every step is acknowledged by a line with the number of the last event, once it returned
STEPS = """
book = open_book(place)

def done():
    print(book.head.seq, flush=True)

batch = 1
run, planned = runs.begin(
    book, batch=batch, printer="payroom", address="file:x", language="escp9", first=501, count=0,
    proof=batches.get(book, batch).proof)
done()
for start in range(0, len(planned), 4):
    window = planned[start : start + 4]
    runs.sent(book, run, window[0][0], window[-1][0], digest="0" * 64, length=7200, k=start)
    done()
runs.finished(book, run)
done()
good = [number for number, _ in planned]
runs.seen(book, run, runs.Seen(tuple(good[2:]), {good[0]: "torn"}, {good[1]: "gone"}, ()), how="confirm")
done()
cheques.void(book, account="main", number=good[3], reason="wrong hours", paper="in hand")
done()
cheques.accept_reprint(book, cheques.reprint_source(book, "main", good[3]))
done()
stock.spoil(book, account="main", first=590, last=600, reason="torn")
done()
"""
EVENTS = 9  # of these steps
FORMS = 12


@pytest.fixture
def ready(tmp_path: Path) -> Path:
    """The place of a book with a box of forms and a proved batch."""
    with begin(tmp_path) as book:
        stock.receive(book, account="main", form=FORM, first="000501", last="000600")
        prove(book, accept(book, payday(FORMS)))
        return book.place


def whole(place: Path, acknowledged: int, started: int = 4) -> int:
    """The book is whole, and has what was acknowledged and at most one step more. Gives its last event."""
    with open_book(place) as book:
        assert verify.verify(book) == []
        assert verify.identities(book) == []
        seq = book.head.seq
        doubled = book.row(
            "SELECT origin_batch, origin_item FROM number WHERE role = 'cheque' AND state IN "
            "('reserved', 'sent', 'printed') GROUP BY origin_batch, origin_item HAVING count(*) > 1"
        )
        assert doubled is None
    assert acknowledged <= seq <= max(acknowledged, started) + 1
    return seq


def last_line(text: str, otherwise: int = 4) -> int:
    lines = [line for line in text.splitlines() if line.isdigit()]
    return int(lines[-1]) if lines else otherwise


def test_the_steps_run_to_their_end(ready: Path, tmp_path: Path) -> None:
    done = run(script(tmp_path, STEPS), ready)
    assert done.stderr == ""
    assert whole(ready, last_line(done.stdout)) == 4 + EVENTS


def copied(place: Path, folder: Path) -> Path:
    """Another copy of a closed book, quickly."""
    target = folder / "book"
    target.mkdir(mode=0o700, parents=True)
    (target / FILE).write_bytes((place / FILE).read_bytes())
    where.settle_file(target, target / FILE)
    return target


def test_a_kill_at_any_moment_leaves_the_book_whole(ready: Path, tmp_path: Path) -> None:
    steps = script(tmp_path, STEPS)
    seed = random.Random(20261127)
    reached = set()
    for attempt in range(12):
        place = copied(ready, tmp_path / str(attempt))
        with subprocess.Popen([sys.executable, steps, place], stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout
            said = [process.stdout.readline() for _ in range(seed.randrange(1, EVENTS))]
            time.sleep(seed.random() * 0.004)  # so many steps were acknowledged, and then a moment more
            process.send_signal(signal.SIGKILL)
            said.append(process.stdout.read())
        reached.add(whole(place, last_line("".join(said))))
    assert len(reached) > 4


@pytest.mark.parametrize("call", ["fdatasync", "pwrite64"])
def test_a_kill_at_each_sync_and_write_leaves_the_book_whole(ready: Path, tmp_path: Path, call: str) -> None:
    steps = script(tmp_path, STEPS)
    killed = 0
    for n in (1, 2, 3, 5, 8, 11) if call == "fdatasync" else (1, 2, 3, 4, 7, 12, 20, 33):
        place = copied(ready, tmp_path / f"{call}-{n}")
        done = run(steps, place, *injecting(f"{call}:signal=SIGKILL:when={n}"))
        whole(place, last_line(done.stdout))
        killed += done.returncode != 0
    assert killed > 4


FAILING = """
kept = 0
try:
    book = open_book(place)
    for number in range(501, 541):
        stock.spoil(book, account="main", first=number, last=number, reason="torn")
        kept += 1
except Refusal as refusal:
    print(str(refusal), file=sys.stderr)
print(kept, flush=True)
"""


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("pwrite64:error=ENOSPC:when={n}", "is full"),
        ("pwrite64:error=EIO:when={n}", "the disk failed"),
        ("fdatasync:error=EIO:when={n}", "Whether the last step is in the book is not certain"),
    ],
)
def test_a_disk_that_fails_is_one_message_and_the_book_is_whole(
    ready: Path, tmp_path: Path, fault: str, words: str
) -> None:
    steps = script(tmp_path, FAILING)
    refused = 0
    for n in (2, 5, 9, 10, 24):
        place = copied(ready, tmp_path / str(n))
        done = run(steps, place, *injecting(fault.format(n=n)))
        assert "Traceback" not in done.stderr, done.stderr
        assert done.returncode == 0
        kept = last_line(done.stdout, 0)
        with open_book(place) as book:
            assert verify.verify(book) == []
            entered = book.value("SELECT count(*) FROM number WHERE state = 'spoiled'")
        assert kept <= entered <= kept + 1
        if kept < 40:
            assert words in done.stderr
            refused += 1
    assert refused > 2


def test_a_full_disk_at_commit_changes_nothing_at_all(ready: Path, tmp_path: Path) -> None:
    steps = script(tmp_path, FAILING)
    for n in (6, 7, 8):
        place = copied(ready, tmp_path / str(n))
        done = run(steps, place, *injecting(f"pwrite64:error=ENOSPC:when={n}+"))
        with open_book(place) as book:
            entered = book.value("SELECT count(*) FROM number WHERE state = 'spoiled'")
            assert entered == last_line(done.stdout, 0)
            stock.spoil(book, account="main", first=550, last=550, reason="there is room again")
            assert verify.verify(book) == []


def test_a_kill_while_a_book_is_begun_leaves_none_or_a_whole_one(tmp_path: Path) -> None:
    steps = script(tmp_path, "create(place).close()\nprint(1, flush=True)\n")
    outcomes = set()
    calls = [("fsync", n) for n in (1, 2, 3, 4)] + [("fdatasync", n) for n in (1, 2, 3)]
    for call, n in [*calls, ("link", 1), ("unlink", 1), ("unlink", 2)]:
        place = tmp_path / f"{call}-{n}" / "book"
        done = run(steps, place, *injecting(f"{call}:signal=SIGKILL:when={n}"))
        if (place / FILE).exists():
            outcomes.add("whole")
        else:
            with refused(BookRefused, "there is no book at"):
                open_book(place)
            assert last_line(done.stdout, 0) == 0
            outcomes.add("none")
            create(place).close()  # nothing is in the way of beginning it again
            assert sorted(path.name for path in place.iterdir()) == sorted([FILE, *places.FOLDERS, *places.SMALL])
        with open_book(place) as book:
            assert verify.verify(book) == []
            assert book.head.seq == 1
    assert outcomes == {"whole", "none"}


SPOILERS = """
book = open_book(place)
first = int(sys.argv[2])
for number in range(first, first + 25):
    stock.spoil(book, account="main", first=number, last=number, reason="torn")
    if not number % 5:
        with batches.accepting(book) as acceptance:
            pass
"""


def test_processes_that_append_at_once_make_one_chain(ready: Path, tmp_path: Path) -> None:
    steps = script(tmp_path, SPOILERS)
    processes = [
        subprocess.Popen([sys.executable, str(steps), str(ready), str(first)], stderr=subprocess.PIPE, text=True)
        for first in (501, 526, 551, 576)
    ]
    for process in processes:
        assert process.communicate()[1] == ""
        assert process.returncode == 0
    with open_book(ready) as book:
        assert book.head.seq == 4 + 100
        assert verify.verify(book) == []
        assert book.value("SELECT count(*) FROM number WHERE state = 'spoiled'") == 100


RIVALS = """
import time
book = open_book(place)
won = []
for number in range(501, 561):
    try:
        cheques.by_hand(book, account="main", number=number, batch=1, item=(number - 501) % 12 + 1, reason=sys.argv[2])
        won.append(number)
    except Refusal:
        pass
print(" ".join(map(str, won)))
"""


def test_processes_that_want_the_same_forms_and_payments_never_both_get_them(ready: Path, tmp_path: Path) -> None:
    steps = script(tmp_path, RIVALS)
    processes = [
        subprocess.Popen(
            [sys.executable, str(steps), str(ready), f"station {name}"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in "AB"
    ]
    said = [process.communicate() for process in processes]
    assert [err for _, err in said] == ["", ""]
    won = [set(out.split()) for out, _ in said]
    assert not won[0] & won[1]
    assert len(won[0] | won[1]) == FORMS
    with open_book(ready) as book:
        paid = list(book.rows("SELECT item, count(*) FROM number WHERE state = 'printed' GROUP BY item"))
        assert paid == [(item, 1) for item in range(1, FORMS + 1)]
        assert verify.verify(book) == []


def test_a_book_is_verified_and_copied_while_others_write(ready: Path, tmp_path: Path) -> None:
    steps = script(tmp_path, SPOILERS)
    process = subprocess.Popen([sys.executable, str(steps), str(ready), "501"])
    seen: list[int] = []
    with open_book(ready) as book:
        while process.poll() is None or not seen:
            assert verify.verify(book) == []
            copy = tmp_path / f"copy-{len(seen)}.sqlite"
            seen.append(story.backup(book, copy).seq)
    assert process.returncode == 0
    assert seen == sorted(seen)
