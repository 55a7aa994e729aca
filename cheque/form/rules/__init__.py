"""The rules of each country that a cheque form must keep, as data: what each says, where it is from, how it is held.

A rule is judged only when its source was at hand. Where the rule is known from memory, or is habit, or where the law
or the bank decides, the form is held against it all the same and the difference is told, but nothing is refused for
it. Some rules cannot be seen on a form definition at all: those are told, so that somebody asks.

One file a country; `RULES` in it is the list. To add a country, copy a file and name it in `COUNTRIES`; to add a
rule, add it to the list, its source beside it, and a test that breaks it.
"""

from functools import cache
from importlib import import_module
from typing import NamedTuple

from cheque.errors import Fault
from cheque.form.model import Form
from cheque.form.rules.rule import Basis, Finding, Outcome, Rule
from cheque.payment import Role
from cheque.tongue import tr

__all__ = ["COUNTRIES", "Basis", "Finding", "Outcome", "Rule", "Verdict", "broken", "judge", "rules_of"]

#: country, as a form names it -> the module of its rules
COUNTRIES = {
    "US": "united_states",
    "CA": "canada",
    "GB": "britain",
    "IE": "ireland",
    "IN": "india",
    "FR": "france",
    "DE": "germany",
}


class Verdict(NamedTuple):
    """One rule held against one form. `off` is by how much it is broken, in units; 0 when that is no length."""

    rule: Rule
    outcome: Outcome
    found: str
    off: int = 0


@cache
def rules_of(country: str) -> tuple[Rule, ...]:
    """The rules of a country, by its two letters in any case. KeyError when there are none."""
    found: tuple[Rule, ...] = import_module(f"{__name__}.{COUNTRIES[country.upper()]}").RULES
    return found


def judge(form: Form, country: str = "") -> tuple[Verdict, ...]:
    """Every rule of a country (the form's own, if none is named) held against the form; KeyError as `rules_of`.

    A form that is no cheque has no cheque to judge, and no verdicts.
    """
    if Role.CHEQUE not in form.roles or form.cheque is None:
        return ()
    return tuple(_verdict(form, rule) for rule in rules_of(country or form.country))


def _verdict(form: Form, rule: Rule) -> Verdict:
    if rule.test is None:
        return Verdict(rule, Outcome.ASK, "")
    finding = rule.test(form)
    if finding.kept is None:
        return Verdict(rule, Outcome.NOTHING, tr(finding.found))
    if finding.kept:
        return Verdict(rule, Outcome.KEPT, finding.found)
    if rule.name in form.set_aside:
        return Verdict(rule, Outcome.SET_ASIDE, finding.found, finding.off)
    outcome = Outcome.BROKEN if rule.basis is Basis.PUBLISHED else Outcome.DOUBTFUL
    return Verdict(rule, outcome, finding.found, finding.off)


def broken(form: Form) -> list[Fault]:
    """A fault for each rule of the form's own country that it breaks, and for each set aside that is no rule."""
    if form.country not in COUNTRIES:
        wanted = tr("nothing: there are no rules of {country}", country=form.country)
        return [
            Fault(tr("form {name}, set_aside", name=form.name), repr(name), wanted, tr("take it out"))
            for name in form.set_aside
        ]
    faults = [
        Fault(
            tr("form {name}, rule {name2} of {country}", name=form.name, name2=verdict.rule.name, country=form.country),
            verdict.found,
            tr(verdict.rule.says),
            tr(
                "change it, or, if your bank agrees in writing, say set_aside = [{name!r}]", name=verdict.rule.name
            ).replace("'", '"'),
        )
        for verdict in judge(form)
        if verdict.outcome is Outcome.BROKEN
    ]
    known = [rule.name for rule in rules_of(form.country)]
    faults += [
        Fault(
            tr("form {name}, set_aside", name=form.name),
            repr(name),
            tr("a rule of {country}: {known}", country=form.country, known=", ".join(known)),
        )
        for name in form.set_aside
        if name not in known
    ]
    return faults
