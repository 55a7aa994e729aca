"""Draws `docs/images/speed.svg` from what `bench_payday.py --keep` and `bench_queries.py --keep` measured.

    cd docs && ../.venv/bin/python ../tests/bench/plot_speed.py evidence/speed-payday.jsonl \\
        evidence/speed-queries.jsonl > images/speed.svg

Three charts, payments or cheques across (10 to 1,000,000, logarithmic): microseconds of processor a payment of each
step, the peak memory of each step, and what a question costs.
"""

import json
import math
import sys
from pathlib import Path

Points = list[tuple[float, float]]
INK = {"accept": "#1b5e8c", "proof": "#8c5a1b", "print": "#2e7d32", "num2words": "#777777", "plain script": "#b03a48"}
MORE = ("#1b5e8c", "#8c5a1b", "#2e7d32", "#b03a48", "#5e3a8c")
WIDE, HIGH, LEFT, TOP, APART = 300, 220, 70, 50, 110


def rows(path: str) -> list[dict[str, float]]:
    """What was measured, a line of JSON each."""
    return [json.loads(line) for line in Path(path).read_text("utf-8").splitlines()]


def chart(number: int, title: str, unit: str, lines: dict[str, tuple[str, Points]]) -> str:
    """One chart, both axes logarithmic."""
    points = [point for _, line in lines.values() for point in line]
    low = math.floor(math.log10(min(y for _, y in points)) * 2) / 2
    high = math.ceil(math.log10(max(y for _, y in points)) * 2) / 2
    left = LEFT + number * (WIDE + APART)

    def at(x: float, y: float) -> tuple[float, float]:
        return left + (math.log10(x) - 1) / 5 * WIDE, TOP + HIGH - (math.log10(y) - low) / (high - low) * HIGH

    drawn = [f'<text x="{left}" y="{TOP - 22}" class="title">{title}</text>']
    for power in range(1, 7):
        x, bottom = at(10**power, 10**low)
        drawn.append(f'<path d="M{x:.1f} {TOP}V{bottom:.1f}" class="grid"/>')
        drawn.append(f'<text x="{x:.1f}" y="{bottom + 16:.1f}" text-anchor="middle">{10**power:,}</text>')
    for power in range(math.ceil(low), math.floor(high) + 1):
        for digit in (1, 2, 5):
            y = digit * 10**power
            if low <= math.log10(y) <= high:
                x, height = at(10, y)
                drawn.append(f'<path d="M{x:.1f} {height:.1f}h{WIDE}" class="grid"/>')
                drawn.append(f'<text x="{x - 6:.1f}" y="{height + 4:.1f}" text-anchor="end">{y:,}</text>')
    drawn.append(f'<text x="{left}" y="{TOP - 7}" class="unit">{unit}</text>')
    labels: list[float] = []
    for name, (ink, line) in sorted(lines.items(), key=lambda one: at(*one[1][1][-1])[1]):
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in (at(*point) for point in line))
        drawn.append(f'<polyline points="{path}" stroke="{ink}" class="line"/>')
        drawn += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.5" fill="{ink}"/>' for x, y in (at(*p) for p in line)]
        x, y = at(*line[-1])
        y = max(y, labels[-1] + 12) if labels else y
        labels.append(y)
        drawn.append(f'<text x="{x + 6:.1f}" y="{y + 4:.1f}" fill="{ink}">{name}</text>')
    return "\n".join(drawn)


def main() -> None:
    """Write the drawing to standard output."""
    paydays = sorted((row for row in rows(sys.argv[1]) if row["kind"] == "stub"), key=lambda row: row["payments"])
    queries = sorted(rows(sys.argv[2]), key=lambda row: row["cheques"])
    steps = ("accept", "proof", "print")
    times = {
        step: [(row["payments"], row[f"{step} work"] * 1e6 / row["payments"]) for row in paydays] for step in steps
    }
    times["num2words"] = [(row["payments"], row["words work"] * 1e6 / row["payments"]) for row in paydays]
    times["plain script"] = [(row["payments"], row["script work"] * 1e6 / row["payments"]) for row in paydays]
    memory = {step: [(row["payments"], row[f"{step} memory"]) for row in paydays] for step in steps}
    asked = ("show NUMBER", "find REFERENCE", "stock list", "batch list", "spoil")
    asking = {name: [(row["cheques"], row[name] * 1e3) for row in queries] for name in asked}
    across = LEFT + 3 * WIDE + 2 * APART + 100
    print(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {across} {TOP + HIGH + 45}" font-family="sans-serif" '
        'font-size="11"><style>.title{font-weight:bold;font-size:13px}.unit{fill:#555}.grid{stroke:#ddd;fill:none}'
        f'.line{{fill:none;stroke-width:1.8}}</style><rect width="{across}" height="{TOP + HIGH + 45}" fill="#fff"/>'
    )
    inked = {name: (INK[name], line) for name, line in times.items()}
    print(chart(0, "Time", "µs of processor a payment, by payments", inked))
    print(chart(1, "Memory", "peak MiB, by payments", {name: (INK[name], line) for name, line in memory.items()}))
    coloured = {name: (ink, line) for ink, (name, line) in zip(MORE, asking.items(), strict=True)}
    print(chart(2, "A question", "ms of processor with the start of Python, by cheques in the book", coloured))
    print("</svg>")


if __name__ == "__main__":
    main()
