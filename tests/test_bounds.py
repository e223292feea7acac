"""What is no kitchen any more ends in words, in 10 s and 1 GB, with `check` and with `draw`; what is just let through, too."""

from __future__ import annotations

import math
import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest

import cli
from layout.drawing import Text
from layout.faults import JobError
from layout.pipeline import lay_text
from layout.reading import load
from layout.sheets import draw

SECONDS, MEGABYTES = 10.0, 1000
"""Of a processor, so that a busy machine changes nothing; at the most resident."""


def head(thickness="1 1/2", more="", grain="edge grain"):
    return (
        f'[job]\ntitle = "Absurd"\nnumber = "X-1"\nunits = "in"\n{more}\n'
        f'[wood]\nspecies = "sugar maple"\nconstruction = "{grain}"\nthickness = "{thickness}"\n'
        '[field]\nwalls = "finished"\ncabinets = "set"\n'
    )


def wall(name, length, more="corner = 90"):
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\n{more}\n'


def run(walls, more=""):
    names = ", ".join(f'"{w}"' for w in walls)
    return f'[[top]]\nname = "k"\nalong = [{names}]\ndepth = "25 1/2"\n{more}\n'


def one(length, more="", bow=""):
    return head() + wall("A", length, bow) + run("A", more)


def rect(wide="96", deep="48", name="i", more=""):
    return f'[[top]]\nname = "{name}"\nsize = ["{wide}", "{deep}"]\n{more}\n'


def hole(number, x, y, diameter=1, top="i"):
    return f'[[cutout]]\nname = "H{number}"\nkind = "hole"\ntop = "{top}"\ncenter = ["{x}", "{y}"]\ndiameter = "{diameter}"\n'


def groove(number, count=1):
    return (
        f'[[groove]]\nname = "G{number}"\ntop = "i"\ncenter = ["48", "24"]\nsize = ["6", "1/4"]\n'
        f'count = {count}\nspacing = "1/2"\ndepth = "1/8"\n'
    )


def star(count, tall=0.9):
    """An outline of many points, every other one further in."""
    points = []
    for k in range(count):
        far, turn = (55 if k % 2 else 55 * tall), 2 * math.pi * k / count
        points.append(f"[{60 + far * math.cos(turn):.6f}, {60 + far * math.sin(turn):.6f}]")
    return '[[top]]\nname = "o"\noutline = [\n' + ",\n".join(points) + "]\n"


def corner(angle):
    return head() + wall("A", "120", f"corner = {angle}") + wall("B", "120") + run("AB")


def shop(line):
    return head() + f"[shop]\n{line}\n" + rect()


def natural(pairs):
    listed = ",\n".join(f'["{s}", "{d}"]' for s, d in pairs)
    return head() + rect("120") + f'[[edge]]\ntop = "i"\nside = "front"\nnatural = [\n{listed}]\n'


