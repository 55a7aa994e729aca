"""What a field can show, by name: the vocabulary of `what = "…"` in a form definition.

One line each: what it is, and the kind of place it needs. `cheque.layout.values` knows how to get each one;
the documents print this list. To add one, add a line here and its getter there.
"""

from typing import NamedTuple

from cheque.tongue import mark


class What(NamedTuple):
    """One thing a field can show. `kind` is a key of KINDS."""

    kind: str
    says: str


#: the kinds of place, and which keys beyond the common ones each understands
KINDS = {
    "text": "one line",
    "block": "as many lines as it has; joined by commas when the field has one line",
    "date": "one line, by its pattern",
    "money": "one line of figures",
    "figures": "the amount in figures, closed by its fill",
    "words": "the amount in words on one line or two, each closed by its fill",
    "name": "one line or two, broken at a blank, each closed by its fill",
    "slot": "the form's own number; set only when the number is known",
    "other": "one line; the number of another form of the same payment, set like the form's own",
    "sheet": "one line; nothing when the stub fits on one form",
    "space": "nothing on a cheque; VOID on an advice that is printed on a cheque's stock",
}

WHAT: dict[str, What] = {
    "payee": What("name", "whom the payment is to"),
    "amount_words": What("words", "the legal amount"),
    "amount_figures": What("figures", "the convenience amount"),
    "date": What("date", "the date of the cheque"),
    "number": What("slot", "the number expected on this form, beside the preprinted one"),
    "signature": What("space", "where a person signs"),
    "sheet": What("sheet", "which of a payment's forms this is, as 2/3, when its stub goes on"),
    "next_number": What("other", "the number of the form on which the stub goes on"),
    "first_number": What("other", "on a form that continues another, the number of the first"),
    "listed": What("sheet", "how many stub lines stand on a separate listing instead"),
    "reference": What("text", "the register's reference"),
    "address": What("block", "the payee's address"),
    "memo": What("text", "the register's memo"),
    "employee": What("text", "the employee's number"),
    "identity": What("text", "at most the last four digits of an identity number"),
    "department": What("text", "the department"),
    "period": What("date", "the pay period, from and to"),
    "period_from": What("date", "the first day of the pay period"),
    "period_to": What("date", "the last day of the pay period"),
    "drawer_name": What("text", "the drawer's (employer's) legal name"),
    "drawer_address": What("block", "the drawer's address"),
    "place": What("text", "the place of issue, as the account states it"),
    "bank": What("text", "the bank's name"),
    "account": What("text", "the account number, masked"),
    "gross": What("money", "sum of the earnings"),
    "gross_to_date": What("money", "sum of the earnings, year to date"),
    "deductions": What("money", "sum of the deductions"),
    "deductions_to_date": What("money", "sum of the deductions, year to date"),
    "net": What("money", "net pay, by cheque and by transfer; the amount of the payment where it is not divided"),
    "by_cheque": What("money", "what of net pay this cheque is for"),
    "by_transfer": What("money", "what of net pay goes by transfer; nothing when nothing does"),
    "net_to_date": What("money", "earnings less deductions, year to date"),
    "invoices": What("money", "sum of the invoices before discount"),
    "discounts": What("money", "sum of the invoices' discounts"),
}

#: what a column of a table can show of a stub line -> whether it stands to the right by itself
COLUMNS: dict[str, tuple[str, str]] = {
    "text": ("left", mark("the line's name")),
    "hours": ("right", mark("hours")),
    "rate": ("right", mark("rate")),
    "quantity": ("right", mark("of goods, how many")),
    "price": ("right", mark("of goods, the price of one")),
    "amount": ("right", mark("this period; of an invoice, its net")),
    "to_date": ("right", mark("year to date")),
    "date": ("left", mark("an invoice's date, by its pattern")),
    "gross": ("right", mark("an invoice before discount")),
    "discount": ("right", mark("an invoice's discount")),
}

#: what must be closed against additions, wherever it is struck
CLOSED = ("payee", "amount_words", "amount_figures")

#: Wording of an advice by country. NON-NEGOTIABLE says it in the United States; where "not negotiable" is a
#: crossing on a payable cheque (Bills of Exchange Act 1882 ss. 76, 81, from memory, and the acts after it) it
#: says nothing of the kind. A country that is not here states its own wording in the form.
ADVICE_WORDING = {
    "US": "NON-NEGOTIABLE",
    **dict.fromkeys(("AU", "CA", "GB", "IE", "IN", "NZ", "ZA"), "NOT A CHEQUE - NO VALUE"),
}
