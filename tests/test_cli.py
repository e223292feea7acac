"""The commands: what they print, what they write, how they end."""

import hashlib
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import cli
from cli.app import app
from layout.rule_table import RULES
from layout.version import VERSION

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = sorted((ROOT / "samples" / "jobs").glob("*.toml"))
NAMES = [sample.stem for sample in SAMPLES]
COMMANDS = [
    "new",
    "schema",
    "check",
    "draw",
    "import",
    "materials",
    "price",
    "explain",
    "issue",
    "release",
    "register",
    "returned",
    "compare",
    "preview",
    "species",
    "profiles",
    "sizes",
]
PROGRAM = [sys.executable, "-m", "cli"]

SLAB = """\
[job]
title = "Slab"
number = "{number}"
units = "in"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "cherry"
thickness = "1 1/2"
"""
TOP = """\
[[top]]
name = "{name}"
size = ["{length}", "{width}"]
[top.corners]
"front left" = {{ radius = "2" }}
"front right" = {{ radius = "2" }}
"back left" = {{ radius = "2" }}
"back right" = {{ radius = "2" }}
"""
LEFT, RIGHT = TOP.format(name="left", length="40", width="25"), TOP.format(name="right", length="48", width="25")
HOLE = """\
[[cutout]]
name = "S1"
kind = "sink"
mount = "drop-in"
top = "left"
center = ["20", "{across}"]
size = ["16", "12"]
proof = "template"
"""
GOOD = SLAB + LEFT + RIGHT + HOLE.format(across="12 1/2")
STOPPED = SLAB + LEFT + RIGHT + HOLE.format(across="6 1/2")
"""Half an inch of wood is left in front of the sink, which is under half of the 3 that the shop wants."""
WIDE = SLAB + LEFT + TOP.format(name="right", length="60", width="49")
"""One piece is wider than the 48 that is glued up: someone must decide."""
BROKEN = GOOD.replace('thickness = "1 1/2"', 'thickness = "1 1/0"')


def run(*args):
    return CliRunner().invoke(app, [str(arg) for arg in args])


def program(*args, cwd, **environment):
    """Run the program in a process of its own, on the copy of it that these tests import."""
    home = str(Path(cli.__file__).resolve().parent.parent)
    return subprocess.run(
        [*PROGRAM, *map(str, args)],
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": home} | environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=100,
        check=False,
    )


def inside(folder):
    """Return the content of every file in a folder, by its name there."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def ended(result, status):
    """Hold that a command ended as it means to: with that exit status and by no fault of its own."""
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    assert "Traceback" not in result.output
    assert result.exit_code == status, result.output


@pytest.fixture
def place(tmp_path, monkeypatch):
    """Return an empty folder, which is the current one."""
    folder = tmp_path / "place"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def job(place):
    """Return a function that writes a job file."""

    def write(name="job.toml", text=GOOD, number="J-1"):
        path = place / name
        path.write_text(text.replace("{number}", number), encoding="utf-8")
        return path

    return write


def listed(folder):
    """Return the names and digests that a folder's report lists."""
    report = json.loads((folder / "report.json").read_bytes())
    return {entry["name"]: entry["sha256"] for entry in report["files"]}


# --- help ----------------------------------------------------------------------------------------------------------


def test_the_program_says_what_it_is_and_lists_its_commands():
    result = run("--help")
    ended(result, 0)
    assert "drawings and cut files" in " ".join(result.stdout.split())
    assert re.findall(r"^  ([a-z]+)  ", result.stdout.partition("Commands:")[2], re.M) == COMMANDS


@pytest.mark.parametrize("command", [c.name or c.callback.__name__ for c in app.registered_commands])
def test_every_command_has_help_for_itself_and_for_all_it_takes(command):
    result = run(command, "--help")
    ended(result, 0)
    usage, _, rest = result.stdout.partition("\n\n")
    assert command in usage
    assert rest.strip(), "a sentence on what it does"
    takes = re.findall(r"^  (\S+(?: (?!  )\S+)*)(?:  +(\S.*))?$", rest.partition(":\n")[2], re.M)
    assert len(takes) >= 2
    for what, said in takes:
        assert said, f"{what} has no help"


