"""The bank's messages, in and out: one file a kind. Pure: streams in, values out; no book, no files, no clock."""
