"""Readers: words back to a number, strictly, one small file a language.

A reader accepts a number written exactly as its language writes it on a cheque and raises KeyError for every
other text: a word changed, dropped, doubled or moved either reads as another number or does not read at all.
It is written from the language's own word lists and grammar; it shares no code and no word with
`cheque.wording.spelling` and never calls num2words.
"""