def test_every_command_stands_in_the_contract_of_these_tests():
    assert [c.name or c.callback.__name__ for c in app.registered_commands] == COMMANDS


def test_without_a_command_the_help_is_shown():
    result = run()
    assert result.exit_code == 2
    assert "Commands:" in result.output


def test_the_version_is_told():
    result = run("--version")
    ended(result, 0)
    assert result.stdout == f"staveline {VERSION}\n"


@pytest.mark.parametrize(
    "args", [["check"], ["draw"], ["new"], ["saw"], ["check", "--jobs", "0", "a"], ["draw", "--in", "x"]]
)
def test_what_was_typed_wrong_is_said_without_a_traceback(args, place):
    result = run(*args)
    ended(result, 2)
    assert "Usage:" in result.stderr
    assert inside(place) == {}


PROBE = """\
import sys
sys.argv = ["staveline", *sys.argv[1:]]
from cli.app import main
try:
    main()
except SystemExit as end:
    status = end.code or 0
print("LOADED", *{name.partition(".")[0] for name in sys.modules}, file=sys.stderr)
raise SystemExit(status)
"""
HEAVY = {"ezdxf", "svgwrite", "reportlab", "shapely", "numpy", "tree_sitter", "layout"}
DRAWING_LIBRARIES = {"ezdxf", "svgwrite"}


def loaded(*args, cwd):
    """Return the packages that the program has imported by its end."""
    home = str(Path(cli.__file__).resolve().parent.parent)
    result = subprocess.run(
        [sys.executable, "-c", PROBE, *map(str, args)],
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": home},
        capture_output=True,
        timeout=100,
        text=True,
        encoding="utf-8",
        check=True,
    )
    return set(result.stderr.rpartition("LOADED ")[2].split()), result.stdout


@pytest.mark.parametrize(
    "args",
    [
        ["--help"],
        *(
            pytest.param([c, "--help"], marks=[] if c in ("draw", "check", "preview") else pytest.mark.sweep)
            for c in COMMANDS
        ),
    ],
)
def test_help_imports_nothing_heavy(args, place):
    packages, said = loaded(*args, cwd=place)
    assert "Usage:" in said
    assert "typer" in packages
    assert packages & HEAVY == set()


def test_new_lays_nothing_out(place):
    packages, _ = loaded("new", "job.toml", cwd=place)
    assert packages & (HEAVY - {"layout"}) == set(), "the schema is made of the models, and of nothing that lays out"


def test_check_does_without_the_drawing_libraries_and_draw_does_not(place, job):
    path = job()
    for args in (["check", path], ["check", path, "--json"]):
        packages, _ = loaded(*args, cwd=place)
        assert "shapely" in packages
        assert packages & (DRAWING_LIBRARIES | {"reportlab"}) == set()
    packages, _ = loaded("draw", path, cwd=place)
    assert packages >= DRAWING_LIBRARIES
    assert "reportlab" not in packages, "an extra, wanted for --pdf only"


# --- new -----------------------------------------------------------------------------------------------------------


def test_new_writes_a_starter_that_checks_clean_and_draws(place):
    result = run("new", "mill-end.toml")
    ended(result, 0)
    assert result.stdout == "wrote mill-end.toml; draw it with: staveline draw mill-end.toml\n"
    text = (place / "mill-end.toml").read_text(encoding="utf-8")
    assert text.count("#") > 10, "it is commented"
    assert 'number = "mill-end"' in text
    checked = run("check", "mill-end.toml")
    ended(checked, 0)
    assert "no findings" in checked.stdout
    drawn = run("draw", "mill-end.toml")
    ended(drawn, 0)
    assert {"sheet-1.svg", "shop.dxf", "cut/P1.dxf", "report.json"} <= inside(place / "out" / "mill-end").keys()


