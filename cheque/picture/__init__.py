"""Pictures of what will be printed, drawn from decoded bytes: text, SVG, PDF, PNG and HTML.

`cheque.picture.drawing` draws marks on a form's parts as plain shapes; `to_text` (in `text`), `to_svg` and
`to_html` (in `svg`), `to_png` (in `png`) and `to_pdf` (in `pdf`) make files of them; `proofbook` makes one PDF of
a whole batch. The faces are our own: `dotface` for what is struck, `lineface` for what is preprinted.
"""
