"""What layout is given besides payment and form, and what it refuses with."""

from collections.abc import Iterable
from typing import NamedTuple

from cheque.errors import Fault, InputRefused
from cheque.payment import Payment
from cheque.tongue import tr


class Drawer(NamedTuple):
    """Who pays: the account as a cheque shows it.

    account_masked is the number with all but its last digits hidden; locale names the style of the legal
    amount and `substitute` what stands for letters a printer lacks; two_signatures_over is in minor units.
    place is where cheques are issued, stale_after_days for how long the bank honours them; "" and None when unknown.
    """

    name: str
    address: tuple[str, ...]
    bank: str
    account_masked: str
    currency: str
    locale: str
    substitute: str = ""
    two_signatures_over: int | None = None
    place: str = ""
    stale_after_days: int | None = None


class LayoutError(InputRefused):
    """A payment does not fit its form, or an account does not: `faults` holds everything that does not."""


class Misfit(NamedTuple):
    """One thing that does not fit: the field's name, and a fault's found, wanted and do."""

    field: str
    found: str
    wanted: str
    do: str = ""


def refusal(payment: Payment, form: str, misfits: Iterable[Misfit]) -> LayoutError:
    """The error that names the payment, the payee and each field."""
    who = (
        tr(
            "payment {item} ({payee}), register line {line}",
            item=payment.item,
            payee=payment.payee,
            line=payment.line,
        )
        if payment.line
        else tr("payment {item} ({payee})", item=payment.item, payee=payment.payee)
    )
    faults = [
        Fault(tr("{who}, field {field} of {form}", who=who, field=m.field, form=form), m.found, m.wanted, m.do)
        for m in misfits
    ]
    return LayoutError(tr("{who} does not fit form {form}.", who=who, form=form), faults)


def account_refusal(drawer: Drawer, form: str, misfits: Iterable[Misfit]) -> LayoutError:
    """The error of an account that no payment of it can be laid out for."""
    faults = [
        Fault(
            tr("account of {name}, field {field} of {form}", name=drawer.name, field=m.field, form=form),
            m.found,
            m.wanted,
            m.do,
        )
        for m in misfits
    ]
    return LayoutError(tr("the account of {name} does not fit form {form}.", name=drawer.name, form=form), faults)


def too_long(field: str, text: str, width: int, lines: int = 1) -> Misfit:
    """What does not fit is never shortened: say what, and how much room there is."""
    room = (
        tr("at most {width} characters", width=width)
        if lines == 1
        else tr("at most {lines} lines of {width} characters", lines=lines, width=width)
    )
    found = tr("{text!r}, {count} characters", text=text, count=len(text))
    return Misfit(field, found, room, tr("shorten it at the source, or use another form"))
