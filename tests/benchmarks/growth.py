"""How time grows with the number of cutouts, walls and tops, up to a hundred times a kitchen. A plain script, no test:

    python tests/benchmarks/growth.py [--most 100] [--draw]

Each count is laid out (with ``--draw``: drawn, without writing to disk) once to warm up, then three times; the least time of
the processor counts. Printed are the times against the smallest's and the exponent of a straight line through the logarithms:
1 is linear, and n log n over the upper half of such a range shows as about 1.2.
"""

from __future__ import annotations

import argparse
import gc
import math
import time
from collections.abc import Callable

from layout.pipeline import Layout, lay_text

HEAD = """\
[job]
title = "Growth"
number = "G-1"
units = "in"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "cherry"
thickness = "1 1/2"
"""
KITCHEN = {"cutouts": 3, "walls": 3, "tops": 2}
"""What a kitchen has of each."""
SHARES = (1, 2, 4, 8, 16, 32, 64, 100)


def cutouts(count: int, in_a_top: int = 12) -> str:
    """Return a job of so many holes, so many of them at the most in a rectangle: on paper it has room for no more."""
    parts = [HEAD]
    for first in range(0, count, in_a_top):
        here = min(in_a_top, count - first)
        parts.append(f'[[top]]\nname = "T{first + 1}"\nsize = ["{12 * here + 24}", "25 1/2"]\n')
        for n in range(here):
            parts.append(
                f'[[cutout]]\nname = "H{first + n + 1}"\nkind = "hole"\ntop = "T{first + 1}"\n'
                f'center = ["{12 * n + 15}", "12"]\nsize = ["3", "3"]\nradius = "1/2"\nproof = "template"\n'
            )
    return "".join(parts)


def walls(count: int) -> str:
    """Return a job of so many walls that go out and in, with a run along the first."""
    parts = [HEAD]
    for n in range(count):
        parts.append(f'[[wall]]\nname = "W{n + 1}"\nlength = "60"\ncorner = {135 if n % 2 else 225}\n')
    parts.append('[[top]]\nname = "run"\nalong = ["W1"]\ndepth = "20"\nend = "40"\n')
    return "".join(parts)


def tops(count: int) -> str:
    """Return a job of so many rectangles."""
    parts = [HEAD]
    for n in range(count):
        parts.append(f'[[top]]\nname = "T{n + 1}"\nsize = ["{40 + n % 7}", "{24 + n % 3}"]\n')
    return "".join(parts)


MAKERS: dict[str, Callable[[int], str]] = {"cutouts": cutouts, "walls": walls, "tops": tops}


def drawn(layout: Layout) -> None:
    """Make every file of a job."""
    from layout.files import packet_files  # noqa: PLC0415

    packet_files(layout)


def least(text: str, *, draw: bool, repeats: int = 3) -> float:
    """Return the least time of the processor that a job takes, s."""
    times = []
    for n in range(repeats + 1):
        gc.collect()
        began = time.process_time()
        layout = lay_text(text)
        if draw:
            drawn(layout)
        if n or not times:
            times.append(time.process_time() - began)
        if times[-1] > 20:
            break
    return min(times)


def exponent(counts: list[int], times: list[float]) -> float:
    """Return the slope of the straight line through the logarithms, by least squares."""
    xs, ys = [math.log(c) for c in counts], [math.log(t) for t in times]
    x, y = sum(xs) / len(xs), sum(ys) / len(ys)
    return sum((a - x) * (b - y) for a, b in zip(xs, ys, strict=True)) / sum((a - x) ** 2 for a in xs)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="How time grows with cutouts, walls and tops.")
    parser.add_argument("--most", type=int, default=100, help="times a kitchen")
    parser.add_argument("--draw", action="store_true", help="draw too, not only lay out")
    parser.add_argument("--of", choices=[*MAKERS], nargs="*", default=[*MAKERS])
    chosen = parser.parse_args()
    for kind in chosen.of:
        counts = [share * KITCHEN[kind] for share in SHARES if share <= chosen.most]
        times: list[float] = []
        for count in counts:
            times.append(least(MAKERS[kind](count), draw=chosen.draw))
            print(f"{kind:8} {count:5}  {times[-1]:8.3f} s  {times[-1] / times[0]:8.1f} times the first", flush=True)
        half = len(counts) // 2
        print(
            f"{kind:8} exponent {exponent(counts, times):.2f} over all, {exponent(counts[half:], times[half:]):.2f} over the upper half"
        )


if __name__ == "__main__":
    main()
