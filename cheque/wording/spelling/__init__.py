"""Whole numbers in words: one small file a language, composed from groups of three digits.

The words of a group (0 to 999) are num2words' own, which agree with ICU in every language used here but for
the slips each file names and mends; how groups are joined by thousands and millions is stated in the
language's file, because that is where num2words goes wrong. Every function takes the number and the form in
which it counts ("m", "f", "n": the gender of the noun that follows) and knows nothing of money.

Nothing here is shared with `cheque.wording.reading`, which reads the words back.
"""

from functools import cache


@cache
def group(language: str, number: int) -> str:
    """num2words' words for 0 to 999, without the commas that it puts between orders."""
    from num2words import num2words

    return str(num2words(number, lang=language)).replace(",", "")
