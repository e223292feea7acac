"""``staveline species``: the woods of the table, their figures in both units, and where each comes from.

What is printed and what ``--json`` holds are the same plain values. Nothing here knows a job.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, get_args

from cli.reference_tables import columns, json_text, prose
from layout.faults import printable
from layout.job import Job
from layout.keys import choice, keys_of
from layout.moisture import LINEAR, equilibrium_moisture, fahrenheit
from layout.movement import DIRECTION, width_change
from layout.rules import (
    HUMIDITY,
    HUMIDITY_SOURCE,
    RATIO_FALLBACK,
    RATIO_FALLBACK_SOURCE,
    TEMPERATURE,
    TENSION_FALLBACK,
    TENSION_FALLBACK_SOURCE,
)
from layout.species import CONFIDENCE, DENSITY_OF_GRAVITY, ORIGINS, SOURCES, find, load, names, names_of, nearest, rows
from layout.units import INCH_MM
from layout.wood import POUND_KG, PSI_MPA

TOP_MM = 635.0
"""A top whose movement is told: 25 in wide."""
CUBIC_FOOT_M3 = (12 * float(INCH_MM) / 1000) ** 3
AVERAGES = (
    "Figures are averages of small clear pieces, and boards scatter about them, by 10 % (density) to 22 % (stiffness) as a "
    "standard deviation (Wood Handbook, table 5-6, a transcription). They are no allowable values, and what is worked out "
    "from them is no approval."
)
_LEGEND = (
    "R: radially, T: tangentially. shrinkage: green to dry. movement: share of the width for each 1 % of moisture. MOE: "
    "stiffness, Mpsi a million psi. tension: strength across the grain. hardness: of the side. across: stiffness across the "
    "grain to that along it. -: not in the table. sure: of strength, of shrinkage, of movement, of stiffness across"
)


@dataclass(frozen=True, slots=True)
class Measured:
    """Figures as the table holds them, or converted, in one unit; a share has none. None of them: not in the table."""

    figures: tuple[str, ...]
    unit: str = ""

    @property
    def text(self) -> str:
        """Figures and unit, as a line of print."""
        return f"{', '.join(self.figures)} {self.unit}".rstrip()

    @property
    def facts(self) -> dict[str, Any]:
        """The same for programs: a number, or a list of them."""
        numbers = [float(figure) for figure in self.figures]
        return {"value": numbers[0] if len(numbers) == 1 else numbers, "unit": self.unit}


@dataclass(frozen=True, slots=True)
class Figure:
    """What is known of a wood in one respect: its name under [[species]] (or our own), in both units, its source."""

    key: str
    what: str
    metric: Measured
    inch: Measured
    source: str
    sure: str


def species_table() -> str:
    """Return every wood with its figures, then the names it goes by, then the sources."""
    head = [
        ("", "density", "shrinkage", "movement", "MOE", "tension", "hardness", "across", "sure"),
        ("", "kg/m3 lb/ft3", "R %  T %", "R      T", "GPa Mpsi", "MPa  psi", "N  lbf", "ET   ER", ""),
    ]
    lines = ["woods of the table, at 12 % of moisture unless said", ""]
    lines += columns([*head, *(_short(row) for row in rows())], "<" + ">" * 7 + "<")
    lines += ["", *prose(_LEGEND, "  ")]
    lines += columns([(letter, said) for letter, said in CONFIDENCE.items()], "<<")
    lines += ["", "names, in capitals or small, with hyphens or blanks; the botanical name will do too", ""]
    lines += columns([(row["botanical_name"], ", ".join(names_of(row["id"]))) for row in rows()], "<<")
    lines += ["", "sources", ""]
    lines += columns([(str(n), source) for n, source in SOURCES.items()], "><")
    lines += ["", *prose("staveline species NAME tells one wood in full, each figure with its source. " + AVERAGES)]
    return "\n".join(lines)


def species_sheet(name: str) -> str | None:
    """Return one wood in full; None for a name that no wood or several have."""
    row = _row(name)
    if row is None:
        return None
    wood = species_facts(row)
    lines = prose(
        f"{wood['name']} ({wood['botanical_name']}), of {wood['origin']}; found as {', '.join(wood['names'])}"
    )
    held = [f for f in _figures(row) if f.metric.figures]
    lines += ["", *columns([("", "metric", "inch", "sure", "source"), *(_line(f) for f in held)], "<>><<")]
    lines += ["", *_sources(row)]
    if row["notes"]:
        lines += ["", "  remarks", *prose(row["notes"], "    ")]
    if wood["lacking"]:
        lines += ["", *_lacking(wood)]
    lines += ["", *_movement_lines(wood["movement"]), "", *prose(AVERAGES)]
    keys = choice(key for key in own_keys() if key not in ("name", "like", "source"))
    lines += prose(f"A job can give its own: [[species]] with name, source, and any of {keys}.")
    return "\n".join(lines)


def unknown(name: str) -> str:
    """Return what is said of a name that no wood or several have, fit for a terminal."""
    near = nearest(name)
    known = f"the nearest is {choice(near)}" if len(near) == 1 else f"the nearest are {choice(near)}" if near else ""
    return f"there is no wood {printable(repr(name))}; {known or 'there are: ' + ', '.join(names())}"


def species_json(name: str | None) -> str | None:
    """Return all woods as JSON, or one of them; None for a name that no wood or several have."""
    row = None if name is None else _row(name)
    if name is not None and row is None:
        return None
    chosen = rows() if row is None else (row,)
    return json_text(
        {
            "species": [species_facts(r) for r in chosen],
            "sources": {str(n): source for n, source in SOURCES.items()},
            "confidence": CONFIDENCE,
        }
    )


def species_facts(row: dict[str, str]) -> dict[str, Any]:
    """Return a wood of the table as plain values: figures with unit, source and letter; what is lacking; its movement."""
    figures = _figures(row)
    return {
        "id": row["id"],
        "name": row["common_name"],
        "names": list(names_of(row["id"])),
        "botanical_name": row["botanical_name"],
        "origin": ORIGINS[row["origin"]],
        "figures": {
            f.key: {
                "what": f.what,
                "metric": f.metric.facts,
                "inch": f.inch.facts,
                "source": f.source,
                "confidence": f.sure,
            }
            for f in figures
            if f.metric.figures
        },
        "lacking": {f.key: f"{f.what}: {instead(f.key)}" for f in figures if not f.metric.figures},
        "remarks": row["notes"],
        "movement": movement_facts(row["id"]),
    }


def movement_facts(species_id: str) -> dict[str, Any]:
    """Return how far a top of ``TOP_MM`` moves over the year of a house that nobody controls, mm, by construction."""
    wood = load(species_id)
    low, high = (equilibrium_moisture(h, fahrenheit(TEMPERATURE)) for h in HUMIDITY)
    return {
        "width_mm": TOP_MM,
        "humidity": list(HUMIDITY),
        "temperature": TEMPERATURE,
        "moisture": [low, high],
        "house": HUMIDITY_SOURCE,
        "over_the_year_mm": {how: width_change(TOP_MM, wood, way, low, high) for how, way in DIRECTION.items()},
        "each_percent_mm": {
            how: width_change(TOP_MM, wood, way, LINEAR[0], LINEAR[0] + 1) for how, way in DIRECTION.items()
        },
    }


def instead(key: str) -> str:
    """Return what the program does without a figure that a wood lacks."""
    ratios = ", ".join(f"{r:g}" for r in RATIO_FALLBACK)
    return {
        "tension_across": f"{TENSION_FALLBACK:g} psi is taken, {TENSION_FALLBACK_SOURCE}",
        "stiffness_across": f"{ratios} is taken, {RATIO_FALLBACK_SOURCE}",
        "volumetric": "weights take the volume as at 12 %",
    }.get(key, "nothing is taken in its place")


def own_keys() -> tuple[str, ...]:
    """Return the keys of [[species]], where a job gives figures of its own."""
    return keys_of(get_args(Job.model_fields["species"].annotation)[0])


def _row(name: str) -> dict[str, str] | None:
    wanted = find(name)
    return next((row for row in rows() if row["id"] == wanted), None)


def _figures(row: dict[str, str]) -> list[Figure]:
    """Return the figures of a row, those it lacks without a value."""
    strength, shrinkage, movement, ratios = (
        (row[f"src_{group}"], row[f"conf_{group}"]) for group in ("mechanical", "shrinkage", "C", "ratios")
    )
    how = row["sg_12_how"]
    gravity = (f"at 12 % of moisture: {how}; {strength[0]}", strength[1])
    # what was measured is the one, and the other follows from it
    density = (strength[0] if how.startswith("density") else f"{DENSITY_OF_GRAVITY} times that gravity", strength[1])
    kg, tension = row["density_12_kg_m3"], row["tension_perp_psi"]

    def one(metric: str, unit: str = "", inch: str | None = None, inch_unit: str = "") -> tuple[Measured, Measured]:
        ours = metric if inch is None else inch
        return _measured(unit, metric), _measured(unit if inch is None else inch_unit, ours)

    def pair(radial: str, tangential: str, unit: str = "") -> tuple[Measured, Measured]:
        both = _measured(unit, radial, tangential)
        return both, both

    return [
        Figure("gravity_green", "gravity, dry mass by green volume", *one(row["sg_basic"]), *strength),
        Figure("gravity", "gravity, dry mass by volume", *one(row["sg_12"]), *gravity),
        Figure("density", "density", *one(kg, "kg/m3", _pounds(kg), "lb/ft3"), *density),
        Figure("moe", "stiffness along (MOE)", *one(row["moe_mpa"], "MPa", row["moe_1e6psi"], "Mpsi"), *strength),
        Figure("mor", "bending strength (MOR)", *one(row["mor_mpa"], "MPa", row["mor_psi"], "psi"), *strength),
        Figure(
            "hardness",
            "hardness of the side",
            *one(row["side_hardness_n"], "N", row["side_hardness_lbf"], "lbf"),
            *strength,
        ),
        Figure("tension_across", "strength across the grain", *one(_mpa(tension), "MPa", tension, "psi"), *strength),
        Figure(
            "shrinkage",
            "shrinkage, radial and tangential",
            *pair(row["shrink_radial_pct"], row["shrink_tangential_pct"], "%"),
            *shrinkage,
        ),
        Figure("volumetric", "shrinkage of the volume", *one(row["shrink_volumetric_pct"], "%"), *shrinkage),
        Figure(
            "movement",
            "movement for each 1 %, radial and tangential",
            *pair(row["C_R"], row["C_T"]),
            f"{row['C_basis']}; {movement[0]}",
            movement[1],
        ),
        Figure(
            "stiffness_across",
            "stiffness across to along, ET/EL and ER/EL",
            *pair(row["ET_EL"], row["ER_EL"]),
            *ratios,
        ),
    ]


def _measured(unit: str, *figures: str) -> Measured:
    return Measured(figures, unit) if all(figures) else Measured(())


def _pounds(kg_m3: str) -> str:
    return f"{float(kg_m3) * CUBIC_FOOT_M3 / POUND_KG:.1f}" if kg_m3 else ""


def _mpa(psi: str) -> str:
    return f"{float(psi) * PSI_MPA:.1f}" if psi else ""


def _short(row: dict[str, str]) -> tuple[str, ...]:
    """Return a wood's row of the table of all."""
    gpa = f"{float(row['moe_mpa']) / 1000:.1f}" if row["moe_mpa"] else ""
    pairs = (
        (row["density_12_kg_m3"], _pounds(row["density_12_kg_m3"]), 6),
        (row["shrink_radial_pct"], row["shrink_tangential_pct"], 4),
        (row["C_R"].removeprefix("0"), row["C_T"].removeprefix("0"), 6),
        (gpa, row["moe_1e6psi"] and f"{float(row['moe_1e6psi']):.2f}", 4),
        (_mpa(row["tension_perp_psi"]), row["tension_perp_psi"], 4),
        (row["side_hardness_n"], row["side_hardness_lbf"], 4),
        (row["ET_EL"].removeprefix("0"), row["ER_EL"].removeprefix("0"), 4),
    )
    sure = "".join(row[f"conf_{group}"] for group in ("mechanical", "shrinkage", "C", "ratios"))
    return (names_of(row["id"])[0], *(f"{one or '-'} {other or '-':>{wide}}" for one, other, wide in pairs), sure)


