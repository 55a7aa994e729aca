"""A proof page of many cheques in a real Chromium: how long it takes to open, and whether scrolling stutters.

    python tests/bench/bench_proofpage.py [cheques]

Scrolls the page from end to end in steps of three quarters of a window, one a frame, and prints the share of frames
later than 50 ms (what a person sees as a stutter), with the longest. One run on one machine: compare runs, not
machines.
"""

import io
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from browsing import chromium, visiting
from picture.struck import at, by_way_of_bytes, payroll
from picture.test_proofbook import totals

from cheque.picture.proofpage import Entry, ProofPage

_SCROLL = """async (limit) => {
  const late = []; let frames = 0, longest = 0, last = performance.now();
  while (scrollY + innerHeight + 2 < document.documentElement.scrollHeight && frames < limit) {
    scrollBy(0, innerHeight * 0.75);
    await new Promise(requestAnimationFrame);
    const now = performance.now();
    frames += 1; longest = Math.max(longest, now - last);
    if (now - last > 50) late.push(now - last);
    last = now;
  }
  return {frames, late: late.length, longest, drawn: document.querySelectorAll('section.payment svg').length};
}"""


def main() -> None:
    """Write the page, open it, scroll it."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    entries = [Entry(place, f"Payee {place}", f"{place}.00") for place in range(1, count + 1)]
    begun = time.perf_counter()
    out = io.BytesIO()
    page = ProofPage(out, payroll(), totals(count), entries)
    for entry in entries:
        lines = tuple(at(line, 5, f"line {line} of {entry.payee} " + "x" * 30) for line in range(1, 35))
        page.add(entry, [by_way_of_bytes(lines, 7 * 2_743_200)])
    page.close()
    print(f"{count} cheques of 34 lines on three parts: {len(out.getvalue()) / 1e6:.1f} MB, "
          f"{time.perf_counter() - begun:.1f} s to make")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        path = Path(folder) / "proof.html"
        path.write_bytes(out.getvalue())
        begun = time.perf_counter()
        with visiting(browser, path) as visit:
            print(f"opened in {time.perf_counter() - begun:.2f} s")
            told = visit.page.evaluate(_SCROLL, 10_000)
    print(f"scrolled {told['frames']} windows: {told['late']} frames later than 50 ms, the longest "
          f"{told['longest']:.0f} ms; {told['drawn']} pictures drawn at the end")  # fmt: skip


if __name__ == "__main__":
    main()
