"""What a kitchen costs within a batch, as ratios that mean the same on any machine. A plain script, no test:

    python tests/benchmarks/batch.py kitchen [--rounds 9]        a kitchen against the bare ezdxf calls for the same entities
    python tests/benchmarks/batch.py processes [--jobs 40]       two processes against one, a control without libraries beside it
    python tests/benchmarks/batch.py memory [--jobs 1000]        the greatest memory of many jobs in one process against one job's

What is compared runs in turn within each round, and a ratio is taken within its round; printed are the least, the middle and
the greatest. Times of one process are those that the processor worked, the collector of garbage at work as the program has it.
"""

from __future__ import annotations

import argparse
import gc
import io
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import ezdxf
from ezdxf.document import Drawing as Document

import layout.writers.shop_dxf
from cli.drawing import draw_one
from cli.loading import collect_seldom, forget
from cli.outcome import Wish
from layout.materials import materials
from layout.pipeline import lay_file
from layout.sheets import draw
from layout.writers.svg import svg_text

ROOT = Path(__file__).resolve().parent.parent.parent
SPIN = "n = 0\nfor k in range({0}):\n    n += k * k\n"


def told(name: str, values: list[float], goal: str = "") -> None:
    """Print the least, the middle and the greatest of some ratios."""
    shown = "   ".join(f"{v:7.3f}" for v in (min(values), statistics.median(values), max(values)))
    print(f"{name:76}{shown}   {goal}")


def took(work: Callable[[], Any]) -> float:
    """Return how long the processor worked on something, s."""
    began = time.process_time()
    work()
    return time.process_time() - began


# --- one kitchen -------------------------------------------------------------------------------------------------------


def documents(job: Path, out: Path) -> list[Document]:
    """Draw a job and return the documents that it wrote, read back."""
    folder = Path(draw_one(job, Wish(out)).folder)
    return [ezdxf.readfile(path) for path in sorted(folder.rglob("*.dxf"))]


TABLES = ("layers", "styles", "linetypes", "dimstyles")
MADE_WITH_IT = {"handle", "owner", "paperspace"}


def attributes(entity: Any) -> dict[str, Any]:
    """Return what an entity is made with, without what a document gives it."""
    return {k: v for k, v in entity.dxfattribs().items() if k not in MADE_WITH_IT and not k.endswith("_handle")}


def plan_of(doc: Document) -> dict[str, Any]:
    """Return what a document holds, as plain values to make one like it by."""

    def told_of(place: Any) -> list[tuple[str, dict[str, Any], Any]]:
        out = []
        for e in place:
            points = e.get_points("xyb") if e.dxftype() == "LWPOLYLINE" else None
            inserted = [(a.dxftype(), attributes(a), None) for a in e.attribs] if e.dxftype() == "INSERT" else None
            out.append((e.dxftype(), attributes(e), points or inserted))
        return out

    plain = ezdxf.new(doc.dxfversion)
    return {
        "version": doc.dxfversion,
        "tables": {
            name: [(e.dxf.name, attributes(e)) for e in getattr(doc, name) if e.dxf.name not in getattr(plain, name)]
            for name in TABLES
        },
        "blocks": [(b.name, told_of(b)) for b in doc.blocks if not b.name.lower().startswith(("*model", "*paper"))],
        "layouts": [(page.name, told_of(page)) for page in doc.layouts],
    }


def bare(plan: dict[str, Any]) -> str:
    """Make and write a document by bare calls of ezdxf."""
    doc = ezdxf.new(plan["version"])
    for name, entries in plan["tables"].items():
        table = getattr(doc, name)
        for entry, attribs in entries:
            table.new(entry, dxfattribs=attribs)

    def put(place: Any, held: list[tuple[str, dict[str, Any], Any]]) -> None:
        for kind, attribs, more in held:
            entity = place.new_entity(kind, attribs)
            if kind == "LWPOLYLINE":
                entity.set_points(more, "xyb")
            for _, attrib, _ in more or () if kind == "INSERT" else ():
                entity.add_attrib(attrib["tag"], attrib.get("text", ""), dxfattribs=attrib)

    for name, held in plan["blocks"]:
        put(doc.blocks.new(name) if name not in doc.blocks else doc.blocks.get(name), held)
    for name, held in plan["layouts"]:
        put(doc.layouts.get(name) if name in doc.layouts.names() else doc.layouts.new(name), held)
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