def _line(figure: Figure) -> tuple[str, ...]:
    inch = "" if figure.inch == figure.metric else figure.inch.text
    return (figure.what, figure.metric.text, inch, figure.sure, figure.source)


def _sources(row: dict[str, str]) -> list[str]:
    """Return what the numbers and letters of a wood's sources stand for."""
    cited = sorted({int(n) for c, text in row.items() if c.startswith("src_") for n in re.findall(r"\d+", text)})
    letters = sorted({row[c] for c in row if c.startswith("conf_")} - {"-"})
    return columns([*((str(n), SOURCES[n]) for n in cited), *((c, CONFIDENCE[c]) for c in letters)], "<<")


def _lacking(wood: dict[str, Any]) -> list[str]:
    return [line for said in wood["lacking"].values() for line in prose(f"not in the table: {said}", "  ")]


def _movement_lines(moves: dict[str, Any]) -> list[str]:
    (dry, damp), (low, high), inch = moves["humidity"], moves["moisture"], float(INCH_MM)
    lines = prose(
        f"A top {moves['width_mm'] / inch:g} in ({moves['width_mm']:g} mm) wide, across its grain, from {low:.1f} to {high:.1f} % "
        f"of moisture: {dry:g} to {damp:g} % humidity at {moves['temperature']}, the year of a house that nobody controls"
    )
    table = [("", "in a year", "", "each 1 %", "", "")]
    for how, mm in moves["over_the_year_mm"].items():
        each = moves["each_percent_mm"][how]
        way = DIRECTION[how] + (", both ways" if how == "end grain" else "")
        table.append((how, f"{mm / inch:.2f} in", f"{mm:.1f} mm", f"{each / inch:.3f} in", f"{each:.2f} mm", way))
    return [*lines, *columns(table, "<>>>><")]
