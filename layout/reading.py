"""A job file read: its text to a Job whose names resolve and whose defaults are set, or every fault at once."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any, get_args

from layout import references, rules
from layout.bounds import check_counts
from layout.defaults import FILLED, ROUNDED, SCRIBED
from layout.faults import JobError, TemplateError
from layout.job import Job
from layout.job_cutouts import Recess
from layout.job_shop import FastenerShape, SheetChoice, Shop, Web
from layout.job_tops import RunTop, top_shape
from layout.job_wood import Load
from layout.placed_references import meant_kind
from layout.rules import Default
from layout.sketch import Sketch, Table
from layout.source import Snags, Source, located
from layout.species import find
from layout.syntax import MOST_BYTES, parse
from layout.tables import Tables
from layout.templates import Template, read_template
from layout.units import Length, LengthError, Unit, parse_length

__all__ = ["Located", "load", "load_located", "located", "read", "read_located"]


@dataclass(frozen=True, slots=True)
class Located:
    """A job and the text it came from, for faults that a later stage finds; ``templates``: those of its cutouts, by number."""

    job: Job
    source: Source
    templates: Mapping[int, Template] = field(default_factory=dict)


def load(text: str, name: str = "job.toml") -> Job:
    """Return the job that ``text`` states. Raises JobError with everything that is wrong with it."""
    return load_located(text, name).job


def read(path: Path) -> Job:
    """Return the job in a file. Raises JobError with everything that is wrong with it."""
    return read_located(path).job


def read_located(path: Path) -> Located:
    """Return the job in a file together with its text. Raises JobError with everything that is wrong with it."""
    name = str(path)
    return load_located(file_text(path, Source(name, "")), name, path.parent)


def load_located(text: str, name: str = "job.toml", folder: Path | None = None) -> Located:
    """Return the job that ``text`` states together with the text. Raises JobError with everything that is wrong.

    ``folder``: where the templates that it names lie; without one a job may name none.
    """
    source = Source(name, text)
    data = parse(source)
    snags = Snags(source)
    check_counts(data, snags)
    if snags.faults:
        raise JobError(snags.faults)
    stated = _stated_unit(data)
    unit: Unit = stated or "in"  # a missing unit has a fault of its own; all else is still looked at
    job = Tables(data, unit, snags, Job).validated(_with_defaults(data, unit))
    references.check(Sketch(data, stated, snags))
    if job is None or snags.faults:
        raise JobError(snags.faults)
    templates = _templates(job, snags, folder)
    if snags.faults:
        raise JobError(snags.faults)
    return Located(job, source, templates)


def _templates(job: Job, snags: Snags, folder: Path | None) -> dict[int, Template]:
    """Return the templates of a job's cutouts by the cutout's number, noting what is wrong with them."""
    found: dict[int, Template] = {}
    numbers = {cut.name: k for k, cut in enumerate(job.cutout)}
    for k, cut in enumerate(job.cutout):
        path = ("cutout", k, "template")
        if cut.template is None:
            continue
        if folder is None:
            snags.add_typed(path, "a job read from a file: a template lies beside it")
            continue
        try:
            found[k] = read_template(folder, cut.template, cut.template_units, cut.template_layer)
        except TemplateError as error:
            snags.add(path, f"in {cut.template} {error.found}", error.expected)
            continue
        for n in range(1, len(found[k].openings) + 1):
            taken = numbers.get(f"{cut.name}-{n}")
            if taken is not None:
                because = f", the name of an opening that the template of {cut.name} brings"
                snags.add_typed(("cutout", taken, "name"), "a name of its own", because)
    return found


def file_text(path: Path, source: Source, what: str = "a job file") -> str:
    """Return a file's text. Raises JobError where it cannot be read, or is too big to be ``what`` is wanted."""
    if path.is_dir():
        raise JobError([source.fault_of_file("a folder", what)])
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise JobError([source.fault_of_file("no such file", what)]) from None
    except (OSError, ValueError) as error:  # a name with a NUL in it is a ValueError
        reason = getattr(error, "strerror", None) or str(error)
        raise JobError([source.fault_of_file(f"a file that cannot be read ({reason})", what)]) from None
    if len(data) > MOST_BYTES:
        raise JobError([source.fault_of_file("more than 2 MB", f"{what} of a page or two")])
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"a byte on line {line} that is not UTF-8 (0x{data[error.start]:02X})"
        raise JobError([source.fault_of_file(found, "a text file saved as UTF-8")]) from None


