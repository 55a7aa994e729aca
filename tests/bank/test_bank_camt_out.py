"""camt.107 and camt.108 (version 02) as we write them, held to the metadata of the `python-iso20022` classes.

The classes are generated from the standard's schemas but enforce nothing by themselves: the checker here holds a
parsed message to every length, pattern, number of digits, choice and required part that their metadata carries. It is
itself shown to fail on a message with any one of them broken.
"""

import copy
import dataclasses
import enum
import re
import typing
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from python_iso20022.camt.camt_107_001_02 import Camt10700102
from python_iso20022.camt.camt_108_001_02 import Camt10800102
from xsdata.formats.dataclass.parsers import XmlParser

from cheque.bank import camt107, camt108
from cheque.bank.notice import REASONS, Account, Line, Notice

MAIN = Account("main", "0004-1729 3355", "123456780", "Tidewrack Savings Bank", "Quillmere Boatyard Company", "US")
MADE = datetime(2026, 11, 27, 9, 30, 5, tzinfo=UTC)
LINE = Line("issue", "main", "000501", "2026-11-27", 81240, "USD", "Bryn & Cora <Marlow>")
STOP = LINE._replace(mark="stop", reason="lost", told="in the post", earlier="QB-000001")
CLASSES: dict[Any, Any] = {camt107: Camt10700102, camt108: Camt10800102}


def notice(*lines: Line, account: Account = MAIN) -> Notice:
    return Notice("QB1234AB-000007", MADE, {account.name: account}, lambda: lines)


def parsed(message: Any, told: Notice) -> Any:
    """A message as we write it, read by the class of the standard; it knows every element in it."""
    found = message.look(told)
    assert [str(fault) for fault in found.faults] == []
    return XmlParser().from_bytes(b"".join(message.write(told, found)), CLASSES[message])


# --- the checker


def broken(value: Any, path: str = "") -> Iterator[str]:
    """Everything in a parsed message that its classes' metadata forbids."""
    fields = dataclasses.fields(value)
    if "Choice" in type(value).__name__:
        given = [field.name for field in fields if getattr(value, field.name) not in (None, [])]
        if len(given) != 1:
            yield f"{path}: {len(given)} of a choice"
    for field in fields:
        inner, rules = getattr(value, field.name), field.metadata
        here = f"{path}/{rules.get('name', field.name)}"
        many = inner if isinstance(inner, list) else [] if inner is None else [inner]
        least = rules.get("min_occurs", 1 if rules.get("required") else 0)
        if len(many) < least:
            yield f"{here}: required"
        if isinstance(inner, list) and len(many) > rules.get("max_occurs", 10**9):
            yield f"{here}: too many"
        for one in many:
            if dataclasses.is_dataclass(one):
                yield from broken(one, here)
            else:
                yield from _facets(one, rules, here)


def _facets(value: Any, rules: Any, here: str) -> Iterator[str]:
    text = str(value.value if hasattr(value, "value") else value)
    if len(text) < rules.get("min_length", 0) or len(text) > rules.get("max_length", 10**9):
        yield f"{here}: {len(text)} characters"
    if "pattern" in rules and not re.fullmatch(rules["pattern"], text):
        yield f"{here}: not of its pattern"
    if isinstance(value, Decimal):
        _, digits, exponent = value.as_tuple()
        assert isinstance(exponent, int)
        if max(len(digits), -exponent) > rules.get("total_digits", 10**9):
            yield f"{here}: too many digits"
        if -exponent > rules.get("fraction_digits", 10**9):
            yield f"{here}: too many decimals"
        if "min_inclusive" in rules and value < rules["min_inclusive"]:
            yield f"{here}: too small"


def places(value: Any, path: str = "") -> Iterator[tuple[Any, Any, str]]:
    """Every field of every part that is there: its owner, itself, its path."""
    for field in dataclasses.fields(value):
        here = f"{path}/{field.metadata.get('name', field.name)}"
        yield value, field, here
        inner = getattr(value, field.name)
        for one in inner if isinstance(inner, list) else [inner]:
            if dataclasses.is_dataclass(one):
                yield from places(one, here)


def mutations(owner: Any, field: Any) -> Iterator[Any]:
    """Values that a field's metadata forbids."""
    rules, value = field.metadata, getattr(owner, field.name)
    if rules.get("required") or rules.get("min_occurs"):
        yield [] if isinstance(value, list) else None
    if "Choice" in type(owner).__name__:
        yield None if value is not None else "ABCD"
    if value is None or isinstance(value, list):
        return
    if "max_length" in rules:
        yield "x" * (rules["max_length"] + 1)
        yield ""
    if "pattern" in rules:
        yield "?"
    if "total_digits" in rules:
        yield Decimal("1" * (rules["total_digits"] + 1))
        yield Decimal(f"0.{'1' * (rules['fraction_digits'] + 1)}")
    if "min_inclusive" in rules:
        yield Decimal(-1)


