"""Which language is spoken: the translations on disk, and what the person's environment asks for.

A translation is `LANGUAGE/LC_MESSAGES/cheque.mo`, as GNU gettext keeps it, in the package's own folder or in the one
that CHEQUE_TONGUES names (for who makes a translation). What is asked for is `--language`, or else LANGUAGE, LC_ALL,
LC_MESSAGES or LANG, in that order, as everywhere; what there is no translation for is said in English.
"""

import gettext
import os
from pathlib import Path

from cheque import tongue
from cheque.errors import UsageRefused

_ASKED = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")
#: as the process began: what is chosen is put into LANGUAGE for those who ask the environment after us
_ENVIRONMENT = {name: os.environ.get(name, "") for name in _ASKED}
_ENGLISH = ("", "C", "POSIX", "en")


def folder() -> Path:
    """Where the translations are."""
    named = os.environ.get("CHEQUE_TONGUES")
    return Path(named) if named else Path(__file__).with_name("shipped_tongues")


def known() -> list[str]:
    """The languages that can be spoken, English among them."""
    return sorted({"en", *(path.parts[-3] for path in folder().glob("*/LC_MESSAGES/cheque.mo"))})


def asked() -> list[str]:
    """The languages that the environment asks for, the first the best."""
    for name in _ASKED:
        if found := _ENVIRONMENT[name]:
            return [language for language in found.split(":") if language]
    return []


def choose(language: str | None = None) -> str:
    """Speak this language, or the first that the environment asks for and there is; gives the one that is spoken.

    UsageRefused when `language` is none that there is.
    """
    wanted = [language] if language else asked()
    for one in wanted:
        short = one.partition(".")[0].partition("@")[0]
        if short.split("_")[0].split("-")[0] in _ENGLISH:
            break
        if found := gettext.find("cheque", folder(), [short.replace("-", "_")]):
            with open(found, "rb") as file:
                tongue.speak(gettext.GNUTranslations(file), Path(found).parts[-3])
            _tell_click(Path(found).parts[-3])
            return Path(found).parts[-3]
        if language:
            raise UsageRefused(f"found --language {language!a}; wanted one of {', '.join(known())}.")
    tongue.speak(None)
    if gettext.find("cheque", folder()):  # click would speak by the environment; else that is left as it is
        _tell_click("en")
    return "en"


def leave() -> None:
    """Leave the process as it was: English, and the environment as it began."""
    tongue.speak(None)
    gettext.textdomain("messages")
    os.environ.pop("LANGUAGE", None)
    if _ENVIRONMENT["LANGUAGE"]:
        os.environ["LANGUAGE"] = _ENVIRONMENT["LANGUAGE"]


def _tell_click(language: str) -> None:
    """The words of usage and its mistakes are click's own, which asks the standard library for them."""
    gettext.bindtextdomain("cheque", folder())
    gettext.textdomain("cheque")
    os.environ["LANGUAGE"] = language
