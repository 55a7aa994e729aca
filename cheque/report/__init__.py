"""What people read, on paper and on screen: one file per report, each with `build(reader, settings, when, …)`.

A report is built as data (`page`) from a book as it stood at a moment (`when`), and then rendered (`render`) as
text, CSV, JSON or HTML; all of them show the same figures. Nothing here changes the book.
"""
