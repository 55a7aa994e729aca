"""Draws the pictures of docs/after-payday.md anew, of invented figures, into this folder.

.venv/bin/python docs/images/reports/draw.py
"""

import io
from pathlib import Path

from cheque.picture.png import to_image
from cheque.report.page import Bar, Bars
from cheque.report.render.bars import draw

HERE = Path(__file__).resolve().parent
PICTURES = {
    "outstanding": Bars(
        "Outstanding by age",
        (
            Bar("0 to 30 days", 1129666, "11296.66 in 10 cheques"),
            Bar("31 to 60 days", 265413, "2654.13 in 3 cheques"),
            Bar("61 to 90 days", 0, "none"),
            Bar("91 to 180 days", 397195, "3971.95 in 5 cheques"),
            Bar("Stale: over 180 days", 728232, "7282.32 in 7 cheques", True),
            Bar("Ask about unclaimed money: over 3 years", 282470, "2824.70 in 2 cheques", True),
        ),
    ),
    "cleared": Bars(
        "Cleared by days since issue",
        (
            Bar("0 to 3 days", 15, "15 cheques"),
            Bar("4 to 7 days", 3, "3 cheques"),
            Bar("8 to 14 days", 4, "4 cheques"),
            Bar("15 to 30 days", 1, "1 cheque"),
            Bar("31 to 60 days", 4, "4 cheques"),
            Bar("61 to 90 days", 2, "2 cheques"),
            Bar("Over 90 days", 0, "none"),
        ),
    ),
}


def main() -> None:
    """All of them."""
    for name, picture in PICTURES.items():
        data = io.BytesIO()
        to_image(draw(picture), 110).quantize(32).save(data, "PNG", optimize=True)
        (HERE / f"{name}.png").write_bytes(data.getvalue())


if __name__ == "__main__":
    main()
