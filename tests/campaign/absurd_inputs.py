"""Every parameter of every command with everything absurd, one at a time.

    .venv/bin/python tests/campaign/absurd_inputs.py

Some minutes. What is wrong is printed, and how many were tried; a sample runs with the tests
(`tests/cli/test_absurd_inputs.py`).
"""

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from cli import absurd


def main() -> int:
    """Go through them all; gives how many were answered wrongly."""
    amiss, lines = 0, list(absurd.sweep())
    with tempfile.TemporaryDirectory() as name:
        firm = absurd.ready(Path(name) / "firm")
        for line in lines:
            said = absurd.wrong(firm, Path(name) / "copy", line)
            if said:
                amiss += 1
                print([text if len(text) < 80 else f"{text[:20]}…" for text in line], said, flush=True)
    print(f"{len(lines):,} command lines, {amiss} answered wrongly")
    return amiss


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