REFUSED = {
    "a wall of 900 ft": (one("900'"), "a wall of at most 60 ft there"),
    "a wall of 9,144 ft": (one("9144'"), "beyond 1,000 ft"),
    "a top of 61 ft": (head() + rect("61'"), "a top of at most 60 ft there"),
    "a top 11 ft deep": (head() + rect("96", "11'"), "a top of at most 10 ft there"),
    "a run 11 ft deep": (one("300").replace("25 1/2", "11'"), "a top of at most 10 ft there"),
    "an overhang of 11 ft": (
        head() + '[[top]]\nname = "i"\nbase = ["30", "30"]\noverhang = { left = "11\'" }\n',
        "an overhang of at most 10 ft there",
    ),
    "an outline of 61 ft": (
        head() + "[[top]]\nname = \"o\"\noutline = [[0, 0], [732, 0], [732, 30], [0, 30]]\n",
        "a top of at most 60 ft by 10 ft",
    ),
    "10,000 cutouts": (
        head() + rect() + "".join(hole(k, 48, 24) for k in range(10_000)),
        "found 10,000 of [[cutout]]; expected at most 500 in one job",
    ),
    "41 cutouts on one top": (
        head() + rect() + "".join(hole(k, 2 + 2 * k, 24) for k in range(41)),
        "at most 40 cutouts on one top",
    ),
    "10,000 grooves": (
        head() + rect() + "".join(groove(k) for k in range(10_000)),
        "found 10,000 of [[groove]]; expected at most 500",
    ),
    "240 grooves by sixes": (
        head() + rect() + "".join(groove(k, 40) for k in range(6)),
        "at most 200 grooves, slots and recesses on one top",
    ),
    "2,000 walls": (
        head() + "".join(wall(f"W{k}", 30, f"corner = {170 if k % 2 else 190}") for k in range(2000)) + rect(),
        "found 2,000 of [[wall]]; expected at most 500",
    ),
    "201 tops": (head() + "".join(rect(name=f"i{k}") for k in range(201)), "expected at most 200 in one job"),
    "a run along 25 walls": (
        head()
        + "".join(wall(f"W{k}", 60, f"corner = {170 if k % 2 else 190}") for k in range(25))
        + run([f"W{k}" for k in range(25)]),
        "at most 24 along one run",
    ),
    "an outline of 50,000 points": (head() + star(50_000), "at most 200 points"),
    "an outline of 201 points": (head() + star(201), "at most 200 points"),
    "a corner of 0.0001 degrees": (corner(0.0001), "an inside angle between 10 and 350 degrees"),
    "61 stations of a bow": (
        one("305", bow="bow = [" + ", ".join(f'["{5 * k}", "{k % 2}"]' for k in range(61)) + "]"),
        "at most 60, where the line turns",
    ),
    "61 stations of an edge": (natural([(2 * k, 1) for k in range(61)]), "at most 60, where the line turns"),
    "101 notes": (head(more='notes = [' + ", ".join(['"n"'] * 101) + "]") + rect(), "at most 100"),
    "a title of 401 letters": (head().replace("Absurd", "W" * 401) + rect(), "one line of at most 400 letters"),
    "a name of 41 letters": (head() + rect(name="i" * 41), "40 at most"),
    "pieces of 1 in": (shop('max_length = "1"'), "at least 36 in"),
    "blanks of 1/64": (shop('max_width = "1/64"'), "at least 2 in"),
    "boards of 1 in": (shop('stock = ["96", "1"]'), "shop.stock[2]"),
    "strips of 1/100": (shop('strip = "0.01"'), "at least 1/2 in"),
    "boards 1/100 wide": (shop('board_width = "0.01"'), "at least 1/2 in"),
    "a hole of a hair": (head() + rect() + hole(1, 48, 24, "0.0001"), "at least 1/16 in"),
    "a top of a hair": (head() + rect("96", "1/64"), "at least 1/16 in"),
}  # fmt: skip


LONG = ("10,000 cutouts", "10,000 grooves", "an outline of 50,000 points")
"""To be read at all they take a second or two."""


@pytest.mark.parametrize("name", [pytest.param(n, marks=pytest.mark.fuzz) if n in LONG else n for n in REFUSED])
def test_what_is_too_much_is_refused_in_words_soon(name):
    text, words = REFUSED[name]
    began = time.process_time()
    with pytest.raises(JobError) as refused:
        load(text)
    assert words in str(refused.value)
    assert time.process_time() - began < SECONDS


def test_one_too_many_is_one_fault():
    with pytest.raises(JobError) as refused:
        load(head() + rect() + "".join(hole(k, 48, 24) for k in range(501)))
    assert len(refused.value.faults) == 1


def test_limits_are_kept_exactly():
    load(one("60'"))
    load(head() + rect("60'", "10'"))
    load(head() + rect() + "".join(hole(k, 2 + 2 * k, 24) for k in range(40)))
    load(head() + rect() + "".join(groove(k, 40) for k in range(5)))
    load(head().replace("Absurd", "W" * 400) + rect(name="i" * 40))
    load(shop('max_length = "36"'))
    load(shop('strip = "1/2"'))


def test_limits_in_mm_are_told_in_mm():
    text = head().replace('"in"', '"mm"').replace("1 1/2", "38") + rect("18001", "600")
    with pytest.raises(JobError, match="a top of at most 18000 mm there"):
        load(text)


