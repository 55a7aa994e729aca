"""Whose stub is not whole on numbered forms: more lines than the form holds, or a form of it that is not good."""

from cheque import layout
from cheque.book import batches
from cheque.book.book import Reader
from cheque.run import drawer_of
from cheque.settings import Settings
from cheque.station import account_of, form_of


def not_on_forms(found: Settings, reader: Reader, batch: batches.Batch) -> set[int]:
    """The payments of a batch, by item, whose detail is to go out on plain paper."""
    form, drawer = form_of(reader, batch), drawer_of(account_of(found, batch))
    wanted = {row[0] for row in reader.rows(_TORN, batch.id)}
    if form.overflow == "listing":
        for payment in batches.payments(reader, batch.id):
            if layout.overflow(payment, form, drawer)[1]:
                wanted.add(payment.item)
    return wanted


#: a good form whose stub goes on on one, of the same run, that is not
_TORN = """SELECT n.item FROM number n JOIN number c ON c.origin_batch = n.origin_batch
    AND c.origin_item = n.origin_item AND c.run = n.run WHERE n.batch = ? AND n.role <> 'continuation'
    AND n.state = 'printed' AND c.role = 'continuation' AND c.state <> 'printed'"""
