"""What every key of the files that users write means: by file, by table, by key. `docs/keys.py` makes pages of it.

Of the settings only what `cheque setup` does not write beside the key itself stands here. A key that the reader asks
for and that is told nowhere, or one that is told and that no reader asks for, stops `docs/keys.py`.
"""

SETTINGS = {
    "": {"forms": "a folder with form definitions of your own, beside those that come with the tool"},
    "book": {
        "place": "where the book is: a folder of its own, or the URL of a [server](postgresql.md), without a password",
        "station": "with a server only: the folder of what this station keeps for itself",
    },
    "accounts.NAME": {
        "address": "the drawer's address, a line each",
        "bank": "the bank's name, as on the preprinted form",
        "unclaimed_after_days": "the same in days; one of the two",
    },
    "accounts.NAME.notice": {
        "as": "`camt`: notices as ISO 20022 messages, where the bank takes them",
    },
    "accounts.NAME.stop": {
        "spoken_lapses": "how long a stop holds that was only spoken",
        "warn_days": "how soon a stop lapses to be listed for renewal",
    },
    "duties": {},
    "printers.NAME": {},
}

#: what goes before the words of `cheque setup`, where these follow on a value that stands in the file
BEFORE = {
    ("accounts.NAME", "stale_after_days"): "a cheque older than so many days is stale; usual in the locale's country: ",
}

#: of a form definition, what its schema does not say
FORM = {
    "line": "the line that it starts on, from 1",
    "column": "the column that it starts in, from 1",
    "width": "how many characters it has",
    "lines": "how many lines under each other",
    "bold": "in heavy letters",
    "one_direction": "struck in one direction only: straighter columns, and slower",
}

REGISTER = {
    "": {
        "kind": "what kind of file it is",
        "locale": "the marks of a locale (CLDR); the four below say them one by one",
        "decimal_mark": "between units and decimals",
        "thousands_mark": "between thousands",
        "negative": "where a minus stands, or parentheses instead of one",
        "currency_sign": "taken off either end of an amount",
        "short_decimals": "`true`: 812.5 is 812.50",
        "date": "the pattern of dates",
        "first_year": "for `YY`: the first year that two digits can mean",
        "encoding": "the file's encoding; UTF-8, or what its first bytes tell, unless named",
        "skip_lines": "lines before the header",
        "header": "`false`: columns are given by their place, from 1",
        "ignore": "columns, or elements of a message, that are known and not wanted",
        "leave_out_zero_lines": "stub lines in which every figure is zero are left out",
        "separator": "between fields: one character, or `tab`; found out unless named",
        "quote": 'round a field; `""` for none',
        "escape": "before a character that is meant as it stands",
        "sheet": "the sheet that is read; the first unless named",
        "record_length": "bytes of a record, when nothing stands between records; else they are lines",
        "carriage_control": "`asa`: the first column of a line steers the paper",
        "page_heading_lines": "lines at the top of every page that are passed over",
    },
    "record": {
        "what": "what a record of this kind is",
        "covers": "of a trailer: the payments since the last header, or all of the file",
        "required": "of a header or trailer: `false` lets it be missing",
    },
    "record.when": {
        "contains": "what stands anywhere in the record; alone",
        "at": "a position, from 1",
        "is": "the text that stands there, or a list of texts of one length",
        "has": "what kind of thing stands there",
        "width": "how many characters wide the place is; as wide as `is` unless told",
    },
    "record.fields.payee": {
        "at": "where it stands, from 1",
        "width": "how wide it is; as its picture or pattern unless told",
        "picture": "a number's digits, sign and decimals, as COBOL writes them (ISO/IEC 1989)",
        "usage": "`packed`: two digits to a byte, the sign in the last half",
        "sign": "where the sign is; punched over the last digit unless told",
        "blank_when_zero": "`true`: a blank number is zero, not nothing",
        "pattern": "of a date; the map's `date` unless told",
    },
}

