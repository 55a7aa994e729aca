"""A station's log: one line for each command that used the book, for whoever is asked why something did not work.

    2026-11-27T14:02:11Z mara print 4 2.713 the run stopped after 3 of 24 forms: …

When it began (UTC), who, the command, its exit status, seconds, and the first line of what was refused. No answers,
no options, no register: and no account number, which is replaced by its last four digits wherever it stands. The log
is readable by its owner only; at half a megabyte it is set aside, and the four before it are kept. Nothing depends on
it: where it cannot be written, the work goes on without.
"""

import os
import re
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from cheque import system

FOLDER, FILE = "log", "cheque.log"
LARGEST, KEPT = 512 * 1024, 4
#: eight digits or more, perhaps in groups: no number of a form needs as many in a message
_LONG = re.compile(r"\d(?:[ -]?\d){7,}")


def masked(text: str, secrets: Iterable[str] = ()) -> str:
    """A text without account numbers: those given, and whatever is as long as one.

    >>> masked("account 0004 1729 3355 of main; number 100501", ["41729"])
    'account ···3355 of main; number 100501'
    """
    for secret in sorted(filter(None, secrets), key=len, reverse=True):
        text = text.replace(secret, f"···{secret[-4:] if len(secret) > 6 else ''}")
    return _LONG.sub(lambda found: f"···{re.sub('[^0-9]', '', found.group())[-4:]}", text)


def write(place: Path, line: str) -> None:
    """Add one line to the log in a book's private folder; never raises."""
    with suppress(OSError):
        folder = place / FOLDER
        if not folder.is_dir():
            folder.mkdir(mode=0o700)
        path = folder / FILE
        gate = system.gate(folder)
        try:
            system.lock(gate, wait=True)  # two commands that end at once do not both set the log aside
            if path.exists() and path.stat().st_size > LARGEST:
                for number in range(KEPT, 0, -1):
                    older = folder / (f"{FILE}.{number - 1}" if number > 1 else FILE)
                    if older.exists():
                        os.replace(older, folder / f"{FILE}.{number}")
            handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | system.NO_LINK, 0o600)
            try:
                os.write(handle, (line.replace("\n", " ") + "\n").encode(errors="backslashreplace"))
            finally:
                os.close(handle)
        finally:
            os.close(gate)
