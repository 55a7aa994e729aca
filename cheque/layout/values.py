"""What each thing of `cheque.form.what` is for one payment, as text: a getter each, made once for a form."""

from collections.abc import Callable
from operator import attrgetter

from cheque import money
from cheque.form import dates
from cheque.form.model import Field
from cheque.layout.shapes import Drawer
from cheque.payment import Payment

Getter = Callable[[Payment], str]
Money = Callable[[int], str]

#: what -> the payment's own text
_TEXTS = ("payee", "reference", "memo", "employee", "identity", "department")
#: what -> the payment's own date
_DATES = ("date", "period_from", "period_to")
#: what -> the drawer's text
_DRAWER: dict[str, Callable[[Drawer], str]] = {
    "drawer_name": lambda drawer: drawer.name,
    "place": lambda drawer: drawer.place,
    "bank": lambda drawer: drawer.bank,
    "account": lambda drawer: drawer.account_masked,
}
#: the sums of a stub, in the order in which `cheque.layout.stub` gives them
TOTALS = (
    "gross",
    "gross_to_date",
    "deductions",
    "deductions_to_date",
    "net",
    "net_to_date",
    "invoices",
    "discounts",
    "by_cheque",
    "by_transfer",
)


def of_payment(field: Field) -> Getter:
    """The getter of a field that shows one text or date of the payment. KeyError for any other field."""
    what, pattern = field.what, field.pattern
    if what == "period":
        return _dressed(_period(pattern), field)
    if what in _DATES:
        return _dressed(_dated(attrgetter(what), pattern), field)
    if what in _TEXTS:
        return _dressed(attrgetter(what), field)
    raise KeyError(what)


def _dated(get: Callable[[Payment], str], pattern: str) -> Getter:
    write = dates.write
    return lambda payment: write(pattern, get(payment))


def _period(pattern: str) -> Getter:
    write = dates.write

    def get(payment: Payment) -> str:
        first, last = payment.period_from, payment.period_to
        if not first and not last:
            return ""
        return f"{write(pattern, first)} - {write(pattern, last)}".strip()

    return get


def _dressed(get: Getter, field: Field) -> Getter:
    """With the field's prefix, suffix and case; a field with nothing to show shows neither."""
    if not field.prefix and not field.suffix and field.case == "as-is":
        return get
    return lambda payment: dress(get(payment), field)


def dress(text: str, field: Field) -> str:
    """A text with the field's prefix, suffix and case; nothing stays nothing."""
    if not text:
        return ""
    text = f"{field.prefix}{text}{field.suffix}"
    return text.upper() if field.case == "upper" else text


def of_drawer(field: Field, drawer: Drawer) -> str | None:
    """The text of a field that shows one text of the drawer; None for every other field."""
    get = _DRAWER.get(field.what)
    return None if get is None else dress(get(drawer), field)


def figures_of(currency: str, locale: str) -> Money:
    """How amounts stand on a stub: as the style's figures, and a minus before what is below nought.

    Raises `cheque.wording.WordingError` for a locale or currency that has no style.
    """
    from cheque.wording import figures

    places = money.digits(currency)
    unit = 10**places
    plain = figures(1_234_567_890_123, currency, locale) == _by_threes(1_234_567_890_123, unit, places)

    if places == 2 and plain:
        return _hundredths

    def write(minor: int) -> str:
        if minor < 0:
            return "-" + write(-minor)
        return _by_threes(minor, unit, places) if plain else figures(minor, currency, locale)

    return write


def _hundredths(minor: int) -> str:
    """1,234.56, the usual case, in the quickest way: a stub has dozens of them.

    >>> [_hundredths(amount) for amount in (5, 100, 99999, 100000, 12345678901, -1234567)]
    ['0.05', '1.00', '999.99', '1,000.00', '123,456,789.01', '-12,345.67']
    """
    text = str(minor)
    if 99 < minor < 100_000:
        return f"{text[:-2]}.{text[-2:]}"
    if 99_999 < minor < 100_000_000:
        return f"{text[:-5]},{text[-5:-2]}.{text[-2:]}"
    return "-" + _hundredths(-minor) if minor < 0 else _by_threes(minor, 100, 2)


def _by_threes(minor: int, unit: int, places: int) -> str:
    whole, part = divmod(minor, unit)
    return f"{whole:,}.{part:0{places}d}" if places else f"{whole:,}"


def limit_of(text: str, drawer: Drawer) -> int | None:
    """The amount that `over` or `up_to` names, in minor units; None when the account has no such limit.

    Raises `cheque.money.AmountError` when it is no amount of the account's currency.
    """
    from cheque.form.fields import TWO_SIGNATURES

    if text == TWO_SIGNATURES:
        return drawer.two_signatures_over
    return money.parse(text, drawer.currency, short=True)
