"""The commented settings that `cheque setup` writes."""

from cheque.settings_shapes import MEMORY, NEAR_DAYS, TO_A_FILE
from cheque.stale import honoured


def template(
    *,
    drawer: str,
    address: tuple[str, ...],
    bank: str,
    routing: str,
    number: str,
    currency: str,
    locale: str,
    book: str = "book",
) -> str:
    """The commented text that `cheque setup` writes; what goes between quotes is plain, printable text."""

    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    def line(key: str, value: str, told: str) -> str:
        return f"{f'{key} = {value}':<35} # {told}"

    lines = ", ".join(quoted(line) for line in address)
    usual = honoured(locale)
    return f"""\
# Settings of cheque. The tool wrote this file once and never rewrites it: edit it as you like.
# What changes by use (stock, shift, everything that was printed) is in the book, not here.
# No secret belongs in this file.

# A folder with form definitions of your own, beside those that come with the tool.
# forms = "forms"

[book]
# A folder of its own: a path, from this file's folder. Or, for several stations, "postgresql://host/database", and
# never with a password in it: docs/postgresql.md
place = {quoted(book)}

# One table for each bank account that cheques are drawn on; you name it after the dot.
[accounts.main]
{line("drawer", quoted(drawer), "the drawer's legal name, as on the preprinted form")}
address = [{lines}]
bank = {quoted(bank)}
{line("routing", quoted(routing), "nine digits in the United States, check digit verified")}
{line("account_number", quoted(number), "shown masked everywhere")}
{line("currency", quoted(currency), "a code of ISO 4217")}
{line("locale", quoted(locale), "how the legal amount is written: `cheque words --list`")}
{line("stale_after_days", str(usual.days), f"{usual.source}; ask your bank")}
near_duplicate_days = {NEAR_DAYS}             # same payee and amount within so many days: asked about; 0 for never
# unclaimed_after_years = 3         # or unclaimed_after_days: when the law of unclaimed wages or property may speak of
                                    # a cheque; it differs by place and by kind of payment, so ask; no figure is assumed
# two_signatures_over = "5000.00"   # amounts over this want a second signature
# second_approval_over = "5000.00"  # a batch that pays an amount over this is approved by two: docs/duties.md
# place = "Quillmere"               # the place of issue, where a form states it, as in France and Germany
# statement_account = ""            # what the bank's statements call this account, if not by its number
# cheque_numbers_from = ["AddtlTxInf: CHEQUE ([0-9]+)"]   # where its statements give cheque numbers, if not in ChqNb
# notice.layout = "bank-notice.toml"  # how the bank wants to be told what was issued: docs/notices.md
# stop.lapses = "6 months"          # how long your bank holds a stop; in the United States so unless set
# substitute = ""                   # how letters that a printer lacks may be replaced, where the language has a way

# Hands kept apart: docs/duties.md
[duties]
# approve = true                    # a batch is printed once another than who accepted it approved its proof
# reconcile = true                  # who printed does not reconcile
# second_person = true              # a void and a cheque by hand need a second person

# One table for each printer; you name it after the dot.
[printers.payroom]
language = "escp9"                  # plain, escp9, …: what `cheque form check` says the form can be fed in
address = "file:payroom.prn"        # file:PATH, socket://host:port of a printer or its bridge, queue:NAME of a
                                    # spooler, serial:/dev/ttyS0?baud=9600&flow=xonxoff, or port:/dev/usb/lp0
step = "1/216 in"                   # the true step of its paper feed; some step 1/72 in
table = "cp437"                     # its character table
parts = 4                           # how many parts of a set it is rated for
speed = 200                         # characters a second in draft, at 10 to the inch
width = "13.6 in"                   # how far across it can strike; a narrow carriage has "8 in"
# window = 1                        # forms on their way at once, all in doubt after a stop: 1, the safest, unless
                                    # set; to a file, which has no paper, {TO_A_FILE}
# without = ["letter-quality"]      # what of its language this model lacks: docs/printer-languages.md
# vouched = ["high-letters"]        # in plain: it was seen to print letters for bytes 80 to 9F (é, £ of cp437)
# stall_seconds = 164               # given up when it takes nothing for so long; else the time it needs to strike
                                    # {MEMORY:,} characters, which a printer or bridge may hold in its memory
"""
