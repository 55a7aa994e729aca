"""The practice printer: numbered forms that are not there, struck by a printer that is not there either.

It takes bytes as a printer does, at a set speed into a set memory, and reads them with the tool's own decoder
onto numbered virtual forms; when told to, it jams, tears, runs out of paper, skips a form, loses power or
garbles a byte, as the real thing does untold. People learn on it without wasting a form, and the tests ask it
what truly is on the paper. It imitates no model: it does what the printer languages of `cheque.language` say.

    paper.py       the forms: what is struck on each, and what became of it
    mechanism.py   memory, speed, print head and paper feed; no sockets, no clock
    orders.py      jam, clear, tear, … as people type them
    printer.py     a mechanism behind a TCP port or a terminal line, in a thread of its own
    show.py        the paper as text and pictures
"""

from cheque.practice.mechanism import Mechanism as Mechanism
from cheque.practice.paper import Sheet as Sheet
from cheque.practice.printer import Practice as Practice
