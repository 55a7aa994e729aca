"""The dot face, part three: line and block characters of the old tables, and the digits of the code-point box.

Line characters are read from their Unicode names, so that all of them come from one rule.
"""

import unicodedata

_COUNT = {"LIGHT": 1, "SINGLE": 1, "DOUBLE": 2}
#: where one line, or two, run: columns of upright lines, rows of level ones
_COLUMNS = {1: (4,), 2: (2, 6)}
_ROWS = {1: (4,), 2: (3, 5)}
_ACROSS = {"UP": ("LEFT", "RIGHT"), "DOWN": ("LEFT", "RIGHT"), "LEFT": ("UP", "DOWN"), "RIGHT": ("UP", "DOWN")}
_OPPOSITE = {"UP": "DOWN", "DOWN": "UP", "LEFT": "RIGHT", "RIGHT": "LEFT"}

#: hexadecimal digits, three dots wide and five deep
DIGITS = {
    "0": ("ooo", "o.o", "o.o", "o.o", "ooo"),
    "1": (".o.", "oo.", ".o.", ".o.", "ooo"),
    "2": ("ooo", "..o", "ooo", "o..", "ooo"),
    "3": ("ooo", "..o", ".oo", "..o", "ooo"),
    "4": ("o.o", "o.o", "ooo", "..o", "..o"),
    "5": ("ooo", "o..", "ooo", "..o", "ooo"),
    "6": ("ooo", "o..", "ooo", "o.o", "ooo"),
    "7": ("ooo", "..o", "..o", ".o.", ".o."),
    "8": ("ooo", "o.o", "ooo", "o.o", "ooo"),
    "9": ("ooo", "o.o", "ooo", "..o", "ooo"),
    "A": (".o.", "o.o", "ooo", "o.o", "o.o"),
    "B": ("oo.", "o.o", "oo.", "o.o", "oo."),
    "C": (".oo", "o..", "o..", "o..", ".oo"),
    "D": ("oo.", "o.o", "o.o", "o.o", "oo."),
    "E": ("ooo", "o..", "oo.", "o..", "ooo"),
    "F": ("ooo", "o..", "oo.", "o..", "o.."),
}


def shape(char: str) -> frozenset[tuple[int, int]] | None:
    """Dots of a box-drawing or block character as (column, row), or None for one that is not drawn."""
    name = unicodedata.name(char, "")
    if name.startswith("BOX DRAWINGS "):
        return _line(name.removeprefix("BOX DRAWINGS ").split())
    return _block(char)


def _line(words: list[str]) -> frozenset[tuple[int, int]] | None:
    """From words such as DOWN SINGLE AND RIGHT DOUBLE, DOUBLE VERTICAL AND LEFT, LIGHT HORIZONTAL."""
    counts: dict[str, int] = {}
    if words[0] in _COUNT:
        counts = {word: _COUNT[words[0]] for word in words[1:] if word != "AND"}
    else:
        for half in " ".join(words).split(" AND "):
            where, _, how = half.partition(" ")
            counts[where] = _COUNT.get(how, 0)
    for both, ways in (("VERTICAL", ("UP", "DOWN")), ("HORIZONTAL", ("LEFT", "RIGHT"))):
        if both in counts:
            counts |= dict.fromkeys(ways, counts.pop(both))
    if not set(counts) <= set(_ACROSS) or not all(counts.values()):
        return None
    return frozenset(dot for way in counts for dot in _arm(way, counts))


def _arm(way: str, counts: dict[str, int]) -> set[tuple[int, int]]:
    """One arm, from the edge of the cell to where it meets the others."""
    upright = way in ("UP", "DOWN")
    backward = way in ("DOWN", "RIGHT")
    lines, stops = (_COLUMNS, _ROWS) if upright else (_ROWS, _COLUMNS)
    before, after = _ACROSS[way]
    found = set()
    for line in lines[counts[way]]:
        near = [side for side in (before, after) if side in counts]
        if counts[way] == 2:
            facing, behind = (before, after) if line == lines[2][0] else (after, before)
            near = [facing] if facing in counts else [] if _OPPOSITE[way] in counts else [behind] * 2
            far = facing not in counts
        else:
            far = len(near) == 1
            near = [] if _OPPOSITE[way] in counts else near
        ends = stops[counts.get(near[0], 1)] if near else stops[1]
        stop = ends[-1] if far != backward else ends[0]
        track = range(9) if upright else range(-2, 10, 2)
        for step in track:
            if (step >= stop) if backward else (step <= stop):
                found.add((line, step) if upright else (step, line))
    return found


def _block(char: str) -> frozenset[tuple[int, int]] | None:
    everywhere = frozenset((column, row) for column in range(-2, 10, 2) for row in range(9))
    blocks = {
        "█": everywhere,
        "▀": frozenset(dot for dot in everywhere if dot[1] < 5),
        "▄": frozenset(dot for dot in everywhere if dot[1] > 4),
        "▌": frozenset(dot for dot in everywhere if dot[0] < 4),
        "▐": frozenset(dot for dot in everywhere if dot[0] >= 4),
        "■": frozenset((column, row) for column in range(0, 10, 2) for row in range(1, 7)),
        "░": frozenset(dot for dot in everywhere if (dot[0] // 2 + 2 * dot[1]) % 4 == 0),
        "▒": frozenset(dot for dot in everywhere if (dot[0] // 2 + dot[1]) % 2 == 0),
        "▓": frozenset(dot for dot in everywhere if (dot[0] // 2 + 2 * dot[1]) % 4),
    }
    return blocks.get(char)