def kitchen(job: Path, rounds: int) -> None:
    """Print what a kitchen costs against the bare calls, and its parts."""
    collect_seldom()
    with tempfile.TemporaryDirectory() as folder:
        wish = Wish(Path(folder))
        docs = documents(job, wish.out)
        plans = [plan_of(doc) for doc in docs]
        for doc, plan in zip(docs, plans, strict=True):
            same = ezdxf.read(io.StringIO(bare(plan)))
            ours, theirs = (
                Counter(e.dxftype() for e in d.entitydb.values() if e.dxftype() in DRAWN) for d in (doc, same)
            )
            missing = {k: (n, theirs[k]) for k, n in ours.items() if theirs[k] != n}
            if missing:
                print(f"the bare document differs: {missing}")
        laid = lay_file(job)
        taken = materials(laid)
        drawing = draw(laid, taken)
        # as `cli.loading` leaves a process of a batch: what was made before it draws is not looked through
        gc.freeze()
        # no two kitchens are alike: what is kept of one is of no use to the next
        others = iter(unlike(job, Path(folder), 2 * rounds))
        parts: dict[str, Callable[[], Any]] = {
            "whole": lambda: (draw_one(next(others), wish), forget()),
            "bare ezdxf": lambda: [bare(plan) for plan in plans],
            "layout": lambda: lay_file(next(others)),
            "materials": lambda: materials(laid),
            "views and sheets": lambda: draw(laid, taken),
            "svg": lambda: [svg_text(sheet, drawing) for sheet in drawing.sheets],
            "shop.dxf": lambda: layout.writers.shop_dxf.shop_dxf(drawing),
        }
        times = [{name: took(work) for name, work in parts.items()} for _ in range(rounds)]
    print(f"{job.stem}, {rounds} rounds, {len(docs)} DXF files{'':36}least    median  greatest")
    told(
        "a kitchen within a batch / the bare ezdxf calls for the same entities",
        _by(times, "whole", "bare ezdxf"),
        "goal 1.3",
    )
    for name in ("bare ezdxf", "layout", "materials", "views and sheets", "svg", "shop.dxf"):
        goal = "goal 0.05" if name == "layout" else ""
        told(f"{name} / a kitchen within a batch", _by(times, name, "whole"), goal)
    told("a kitchen within a batch, s of the processor", [t["whole"] for t in times])


DRAWN = ("LINE", "ARC", "CIRCLE", "LWPOLYLINE", "TEXT", "SOLID", "DIMENSION", "INSERT", "ATTRIB", "VIEWPORT")


def _by(times: list[dict[str, float]], above: str, below: str) -> list[float]:
    return [t[above] / t[below] for t in times]


def unlike(job: Path, folder: Path, count: int) -> list[Path]:
    """Write so many jobs like one, each with its first wall a sixteenth of an inch longer than the last, and return them."""
    text = job.read_text(encoding="utf-8")
    first = re.search(r'^length = "(.+)"$', text, re.MULTILINE)
    if first is None:
        raise SystemExit(f"no length in inches in {job}")
    length = sum(Fraction(part) for part in first[1].split())
    out = []
    for n in range(1, count + 1):
        longer = length + Fraction(n, 16)
        put = f"{int(longer)} {longer % 1}" if longer % 1 else str(longer)
        out.append(folder / f"{n}.toml")
        out[-1].write_text(text[: first.start(1)] + put + text[first.end(1) :], encoding="utf-8")
    return out


# --- processes and memory ----------------------------------------------------------------------------------------------


def copies(job: Path, folder: Path, count: int) -> Path:
    """Write so many copies of a job, each with a number of its own, and return their folder."""
    text = job.read_text(encoding="utf-8")
    number = lay_file(job).job.job.number
    jobs = folder / "jobs"
    jobs.mkdir()
    for n in range(count):
        (jobs / f"{n:04}.toml").write_text(text.replace(f'"{number}"', f'"{number}-{n}"', 1), encoding="utf-8")
    return jobs


