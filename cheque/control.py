"""Control totals: what payroll's slip says, what the register holds, and what would explain a difference.

Item count, control total (money) and hash total (a number that is no money, such as employee numbers) are
worked out by hand when a batch is put together, keyed in, and compared. Source: general auditing practice.

What each total covers here:

- the item count counts every payment of the register, advices included;
- the control total is the money to be paid by cheque. A payment of zero adds nothing to it; what is paid by
  transfer is no cheque, is left out of it, and is told separately (`transfer_total`);
- the hash total sums the hash column over every payment, advices included; it is None when the register
  has no such column;
- the pairs digest (`cheque.pairs`) covers payee and amount of every payment, advices included.

A difference suggests its cause: one that divides by nine, two digits exchanged (ab - ba = 9(a - b)); one equal
to an amount, a line lost or doubled; twice an amount, a sign; nine or ninety-nine times, a decimal point.
`explain` looks for the very lines that could be it, in one pass over the payments.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from cheque.money import plain
from cheque.pairs import Pairs
from cheque.payment import Payment, Role
from cheque.tongue import mark, tr

#: candidates named in one explanation; the rest are counted
MENTIONED = 5
#: the beginning of a pairs digest that is enough to compare (16 hexadecimal digits are 64 bits)
SHORTEST_DIGEST = 16
#: the totals, by the names that a `Difference` gives them
_NAMES = (mark("item count"), mark("control total"), mark("hash total"), mark("pairs digest"))


class Slip(NamedTuple):
    """What payroll's slip says, as keyed in; None for what it does not say. Money in minor units."""

    item_count: int | None = None
    control_total: int | None = None
    hash_total: int | None = None
    pairs_digest: str | None = None


class Totals(NamedTuple):
    """What a register holds. Money in minor units."""

    item_count: int
    control_total: int
    hash_total: int | None
    pairs_digest: str
    #: payments that are advices, of zero or by transfer, and the money that goes by transfer, parts of net pay included
    advices: int = 0
    transfer_total: int = 0


class Difference(NamedTuple):
    """One total that does not agree: its name, what the slip says, what the register holds."""

    name: str
    given: int | str
    found: int | str | None


class Tally:
    """Adds up payments one by one, in any order; `totals` may be asked at any time.

    >>> tally = Tally("USD")
    >>> tally.add(Payment(1, "Ay Li", 77, "2026-11-27", "", hash_value=2101))
    >>> tally.totals()[:3]
    (1, 77, 2101)
    """

    def __init__(self, currency: str) -> None:
        self._pairs = Pairs(currency)
        self._items = self._cheques = self._hash = self._advices = self._transfers = 0
        self._hashed = True

    def add(self, payment: Payment) -> None:
        """Count one payment."""
        self._items += 1
        if payment.role is Role.CHEQUE:
            self._cheques += payment.amount
        else:
            self._advices += 1
            self._transfers += payment.amount
        self._transfers += payment.by_transfer
        if payment.hash_value is None:
            self._hashed = False
        else:
            self._hash += payment.hash_value
        self._pairs.add(payment.payee, payment.amount)

    def totals(self) -> Totals:
        """What was added so far."""
        hashed = self._hash if self._hashed and self._items else None
        digest = self._pairs.digest()
        return Totals(self._items, self._cheques, hashed, digest, self._advices, self._transfers)


def compare(slip: Slip, found: Totals) -> list[Difference]:
    """Every total that the slip gives and the register does not have.

    A pairs digest may be given by its beginning, of at least SHORTEST_DIGEST digits, in groups if liked.
    """
    differences: list[Difference] = []
    if slip.item_count not in (None, found.item_count):
        differences.append(Difference("item count", slip.item_count or 0, found.item_count))
    if slip.control_total not in (None, found.control_total):
        differences.append(Difference("control total", slip.control_total or 0, found.control_total))
    if slip.hash_total not in (None, found.hash_total):
        differences.append(Difference("hash total", slip.hash_total or 0, found.hash_total))
    if slip.pairs_digest is not None:
        given = "".join(slip.pairs_digest.split()).lower()
        if len(given) < SHORTEST_DIGEST or not found.pairs_digest.startswith(given):
            differences.append(Difference("pairs digest", given, found.pairs_digest))
    return differences