NOTICE = {
    "": {
        "kind": "fields between marks, or at fixed places",
        "told": "whose rules these are, in words",
        "encoding": "of the file: any eight-bit encoding, UTF-8, or EBCDIC",
        "line_end": "after each record; `none` for fixed records that follow each other",
        "last_line_end": "`false`: none after the last record",
        "delimiter": "between fields",
        "quote": 'round a field that needs it; `""` for none',
        "record_length": "each record is padded to it with blanks; as long as its fields unless told",
        "decimal_places": "of amounts; the currency's own unless told",
        "accents": "`drop`: é is written as e",
        "dates": "the pattern of dates",
        "point": 'the decimal mark; `""` for implied decimals',
        "letters": "`upper`: all capitals",
    },
    "marks": {
        "issue": "what the bank calls a cheque that was issued",
        "void": "what it calls one that is void",
        "stop": "what it calls one that must not be paid",
    },
    "reasons": {
        "lost": "its code for a stop because the cheque is lost",
        "stolen": "stolen",
        "fraud": "used in fraud",
        "duplicate": "printed twice",
        "customer": "the drawer's own wish",
        "insolvency": "the holder's insolvency",
        "other": "anything else",
    },
    "replace": {"ø": "a character that the bank does not take, and what stands for it; as many as needed"},
    "record": {
        "what": "which record it is",
        "for": "of a cheque: of which marks",
    },
    "record.field": {
        "value": "what the field holds ([the values](notices.md#a-layout))",
        "text": "or a text that is always the same",
        "at": "where it begins, from 1; where the one before ends unless told",
        "width": "how wide it is; in delimited records the most that the bank takes",
        "align": "figures stand right unless told",
        "pad": "the character that fills; noughts before figures in fixed records unless told",
        "too_long": "`cut`: cut short, and said each time; else refused, with the number and the field",
        "pattern": "of a date, for this field",
        "point": "of an amount, for this field",
        "places": "decimals of an amount, for this field",
        "leading_zeros": "`false`: a number without them",
        "letters": "for this field",
        "letters_and_digits_only": "an account number without its blanks and dashes",
        "always_quoted": "in quotes even where it need not be",
    },
}

STATEMENT = {
    "": {
        "header": "`false`: `[columns]` has places, from 1",
        "first_year": "for `YY`: the first year that two digits can mean",
        "decimal_mark": "between units and decimals",
        "thousands_mark": "between thousands",
        "negative": "where a minus stands, or parentheses instead of one",
        "currency_sign": "taken off either end of an amount",
        "short_decimals": "`true`: 812.5 is 812.50",
        "separator": "between fields: one character, or `tab`",
        "quote": "round a field",
        "encoding": "UTF-8, or what the first bytes tell, unless named",
        "skip_lines": "lines before the titles",
        "date": "the pattern of dates",
        "paid_out_is": "the sign of money paid out, where one column has both",
        "debit": "what stands in `direction` of money paid out",
        "credit": "what stands in `direction` of money paid in",
        "pending": "what stands in `status` of an entry that is not booked yet",
        "reversed": "what stands in `reversal` of one that takes another back",
        "newest_first": "`true`: the latest entry stands first",
    },
    "columns": {
        "booked": "the day on which it was booked; needed",
        "valued": "the day from which it counts",
        "amount": "the amount; or",
        "paid_out": "money paid out, in a column of its own",
        "paid_in": "money paid in",
        "direction": "whether it was paid out or in, by `debit` and `credit`",
        "cheque": "the cheque number",
        "payee": "whom it was paid to",
        "reference": "the bank's reference",
        "about": "what else the bank says",
        "status": "whether it is booked, by `pending`",
        "reversal": "whether it takes another back, by `reversed`",
        "balance": "the running balance: then every line is checked",
        "account": "whose statement it is",
        "currency": "of the amount",
    },
}
