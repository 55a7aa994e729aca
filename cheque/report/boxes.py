"""The table of boxes: what was received, and what its forms are now, which must come to the same."""

from collections.abc import Iterable

from cheque.reconcile.finding import Identity
from cheque.report.page import Cell, Column, Group, Kind, Place, Table, line_of
from cheque.tongue import tr

COLUMNS = (
    Column("box", "Box"),
    Column("form", "Form"),
    Column("received", "Received", Kind.COUNT),
    Column("accounted", "Accounted for", Kind.COUNT),
    Column("agrees", "Agrees"),
    Column("states", "Forms", place=Place.BELOW),
)


def identities(found: Iterable[Identity], *, empty: str = "No box.") -> Table:
    """The identity of each box: received = on hand + reserved + sent + printed + … + destroyed."""
    rows = []
    for one in found:
        box = one.box
        cells: dict[str, Cell] = {
            "box": f"{box.account}:{box.text(box.first)}-{box.text(box.last)}",
            "form": box.form,
            "received": one.received,
            "accounted": sum(one.states.values()),
            "agrees": "yes" if one.agrees else "NO",
            "states": one.sentence,
        }
        rows.append(line_of(COLUMNS, cells))
    return Table("boxes", tr("Boxes: what was received"), COLUMNS, (Group("", tuple(rows)),), empty=empty)
