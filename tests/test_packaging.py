"""What an installed copy holds, and which module may know which."""

import ast
import importlib.util
import re
import subprocess
import sys
import tomllib
import zipfile
from functools import cache
from pathlib import Path

import pytest

from layout.version import VERSION

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

# --- the wheel -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """Return the wheel of this tree, as an open archive."""
    if importlib.util.find_spec("hatchling") is None:
        pytest.skip("hatchling is not installed here (it comes with the extra `test`): no wheel to look into")
    folder = tmp_path_factory.mktemp("wheel")
    built = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )
    assert built.returncode == 0, built.stderr
    (path,) = folder.iterdir()
    with zipfile.ZipFile(path) as archive:
        yield archive


def test_the_wheel_puts_two_names_and_no_others_into_an_environment(wheel):
    tops = {name.partition("/")[0] for name in wheel.namelist()}
    assert tops == {"layout", "cli", f"staveline-{VERSION}.dist-info"}
    assert Path(wheel.filename).name == f"staveline-{VERSION}-py3-none-any.whl"


def test_the_wheel_holds_every_module_once(wheel):
    ours = {p.relative_to(ROOT).as_posix() for package in ("layout", "cli") for p in (ROOT / package).rglob("*.py")}
    held = [name for name in wheel.namelist() if name.endswith(".py")]
    assert len(ours) > 30
    assert sorted(held) == sorted(ours)


def test_the_wheel_says_twice_that_it_is_typed(wheel):
    assert sorted(name for name in wheel.namelist() if name.endswith("py.typed")) == ["cli/py.typed", "layout/py.typed"]


def test_the_wheel_holds_the_species_as_they_stand_here(wheel):
    assert wheel.read("layout/species.csv") == (ROOT / "layout" / "species.csv").read_bytes()


def test_the_wheel_holds_the_samples_job_files_as_they_stand_here(wheel):
    here = {p.name: p.read_bytes() for p in (ROOT / "samples" / "jobs").iterdir()}
    held = {n.removeprefix("cli/samples/"): wheel.read(n) for n in wheel.namelist() if n.startswith("cli/samples/")}
    assert len(here) >= 8
    assert held == here


def test_the_wheel_holds_nothing_else(wheel):
    rest = [
        name
        for name in wheel.namelist()
        if not name.endswith((".py", "py.typed", ".toml")) and ".dist-info/" not in name
    ]
    fonts = [f"layout/fonts/{name}" for name in ("DejaVuSans-Bold.ttf", "DejaVuSans.ttf", "LICENSE.txt")]
    page = [f"layout/sign_off/sign_off.{kind}" for kind in ("css", "js")]
    preview = [f"cli/preview/{name}" for name in ("page.html", "preview.css", "preview.js")]
    assert sorted(rest) == [*preview, *fonts, *page, "layout/species.csv"]
    assert not [name for name in wheel.namelist() if "test" in name]


def test_the_wheel_brings_the_command_and_asks_for_no_test_package(wheel):
    def info(name):
        return wheel.read(f"staveline-{VERSION}.dist-info/{name}").decode()

    assert "staveline = cli.app:main" in info("entry_points.txt")
    needs = [line for line in info("METADATA").splitlines() if line.startswith("Requires-Dist:")]
    plain = {re.match(r"[\w.-]+", line.split()[1])[0] for line in needs if "extra ==" not in line}
    assert plain == {dependency.partition(">")[0] for dependency in PROJECT["dependencies"]}


def test_one_version_is_told_everywhere():
    assert PROJECT["version"] == VERSION


def test_what_is_imported_is_asked_for():
    """Every package that a module imports is of Python itself, of this project, or a dependency.

    An extra's is imported within a function, or in a package of commands that is itself imported within one only.
    """
    asked = {d.partition(">")[0].replace("-", "_") for d in PROJECT["dependencies"]} | {"layout", "cli"}
    extra, served = (
        {d.partition(">")[0] for d in PROJECT["optional-dependencies"][name]} for name in ("pdf", "preview")
    )
    imported = {name.partition(".")[0] for module in MODULES for name in imports(module)}
    at_heads = {name.partition(".")[0] for module in MODULES for name in imports(module, lazy=False)}
    assert {"shapely", "ezdxf", "typer"} <= imported
    assert imported - asked - set(sys.stdlib_module_names) == extra | served
    assert at_heads - asked - set(sys.stdlib_module_names) == served
    outside = [module for module in MODULES if not module.startswith("cli.preview")]
    heads = {name for module in outside for name in imports(module, lazy=False)}
    assert not {name for name in heads if name.startswith("cli.preview") or name.partition(".")[0] in served}