#: a value of each pattern that the classes have
OF_PATTERN = ("1", "ABC", "AB", "AB12", "AAAABBCC", "AB12A", "+1-1", f"{'A' * 18}12")


def sample(field: Any, hint: Any) -> Any:
    """A value that a field's metadata allows, or a part with nothing in it."""
    kinds = [kind for kind in (hint, *typing.get_args(hint)) if isinstance(kind, type) and kind is not type(None)]
    (kind,) = [kind for kind in kinds if typing.get_origin(kind) is None]
    rules = field.metadata
    if dataclasses.is_dataclass(kind):
        return kind()
    if kind is object:  # supplementary data of any kind
        return "x"
    if kind is str:
        least = "x" * rules.get("min_length", 1)
        some = [text for text in (least, *OF_PATTERN) if re.fullmatch(rules.get("pattern", ".*"), text)]
        return some[0]
    if kind is Decimal:
        return Decimal(1)
    if kind is bool:
        return True
    return next(iter(kind)) if issubclass(kind, enum.Enum) else kind.from_string(TIMES[kind.__name__])


TIMES = {"XmlDate": "2026-11-27", "XmlDateTime": "2026-11-27T09:30:00Z"}


def filled(value: Any, pick: int, deep: int = 0) -> Any:
    """A part with every optional field of it given, and of each choice that is open the `pick`th way."""
    fields, hints = dataclasses.fields(value), typing.get_type_hints(type(value))
    if "Choice" in type(value).__name__:
        given = [field for field in fields if getattr(value, field.name) not in (None, [])]
        fields = tuple(given) or (fields[pick % len(fields)],)
    for field in fields:
        inner = getattr(value, field.name)
        if inner in (None, []) and deep < 12:
            made = sample(field, hints[field.name])
            inner = [made] if isinstance(inner, list) else made
            setattr(value, field.name, inner)
        for one in inner if isinstance(inner, list) else [inner]:
            if dataclasses.is_dataclass(one):
                filled(one, pick, deep + 1)
    return value


MESSAGES: list[Callable[[], Any]] = [lambda: parsed(camt107, notice(LINE)), lambda: parsed(camt108, notice(STOP))]


@pytest.mark.parametrize("make", MESSAGES, ids=["camt.107", "camt.108"])
def test_the_checker_fails_on_every_mutation(make: Callable[[], Any]) -> None:
    whole = make()
    assert list(broken(whole)) == []
    tried = 0
    for index, (owner, field, here) in enumerate(list(places(whole))):
        for bad in mutations(owner, field):
            copied = copy.deepcopy(whole)
            victim, same, _ = list(places(copied))[index]
            setattr(victim, same.name, bad)
            assert list(broken(copied)) != [], f"{here} = {bad!r}"
            tried += 1
    assert tried > 25


@pytest.mark.parametrize("pick", range(4))
@pytest.mark.parametrize("make", MESSAGES, ids=["camt.107", "camt.108"])
def test_the_checker_fails_on_every_mutation_of_what_we_do_not_write_too(make: Callable[[], Any], pick: int) -> None:
    """Every optional field given, and then each one broken."""
    whole = filled(make(), pick)
    assert list(broken(whole)) == []
    tried = 0
    for index, (owner, field, here) in enumerate(list(places(whole))):
        for bad in mutations(owner, field):
            copied = copy.deepcopy(whole)
            victim, same, _ = list(places(copied))[index]
            setattr(victim, same.name, bad)
            assert list(broken(copied)) != [], f"{here} = {bad!r}"
            tried += 1
    assert tried > 150


def test_the_checker_knows_every_kind_of_rule_that_the_classes_carry() -> None:
    known = {"name", "type", "namespace", "required", "min_length", "max_length", "pattern", "min_occurs", "max_occurs",
             "total_digits", "fraction_digits", "min_inclusive", "format"}  # fmt: skip
    seen: set[type] = set()

    def rules(of: Any) -> Iterator[str]:
        if of in seen:
            return
        seen.add(of)
        for name, hint in typing.get_type_hints(of).items():
            field = next((f for f in dataclasses.fields(of) if f.name == name), None)
            if field is not None:
                yield from field.metadata
                for part in [hint, *typing.get_args(hint)]:
                    if dataclasses.is_dataclass(part):
                        yield from rules(part)

    assert {rule for message in CLASSES.values() for rule in rules(message)} <= known


# --- what we write


