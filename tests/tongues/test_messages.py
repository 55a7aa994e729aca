"""Messages and translations: what is collected is what stands in the code, and what a translation must keep is kept."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from cheque import tongue, tongues
from cheque.cli import status_of

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def collected() -> ModuleType:
    """docs/messages.py."""
    spec = importlib.util.spec_from_file_location("messages", ROOT / "docs" / "messages.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules["messages"] = module
    spec.loader.exec_module(module)
    return module


def test_what_is_collected_and_compiled_is_what_stands_in_the_code(collected: ModuleType) -> None:
    differs = [str(path) for path, data in collected.files().items() if not path.exists() or path.read_bytes() != data]
    assert not differs, f"python docs/messages.py brings these up to date: {differs}"


def test_a_message_is_said_as_it_stands_and_its_places_are_filled() -> None:
    assert tongue.tr("{count} of {total} sent", count=3, total=24) == "3 of 24 sent"
    assert tongue.tr("{when} = [{…}]") == "{when} = [{…}]"
    assert tongue.tr("") == ""


def test_a_language_that_is_not_there_is_refused_by_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert status_of(["--language", "tlh", "stock", "list"]) == 2
    assert "'tlh'" in capsys.readouterr().err


def test_english_is_spoken_within_a_block_and_the_other_language_after_it() -> None:
    class Loud:
        def gettext(self, message: str) -> str:
            return message.upper()

        def ngettext(self, one: str, many: str, number: int) -> str:
            return many

    tongue.speak(Loud())
    try:
        assert tongue.tr("load paper") == "LOAD PAPER"
        with tongue.english():
            assert tongue.tr("load paper") == "load paper"
        assert tongue.tr("load paper") == "LOAD PAPER"
    finally:
        tongue.speak(None)


def test_the_environment_is_asked_in_the_order_of_every_other_program(monkeypatch: pytest.MonkeyPatch) -> None:
    names = {"LANGUAGE": "", "LC_ALL": "", "LC_MESSAGES": "fr_FR.UTF-8", "LANG": "de_DE.UTF-8"}
    monkeypatch.setattr(tongues, "_ENVIRONMENT", names)
    assert tongues.asked() == ["fr_FR.UTF-8"]
    monkeypatch.setattr(tongues, "_ENVIRONMENT", names | {"LANGUAGE": "fr_CA:fr"})
    assert tongues.asked() == ["fr_CA", "fr"]


def test_every_message_is_said_in_every_language_with_its_places_commands_and_options(collected: ModuleType) -> None:
    assert collected.languages() == ["fr"]
    for language in collected.languages():
        assert list(collected.faults(collected.sources(language))) == []


def test_a_translation_that_loses_a_place_a_command_or_a_line_end_is_found(collected: ModuleType) -> None:
    def wrong(told: str) -> list[str]:
        catalog = collected.Catalog(locale="fr")
        catalog.add("`cheque proof` of batch {batch}\n", told)
        return list(collected.faults({"book": catalog}))

    for told in (
        "lot {batch}\n",
        "`cheque proof` du lot\n",
        "`cheque proof` du lot {batch}",
        "`cheque proof` du\xa0lot {batch}\n",
        "",
    ):
        assert wrong(told), told
    assert wrong("du lot {batch}, `cheque proof`\n") == []
