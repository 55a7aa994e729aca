"""The numbers printed against the numbers that payroll expected: where they part, and why.

A register may give the number that payroll expects each payment to be on. That is an expectation: the paper
decides. The difference, printed less expected, is worked out along each run; where it changes, the numbers
passed over (spoiled, missing, used by another batch) make it higher, and the payments passed over (pulled,
printed elsewhere) make it lower. A change that a form *on hand* would explain is not explained: a form that was
skipped is somewhere, and may be signed and paid in.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from cheque.reconcile.finding import Line
from cheque.reconcile.money import Claim
from cheque.tongue import tr

ON_HAND = "on hand"


class Carried(NamedTuple):
    """A payment of the batch on a number of one of its runs, and the number that payroll expected."""

    run: int
    number: int
    item: int
    expected: int


class Shifts(NamedTuple):
    """Sentences on how the numbers stand against payroll's, and what of it is not explained."""

    said: list[str]
    unexplained: list[str]


class Along:
    """Goes along the numbers of one stretch in the order they were printed, and says where they part.

    `between(first, last)` gives what became of the numbers from first to last, whoever used them; `explained`
    whether a line of forms on hand is explained all the same; `text` writes a number as it is preprinted.
    """

    def __init__(
        self,
        claims: Iterable[Claim],
        between: Callable[[int, int], list[Line]],
        text: Callable[[int], str],
        same_box: Callable[[int], bool],
        explained: Callable[[Line], bool],
    ) -> None:
        self._claims = {claim.item: claim for claim in claims}
        self._between, self._text, self._same_box, self._explained = between, text, same_box, explained
        self.said: list[str] = []
        self.unexplained: list[str] = []

    def go(self, carried: Iterable[Carried], lost: Callable[[int], Line | None]) -> Shifts:
        """The sentences for numbers in the order they were printed.

        `lost(item)` gives the earlier form of a payment that was printed again within the batch.
        """
        before: Carried | None = None
        highest = 0
        for one in carried:
            earlier = lost(one.item) if one.item < highest else None
            if earlier is not None:
                self.said.append(
                    tr(
                        "{payment} was expected on {text}; {text2} {what}, and it is on {text3}.",
                        payment=self._payment(one.item),
                        text=self._text(one.expected),
                        text2=earlier.text,
                        what=earlier.what,
                        text3=self._text(one.number),
                    )
                )
                continue
            if before is None:
                self._begins(one)
            elif one.number - one.expected != before.number - before.expected:
                self._parts(before, one)
            before, highest = one, max(highest, one.item)
        return Shifts(self.said, self.unexplained)

    def _payment(self, item: int) -> str:
        claim = self._claims.get(item)
        return (
            tr("Payment {item} ({payee})", item=item, payee=claim.payee) if claim else tr("Payment {item}", item=item)
        )

    def _begins(self, one: Carried) -> None:
        """The first number against the number that payroll expected first."""
        shift = one.number - one.expected
        if not shift:
            return
        opening = tr(
            "The printing began at {text} with payment {item}, which payroll expected on {text2}: every "
            "number is {by} than expected",
            text=self._text(one.number),
            item=one.item,
            text2=self._text(one.expected),
            by=_by(shift),
        )
        if not self._same_box(one.expected):
            self.said.append(
                tr(
                    "{opening}. Payroll's numbers are not of this box; the number was read from the paper.",
                    opening=opening,
                )
            )
        elif shift < 0:
            self.said.append(tr("{opening}. The number was read from the paper.", opening=opening))
        else:
            passed = self._between(one.expected, one.number - 1)
            self.said.append(f"{opening}: {_and(_said(passed))}.")
            self._skipped(
                passed, tr("though payroll expected it and the printing began at {text}", text=self._text(one.number))
            )

    def _parts(self, before: Carried, one: Carried) -> None:
        """Where the difference changes from one payment to the next: numbers passed over, or payments, or both."""
        shift = one.number - one.expected
        reasons: list[str] = []
        if one.number > before.number + 1:
            passed = self._between(before.number + 1, one.number - 1)
            reasons += _said(passed)
        elif one.number < before.number:
            reasons.append(tr("the printing went on at {text}", text=self._text(one.number)))
        reasons += self._payments_passed(before, one)
        how = (
            tr("every number is {by} than payroll expected", by=_by(shift))
            if shift
            else tr("the numbers are as payroll expected")
        )
        opening = tr("From payment {item} on ({text}), {how}", item=one.item, text=self._text(one.number), how=how)
        self.said.append(f"{opening}: {_and(reasons)}.")

    def _payments_passed(self, before: Carried, one: Carried) -> Iterator[str]:
        """Why payroll's own numbers went on by more, or less, than one."""
        for item in range(before.item + 1, one.item):
            claim = self._claims.get(item)
            if claim and claim.pulled:
                yield tr("payment {item} ({payee}) was pulled", item=item, payee=claim.payee)
            elif claim and claim.expected:
                yield tr("payment {item} ({payee}) was not printed here", item=item, payee=claim.payee)
        here, there = self._claims.get(before.item), self._claims.get(one.item)
        own = [c for c in map(self._claims.get, range(before.item + 1, one.item)) if c and c.expected]
        if here and there and one.expected - before.expected != len(own) + 1:
            yield tr(
                "payroll's own numbers go from {expected} to {expected2}",
                expected=here.expected,
                expected2=there.expected,
            )

    def _skipped(self, passed: list[Line], why: str) -> None:
        for line in passed:
            if line.state == ON_HAND and not self._explained(line):
                self.unexplained.append(
                    tr(
                        "{text} {more} on hand in the book, {why}: look for the form{more2}, and enter what became of "
                        "{them}",
                        text=line.text,
                        more=tr("are") if line.forms > 1 else tr("is"),
                        why=why,
                        more2="s" if line.forms > 1 else "",
                        them=_them(line),
                    )
                )


def _them(line: Line) -> str:
    return "them" if line.forms > 1 else "it"


def _by(shift: int) -> str:
    return tr("{by} higher", by=shift) if shift > 0 else tr("{by} lower", by=-shift)


def _said(lines: Iterable[Line]) -> list[str]:
    return [f"{line.text} {line.what}" for line in lines]


def _and(reasons: list[str]) -> str:
    """Reasons one after the other; a long list is shortened to a count, never silently."""
    if len(reasons) > 6:
        reasons = [
            *reasons[:5],
            tr("and {count} more reasons, which the list of numbers shows", count=len(reasons) - 5),
        ]
    return "; ".join(reasons)