# --- who may import whom -------------------------------------------------------------------------------------------

RANKS = """
version units spellings faults species rules revisions
outline cutting region offset arc_fit contours readers readers.dxf templates
job_values job_wood job_shop job_room job_tops job_cutouts job_joints job defaults
keys source sketch syntax tables shapes bounds
wall_references top_references placed_references joint_references references reading schema
lettering seams lanes patterns stock
rule_table findings moisture wood access
room top_plans runs tops cutouts notches joints openings pieces lumber layup profiles movement milling natural
strength support webs brackets laid fitting planning splashes
fasteners hold_downs machining details
check_access check_appliances check_boards check_cutouts check_edges check_field check_joints check_milling check_movement
check_room check_strength check_support check_wood checks
pipeline facts places identity report told changes matching comparison
compare_room compare_tops compare_cuts compare_findings compare_stated compare
drawn_shapes drawing_in
cut_list cut_offs takeoff materials money prices
drawing hatching page placement dimension_lanes pen clouds
plan_dimensions plan_view running piece_view joint_view leg_view heights_view detail_view setting_view
tabular plain_words setting_tables piece_tables room_tables material_text schedules
board_tables layup_view key_plan columns title_block sheets quote quote_sheet
strokes dxf_tags cut_lint
writers writers.dxf_file writers.dxf_entities writers.model_dxf
writers.svg_items writers.dxf_tables writers.dxf_items
writers.blanks_dxf writers.cut_dxf writers.svg writers.shop_dxf writers.template_dxf writers.pdf
stamps folders files packet history issue issued release register sign_off sign_off.page
svg_reading svg_style svg_paths svg_content ink svg_comparison approval_fields marks page_answers returned
"""
"""The library from its ground up: a module imports those of lines above its own, and of its own line those before it."""

ORDER = ["layout", *(f"layout.{name}" for name in RANKS.split())]
COMMANDS = [
    "cli",
    "cli.samples",
    "cli.schema",
    "cli.terminal",
    "cli.endings",
    "cli.loading",
    "cli.app",
    "cli.comparing",
    "cli.processes",
    "cli.outcome",
    "cli.checking",
    "cli.drawing",
    "cli.batch",
    "cli.importing",
    "cli.materials",
    "cli.pricing",
    "cli.issue",
    "cli.release",
    "cli.register",
    "cli.returned",
    "cli.reference_tables",
    "cli.species",
    "cli.profiles",
    "cli.sizes",
    "cli.preview",
    "cli.preview.cards",
    "cli.preview.shown",
    "cli.preview.following",
    "cli.preview.server",
    "cli.preview.command",
    "cli.__main__",
]


def modules(package):
    """Return the file of every module in a package, by its name."""
    found = {}
    for path in (ROOT / package).rglob("*.py"):
        name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        found[name.removesuffix(".__init__")] = path
    return found


MODULES = modules("layout") | modules("cli")


@cache
def tree(module):
    return ast.parse(MODULES[module].read_text(encoding="utf-8"))


def imports(module, *, lazy=True):
    """Return the full names of what a module imports, at its head or, if ``lazy``, anywhere in it."""
    for node in ast.walk(tree(module)) if lazy else tree(module).body:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module, f"{module} has a relative import"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield whole if whole in MODULES else node.module


def test_every_module_has_its_rank():
    assert sorted(ORDER) == sorted(modules("layout"))
    assert sorted(COMMANDS) == sorted(modules("cli"))


