"""Who sees what: the parts of a form against everything struck on it, as a table and as JSON."""

from typing import Any

from cheque.cli.desk import columns
from cheque.form import Form
from cheque.form.matrix import Seen, matrix
from cheque.tongue import tr

_MARKS = {Seen.SHOWN: "yes", Seen.HIDDEN: "-", Seen.IN_PART: "IN PART"}


def matrix_text(form: Form) -> str:
    """Whom each part goes to, and a table: a row for every place, a column for every part. ! breaks a promise."""
    lines = [tr("Who sees what:")]
    for part in form.parts:
        never = (
            tr("; must not show {must_not_show}", must_not_show=", ".join(part.must_not_show))
            if part.must_not_show
            else ""
        )
        lines.append(tr("  {name}: goes to {goes_to}{never}", name=part.name, goes_to=part.goes_to, never=never))
    rows = [["field", tr("what it is"), *(part.name for part in form.parts)]]
    rows += [
        [row.name, row.says, *(_MARKS[s] + ("" if k else " !") for s, k in zip(row.seen, row.kept, strict=True))]
        for row in matrix(form)
    ]
    return "\n".join([*lines, columns(rows)])


def matrix_json(form: Form) -> list[dict[str, Any]]:
    """Every part: whom it goes to, what it shows and what not, and which promises are broken."""
    rows = matrix(form)
    return [
        {
            "part": part.name,
            "goes_to": part.goes_to,
            "must_not_show": list(part.must_not_show),
            "shows": [row.name for row in rows if row.seen[index] is Seen.SHOWN],
            "hides": [row.name for row in rows if row.seen[index] is Seen.HIDDEN],
            "broken": [row.name for row in rows if not row.kept[index]],
        }
        for index, part in enumerate(form.parts)
    ]
