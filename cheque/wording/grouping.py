"""The convenience amount: digits with the country's grouping and decimal mark, from our own patterns.

Locale data are not used: their number of decimals differs from ISO 4217 for some currencies. Where a country
groups by a (no-break) space, the figures of a cheque carry no grouping mark at all: a space inside them is a
place where a digit can be written in ("1 234,56" becomes "19234,56"), and a cheque leaves no such place.

>>> grouped(123456789, 2, ",", ".", lakh=True)
'12,34,567.89'
>>> grouped(5, 3, "", ",", lakh=False)
'0,005'
"""


def grouped(minor: int, digits: int, group: str, point: str, *, lakh: bool) -> str:
    """Minor units as figures. `lakh`: groups of two above the thousand, as in India."""
    whole, part = divmod(minor, 10**digits)
    if lakh:
        text = _by_twos(str(whole), group)
    else:
        text = f"{whole:,}".replace(",", group)
    return f"{text}{point}{part:0{digits}d}" if digits else text


def _by_twos(whole: str, group: str) -> str:
    head, tail = whole[:-3], whole[-3:]
    if not head:
        return tail
    start = len(head) % 2
    twos = [head[:start]] if start else []
    twos += [head[place : place + 2] for place in range(start, len(head), 2)]
    return group.join([*twos, tail])