def program(*args: object) -> list[str]:
    """Return the command line of the program."""
    return [sys.executable, "-m", "cli", *map(str, args)]


def clock(*commands: list[str]) -> tuple[float, float, int]:
    """Return how long commands that run beside one another take on the clock and of the processors, s, and the greatest
    memory of one, KiB."""
    began = time.perf_counter()
    running = [
        subprocess.Popen(c, env=os.environ | {"PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL) for c in commands
    ]
    most, worked = 0, 0.0
    for one in running:
        _, status, used = os.wait4(one.pid, 0)
        one.returncode = os.waitstatus_to_exitcode(status)
        most = max(most, used.ru_maxrss)
        # a program's own processes are counted with it
        worked += used.ru_utime + used.ru_stime
        if one.returncode not in (0, 1):
            raise SystemExit(f"{one.args} ended with {one.returncode}")
    return time.perf_counter() - began, worked, most


def processes(job: Path, rounds: int, count: int) -> None:
    """Print how much faster two processes are than one, beside what the machine gives two that share nothing."""
    steps = 30_000_000
    gains, free, shares = [], [], []
    with tempfile.TemporaryDirectory() as folder:
        jobs = copies(job, Path(folder), count)
        for n in range(rounds):
            (one, alone_worked, _), (two, both_worked, _) = (
                clock(program("draw", jobs, "--out", Path(folder) / f"out-{n}-{k}", "--jobs", k)) for k in (1, 2)
            )
            shares.append(2.0 * alone_worked / both_worked)
            alone = clock([sys.executable, "-c", SPIN.format(2 * steps)])[0]
            beside = clock(*[[sys.executable, "-c", SPIN.format(steps)]] * 2)[0]
            gains.append(one / two)
            free.append(alone / beside)
            print(
                f"round {n + 1}: one process {one:.1f} s, two {two:.1f} s, gain {gains[-1]:.2f}; control {free[-1]:.2f}"
            )
    print(f"{job.stem}, {count} jobs, {rounds} rounds{'':46}least    median  greatest")
    told("one process / two, on the clock", gains, "goal 1.8")
    told("control: a loop without libraries, one / two", free, "a round counts where it is 1.8 or more")
    told("by the processors' work: one / half of what two did", shares, "goal 1.8, whatever else the machine does")
    told("gain / control", [g / c for g, c in zip(gains, free, strict=True)])
    if whole := [g for g, c in zip(gains, free, strict=True) if c >= 1.8]:
        told(f"one process / two, of the {len(whole)} rounds that count", whole, "goal 1.8")


def memory(job: Path, count: int) -> None:
    """Print the greatest memory of many jobs in one process against that of one job."""
    with tempfile.TemporaryDirectory() as folder:
        jobs = copies(job, Path(folder), count)
        one = clock(program("draw", jobs / "0000.toml", "--out", Path(folder) / "one"))[2]
        many = clock(program("draw", jobs, "--out", Path(folder) / "many", "--jobs", 1))[2]
    print(f"{job.stem}: one job {one / 1024:.1f} MiB, {count} jobs in one process {many / 1024:.1f} MiB")
    told(f"{count} jobs / one job", [many / one], "goal 1.3")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="What a kitchen costs within a batch, as ratios.")
    parser.add_argument("what", choices=("kitchen", "processes", "memory"))
    parser.add_argument("--rounds", type=int)
    parser.add_argument("--jobs", type=int)
    parser.add_argument("--sample", default="corner-two-degrees-open", help="a job file of samples/jobs, without .toml")
    chosen = parser.parse_args()
    job = ROOT / "samples" / "jobs" / f"{chosen.sample}.toml"
    if chosen.what == "kitchen":
        kitchen(job, chosen.rounds or 9)
    elif chosen.what == "processes":
        processes(job, chosen.rounds or 3, chosen.jobs or 40)
    else:
        memory(job, chosen.jobs or 1000)


if __name__ == "__main__":
    main()