@pytest.mark.parametrize("module", sorted(modules("layout")))
def test_a_module_of_the_library_imports_only_earlier_ones(module):
    assert module in ORDER, f"give {module} its place in RANKS"
    earlier = ORDER[: ORDER.index(module)]
    for name in imports(module):
        assert name.partition(".")[0] != "cli", f"{module} imports {name}"
        if name.partition(".")[0] == "layout":
            assert name in earlier, f"{module} imports {name}, which comes after it"


@pytest.mark.parametrize("module", COMMANDS)
def test_a_module_of_the_commands_imports_only_earlier_ones_at_its_head(module):
    """Within a function a command brings what it needs; at their heads the commands have an order too."""
    for name in imports(module, lazy=False):
        if name.partition(".")[0] == "cli":
            assert name in COMMANDS[: COMMANDS.index(module)], f"{module} imports {name}, which comes after it"


def test_the_ranks_would_show_an_import_of_a_later_module():
    """The reading of imports sees all their forms, so that the tests above are able to fail."""
    assert "layout.region" in set(imports("layout.webs")), "from layout import region"
    assert "layout.outline" in set(imports("layout.region")), "from layout.outline import Point"
    assert "layout.sheets" in set(imports("layout.files")), "within a function"
    assert "layout.sheets" not in set(imports("layout.files", lazy=False))
    assert "shapely" in set(imports("layout.region"))


JOB = [module for module in MODULES if module.startswith("layout.job")]
WRITERS = [module for module in MODULES if module.startswith("layout.writers.")]


@pytest.mark.parametrize("module", WRITERS)
def test_a_writer_knows_the_drawing_and_no_pieces(module):
    """A cut file is a piece; every other writer writes what was drawn, and decides nothing."""
    known = {name.removeprefix("layout.") for name in imports(module) if name.startswith("layout.")}
    ground = {
        "cutting",
        "drawing",
        "lettering",
        "outline",
        "units",
        "version",
        *(w.removeprefix("layout.") for w in WRITERS),
    }
    assert known, "it imports something"
    made = (
        {"pieces", "job", "job_shop", "machining", "milling", "layup"}
        if module.endswith(("cut_dxf", "blanks_dxf"))
        else set()
    )
    assert known <= ground | made


@pytest.mark.parametrize(
    ("package", "only"),
    [
        (
            "typer",
            {
                "cli.app",
                "cli.outcome",
                "cli.batch",
                "cli.checking",
                "cli.comparing",
                "cli.drawing",
                "cli.importing",
                "cli.issue",
                "cli.release",
                "cli.register",
                "cli.returned",
                "cli.pricing",
                "cli.preview.command",
            },
        ),
        ("defusedxml", {"layout.svg_reading"}),
        ("ezdxf", {*WRITERS, "layout.readers.dxf"}),
        ("svgwrite", {"layout.writers.svg"}),
        ("reportlab", {"layout.writers.pdf"}),
        ("starlette", {"cli.preview.server"}),
        ("uvicorn", {"cli.preview.command"}),
        ("watchfiles", {"cli.preview.server"}),
        (
            "pydantic",
            {*JOB, "layout.keys", "layout.prices", "layout.schema", "layout.syntax", "layout.tables", "layout.told"},
        ),
        ("shapely", {"layout.region", "layout.support", "layout.webs", "layout.brackets", "layout.plan_view"}),
        ("highspy", {"layout.patterns"}),
        ("tree_sitter", {"layout.source", "layout.syntax"}),
    ],
)
def test_a_library_is_known_to_few(package, only):
    knowing = {module for module in MODULES if any(name.partition(".")[0] == package for name in imports(module))}
    assert knowing, f"nobody imports {package}"
    assert knowing <= only


def test_no_module_prints_or_exits_but_a_command():
    """The library knows no terminal and no exit status."""
    for module in modules("layout"):
        for node in ast.walk(tree(module)):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in {"print", "exit", "quit", "input"}, f"{module}:{node.lineno}"
            elif isinstance(node, ast.Name):
                assert node.id != "SystemExit", f"{module}:{node.lineno}"
            elif isinstance(node, ast.Attribute):
                assert ast.unparse(node) not in {"sys.exit", "sys.stdout", "sys.stderr"}, f"{module}:{node.lineno}"
