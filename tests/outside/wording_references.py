"""Two references for whole numbers in words, and every rule by which ours differ from them.

References: num2words 0.5.14, whole numbers, and ICU (PyICU), spell-out rule sets by gender. Our words must be the
reference's, letter by letter, or become so by rules that are written down here, each with its authority. A
rule says what the reference does otherwise; it is a change of text and cannot hide a wrong number, because no
rule puts in or takes out a word that counts, but for the connective *e* of Portuguese.
"""

import random
import re
from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from typing import NamedTuple

import icu
from num2words import num2words

from cheque.wording import styles

Fix = Callable[[str], str]


class Rule(NamedTuple):
    """What a reference does otherwise, whose word decides, and the change that makes the texts the same."""

    name: str
    authority: str
    fix: Fix
    both: bool = False


class Reference(NamedTuple):
    """One reference for one locale: which form it spells, up to where, and the rules by which ours differ."""

    name: str
    spell: Callable[[int], str]
    form: str
    rules: tuple[Rule, ...] = ()
    below: int = 10**12


def _sub(pattern: str, other: str) -> Fix:
    return partial(re.compile(pattern).sub, other)


COMMAS = Rule("commas between orders", "common practice: a cheque has none", _sub(",", ""))
NO_AND = Rule("an inner *and*", "common practice: *and* stands before the cents only", _sub(" and ", " "))
AND_1990 = Rule(
    "-et- with hyphens (spelling of 1990)", "both right: Académie française; ours traditional", _sub("-et-", " et ")
)
NOUN_PLURAL = Rule(
    "no s on vingt, cent before millions",
    "Académie française, *vingt*, *cent*: millions is a noun",
    _sub(r"\b(quatre-vingt|(?:deux|trois|quatre|cinq|six|sept|huit|neuf) cent)(?= milli(?:on|ard))", r"\1s"),
)
CENTS = Rule(
    "cents before another number",
    "Académie française, *cent*: no s when a number follows",
    _sub(r"\bcents(?= (?!milli(?:on|ard)))", "cent"),
)
ONE_MILLION = Rule(
    "un millions, un milliards",
    "grammar: one takes the singular",
    _sub(r"(?:(?<=^un)|(?<=milliards un)) (million|milliard)s\b", r" \1"),
)
BELGIAN_EIGHTY = Rule(
    "quatre-vingt et un",
    "Grevisse, Le Bon Usage: no *et* after quatre-vingt",
    _sub(r"quatre-vingt et un\b", "quatre-vingt-un"),
)
BELGIAN_EIGHTY_ICU = Rule(
    "quatre-vingt un without hyphen, quatre-vingts mille",
    "Grevisse, Le Bon Usage: hyphens below a hundred; mille is no noun",
    lambda words: re.sub(
        r"quatre-vingt (?=un|deux|trois|quatre|cinq|six|sept|huit|neuf)", "quatre-vingt-", words
    ).replace("quatre-vingts mille", "quatre-vingt mille"),
)
EIGHTY_PLURAL = Rule(
    "quatre-vingt without s at the end or before a noun",
    "Académie française, *vingt*: s when multiplied and nothing of the number follows",
    _sub(r"quatre-vingt(?=$| milli(?:on|ard))", "quatre-vingts"),
)
EINS = Rule(
    "eins within the number or before a noun",
    "Duden, Grammatik: ein before tausend and a masculine noun, eine before Million",
    lambda words: re.sub(r"eins(?=tausend|$)", "ein", re.sub(r"eins(?= Milli)", "eine", words)),
)
SHARP_S = Rule("ß", "Bundeskanzlei: ss in Switzerland", _sub("ß", "ss"))
UNO = Rule(
    "uno in full before a noun, mil, millones",
    "Real Academia Española, DPD, *uno* 2.2",
    lambda words: re.sub(r"\buno\b(?=$| mil)", "un", re.sub(r"veintiuno(?=$| mil)", "veintiún", words)),
)
ES_FEMININE = Rule(
    "masculine hundreds before mil and a feminine noun",
    "Real Academia Española, DPD, *cardinales*: they agree across mil, not across millones",
    _sub(r"(\w+cient|quinient)os(?=(?: (?!mil)\w+)* mil\b)(?!.* mill)", r"\1as"),
)
DICOTTO = Rule("-dicotto for -diciotto", "no Italian word; Treccani, *diciotto*", _sub("dicotto", "diciotto"))
TRE = Rule("tre without accent at the end of a compound", "Treccani, *tre*", _sub(r"(?<=\w)tre(?= |$)", "tré"))
IT_AND = Rule(
    "*e* after milioni, miliardi", "both in use; ours as in ICU", _sub(r"(?<=mil)(ion|iard)([eio]) e ", r"\1\2 ")
)
IT_UN = Rule(
    "uno cut short before mila, milioni",
    "both in use; ours in full, as num2words",
    lambda words: re.sub(r"(?<=[a-z])un(?=mila)", "uno", re.sub(r"(?<=[a-z])un(?= mili)", "uno", words)),
)
PT_E = Rule(
    "another choice of *e* between orders",
    "Cunha e Cintra, Nova gramática: before the last group only, below a hundred or whole hundreds",
    _sub(r"\b(mil|milhão|milhões|bilhão|bilhões) e ", r"\1 "),
    both=True,
)
PT_ONE = Rule("um before mil", "grammar: mil takes no um; num2words has none", _sub(r"^um mil\b", "mil"))
PT_TWICE = Rule(
    "milhões twice (mil milhões dez milhões)",
    "one noun for one count, as num2words: mil e dez milhões; common practice",
    _sub(r"mil milhões (?=.*milh)(.*?)milh(?:ões|ão)", r"mil \1milhões"),
)
IT_INSIDE = Rule("accent within a word (-trémila)", "Treccani, *tre*: at the end only", _sub(r"tré(?=\w)", "tre"))
PL_ONE = Rule(
    "jedna after miliard", "one rule for every compound, as ICU itself after milion", _sub("(?<= )jedna$", "jeden")
)
NL_SPACE = Rule("no space after duizend", "Nederlandse Taalunie, Taaladvies", _sub(r"duizend(?=\w)", "duizend "))
NL_ONE = Rule("één within the number", "Nederlandse Taalunie: accents only for stress", _sub("é", "e"))

