"""`[printers.NAME]`: a printer, read from the settings and held to what its keys may be."""

from pathlib import Path

from cheque import units
from cheque.settings_shapes import MOST_AT_ONCE, MOST_TO_A_FILE, SPEED, TO_A_FILE, WIDTH, PrinterSettings, within
from cheque.tomlfile import Checker
from cheque.tongue import tr


def take_printer(name: str, table: Checker, folder: Path) -> PrinterSettings:
    from cheque import language as languages

    language = table.take("language", str, "escp9", required=True, choices=languages.NAMES)
    address = table.take("address", str, "", required=True, convert=lambda v: _address(v, folder))
    default = {"plain": "1/6 in", "escp24": "1/180 in"}.get(language, "1/216 in")
    step = table.take("step", str, _step(default), convert=_step, wanted=tr('a length such as "1/72 in"'))
    characters = table.take("table", str, "cp437", choices=_tables())
    parts = table.take("parts", int, 4, convert=within(1, 12), wanted=tr("how many parts, 1 to 12"))
    speed = table.take("speed", int, SPEED, convert=within(1, 5000), wanted=tr("characters a second, 1 to 5000"))
    file = address.startswith("file:")
    most = MOST_TO_A_FILE if file else MOST_AT_ONCE
    usual = TO_A_FILE if file else 1
    window = table.take("window", int, usual, convert=within(1, most), wanted=tr("forms, 1 to {most}", most=most))
    width = table.take("width", str, units.read_length(WIDTH), convert=_width, wanted=tr('a length such as "8 in"'))
    stall = table.take("stall_seconds", int, None, convert=within(5, 3600), wanted=tr("seconds, 5 to 3600"))
    without = table.take("without", list, [], wanted=tr("a list of abilities the model lacks"))
    known = languages.get(language).abilities
    for lacking in without:
        if not isinstance(lacking, str) or lacking not in known:
            table.fault(
                "without",
                repr(lacking),
                tr("abilities of {language}: {known}", language=language, known=", ".join(known)),
            )
    vouched = table.take("vouched", list, [], wanted=tr("a list of what somebody has seen the printer do"))
    for seen in vouched:
        if not isinstance(seen, str) or seen not in languages.VOUCHABLE:
            table.fault("vouched", repr(seen), tr("a list of {vouchable}", vouchable=", ".join(languages.VOUCHABLE)))
    table.finish()
    told = (frozenset(map(str, without)), width, stall, frozenset(map(str, vouched)))
    return PrinterSettings(name, language, address, step, characters, parts, speed, window, *told)


def _step(text: str) -> int:
    step = _length(text)
    if step <= 0 or units.INCH % step:
        raise ValueError(tr("{text!r}, which is not a whole part of an inch", text=text))
    return step


def _length(text: str) -> int:
    try:
        return units.read_length(text)
    except ValueError as error:
        if "whole number of units" in str(error):
            raise ValueError(tr("{text!r}, which is finer than any printer's step", text=text)) from None
        raise


def _width(text: str) -> int:
    width = _length(text)
    if not units.INCH <= width <= 24 * units.INCH:
        raise ValueError(tr("{text!r}, which is no carriage's: 1 in to 24 in", text=text))
    return width


def _tables() -> tuple[str, ...]:
    from cheque.language.tables import TABLES

    return tuple(TABLES)


def _address(text: str, folder: Path) -> str:
    from cheque import device

    try:
        wrong = device.kind_of(text).check(text)
    except KeyError:
        from cheque import system

        if system.begins_with_drive(text):
            raise ValueError(
                tr("{text!r}, a path; to print to a file it begins with file: (file:{text})", text=text)
            ) from None
        raise ValueError(
            tr(
                "{text!r}; it begins with none of {list}",
                text=text,
                list=", ".join(f"{kind}:" for kind in device.KINDS),
            )
        ) from None
    if wrong:
        raise ValueError(wrong)
    if text.startswith("file:"):
        return f"file:{folder / text.removeprefix('file:')}"
    return text
