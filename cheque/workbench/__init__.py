"""The bench at which a form of one's own is made: pictures of a definition, a scan under it, a ruler's readings.

`show` draws a definition, `trace` lays a scanned form under its fields, `watch` draws anew when a file is saved. What a
definition means is `cheque.form`'s to say; how shapes become files, `cheque.picture`'s.
"""
