"""What a user might write in an afternoon: csv, num2words, format strings, write. No checks, no book, no proof.

python plain_script.py register.csv out.prn FIRST_NUMBER
"""

import csv
import sys

from num2words import num2words

HEAD = """\x1b@\r
{drawer:<70}{number}\r
{date:>80}\r
\r
       {payee:<48}{department}\r
       {employee:<17}{identity:<31}{period_from} - {period_to}\r
\r
"""
LINE = "{text:<24}{hours:>8}{rate:>8}{earned:>10}{taken:>10}{share:>10}{to_date:>12}\r\n"
CHEQUE = """\r
{drawer:<70}{number}\r
{reference:>67}\r
{bank:<70}{date}\r
\r
     {words:*<54}\r
{figures:*>74}\r
\r
     {payee:*<40}\r
     {address1}\r
     {address2}\r
\r\n\r\n\r\n\r\n\r
"""


def main() -> None:
    """Write the file."""
    number = int(sys.argv[3])
    with open(sys.argv[1], newline="", encoding="utf-8") as file, open(sys.argv[2], "wb") as out:
        for row in csv.DictReader(file):
            whole, _, cents = row["amount"].partition(".")
            row = {"department": "", "employee": "", "identity": "", "period_from": "", "period_to": "", **row}
            row.update(drawer="Quillmere Boatyard Company", bank="Tidewrack Savings Bank", number=number)
            row.update(address1=row.get("address1", ""), address2=row.get("address2", ""))
            row["words"] = f"{num2words(int(whole)).capitalize()} and {cents}/100"
            row["figures"] = f"${int(whole):,}.{cents}"
            text = HEAD.format(**row)
            for kind, column in (("earning", "earned"), ("deduction", "taken"), ("employer", "share")):
                for place in range(1, 5):
                    name = f"{kind}{place}"
                    if not row.get(name):
                        continue
                    line = {"hours": "", "rate": "", "earned": "", "taken": "", "share": "", "text": row[name]}
                    line["hours"] = row.get(f"{name}_hours", "")
                    line["rate"] = row.get(f"{name}_rate", "")
                    line[column] = f"{float(row[f'{name}_amount']):,.2f}"
                    line["to_date"] = f"{float(row[f'{name}_to_date']):,.2f}"
                    text += LINE.format(**line)
            out.write((text + CHEQUE.format(**row)).encode("cp437", "replace"))
            number += 1


if __name__ == "__main__":
    main()