@pytest.mark.parametrize(
    "name",
    [
        "a kitchen.toml",
        "Küche ½.toml",
        "it's {number}.toml",
        "x" * 90 + ".toml",
        ".toml",
        "tab\tand\nline.toml",
        "-.toml",
    ],
)
def test_a_starter_of_any_name_checks_clean(name, place):
    ended(run("new", "--", name), 0)
    assert sorted(p.name for p in place.iterdir()) == sorted([name, "staveline.schema.json"])
    checked = run("check", "--", name)
    ended(checked, 0)
    assert "no findings" in checked.stdout


def test_a_starter_whose_name_is_no_text_checks_clean(place):
    name = b"caf\xe9.toml"
    try:
        (place / os.fsdecode(name)).touch()
    except OSError:
        pytest.skip("this file system takes names in UTF-8 only")
    (place / os.fsdecode(name)).unlink()
    for command in ("new", "check"):
        result = program(command, os.fsdecode(name), cwd=place)
        assert result.returncode == 0, result.stderr.decode()
        assert result.stderr == b""


def test_the_command_that_new_tells_can_be_pasted(place):
    result = run("new", "a kitchen.toml")
    assert result.stdout.endswith("staveline draw 'a kitchen.toml'\n")
    assert "staveline draw 'a kitchen.toml'" in (place / "a kitchen.toml").read_text(encoding="utf-8")


def test_there_are_samples_to_start_from():
    assert len(NAMES) >= 8


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.stem)
def test_new_like_a_sample_writes_that_job(sample, place):
    ended(run("new", "mine.toml", "--like", sample.stem), 0)
    first, _, rest = (place / "mine.toml").read_bytes().partition(b"\n")
    assert (first, rest) == (b"#:schema staveline.schema.json", sample.read_bytes())
    assert run("check", "mine.toml").exit_code == 0


@pytest.mark.parametrize("name", ["nothing-like-it", "../jobs/metric-kitchen", "", "metric-kitchen.toml"])
def test_new_like_an_unknown_sample_names_those_there_are(name, place):
    result = run("new", "mine.toml", "--like", name)
    ended(result, 2)
    assert repr(name) in result.stderr
    for known in NAMES:
        assert known in result.stderr
    assert result.stdout == ""
    assert inside(place) == {}


@pytest.mark.parametrize("like", [[], ["--like", "metric-kitchen"]])
def test_new_never_writes_over_a_file(like, place):
    (place / "mine.toml").write_bytes(b"mine")
    result = run("new", "mine.toml", *like)
    ended(result, 3)
    assert "mine.toml" in result.stderr
    assert result.stdout == ""
    assert inside(place) == {"mine.toml": b"mine"}


def test_new_never_writes_through_a_link(place, tmp_path):
    (place / "mine.toml").symlink_to(tmp_path / "elsewhere.toml")
    ended(run("new", "mine.toml"), 3)
    assert not (tmp_path / "elsewhere.toml").exists()


@pytest.mark.parametrize("name", ["nowhere/mine.toml", "file/mine.toml", "x" * 300 + ".toml", "."])
def test_new_where_nothing_can_be_written_says_so(name, place):
    (place / "file").write_bytes(b"")
    result = run("new", name)
    ended(result, 3)
    assert name in result.stderr
    assert inside(place) == {"file": b""}


def test_new_leaves_no_half_a_file(place):
    """A disk that is full shows at the write, after the file was made; here by a limit on the size of files."""
    limit = "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
    limit += "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)); from cli.app import main; main()"
    home = str(Path(cli.__file__).resolve().parent.parent)
    result = subprocess.run(
        [sys.executable, "-B", "-c", limit, "new", "mine.toml"],
        cwd=place,
        env=os.environ | {"PYTHONPATH": home},
        capture_output=True,
        timeout=100,
        text=True,
        check=False,
    )
    assert result.returncode == 3, result.stderr
    assert "mine.toml could not be written: File too large" in result.stderr
    assert inside(place) == {}


