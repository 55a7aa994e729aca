"""Addresses of ISO 20022 messages to lines as a letter has them.

Lines that are given (AdrLine) stand as they are. Parts are put together as the country writes them: number before
street and town before postal code in English-speaking countries, the other way round on the continent (common
practice). The country's code makes a last line when it is not the debtor's own.
"""

from cheque.register.xmlread import Node

_NUMBER_FIRST = frozenset({"US", "GB", "CA", "AU", "NZ", "IE", "IN", "FR", "ZA"})
_STATE_AND_CODE = frozenset({"US", "CA", "AU"})
_PARTS = frozenset(
    {"AdrTp", "Dept", "CareOf", "SubDept", "StrtNm", "BldgNb", "BldgNm", "Flr", "UnitNb", "PstBx", "Room", "PstCd"}
    | {"TwnNm", "TwnLctnNm", "DstrctNm", "CtrySubDvsn", "Ctry", "AdrLine"}
)


def address_lines(node: Node, own_country: str) -> tuple[list[str], str, list[Node]]:
    """The lines of a postal address, the department in it, and elements that are none of an address."""
    parts = {child.name: child.value() for child in node.children if child.name != "AdrLine"}
    country = parts.get("Ctry", "")
    given = [child.value() for child in node.children if child.name == "AdrLine"]
    lines = [parts.get("CareOf", ""), parts.get("SubDept", ""), parts.get("BldgNm", "")]
    lines.append(_joined(" ", *(parts.get(name, "") for name in ("UnitNb", "Flr", "Room"))))
    lines += [_street(parts, country), parts.get("PstBx", ""), *given, *_town(parts, country)]
    if country and country != own_country:
        lines.append(country)
    found = [line for line in lines if line]
    unknown = [child for child in node.children if child.name not in _PARTS]
    return found, parts.get("Dept", ""), unknown


def _joined(between: str, *parts: str) -> str:
    return between.join(part for part in parts if part)


def _street(parts: dict[str, str], country: str) -> str:
    number, street = parts.get("BldgNb", ""), parts.get("StrtNm", "")
    return _joined(" ", number, street) if country in _NUMBER_FIRST else _joined(" ", street, number)


def _town(parts: dict[str, str], country: str) -> list[str]:
    """Town and postal code, after the place within the town."""
    place = _joined(", ", parts.get("TwnLctnNm", ""), parts.get("DstrctNm", ""))
    town, code, region = parts.get("TwnNm", ""), parts.get("PstCd", ""), parts.get("CtrySubDvsn", "")
    if country in _STATE_AND_CODE:
        return [place, _joined(", ", town, _joined(" ", region, code))]
    if country in ("GB", "IE"):
        return [place, town, region, code]
    return [place, _joined(" ", code, town), region]