def _stated_unit(data: Table) -> Unit | None:
    head = data.get("job")
    units = head.get("units") if isinstance(head, dict) else None
    return next((unit for unit in get_args(Unit) if unit == units), None)


# --- defaults ------------------------------------------------------------------------------------------------------


def _with_defaults(data: Table, unit: Unit) -> Table:
    """Return a copy of the data with what the job leaves unsaid, and names as the tables of this program spell them."""
    full = copy.deepcopy(data)
    shop = full.setdefault("shop", {})
    if isinstance(shop, dict):
        _fill_with(shop, FILLED[Shop], unit)
        _fill_with(shop.setdefault("fastener", {}), FILLED[FastenerShape], unit)
        _fill(shop, {"stock": list(rules.STOCK[unit])})
        _fill_with(shop.setdefault("web", {}), FILLED[Web], unit)
    _fill_with(full.setdefault("load", {}), FILLED[Load], unit)
    _fill_with(full.setdefault("sheet", {}), FILLED[SheetChoice], unit)
    wood = full.get("wood")
    if isinstance(wood, dict):
        _respell(wood, "edge")
        species = wood.get("species")
        if isinstance(species, str):
            wood["species"] = find(species) or species
    runs = set()
    for top in _tables(full, "top"):
        if top_shape(top) == "run":
            runs.add(str(top.get("name")))
            _fill_with(top, FILLED[RunTop], unit)
            _fill_with(top, SCRIBED if top.get("back") == "scribe" else {}, unit)
    for appliance in _tables(full, "appliance"):
        _fill(appliance, {"breaks": str(appliance.get("kind")).strip() in rules.BREAKS})
    for cutout in _tables(full, "cutout"):
        _complete_cutout(cutout, unit, runs)
    for recess in _tables(full, "recess"):
        _fill_with(recess, FILLED[Recess], unit)
    for edge in _tables(full, "edge"):
        _respell(edge, "profile")
        if isinstance(edge.get("side"), int) and not isinstance(edge["side"], bool):
            edge["side"] = str(edge["side"])  # an outline's edge is a number, with quotes or without
    return full


def _complete_cutout(cutout: Table, unit: Unit, runs: set[str]) -> None:
    if "radius" not in cutout and "size" in cutout:
        _fill(cutout, _default_radius(cutout["size"], unit))
    _fill(cutout, {"proof": "template"} if "template" in cutout else {})
    if cutout.get("mount") == "apron" and str(cutout.get("top")) in runs:
        _fill(cutout, {"setback": 0})
    # a misspelt kind has its own fault; what hangs on the kind is then judged by the one that was meant
    meant = meant_kind("cutout", cutout.get("kind"))
    if meant is not None:
        cutout["kind"] = meant


def _fill(table: object, defaults: dict[str, Any]) -> None:
    for key, value in defaults.items() if isinstance(table, dict) else ():
        table.setdefault(key, value)  # type: ignore[attr-defined]


def _fill_with(table: object, defaults: Mapping[str, Default], unit: Unit) -> None:
    _fill(table, {key: default.text(unit) for key, default in defaults.items()})


def _tables(data: Table, name: str) -> Iterator[Table]:
    listed = data.get(name)
    yield from (table for table in (listed if isinstance(listed, list) else ()) if isinstance(table, dict))


def _respell(table: Table, key: str) -> None:
    """Write the name of a profile as rules.PROFILES has it."""
    text = table.get(key)
    if isinstance(text, str):
        name, gap, size = text.strip().partition(" ")
        table[key] = name.lower() + gap + size.strip()


def _default_radius(size: object, unit: Unit) -> dict[str, Any]:
    """Return the radius of a cutout's inside corners: the default, or half of the shorter side of a small one."""
    try:
        sides = [parse_length(side, unit).mm for side in size] if isinstance(size, list) else []
    except LengthError:
        return {}
    if not sides or min(sides) <= 0:
        return {}
    usual = parse_length(ROUNDED["radius"].text(unit), unit).mm
    return {"radius": Length(min(usual, min(sides) / Fraction(2)))}
