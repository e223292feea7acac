"""How long the commands take, as ratios that mean the same on any machine. A plain script, no test:

    python tests/benchmarks/bench.py [--repeats 15] [--sample NAME]

In each round every program runs once, in turn, so that whatever else the machine does falls on all of them alike, and a
ratio is taken within its round. Printed are the least and the middle value of each, of the time on the clock and of the
time that the processor worked. The middle ratio is the one to trust; the rows in seconds are for this machine only.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
MAIN = "import sys; from cli.app import main; main()"
LOADED = """\
import sys
*sys.argv, kept = sys.argv
from cli.app import main
try:
    main()
finally:
    open(kept, "w").write("\\n".join(sys.modules))
"""
IDLE = """\
import importlib, sys
*sys.argv, kept = sys.argv
from cli.app import main
import os
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
import gc
gc.disable()
for name in open(kept).read().split():
    try:
        importlib.import_module(name)
    except ImportError:
        pass  # made by the import of another
gc.freeze()
gc.enable()
for command in ("drawing", "checking"):
    module = sys.modules.get(f"cli.{command}")
    for work in ("draw_job", "check_job"):
        if hasattr(module, work):
            setattr(module, work, lambda *given, **named: 0)
main()
"""
"""The same program with every module that it needs, and then no job."""
COMMAND = '''
@app.command()
def command_{0}(file: str) -> None:
    """Do one thing."""
'''
BARE = """\
import typer
app = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
{}
app()
""".format("".join(COMMAND.format(n) for n in range((ROOT / "cli" / "app.py").read_text().count("@app.command"))))
"""A typer app of as many commands that do nothing."""
RATIOS = [
    ("draw / the same program without a job", "draw", "draw without a job"),
    ("check / the same program without a job", "check", "check without a job"),
    ("check / draw", "check", "draw"),
    ("--help / --help of a bare typer app", "--help", "bare typer"),
]


def run(code: str, *args: str) -> tuple[float, float]:
    """Return how long a program took: on the clock and on the processor, in seconds."""
    began = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-c", code, *args],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    ) as process:
        _, status, used = os.wait4(process.pid, 0)
        took = time.perf_counter() - began
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{args} ended with {process.returncode}")
    return took, used.ru_utime + used.ru_stime


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="How long the commands take, as ratios.")
    parser.add_argument("--repeats", type=int, default=15)
    parser.add_argument("--sample", default="corner-two-degrees-open", help="a job file of samples/jobs, without .toml")
    chosen = parser.parse_args()
    job = str(ROOT / "samples" / "jobs" / f"{chosen.sample}.toml")
    with tempfile.TemporaryDirectory() as folder:
        out, draws, checks = (str(Path(folder) / name) for name in ("out", "draws", "checks"))
        # a first run of each warms the disk and tells what the command imports
        run(LOADED, "draw", job, "--out", out, draws)
        run(LOADED, "check", job, checks)
        programs = {
            "draw": (MAIN, "draw", job, "--out", out),
            "draw without a job": (IDLE, "draw", job, "--out", out, draws),
            "check": (MAIN, "check", job),
            "check without a job": (IDLE, "check", job, checks),
            "--help": (MAIN, "--help"),
            "bare typer": (BARE, "--help"),
        }
        rounds = [{name: run(*program) for name, program in programs.items()} for _ in range(chosen.repeats)]
    print(f"{chosen.sample}, {chosen.repeats} rounds{'':24}clock: min  median   processor: min  median")
    for name in programs:
        print_row(f"{name}, s", [[one[name][clock] for one in rounds] for clock in (0, 1)])
    for name, above, below in RATIOS:
        print_row(name, [[one[above][clock] / one[below][clock] for one in rounds] for clock in (0, 1)])


def print_row(name: str, kinds: list[list[float]]) -> None:
    """Print the least and the middle of values measured in two ways."""
    clock, processor = ((min(values), statistics.median(values)) for values in kinds)
    print(f"{name:60}{clock[0]:7.2f} {clock[1]:7.2f}       {processor[0]:13.2f} {processor[1]:7.2f}")


if __name__ == "__main__":
    main()