FR_ICU = (AND_1990, NOUN_PLURAL)
FR_LOCAL = (CENTS, ONE_MILLION, BELGIAN_EIGHTY, EIGHTY_PLURAL)


def _num2words(language: str, number: int) -> str:
    return str(num2words(number, lang=language))


def _icu(locale: str, rule_set: str) -> Callable[[int], str]:
    spell = icu.RuleBasedNumberFormat(icu.URBNFRuleSetTag.SPELLOUT, icu.Locale(locale))
    spell.setDefaultRuleSet(f"%spellout-{rule_set}")
    return lambda number: str(spell.format(number)).replace("\u00ad", "")


def _n2w(language: str, *rules: Rule, below: int = 10**12) -> Reference:
    return Reference(f"num2words {language}", partial(_num2words, language), "m", rules, below)


def _by_icu(locale: str, rule_set: str, *rules: Rule, form: str = "m") -> Reference:
    return Reference(f"ICU {locale} {rule_set}", _icu(locale, rule_set), form, rules)


MASCULINE, FEMININE = "cardinal-masculine", "cardinal-feminine"


def references(locale: str) -> list[Reference]:
    """The references of one locale. Where ICU spells a feminine form that our style uses, that as well."""
    return {
        "de_CH": lambda: [
            _n2w("de", EINS, SHARP_S),
            _by_icu("de", MASCULINE, SHARP_S),
            _by_icu("de_CH", MASCULINE),
            _by_icu("de", FEMININE, SHARP_S, form="f"),
        ],
        "de_DE": lambda: [_n2w("de", EINS), _by_icu("de", MASCULINE), _by_icu("de", FEMININE, form="f")],
        "en_CA": lambda: [_n2w("en", COMMAS, NO_AND), _by_icu("en_CA", "cardinal")],
        "en_GB": lambda: [_n2w("en_GB", COMMAS), _by_icu("en_GB", "cardinal-verbose", COMMAS)],
        "en_IN": lambda: [_n2w("en_IN", COMMAS, NO_AND, below=10**10), _by_icu("en_IN", "cardinal")],
        "en_US": lambda: [_n2w("en", COMMAS, NO_AND), _by_icu("en_US", "cardinal")],
        "es_ES": lambda: _spanish("es"),
        "es_MX": lambda: _spanish("es_MX"),
        "fr_BE": lambda: [
            _n2w("fr_BE", *FR_LOCAL),
            _by_icu("fr_BE", MASCULINE, *FR_ICU, BELGIAN_EIGHTY_ICU),
            _by_icu("fr_BE", FEMININE, *FR_ICU, BELGIAN_EIGHTY_ICU, form="f"),
        ],
        "fr_CA": lambda: _french("fr_CA"),
        "fr_CH": lambda: [
            _n2w("fr_CH", *FR_LOCAL),
            _by_icu("fr_CH", MASCULINE, *FR_ICU),
            _by_icu("fr_CH", FEMININE, *FR_ICU, form="f"),
        ],
        "fr_FR": lambda: _french("fr_FR"),
        "it_IT": lambda: [_n2w("it", COMMAS, DICOTTO, IT_AND, TRE), _by_icu("it", "numbering", IT_UN, TRE, IT_INSIDE)],
        "nl_NL": lambda: [_n2w("nl", NL_ONE, NL_SPACE), _by_icu("nl", "cardinal", NL_SPACE)],
        "pl_PL": lambda: [_n2w("pl"), _by_icu("pl", MASCULINE), _by_icu("pl", FEMININE, PL_ONE, form="f")],
        "pt_BR": lambda: [
            _n2w("pt_BR", COMMAS, PT_E),
            _by_icu("pt_BR", MASCULINE, PT_E),
            _by_icu("pt_BR", FEMININE, PT_E, form="f"),
        ],
        "pt_PT": lambda: [
            _n2w("pt", PT_E),
            _by_icu("pt_PT", MASCULINE, PT_ONE, PT_TWICE, PT_E),
            _by_icu("pt_PT", FEMININE, PT_ONE, PT_TWICE, PT_E, form="f"),
        ],
    }[locale]()