# --- check ---------------------------------------------------------------------------------------------------------


def test_check_tells_the_pieces_and_that_nothing_was_found(place, job):
    result = run("check", job())
    ended(result, 0)
    head, *rows = result.stdout.splitlines()
    assert head == "J-1 Slab: 2 tops, 2 pieces, 1 cutout"
    assert rows[0].split(None, 2) == ["P1", "left", '40" x 25" x 1 1/2"']
    assert rows[1].split(None, 2) == ["P2", "right", '48" x 25" x 1 1/2"']
    assert rows[2].startswith("no findings")
    assert result.stderr == ""
    assert list(inside(place)) == ["job.toml"]


def test_check_tells_every_finding_with_its_remedy_and_ends_with_one(place, job):
    result = run("check", job(text=WIDE + HOLE.format(across="6 1/2")))
    ended(result, 1)
    said = result.stdout
    assert re.search(r"^ 1 stop web-too-thin: S1$", said, re.M)
    assert re.search(r"^ +only 1/2\" of wood is left", said, re.M)
    assert (
        len(re.findall(r"^      -> \S", said, re.M))
        == len(re.findall(r"^ ?\d+ (?:stop|ask|note) +\S+: ", said, re.M))
        == 2
    )
    assert "1 stop, 1 ask" in said.splitlines()[-1]
    assert list(inside(place)) == ["job.toml"]


def test_an_ask_alone_is_no_no(job):
    result = run("check", job(text=WIDE))
    ended(result, 0)
    assert re.search(r"^ 1 ask  piece-too-wide: P2$", result.stdout, re.M)


@pytest.mark.parametrize(("text", "status"), [(GOOD, 0), (STOPPED, 1)])
def test_check_json_is_the_report_of_draw_apart_from_its_files(place, job, text, status):
    path = job(text=text)
    checked = run("check", path, "--json")
    ended(checked, status)
    assert checked.stderr == ""
    assert list(inside(place)) == ["job.toml"]
    ended(run("draw", path), status)
    said = json.loads(checked.stdout)
    drawn = json.loads((place / "out" / "J-1" / "report.json").read_bytes())
    assert drawn["files"]
    assert said.pop("files") == []
    assert drawn.pop("files")
    assert said == drawn
    assert list(said)[:3] == ["staveline", "digest", "job"]
    assert [f["severity"] for f in said["findings"]] == ["stop"] * status


def test_check_of_every_sample_finds_nothing_to_stop(place):
    for sample in SAMPLES:
        result = run("check", sample)
        ended(result, 0)
        assert " stop " not in result.stdout


def test_what_a_terminal_cannot_show_stops_nothing(place, job):
    path = job(text=GOOD.replace("Slab", "Küche ½ 木"))
    text = program("check", path, cwd=place, PYTHONIOENCODING="latin-1")
    assert text.returncode == 0, text.stderr.decode()
    assert "Küche ½ \\u6728".encode("latin-1") in text.stdout
    as_json = program("check", path, "--json", cwd=place, PYTHONIOENCODING="latin-1")
    assert json.loads(as_json.stdout)["job"]["title"] == "Küche ½ 木"


# --- jobs that cannot be read --------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", [["check"], ["check", "--json"], ["draw"]])
def test_a_broken_job_is_told_with_its_place_and_nothing_is_written(command, place, job):
    job("broken.toml", BROKEN)
    result = run(command[0], "broken.toml", *command[1:])
    ended(result, 2)
    assert result.stdout == ""
    message, line, mark = result.stderr.splitlines()
    number = BROKEN.splitlines().index('thickness = "1 1/0"') + 1
    assert message.startswith(f"broken.toml:{number}:13: wood.thickness: found ")
    assert line.strip() == 'thickness = "1 1/0"'
    assert line[mark.index("^") : mark.rindex("^") + 1] == '"1 1/0"'
    assert list(inside(place)) == ["broken.toml"]