def describe(difference: Difference, currency: str) -> str:
    """The difference as a sentence.

    >>> describe(Difference("control total", 1821477, 1824177), "USD")
    'The control total is 18214.77 on the slip and 18241.77 in the register, which has 27.00 more.'
    """
    name, given, found = difference
    if isinstance(given, str):
        return tr(
            "The {name} is {given} on the slip and {found} in the register.",
            name=tr(name),
            given=given,
            found=found,
        )
    if not isinstance(found, int):
        return tr(
            "The {name} is {given} on the slip, and the register has no column to sum for it.",
            name=tr(name),
            given=given,
        )
    more = found - given
    money = name == "control total"

    def write(number: int) -> str:
        return plain(number, currency) if money else str(number)

    said = (
        mark("The {name} is {given} on the slip and {found} in the register, which has {off} more.")
        if more > 0
        else mark("The {name} is {given} on the slip and {found} in the register, which has {off} less.")
    )
    return tr(said, name=tr(name), given=write(given), found=write(found), off=write(abs(more)))


def explain(slip: Slip, found: Totals, payments: Callable[[], Iterable[Payment]], currency: str) -> list[str]:
    """Sentences for people on what could explain the differences, with lines and payees where known.

    `payments` gives the register's payments anew; they are gone through once, and only if a difference asks
    for it. What is named is a suggestion: several lines may fit, and payroll has to say which it is.
    """
    differences = {difference.name: difference for difference in compare(slip, found)}
    if not differences:
        return []
    more = found.item_count - (found.item_count if slip.item_count is None else slip.item_count)
    money = _Search(differences.get("control total"), lambda minor: plain(minor, currency), more)
    hashes = _Search(differences.get("hash total"), str, more)
    if money.difference or hashes.difference:
        for payment in payments():
            if payment.role is Role.CHEQUE:
                money.look(payment, payment.amount)
            if payment.hash_value is not None:
                hashes.look(payment, payment.hash_value)
    sentences = [*_counted(more, money, hashes)]
    if money.difference:
        if money.difference == -found.transfer_total:
            sentences.append(
                tr(
                    "The difference is what is paid by transfer, {amount}: the control total covers cheques only, "
                    "and the slip may include the transfers.",
                    amount=plain(found.transfer_total, currency),
                )
            )
        sentences += money.sentences(tr("control total"), tr("amount"))
    if hashes.difference:
        sentences += hashes.sentences(tr("hash total"), tr("hash value"))
    if "pairs digest" in differences:
        sentences += _pairs(differences, slip)
    return sentences


def _counted(more: int, money: "_Search", hashes: "_Search") -> Iterator[str]:
    """What a difference in the item count says, and what the totals add to it."""
    if abs(more) > 1:
        yield (
            tr("The register has {count} lines more than the slip counts.", count=more)
            if more > 0
            else tr("The register has {count} lines fewer than the slip counts.", count=-more)
        )
    elif more == 1:
        yield tr("The register has one line more than the slip counts: look for a line doubled.")
    elif more == -1:
        lost = []
        if money.difference < 0:
            lost.append(tr("an amount of {amount}", amount=money.write(-money.difference)))
        if hashes.difference < 0:
            lost.append(tr("the number {number} in the hash column", number=-hashes.difference))
        which = tr("; it would have {lost}", lost=tr(" and ").join(lost)) if lost else ""
        yield tr("The register has one line fewer than the slip counts: look for a line lost{which}.", which=which)


def _pairs(differences: dict[str, Difference], slip: Slip) -> Iterator[str]:
    if slip.pairs_digest and len("".join(slip.pairs_digest.split())) < SHORTEST_DIGEST:
        yield tr(
            "The pairs digest given is too short: give at least its first {shortest_digest} digits.",
            shortest_digest=SHORTEST_DIGEST,
        )
    elif len(differences) == 1:
        yield (
            tr(
                "The totals agree but the pairs of payee and amount do not: amounts may be exchanged between "
                "payees, or a name may differ. Compare payee and amount side by side."
            )
        )


def exchanged(found: int, wanted: int, width: int = 1) -> bool:
    """Whether one number is the other with two digits exchanged, written with at least `width` digits.

    >>> exchanged(1821477, 1824177), exchanged(1821477, 1821478)
    (True, False)
    """
    if found < 0 or wanted < 0 or (found - wanted) % 9:
        return False
    one, two = str(found).rjust(width, "0"), str(wanted).rjust(width, "0")
    if len(one) != len(two):
        return False
    differ = [place for place in range(len(one)) if one[place] != two[place]]
    return len(differ) == 2 and one[differ[0]] == two[differ[1]] and one[differ[1]] == two[differ[0]]


def slipped(found: int, wanted: int) -> bool:
    """Whether one number is the other with its decimal point one or two places off.

    >>> slipped(81240, 8124), slipped(81240, 812)
    (True, False)
    """
    low, high = sorted((abs(found), abs(wanted)))
    return low > 0 and high in (low * 10, low * 100)


