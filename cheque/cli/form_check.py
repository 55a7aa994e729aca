"""`cheque form check`: what is wrong with a form as paper, the rules of its country, who sees what, who can feed it."""

import click

from cheque import library
from cheque.cli.desk import answer, answer_json, columns, json_option, say
from cheque.cli.form import own_forms
from cheque.cli.form_matrix import matrix_json, matrix_text
from cheque.errors import UsageRefused
from cheque.form import Form
from cheque.form.advise import warnings
from cheque.form.check import check as faults_of
from cheque.form.feeding import feeding
from cheque.form.rules import COUNTRIES, Outcome, Verdict, broken, judge
from cheque.form.slack import max_shift
from cheque.tongue import counted, tr
from cheque.units import write_about, write_length

_SIDES = ("left", "right", "up", "down")
#: told without being asked; every rule is told with --rules
_TOLD = frozenset({Outcome.BROKEN, Outcome.DOUBTFUL, Outcome.SET_ASIDE})


@click.command("check")
@click.argument("form")
@click.option(
    "--rules", metavar="COUNTRY", help="List each rule of a country (us, ca, gb, ie, in, fr, de), kept or not."
)
@json_option
@click.pass_context
def check_form(ctx: click.Context, form: str, rules: str | None, as_json: bool) -> None:
    """What is wrong with FORM (a name, or a file), and what is worth knowing about it.

    Faults of its paper, the rules of its country, how far its print may shift, who sees what on which part, and which
    printer languages can feed it. A rule is judged when its source was at hand; otherwise it is told, and refuses
    nothing. Ends with 1 when the form cannot be put to use.
    """
    found = library.read(form, own_forms())
    verdicts = _judged(found, rules)
    faults = [*faults_of(found), *broken(found)]
    elsewhere = [v for v in verdicts if v.outcome is Outcome.BROKEN] if rules and rules.upper() != found.country else []
    if as_json:
        answer_json(_told(found, [str(fault) for fault in faults], verdicts))
    else:
        _say(found, verdicts, whole=rules is not None, country=(rules or found.country).upper())
        for text in warnings(found):
            say(tr("  warning: {text}.", text=text))
        for fault in faults:
            answer(tr("  fault: {fault}", fault=fault))
        say(_verdict(found, len(faults), len(elsewhere), (rules or "").upper()))
    if faults or elsewhere:
        ctx.exit(1)


def _judged(form: Form, rules: str | None) -> tuple[Verdict, ...]:
    """The verdicts on a country's rules; none for a country that has none here, unless it was asked for."""
    country = (rules or form.country).upper()
    if country not in COUNTRIES:
        if rules:
            raise UsageRefused(
                tr("found --rules {rules}; wanted one of {lower}.", rules=rules, lower=", ".join(COUNTRIES).lower())
            )
        return ()
    return judge(form, country)


def _say(form: Form, verdicts: tuple[Verdict, ...], *, whole: bool, country: str) -> None:
    shift = max_shift(form)
    answer(f"{form.name}: {form.title}")
    answer(
        tr("The print may shift ")
        + ", ".join(f"{write_about(getattr(shift, side))} {tr(side)}" for side in _SIDES)
        + "."
    )
    answer()
    answer(tr("Fed {write_length} a form:", write_length=write_length(form.paper.length)))
    answer(_feeding(form))
    answer()
    answer(matrix_text(form))
    answer()
    if verdicts:
        counts = {o: sum(v.outcome is o for v in verdicts) for o in Outcome}
        said = ", ".join(outcome.said(number) for outcome, number in counts.items() if number)
        answer(
            tr("Rules of {country}: {said}.", country=country, said=said)
            + ("" if whole else tr(" `--rules {lower}` lists each.", lower=country.lower()))
        )
        for verdict in verdicts:
            if whole or verdict.outcome in _TOLD:
                answer(_line(verdict, whole=whole))
    elif form.cheque is None:
        answer(tr("It is no cheque, so the rules of cheques say nothing of it."))
    else:
        answer(tr("There are no rules of {country} here: ask the bank for its own.", country=form.country))


def _line(verdict: Verdict, *, whole: bool) -> str:
    rule = verdict.rule
    by = tr(", by {write_about}", write_about=write_about(verdict.off)) if verdict.off else ""
    first = f"  {verdict.outcome.said():<10}{rule.name}: {verdict.found or tr(rule.says)}{by}"
    if not whole and verdict.outcome is Outcome.KEPT:
        return first
    says = f"{tr(rule.says)}. " if verdict.found else ""
    source = rule.sourced()
    return f"{first}\n            {says}{source[0].upper()}{source[1:]}."


def _feeding(form: Form) -> str:
    table = [["language", "step", tr("length is"), tr("rounded, half a line out after"), tr("can print it")]]
    table += [
        [
            row.language,
            write_length(row.step),
            "exact" if row.exact else tr("{write_length} off", write_length=write_length(row.error)),
            "never" if row.last_good is None else tr("{last_good} forms", last_good=row.last_good + 1),
            "yes" if row.straight else "no",
        ]
        for row in feeding(form)
    ]
    return columns(table)


def _verdict(form: Form, faults: int, elsewhere: int, country: str) -> str:
    if faults:
        return tr("{name} has {faults} and cannot be put to use.", name=form.name, faults=counted(faults, "fault"))
    if elsewhere:
        return tr(
            "{name} breaks {rules} of {country}; as a form of {country2} it can be used.",
            name=form.name,
            rules=counted(elsewhere, "rule"),
            country=country,
            country2=form.country,
        )
    return tr("{name} can be put to use.", name=form.name)


def _told(form: Form, faults: list[str], verdicts: tuple[Verdict, ...]) -> dict[str, object]:
    shift = max_shift(form)
    return {
        "form": form.name,
        "faults": faults,
        "warnings": warnings(form),
        "shift": {side: write_length(getattr(shift, side)) for side in _SIDES},
        "feeding": [
            {"language": row.language, "step": write_length(row.step), "straight": row.straight}
            for row in feeding(form)
        ],
        "parts": matrix_json(form),
        "rules": [
            {
                "rule": verdict.rule.name,
                "says": verdict.rule.says,
                "outcome": str(verdict.outcome),
                "found": verdict.found,
                "off": write_length(verdict.off) if verdict.off else "",
                "source": verdict.rule.source,
                "basis": str(verdict.rule.basis),
            }
            for verdict in verdicts
        ],
    }