def test_what_a_later_stage_cannot_lay_out_is_told_with_its_place_too(place, job):
    run_top = SLAB + (
        '[[wall]]\nname = "A"\nlength = "96"\n[[wall]]\nname = "B"\nlength = "96"\n'
        '[[top]]\nname = "L"\nalong = ["A", "B"]\ndepth = "25"\n'
        '[[appliance]]\nkind = "range"\ntop = "L"\nwall = "A"\nat = "80"\nwidth = "10"\n'
    )
    job("corner.toml", run_top)
    result = run("draw", "corner.toml")
    ended(result, 2)
    number = run_top.splitlines().index('at = "80"') + 1
    assert re.match(rf"corner\.toml:{number}:6: appliance\[1\]", result.stderr)
    assert result.stderr.splitlines()[2].strip() == "^^^^"
    assert list(inside(place)) == ["corner.toml"]


@pytest.mark.parametrize("command", ["check", "draw"])
@pytest.mark.parametrize("name", ["missing.toml", "folder", "bytes.toml", "folder/job.toml"])
def test_a_file_that_is_no_job_is_told_by_name(command, name, place):
    (place / "folder").mkdir()
    (place / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    result = run(command, name)
    ended(result, 2)
    assert result.stderr.startswith(f"{name}")
    assert "; expected a" in result.stderr
    assert list(inside(place)) == ["bytes.toml"]


def test_the_program_itself_ends_so_and_shows_no_traceback(place, job):
    for text, status in ((GOOD, 0), (STOPPED, 1), (BROKEN, 2)):
        result = program("check", job(text=text), cwd=place)
        assert result.returncode == status
        assert b"Traceback" not in result.stderr
        assert bool(result.stderr) == (status == 2)
    (place / "out").write_bytes(b"in the way")
    job(text=GOOD)
    assert program("draw", "job.toml", cwd=place).returncode == 3


@pytest.mark.parametrize(
    "number",
    ["../escape", "..", ".", "/escape", "a/b", "a\\\\b", ".hidden", "", "x" * 41, "a b", "C:", "a\\u0000", "a\\n", "ü"],
)
def test_a_number_that_could_lead_elsewhere_is_refused(number, place, job, tmp_path):
    job(number=number)
    result = run("draw", "job.toml", "--out", "deep/out")
    ended(result, 2)
    assert re.match(r"job\.toml:3:10: job\.number: found ", result.stderr)
    assert list(inside(tmp_path)) == ["place/job.toml"]
    assert [p.name for p in place.iterdir()] == ["job.toml"]


# --- explain -------------------------------------------------------------------------------------------------------


def test_explain_names_every_finding_and_tells_each_in_full(place):
    result = run("explain")
    ended(result, 0)
    rows = [line.split(None, 2) for line in result.stdout.splitlines()]
    assert [row[0] for row in rows] == list(RULES)
    for code, severity, meaning in rows:
        assert severity == RULES[code].severity
        told = run("explain", code)
        ended(told, 0)
        words = " ".join(told.stdout.split())
        assert words.startswith(f"{code} for {severity} means {meaning}")
        for part in (RULES[code].rule, RULES[code].source, RULES[code].remedy):
            assert " ".join(part.split()) in words


def test_explain_offers_the_nearest_finding_to_one_misspelt():
    result = run("explain", "web-to-thin")
    ended(result, 2)
    assert result.stdout == ""
    assert "'web-to-thin'" in result.stderr
    assert "web-too-thin" in result.stderr
    far = run("explain", "zzz")
    ended(far, 2)
    assert "staveline explain" in far.stderr


def test_explain_lays_nothing_out(place):
    packages, _ = loaded("explain", "web-too-thin", cwd=place)
    assert packages & (HEAVY - {"layout"}) == set()


# --- draw ----------------------------------------------------------------------------------------------------------


def test_draw_writes_the_packet_and_its_report_lists_all_of_it(place, job):
    result = run("draw", job())
    ended(result, 0)
    folder = place / "out" / "J-1"
    files = inside(folder)
    sheets = sorted(name for name in files if name.startswith("sheet-"))
    assert sheets == [f"sheet-{n + 1}.svg" for n in range(len(sheets))]
    assert sheets
    assert files.keys() == {
        *sheets, "shop.dxf", "cut/P1.dxf", "cut/P2.dxf", "cut/blanks.dxf", "materials.json", "materials.csv", "report.json"
    }  # fmt: skip
    assert listed(folder) == {
        name: hashlib.sha256(data).hexdigest() for name, data in files.items() if name != "report.json"
    }
    first, *rest = result.stdout.splitlines()
    assert first == f"J-1: {len(sheets)} sheets, shop.dxf, 2 cut files, no findings -> {Path('out/J-1')}"
    assert rest[0].startswith("no findings")
    assert result.stderr == ""
    assert inside(place).keys() == {"job.toml", *(f"out/J-1/{name}" for name in files)}


@pytest.mark.parametrize("form", ["--out", "absolute"])
def test_draw_writes_where_it_is_told(form, place, job, tmp_path):
    out = Path("a/b c") if form == "--out" else tmp_path / "far" / "off"
    ended(run("draw", job(), "--out", out), 0)
    assert (out / "J-1" / "report.json").is_file()
    assert not (place / "out").exists()


def test_the_same_job_gives_the_same_bytes_wherever_and_whenever_it_is_drawn(place, job):
    job()
    (place / "sub").mkdir()
    first = program("draw", "job.toml", "--out", "one", cwd=place, PYTHONHASHSEED="1", TZ="UTC")
    second = program("draw", "../job.toml", "--out", "../two", cwd=place / "sub", PYTHONHASHSEED="2", TZ="Asia/Tokyo")
    assert (first.returncode, second.returncode) == (0, 0)
    files = inside(place / "one")
    assert len(files) > 4
    assert inside(place / "two") == files


def test_several_jobs_get_a_folder_and_a_line_each(place, job):
    paths = [job(f"{n}.toml", number=f"J-{n}") for n in (1, 2, 3)]
    result = run("draw", *paths)
    ended(result, 0)
    assert sorted(p.name for p in (place / "out").iterdir()) == ["J-1", "J-2", "J-3"]
    head, *rows, last = result.stdout.splitlines()
    assert head.split() == ["number", "file", "sheets", "pieces", "stop", "ask", "note", "status", "where"]
    assert [row.split()[0] for row in rows] == ["J-1", "J-2", "J-3"]
    assert last == "3 jobs: 3 drawn"
    for n in (1, 2, 3):
        report = json.loads((place / "out" / f"J-{n}" / "report.json").read_bytes())
        assert report["job"]["number"] == f"J-{n}"


def test_one_file_named_twice_is_one_job(place, job):
    path = job()
    result = run("draw", path, path)
    ended(result, 0)
    assert result.stdout == run("draw", path).stdout
    assert [p.name for p in (place / "out").iterdir()] == ["J-1"]


@pytest.mark.parametrize("bad_at", [0, 1, 2])
def test_a_bad_job_does_not_stop_the_rest(bad_at, place, job):
    paths = [job("1.toml", number="J-1"), job("2.toml", number="J-2")]
    paths.insert(bad_at, job("bad.toml", BROKEN, "J-9"))
    result = run("draw", *paths)
    ended(result, 2)
    assert "bad.toml:" in result.stderr
    assert sorted(p.name for p in (place / "out").iterdir()) == ["J-1", "J-2"]
    for number in ("J-1", "J-2"):
        assert listed(place / "out" / number)


@pytest.mark.parametrize("reverse", [False, True])
def test_the_exit_status_is_the_greatest_of_all_jobs(reverse, place, job):
    good = job("good.toml", GOOD, "J-0")
    stopped = job("stopped.toml", STOPPED, "J-1")
    broken = job("broken.toml", BROKEN, "J-2")
    blocked = job("blocked.toml", GOOD, "J-3")
    (place / "out").mkdir()
    (place / "out" / "J-3").write_bytes(b"in the way")
    jobs = [good, stopped, broken, blocked]
    for most in range(1, 5):
        result = run("draw", *(reversed(jobs[:most]) if reverse else jobs[:most]))
        ended(result, most - 1)
    assert (place / "out" / "J-0" / "report.json").is_file()
    assert (place / "out" / "J-1" / "report.json").is_file()
    assert not (place / "out" / "J-2").exists()
    assert (place / "out" / "J-3").read_bytes() == b"in the way"


@pytest.mark.parametrize(("one", "other"), [("J-1", "J-1"), ("J-a", "j-A")])
def test_two_jobs_with_one_number_are_refused_and_the_rest_is_drawn(one, other, place, job):
    paths = [job("one.toml", number=one), job("third.toml", number="J-3"), job("other.toml", number=other)]
    result = run("draw", *paths)
    ended(result, 2)
    told = [line for line in result.stderr.splitlines() if "is also that of another job" in line]
    assert len(told) == 2
    for line, path, number in zip(told, (paths[0], paths[2]), (one, other), strict=True):
        assert line.startswith(f"{path}: number {number} ")
        assert "one.toml" in line
        assert "other.toml" in line
    assert [p.name for p in (place / "out").iterdir()] == ["J-3"]


def test_on_a_terminal_a_bar_runs_over_all_jobs_and_messages_have_lines_of_their_own(place, job):
    pty = pytest.importorskip("pty", reason="no pseudo-terminals on this system")
    for name, number in (("1.toml", "J-1"), ("2.toml", "J-2"), ("3.toml", "j-1"), ("4.toml", "J-4"), ("5.toml", "J-5")):
        job(name, number=number)
    (place / "out").mkdir()
    (place / "out" / "J-2").write_bytes(b"in the way")
    ours, theirs = pty.openpty()
    done = subprocess.run(
        [*PROGRAM, "draw", *(f"{n}.toml" for n in (1, 2, 3, 4, 5))],
        cwd=place,
        env=os.environ | {"PYTHONPATH": str(Path(cli.__file__).resolve().parent.parent), "TERM": "xterm"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=theirs,
        timeout=100,
        check=False,
    )
    os.close(theirs)
    shown = b""
    try:
        while part := os.read(ours, 65536):
            shown += part
    except OSError:  # how the end of a pseudo-terminal shows on Linux
        pass
    os.close(ours)
    assert done.returncode == 3
    lines = shown.decode().splitlines()
    bars = [line for line in lines if "drawing" in line]
    assert "100%" in bars[-1]
    assert any("4.toml" in bar for bar in bars)
    messages = [line for line in lines if "is also that of" in line or "is not a folder" in line]
    assert [message.partition(":")[0] for message in messages] == ["1.toml", "3.toml", "J-2"]


def test_what_draw_no_longer_writes_is_removed_and_what_is_not_its_own_stays(place, job):
    path = job()
    ended(run("draw", path), 0)
    folder = place / "out" / "J-1"
    before = inside(folder)
    theirs = {"order.pdf": b"1", "notes/sheet-1.svg": b"2", "shop.dxf.bak": b"3", "cut/tools/list.txt": b"4"}
    for name, data in theirs.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    for stale in ("sheet-99.svg", "sheet-1.png", "cut/P99.dxf"):
        (folder / stale).write_bytes(b"of an earlier run")
    ended(run("draw", path), 0)
    assert inside(folder) == before | theirs
    # a job that has lost a top loses the files of its piece
    job(text=GOOD.replace(RIGHT, ""))
    ended(run("draw", path), 0)
    after = inside(folder)
    assert "cut/P1.dxf" in after
    assert "cut/P2.dxf" not in after
    assert listed(folder).keys() == after.keys() - theirs.keys() - {"report.json"}
    assert {name: after[name] for name in theirs} == theirs


@pytest.mark.parametrize("blocked", ["out", "out/J-1", "out/J-1/cut", "out/J-1/shop.dxf/", "out/J-1/report.json/"])
def test_a_folder_that_cannot_be_written_ends_with_three(blocked, place, job):
    """Root writes where permissions forbid it, so something stands in the way instead."""
    way = place / blocked
    way.parent.mkdir(parents=True, exist_ok=True)
    if blocked.endswith("/"):
        way.mkdir()
    else:
        way.write_bytes(b"in the way")
    result = run("draw", job())
    ended(result, 3)
    assert re.match(r"J-1: .*(could not|is not a folder)", result.stderr)
    assert way.name in result.stderr
    assert result.stdout == ""
    assert way.is_dir() if blocked.endswith("/") else way.read_bytes() == b"in the way"
    assert not (place / "out" / "J-1" / "report.json").is_file()


def test_a_job_whose_folder_is_a_link_is_not_drawn_through_it(place, job, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (place / "out").mkdir()
    (place / "out" / "J-1").symlink_to(tmp_path / "elsewhere")
    ended(run("draw", job()), 3)
    assert inside(tmp_path / "elsewhere") == {}


# --- a stop --------------------------------------------------------------------------------------------------------


def test_a_stop_withholds_the_cut_files_it_touches_and_the_sheets_say_so(place, job):
    path = job()
    ended(run("draw", path), 0)
    folder = place / "out" / "J-1"
    clean = inside(folder)
    assert "cut/P1.dxf" in clean
    job(text=STOPPED)
    result = run("draw", path)
    ended(result, 1)
    files = inside(folder)
    assert "cut/P1.dxf" not in files
    assert files["cut/P2.dxf"] == clean["cut/P2.dxf"]
    assert listed(folder).keys() == files.keys() - {"report.json"}
    report = json.loads(files["report.json"])
    assert [(f["code"], f["severity"], f["subject"]) for f in report["findings"]] == [("web-too-thin", "stop", "S1")]
    sheets = [name for name in files if name.startswith("sheet-")]
    assert sheets
    for name in sheets:
        assert b"CANNOT BE MADE AS DRAWN" in files[name], name
        assert b"CANNOT BE MADE AS DRAWN" not in clean.get(name, b""), name
    assert any(b"nly 1/2" in files[name] for name in sheets)
    assert b"CANNOT BE MADE AS DRAWN" in files["shop.dxf"]
    assert "1 cut file (1 piece withheld: a stop finding), 1 stop" in result.stdout
    assert "web-too-thin: S1" in result.stdout


def test_a_stop_that_is_put_right_gives_the_cut_file_back(place, job):
    path = job(text=STOPPED)
    ended(run("draw", path), 1)
    assert not (place / "out" / "J-1" / "cut" / "P1.dxf").exists()
    job(text=GOOD)
    ended(run("draw", path), 0)
    assert (place / "out" / "J-1" / "cut" / "P1.dxf").is_file()


# --- the samples ---------------------------------------------------------------------------------------------------


def test_all_samples_are_drawn_in_one_go(place):
    jobs = SAMPLES
    result = run("draw", *jobs)
    ended(result, 0)
    lines = result.stdout.splitlines()[1:-1]
    assert len(lines) == len(jobs) >= 12
    for line in lines:
        number = line.split()[0]
        folder = place / "out" / number
        files = inside(folder)
        report = json.loads(files["report.json"])
        cut = {n for n in files if n.startswith("cut/")}
        assert {f"cut/{piece['id']}.dxf" for piece in report["pieces"]} | {"cut/blanks.dxf"} == {
            n for n in cut if "-below" not in n
        }
        assert listed(folder).keys() == files.keys() - {"report.json"}
