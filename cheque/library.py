"""The forms at hand: those shipped with the tool, and those a firm keeps in a folder of its own.

The one impure part of form definitions: it finds and reads the files, `cheque.form` judges what is in them.
A form is asked for by its name, which is its file's name without `.toml`, or by the path of its file. A form
of one's own goes before a shipped one of the same name.
"""

import difflib
import os
import tomllib
from pathlib import Path
from typing import NamedTuple

from cheque.errors import Fault, InputRefused
from cheque.form import Form
from cheque.form import load as read_form
from cheque.form.check import check
from cheque.form.rules import broken
from cheque.tongue import tr

#: no form definition is longer; what is longer is some other file
_LONGEST = 1_000_000


class Entry(NamedTuple):
    """One form at hand: its name, its file, and whether it is the firm's own."""

    name: str
    path: Path
    own: bool


def shipped() -> Path:
    """The folder of shipped forms: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent
    installed = package / "shipped_forms"
    return installed if installed.is_dir() else package.parent / "forms"


def entries(own: Path | None = None) -> list[Entry]:
    """Every form at hand, by name. A shipped form whose name the firm's own folder has too is left out."""
    found = {entry.name: entry for entry in _in(shipped(), own=False)}
    if own is not None:
        found |= {entry.name: entry for entry in _in(own, own=True)}
    return sorted(found.values())


def _in(folder: Path, *, own: bool) -> list[Entry]:
    if not folder.is_dir():
        return []
    return [Entry(path.stem, path, own) for path in folder.glob("*.toml") if path.is_file()]


def find(name: str, own: Path | None = None) -> Path:
    """The file of a form, by name or by path. InputRefused, naming what is near, when there is none."""
    if name.endswith(".toml") or os.sep in name or (os.altsep and os.altsep in name):
        path = Path(name)
        if path.is_file():
            return path
        meant = tr("; did you mean {name}.toml?", name=name) if Path(f"{name}.toml").is_file() else "."
        raise InputRefused(tr("there is no form definition at {name}{meant}", name=name, meant=meant))
    at_hand = {entry.name: entry.path for entry in entries(own)}
    if name in at_hand:
        return at_hand[name]
    near = difflib.get_close_matches(name, at_hand, 1)
    known = (
        tr("did you mean {near}?", near=near[0])
        if near
        else tr("there are {at_hand}.", at_hand=", ".join(at_hand) or tr("none"))
    )
    raise InputRefused(
        tr("there is no form {name!r}; {known} `cheque form list` shows them all.", name=name, known=known)
    )


def read(name: str, own: Path | None = None) -> Form:
    """A form as its file defines it, whether or not it can be put to use.

    Raises InputRefused with every fault of the text, and when a form in a library has another name than its file.
    """
    path = find(name, own)
    try:
        with path.open("rb") as file:
            data = file.read(_LONGEST + 1)
        if len(data) > _LONGEST:
            raise InputRefused(tr("{path} is longer than any form definition.", path=path))
        text = data.decode("utf-8-sig")
    except OSError as error:
        raise InputRefused(tr("{path} cannot be read: {strerror}.", path=path, strerror=error.strerror)) from None
    except UnicodeDecodeError as error:
        raise InputRefused(
            tr(
                "{path} is not UTF-8 text: byte {start} is {data:02X}.",
                path=path,
                start=error.start,
                data=data[error.start],
            )
        ) from None
    form = read_form(text, str(path))
    if form.name != path.stem:
        fault = Fault(
            tr("{path}, name", path=path),
            repr(form.name),
            tr("{stem!r}, as the file is called", stem=path.stem),
            tr("rename the one or the other"),
        )
        raise InputRefused(tr("{path} is not called as its form is.", path=path), [fault])
    return form


def load(name: str, own: Path | None = None) -> Form:
    """A form that can be put to use. InputRefused with everything wrong with its text or its paper.

    A form that breaks a published rule of its country is refused too, unless it says that the bank agreed.
    """
    form = read(name, own)
    faults = check(form) + broken(form)
    if faults:
        raise InputRefused(
            tr("form {name} cannot be used as it is: `cheque form check` tells more.", name=form.name), faults
        )
    return form


def shipped_layouts() -> dict[str, tuple[Path, str]]:
    """The example layouts of notices to the bank: by name, the file and what its first lines say of it."""
    package = Path(__file__).resolve().parent
    installed = package / "shipped_layouts"
    folder = installed if installed.is_dir() else package.parent / "layouts"
    found = {}
    for path in sorted(folder.glob("*.toml")):
        told = tomllib.loads(path.read_text("utf-8")).get("told", "")
        found[path.stem] = (path, str(told))
    return found
