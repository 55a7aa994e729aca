"""The readers: what a language writes they read, and nothing else at all."""

import ast
import random
from importlib import import_module
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wording.amounts import LOCALES, WHOLES, number_words, reader

from cheque.wording import styles
from cheque.wording.reading.grammar import descend, folded, numbered, only, sums, union

FORMS = st.sampled_from("mf")


@settings(deadline=None, max_examples=1500)
@given(LOCALES, FORMS, WHOLES)
def test_every_number_reads_back_to_itself(locale: str, form: str, number: int) -> None:
    style = styles.get(locale)
    assert reader(locale)(style.spell(number, form).lower(), form) == number


@pytest.mark.parametrize("locale", styles.LOCALES)
def test_every_small_number_and_every_scale_reads_back(locale: str) -> None:
    style = styles.get(locale)
    read = reader(locale)
    numbers = [
        *range(2_100),
        *(count * 10**size + rest for size in range(3, 12) for count in (1, 2, 9) for rest in (0, 1)),
    ]
    for form in "mf":
        assert [read(style.spell(number, form).lower(), form) for number in numbers] == numbers


@settings(deadline=None, max_examples=2500)
@given(LOCALES, FORMS, st.randoms(use_true_random=False))
def test_a_jumble_of_number_words_is_read_only_when_it_is_how_the_number_is_written(
    locale: str, form: str, draw: random.Random
) -> None:
    style = styles.get(locale)
    words: list[str] = []
    for _ in range(draw.randrange(1, 4)):
        some = number_words(style.spell(draw.randrange(10 ** draw.randrange(1, 13)), form), locale)
        start = draw.randrange(len(some))
        words += some[start : start + draw.randrange(1, 5)]
    text = " ".join("".join(words).split()).lower()
    try:
        number = reader(locale)(text, form)
    except KeyError:
        return
    ways = [style.spell(number, form).lower()]
    if style.brief and (brief := style.brief(number, form)):
        ways.append(brief)
    assert text in ways


@settings(deadline=None, max_examples=400)
@given(LOCALES, FORMS, st.text(max_size=30))
def test_any_other_text_is_refused_and_never_breaks_the_reader(locale: str, form: str, text: str) -> None:
    style = styles.get(locale)
    try:
        number = reader(locale)(text, form)
    except KeyError:
        return
    assert style.spell(number, form) == text


@pytest.mark.parametrize(
    ("locale", "text"),
    [
        ("en_US", "fourty"),  # text2num takes this one
        ("en_US", "one hundred and one"),
        ("en_US", "ten hundred"),
        ("en_US", "twenty hundred"),
        ("en_US", "twelve hundred thousand"),
        ("en_US", "thousand"),
        ("en_US", "a hundred"),
        ("en_US", "one million one million"),
        ("en_US", "one thousand one million"),
        ("en_US", "zero thousand"),
        ("en_US", "one thousand zero"),
        ("en_GB", "one hundred one"),
        ("en_GB", "one thousand and one hundred"),
        ("en_IN", "one hundred thousand"),
        ("en_IN", "one million"),
        ("en_IN", "one hundred lakh"),
        ("fr_FR", "quatre-vingt"),
        ("fr_FR", "quatre-vingts mille"),
        ("fr_FR", "deux cents un"),
        ("fr_FR", "septante"),
        ("fr_FR", "un mille"),
        ("fr_FR", "un millions"),
        ("fr_FR", "vingt un"),
        ("fr_FR", "soixante-onze"),
        ("fr_BE", "soixante-dix"),
        ("fr_BE", "huitante"),
        ("fr_CH", "quatre-vingts"),
        ("de_DE", "eins"),
        ("de_DE", "hundert"),
        ("de_DE", "einhunderteinstausend"),  # num2words writes this one
        ("de_DE", "ein million"),
        ("de_DE", "einhundert tausend"),
        ("de_CH", "dreißig"),
        ("es_ES", "uno"),
        ("es_ES", "veintiuno mil"),
        ("es_ES", "un mil"),
        ("es_ES", "mil millón"),
        ("es_ES", "ciento"),
        ("es_ES", "cien uno"),
        ("it_IT", "centodicotto"),  # num2words writes this one
        ("it_IT", "duemilatre"),
        ("it_IT", "unomila"),
        ("it_IT", "mille mille"),
        ("it_IT", "ventiuno"),
        ("it_IT", "un milioni"),
        ("nl_NL", "eenduizend"),
        ("nl_NL", "duizendtwee"),
        ("nl_NL", "tweeentwintig"),
        ("pl_PL", "jeden tysiąc"),
        ("pl_PL", "dwa tysięcy"),
        ("pl_PL", "pięć tysiące"),
        ("pl_PL", "dwanaście tysiące"),
        ("pt_BR", "um mil"),
        ("pt_BR", "mil duzentos"),
        ("pt_BR", "mil e duzentos e um"),
        ("pt_BR", "um milhões"),
        ("pt_BR", "mil milhões"),
        ("pt_BR", "um milhão um milhão"),
        ("pt_BR", "dois milhões um milhão"),
        ("pt_BR", "dois milhões e um milhão"),
        ("pt_PT", "dois milhões e um milhão"),
        ("pt_PT", "um milhões"),
        ("es_ES", "un millones"),
        ("es_ES", "dos millones un millón"),
        ("pt_PT", "um bilhão"),
        ("pt_PT", "dezesseis"),
    ],
)
def test_what_the_language_does_not_write_is_no_number(locale: str, text: str) -> None:
    with pytest.raises(KeyError):
        reader(locale)(text, "m")


@pytest.mark.parametrize(
    "module", ["dutch", "english", "french", "german", "italian", "polish", "portuguese", "spanish"]
)
def test_speller_and_reader_share_no_code(module: str) -> None:
    for room, other in (("reading", "spelling"), ("spelling", "reading")):
        source = files("cheque.wording").joinpath(room, f"{module}.py").read_text(encoding="utf-8")
        imported = {node.module or "" for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ImportFrom)} | {
            name.name for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Import) for name in node.names
        }
        assert imported <= {f"cheque.wording.{room}", f"cheque.wording.{room}.grammar", "collections.abc", "functools"}
        assert not any(other in name for name in imported)
    functions = vars(import_module(f"cheque.wording.reading.{module}")).values()
    assert not any(getattr(found, "__module__", "").startswith("cheque.wording.spelling") for found in functions)
    assert "num2words" not in files("cheque.wording").joinpath("reading", "grammar.py").read_text(encoding="utf-8")


def test_a_phrase_never_stands_for_two_numbers() -> None:
    with pytest.raises(ValueError, match="'one' would be both 1 and 2"):
        union({"one": 1}, {"one": 2})
    with pytest.raises(ValueError, match="'e' would be both 1 and 2"):
        folded({"e": 1, "é": 2}, lambda text: text.replace("é", "e"))


def test_the_parts_of_a_grammar() -> None:
    assert numbered("one two", 1) == {"one": 1, "two": 2}
    assert sums({"twenty": 20}, "-", {"one": 1, "two": 2}) == {"twenty-one": 21, "twenty-two": 22}
    assert only({"one": 1, "two": 2, "three": 3}, 2, 2) == {"two": 2}
    assert descend(" one", (), {" one": 1}) == 1
    with pytest.raises(KeyError):
        descend("", (), {" one": 1})