def test_a_notice_of_issue_says_what_was_issued_to_whom_and_on_which_account() -> None:
    found = parsed(camt107, notice(LINE, LINE._replace(number="000502", amount=5))).chq_presntmnt_ntfctn
    head = found.grp_hdr
    assert (head.msg_id, head.nb_of_chqs, head.ctrl_sum) == ("QB1234AB-000007", "2", Decimal("812.45"))
    cheque = found.chq[0]
    assert (cheque.instr_id, cheque.chq_nb, str(cheque.isse_dt)) == ("QB1234AB-000007-000501", "000501", "2026-11-27")
    assert (cheque.amt.value, cheque.amt.ccy, cheque.pyee.nm) == (Decimal("812.40"), "USD", "Bryn & Cora <Marlow>")
    assert cheque.pyer.nm == "Quillmere Boatyard Company"
    assert cheque.pyer_acct.id.othr.id == "000417293355"
    member = cheque.drwr_agt.fin_instn_id.clr_sys_mmb_id
    assert (member.clr_sys_id.cd, member.mmb_id) == ("USABA", "123456780")


def test_a_request_to_stop_says_why_and_refers_to_the_notice_of_issue() -> None:
    cheque = parsed(camt108, notice(STOP)).chq_cxl_or_stop_req.chq[0]
    assert (cheque.orgnl_instr_id, str(cheque.fctv_dt.dt)) == ("QB-000001-000501", "2026-11-27")
    assert (cheque.chq_cxl_or_stop_rsn.rsn.cd, cheque.chq_cxl_or_stop_rsn.addtl_inf) == ("LOST", "in the post")
    assert cheque.drwr_agt_acct.id.othr.id == "000417293355"


@pytest.mark.parametrize("reason", REASONS)
def test_every_reason_has_its_code_and_one_without_a_code_is_told_in_words(reason: str) -> None:
    found = parsed(camt108, notice(STOP._replace(reason=reason, told="so it is"))).chq_cxl_or_stop_req.chq[0]
    assert found.chq_cxl_or_stop_rsn.rsn.cd in ("CUST", "DUPL", "FRAD", "LOST", "NARR")
    if reason in ("stolen", "insolvency"):
        assert found.chq_cxl_or_stop_rsn.addtl_inf == f"{reason}: so it is"


def test_an_iban_is_given_as_one() -> None:
    # the worked example of ISO 13616, as the stdnum library has it in its tests
    account = MAIN._replace(number="GB82 WEST 1234 5698 7654 32", routing="12-34-56", country="GB")
    found = parsed(camt107, notice(LINE, account=account)).chq_presntmnt_ntfctn.chq[0]
    assert found.pyer_acct.id.iban == "GB82WEST12345698765432"
    assert found.drwr_agt.fin_instn_id.clr_sys_mmb_id.clr_sys_id.cd == "GBDSC"
    assert found.drwr_agt.fin_instn_id.clr_sys_mmb_id.mmb_id == "123456"


def test_what_the_message_cannot_carry_is_refused_and_nothing_is_cut() -> None:
    def said(message: Any, told: Notice) -> str:
        return "\n".join(map(str, message.look(told).faults))

    assert "a payee of 141 characters; wanted 1 to 140" in said(camt107, notice(LINE._replace(payee="x" * 141)))
    assert "wanted issue only" in said(camt107, notice(LINE._replace(mark="void")))
    assert "no account_number" in said(camt107, notice(LINE, account=MAIN._replace(number="")))
    assert "no routing" in said(camt107, notice(LINE, account=MAIN._replace(routing="")))
    assert "the reason in words" in said(camt108, notice(STOP._replace(reason="other", told="")))
    assert "141 characters told; wanted at most 140" in said(camt108, notice(STOP._replace(told="x" * 141)))
    two = Notice("QB", MADE, {"main": MAIN, "petty": MAIN}, lambda: [LINE])
    assert "2 accounts" in said(camt107, two)


NAMES = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=140)
AMOUNTS = st.integers(1, 10**18 - 1)


@settings(deadline=None, max_examples=40)
@given(
    lines=st.lists(
        st.tuples(
            st.integers(1, 10**18 - 1).map(str),
            st.dates(),
            AMOUNTS,
            NAMES,
            st.sampled_from(["USD", "JPY", "KWD", "CLF"]),
        ),
        min_size=1,
        max_size=6,
    ),
    reason=st.sampled_from(list(REASONS)),
    told=st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=120),
)
def test_whatever_is_on_a_cheque_the_messages_hold_to_every_rule(lines: list[Any], reason: str, told: str) -> None:
    made = [Line("issue", "main", n, str(d), a, c, p) for n, d, a, p, c in lines]
    found = parsed(camt107, notice(*made))
    assert list(broken(found)) == []
    assert [(c.chq_nb, c.pyee.nm) for c in found.chq_presntmnt_ntfctn.chq] == [(m.number, m.payee) for m in made]
    stops = [line._replace(mark="stop", reason=reason, told=told) for line in made]
    assert list(broken(parsed(camt108, notice(*stops)))) == []