def _french(locale: str) -> list[Reference]:
    return [
        _n2w("fr"),
        _by_icu(locale, MASCULINE, *FR_ICU),
        _by_icu(locale, FEMININE, *FR_ICU, form="f"),
    ]


def _spanish(locale: str) -> list[Reference]:
    return [_n2w("es", UNO), _by_icu(locale, MASCULINE), _by_icu(locale, FEMININE, ES_FEMININE, form="f")]


class Comparison(NamedTuple):
    """How many numbers were compared, how many are the same at once, by which rules, and what is unexplained."""

    compared: int
    same: int
    by_rule: Counter[str]
    unexplained: list[tuple[int, str, str]]


def compare(locale: str, reference: Reference, numbers: list[int]) -> Comparison:
    """Our words against the reference's, number by number; a number may need several rules."""
    ours = styles.get(locale).spell
    same, compared = 0, 0
    by_rule: Counter[str] = Counter()
    unexplained = []
    for number in numbers:
        if number >= reference.below:
            continue
        compared += 1
        mine, theirs = ours(number, reference.form), reference.spell(number)
        if mine == theirs:
            same += 1
            continue
        found = theirs
        for rule in reference.rules:
            fixed = rule.fix(found)
            if fixed != found or (rule.both and rule.fix(mine) != mine):
                by_rule[rule.name] += 1
            found = fixed
            if rule.both:
                mine = rule.fix(mine)
            if mine == found:
                break
        if mine != found:
            unexplained.append((number, mine, found))
    return Comparison(compared, same, by_rule, unexplained)


def structure() -> Iterator[int]:
    """Numbers in which a rule of joining shows: every group alone at every scale, and next to a small one."""
    yield from range(1_200)
    for scale in (10**3, 10**5, 10**6, 10**7, 10**9):
        for count in (*range(1, 131), *range(180, 205), *range(300, 1000, 100), 999):
            if count * scale < 10**12:
                yield count * scale
        for rest in (1, 2, 3, 8, 18, 21, 80, 81, 99, 100, 101, 118, 200, 203, 999, 1000, 1001, 2000, 21_000, 80_000):
            for count in (1, 2, 3, 21, 80, 100, 101, 200, 999):
                if rest < scale and count * scale + rest < 10**12:
                    yield count * scale + rest
    yield from (10**12 - 1, 10**11 - 1, 10**9 - 1, 10**6 - 1, 631_536)


def sample(count: int, seed: int) -> list[int]:
    """Numbers from 100,000 to 10^12, every magnitude alike, drawn from a seed."""
    draw = random.Random(seed)
    return [draw.randrange(10**size, 10 ** (size + 1)) for size in draw.choices(range(5, 12), k=count)]
