"""The guided payday: one question at a time, from the register to the bank.

`step` says what comes next, from facts alone; `facts` reads those from the book, so that a payday left at any point
is taken up where it truly stands; `talk` asks; each of the other files is a few steps. No rule of the trade lives
here: every step calls the rooms that the commands call.
"""
