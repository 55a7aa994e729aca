"""One language of num2words is imported by itself, and spells as the whole package does."""

import pytest
from num2words import num2words

from cheque.wording import spelling

LANGUAGES = ("de", "en", "es", "fr", "fr_CH", "it", "nl", "pl", "pt", "pt_BR")


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_by_itself_spells_as_the_package_does(language: str) -> None:
    assert "lambda" not in spelling._cardinal(language).__qualname__
    for number in range(1000):
        assert spelling.group(language, number) == num2words(number, lang=language).replace(",", "")


def test_a_language_that_cannot_be_found_alone_is_taken_from_the_package(monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr(spelling, "import_module", lost)
    spelling._cardinal.cache_clear()
    try:
        assert spelling._cardinal("en")(21) == "twenty-one"
    finally:
        spelling._cardinal.cache_clear()
