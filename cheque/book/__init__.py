"""The book: the record of every numbered form and everything that happened to it.

    event     the chain: canonical text, digests            book      a book: create, open, change; its readers
    apply     what each kind of event does to the tables    place     its private folder
    move      how numbers go from state to state            store     SQLite, and what it says in one refusal
    schema    the tables, their indexes and guards          verify    proved whole; rebuilt; as of a moment
    state     the diagram of states

    stock     numbered forms: received, counted, spoiled, missing, found, destroyed
    batches   registers accepted; payments pulled; proofs; what waits for a form
    runs      numbers reserved, sent, and what a person saw on the paper
    doubt     the questions after a stop, held against what the book knows
    cheques   voided, stopped, printed again, moved from hand to hand, written by hand
    shifts    how far the print of a form is moved on a printer
    story     a form's history, links, search; a safe copy

Everything that happens is an event (`Book.change`); the tables are derived from the events in the same
transaction and can be rebuilt from them. To add a kind of event: a line in the list of bodies and a function in
`apply`, what it derives in `schema` (raise `DERIVED_VERSION`), the command that appends it in a room above.
"""
