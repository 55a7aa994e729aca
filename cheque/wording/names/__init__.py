"""What the currencies are called, one file a language; a style takes these and puts its own country's in.

Forms stand in the order of the language's `unit_form`: one, other (English, German, Italian, Dutch); one,
other, and after a whole million (French, Spanish, Portuguese); one, two to four, many (Polish). The names are
those of the Unicode CLDR, with which the tests compare them; where one differs the file says why. A minor unit
is named only where its name is well established in the language; the others are written as a fraction.
"""
