"""The words that the book keeps of forms, cheques and batches, marked so that people read them in their own language.

The book, the options and the files keep the English word, whatever is spoken; `tr` of it is what is shown.
"""

from cheque.tongue import mark

#: states of a form, custody, stops, roles, batches, runs, dispositions, and what a report says of its own figures
WORDS = frozenset(
    {
        *(mark("on hand"), mark("reserved"), mark("sent"), mark("printed"), mark("spoiled"), mark("voided")),
        *(mark("missing"), mark("destroyed"), mark("waiting"), mark("pulled"), mark("in doubt")),
        *(mark("to be signed"), mark("held"), mark("handed over"), mark("mailed"), mark("returned")),
        *(mark("in hand"), mark("not in hand"), mark("cheque"), mark("advice"), mark("continuation")),
        *(mark("needed"), mark("requested"), mark("confirmed"), mark("refused"), mark("overridden"), mark("LAPSED")),
        *(mark("accepted"), mark("withdrawn"), mark("open"), mark("stopped"), mark("finished"), mark("closed")),
        *(mark("still owed"), mark("reissue"), mark("not owed"), mark("paid otherwise")),
        *(mark("Dated later than this report"), mark("Before its date"), mark("proof"), mark("print stream")),
        *(mark("yes"), mark("no"), mark("NO"), mark("none"), mark("good"), mark("void"), mark("made")),
    }
)
