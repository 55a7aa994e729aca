"""Drawing anew when a file is saved: its time and size are looked at twice a second, and nothing else is done."""

import time
from collections.abc import Callable, Sequence
from pathlib import Path

#: seconds between two looks
POLL = 0.5

_Stamp = tuple[int, int] | None


def watch(paths: Sequence[Path], redraw: Callable[[], None], *, poll: float = POLL, looks: int = -1) -> None:
    """Call `redraw` once, and again whenever one of the files has changed; for ever, or for so many looks.

    An editor that writes a new file over the old one, or takes it away for a moment, is no matter: a file that is not
    there is waited for. What `redraw` raises comes out.
    """
    seen = _stamps(paths)
    redraw()
    while looks:
        looks -= 1
        time.sleep(poll)
        now = _stamps(paths)
        if now != seen and None not in now:
            seen = now
            redraw()


def _stamps(paths: Sequence[Path]) -> list[_Stamp]:
    return [_stamp(path) for path in paths]


def _stamp(path: Path) -> _Stamp:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