LET_THROUGH = {
    "a wall of 60 ft": one("60'", 'splash = "4"'),
    "a top of 60 by 10 ft in the narrowest strips": head() + '[shop]\nstrip = "1/2"\n' + rect("60'", "10'"),
    "a top of 60 by 10 ft in blocks": head("4", grain="end grain") + rect("60'", "10'"),
    "20 pieces": head() + '[shop]\nmax_length = "36"\nmin_piece = "0"\n' + wall("A", "60'") + run("A"),
    "an outline of 200 points": head() + star(200),
    "40 cutouts": head() + rect("300") + "".join(hole(k, 5 + 14 * (k % 20), 10 + 14 * (k // 20)) for k in range(40)),
    "24 walls": head()
    + "".join(wall(f"W{k}", 60, f"corner = {170 if k % 2 else 190}") for k in range(24))
    + run([f"W{k}" for k in range(24)]),
    "a corner of 10 degrees": corner(10),
    "a corner of 179.9999 degrees": corner(179.9999),
    "a corner of 180.0001 degrees": corner(180.0001),
    "a corner of 350 degrees": corner(350),
    "1 mm thick": head("1 mm") + rect(),
    "3 ft thick": head("36") + rect(),
    "60 stations of an edge": natural([(f"{k * 120 / 59:.5f}", 1 + k % 3) for k in range(60)]),
    "60 stations of a bow": one(
        "600", 'back = "follow"', "bow = [\n" + ",\n".join(f'["{10 * k}", "{k % 2}"]' for k in range(60)) + "]"
    ),
    "words without a space in every table of the smallest sheet": head(
        more=f'customer = "{"W" * 400}"\nnotes = ["{"W" * 400}"]'
    ).replace("Absurd", "W" * 400)
    + '[sheet]\nsize = "ANSI A"\n' + rect() + hole(1, 48, 24) + f'model = "{"W" * 400}"\n',
    "a hundred notes": head(more="notes = [\n" + ",\n".join(['"' + "wood " * 75 + '"'] * 100) + "]")
    + '[sheet]\nsize = "A4"\n' + rect(),
    "joints nearly on each other": head() + rect() + hole(1, 48, 24) + hole(2, 48, 24),
    "a bit of a yard": head() + '[shop]\ntool_diameter = "36"\n' + rect() + hole(1, 48, 24, 9),
    "fasteners every 1/1000 in": head()
    + '[shop]\nfastener = { pitch = "0.001" }\n' + wall("A", 120) + wall("B", 120) + run("AB"),
}  # fmt: skip
DAILY = ("a wall of 60 ft",)


def measured(text, folder, command):
    """Run a command on a job in a process of its own; return its status, seconds of a processor, MB and what it said."""
    (folder / "job.toml").write_text(text)
    home = str(Path(cli.__file__).resolve().parent.parent)
    with (folder / "said").open("w") as said:
        process = subprocess.Popen(
            [sys.executable, "-m", "cli", command, "job.toml"],
            cwd=folder,
            env=os.environ | {"PYTHONPATH": home},
            stdout=said,
            stderr=said,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (60, 60)),  # noqa: PLW1509
        )
        _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return process.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, (folder / "said").read_text()


@pytest.mark.parametrize("name", [n if n in DAILY else pytest.param(n, marks=pytest.mark.fuzz) for n in LET_THROUGH])
@pytest.mark.parametrize("command", ["check", pytest.param("draw", marks=pytest.mark.fuzz)])
def test_the_most_that_is_let_through_is_soon_done(name, command, tmp_path):
    status, seconds, megabytes, said = measured(LET_THROUGH[name], tmp_path, command)
    assert status in (0, 1, 2), said
    assert "Traceback" not in said
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


def test_what_no_column_has_room_for_is_parted():
    """A row taller than a column, and more notes than one holds, go on in the next; nothing is lost."""
    notes = [f"{k} " + "wood " * 70 for k in range(40)]
    page = '[sheet]\nsize = "ANSI A"\n' + rect() + hole(1, 48, 24) + f'model = "{"W" * 400}"\n'
    listed = ", ".join(f'"{n}"' for n in notes)
    drawing = draw(lay_text(head(more=f"notes = [{listed}]") + page))
    words = " ".join(i.text for s in drawing.sheets for g in s.groups for i in g.items if isinstance(i, Text))
    assert words.count("W") >= 400
    for k in range(40):
        assert f" {k} wood" in words
    assert words.count("wood") >= 40 * 70


def test_marks_find_room_however_many_there_are():
    pairs = ", ".join(f'["{4 * k}", "{k % 2}"]' for k in range(60))
    drawing = draw(lay_text(one("236", 'back = "follow"', f"bow = [{pairs}]")))
    assert drawing.sheets


def test_a_size_below_zero_with_a_corner_is_a_fault_and_no_more():
    for corners in ("{}", '{ "front left" = { radius = "1" } }'):
        with pytest.raises(JobError, match="which is not more than zero") as refused:
            load(head() + rect("-9", "48", more=f"corners = {corners}"))
        assert len(refused.value.faults) == 1


# --- what absurd and random files have brought to light --------------------------------------------------------------


def test_a_seam_by_hand_stated_twice_is_refused():
    text = head() + rect() + '[[joint]]\ntop = "i"\nat = "40"\n' * 2
    with pytest.raises(JobError, match="a seam where there is one already"):
        lay_text(text)
    assert len(lay_text(text.replace('"40"', '"60"', 1)).divided.pieces) == 3


def test_an_edge_that_runs_into_itself_is_refused():
    with pytest.raises(JobError, match="an edge that runs into itself"):
        lay_text(natural([(0, 1), ("60", 1), ("60.01", 30), ("60.02", 1), (120, 1)]))
    lay_text(natural([(0, 1), (60, 3), (120, 1)]))


@pytest.mark.parametrize("mark", ["\u202e", "\u200f", "\u2066", "\u061c"])
def test_marks_of_direction_are_refused(mark):
    with pytest.raises(JobError, match="marks that turn the direction") as refused:
        load(head().replace("Absurd", f"Ab{mark}surd") + rect())
    assert mark not in str(refused.value)