class _Search:
    """Looks among the numbers of a register (amounts, or hash values) for what explains one difference.

    `difference` is register less slip; `more` is how many lines the register has more, by the item count.
    """

    def __init__(self, difference: Difference | None, write: Callable[[int], str], more: int) -> None:
        self.write, self.more = write, more
        self.given = self.found = self.difference = 0
        if difference and isinstance(difference.given, int) and isinstance(difference.found, int):
            self.given, self.found = difference.given, difference.found
            self.difference = self.found - self.given
        self.width = len(write(0).replace(".", ""))
        self._named: dict[str, list[str]] = {"equal": [], "sign": [], "exchanged": [], "point": []}
        self._counts = dict.fromkeys(self._named, 0)

    def look(self, payment: Payment, number: int) -> None:
        """Hold one payment's number against the difference."""
        difference = self.difference
        if not difference or not number:
            return
        if number == abs(difference):
            self._note("equal", payment, self.write(number))
        if 2 * number == abs(difference):
            self._note("sign", payment, self.write(number))
        wanted = number - difference
        if difference % 9 == 0 and wanted > 0:
            if exchanged(number, wanted, self.width):
                self._note(
                    "exchanged",
                    payment,
                    tr("{found} that should be {wanted}", found=self.write(number), wanted=self.write(wanted)),
                )
            elif slipped(number, wanted):
                self._note(
                    "point",
                    payment,
                    tr("{found} that should be {wanted}", found=self.write(number), wanted=self.write(wanted)),
                )

    def _note(self, kind: str, payment: Payment, what: str) -> None:
        self._counts[kind] += 1
        if len(self._named[kind]) < MENTIONED:
            payee = payment.payee if payment.payee.isprintable() else ascii(payment.payee)
            place = tr("line {line}", line=payment.line) if payment.line else tr("item {item}", item=payment.item)
            self._named[kind].append(f"{place}, {payee}, {what}")

    def _list(self, kind: str) -> str:
        named = self._named[kind]
        rest = self._counts[kind] - len(named)
        return "; ".join(named) + (tr("; and {rest} more", rest=rest) if rest else "")

    def sentences(self, total: str, number: str) -> Iterator[str]:
        """What was found, the likeliest first."""
        yield from self._keyed(total)
        if self._named["equal"]:
            yield self._equal(number)
        if self._named["exchanged"]:
            yield tr(
                "Two digits may be exchanged (the difference divides by nine): {list}.", list=self._list("exchanged")
            )
        elif self.difference % 9 == 0 and not exchanged(self.given, self.found):
            yield (
                tr(
                    "The difference divides by nine, which suggests two digits exchanged, but no single {number} of "
                    "the register explains it so.",
                    number=number,
                )
            )
        if self._named["point"]:
            yield tr("A decimal point may have slipped: {list}.", list=self._list("point"))
        if self._named["sign"]:
            yield (
                tr(
                    "The difference is twice one {number}, which may have been counted with the wrong sign: {list}.",
                    number=number,
                    list=self._list("sign"),
                )
            )

    def _keyed(self, total: str) -> Iterator[str]:
        """What may have gone wrong in keying the total itself."""
        given, found = self.write(self.given), self.write(self.found)
        if exchanged(self.given, self.found):
            yield tr(
                "The {name} may have been keyed with two digits exchanged: {given} for {found}.",
                name=total,
                given=given,
                found=found,
            )
        elif slipped(self.given, self.found):
            yield tr(
                "The {name} may have been keyed with its decimal point slipped: {given} for {found}.",
                name=total,
                given=given,
                found=found,
            )
        elif len(given) == len(found) and sum(a != b for a, b in zip(given, found, strict=True)) == 1:
            yield tr(
                "The {name} may have been keyed with one digit wrong: {given} for {found}.",
                name=total,
                given=given,
                found=found,
            )

    def _equal(self, number: str) -> str:
        """A line lost or doubled, in the register or on the slip, as the item count has it."""
        which = self._list("equal")
        if self.difference > 0 and self.more > 0:
            return tr(
                "The difference is one {number}, which may be in the register twice: {which}.",
                number=number,
                which=which,
            )
        if self.difference > 0:
            return tr(
                "The difference is one {number}, which may be in the register twice, or left out when the slip "
                "was added up: {which}.",
                number=number,
                which=which,
            )
        if self.more < 0:
            return tr("The line lost would have the same {number} as: {which}.", number=number, which=which)
        return tr(
            "The difference is the same as one {number}, which may have been added twice on the slip, or "
            "have been lost from the register where two lines were alike: {which}.",
            number=number,
            which=which,
        )
