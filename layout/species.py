"""The woods that tops are made of: a table of figures (species.csv) and the names the trade has for them.

The table has no heading; COLUMNS says what stands where. Each group of figures carries its sources (numbers of
SOURCES, "memory": written down without a printed page at hand) and a letter of CONFIDENCE. A blank is a figure that was
not found.
"""

from __future__ import annotations

import csv
import difflib
import unicodedata
from dataclasses import dataclass, fields
from functools import cache
from importlib import resources

COLUMNS = (
    "id",
    "common_name",
    "botanical_name",
    "origin",  # see ORIGINS
    "sg_basic",  # oven-dry mass by green volume
    "sg_12",  # oven-dry mass by volume at 12 % moisture
    "sg_12_how",
    "density_12_kg_m3",  # DENSITY_OF_GRAVITY times sg_12
    "moe_mpa",  # static bending at 12 %, means of small clear pieces, not allowable values
    "moe_1e6psi",
    "mor_mpa",
    "mor_psi",
    "side_hardness_n",
    "side_hardness_lbf",
    "tension_perp_psi",  # strength across the grain at 12 %
    "shrink_radial_pct",  # green to oven-dry
    "shrink_tangential_pct",
    "shrink_volumetric_pct",
    "C_R",  # change of width for each 1 % of moisture between 6 and 14 %, radially
    "C_T",  # ... and tangentially
    "C_basis",
    "C_R_from_shrinkage",  # 1 / (3000 / shrinkage - 20), an independent check
    "C_T_from_shrinkage",
    "ET_EL",  # stiffness across the grain to stiffness along it, tangentially
    "ER_EL",  # ... and radially
    "src_mechanical",
    "src_shrinkage",
    "src_C",
    "src_ratios",
    "conf_mechanical",
    "conf_shrinkage",
    "conf_C",
    "conf_ratios",
    "notes",
)
SOURCES = {
    1: "USDA Forest Products Laboratory, Wood Handbook FPL-GTR-190 (2010), copies of single pages",
    2: "Wood Handbook FPL-GTR-282 (2021), Tables 5-3b, 5-4b and 5-5b, a public transcription",
    3: "Published tables of strength of US hardwoods, agreeing with 2 in every row compared",
    4: "USDA and CIRAD data sheets of tropical timbers",
    5: "Dealers' data pages, second opinions only",
    6: "Flooring trade's lists of coefficients of dimensional change",
    9: "Public notes that quote the Wood Handbook",
}
"""The sources that the table numbers. The handbook itself was not at hand: every figure comes from a copy."""
CONFIDENCE = {
    "A": "seen in two places or more, or in one with an arithmetic check",
    "B": "seen in one",
    "C": "from memory but agreeing with a check",
    "D": "from memory or weak",
    "-": "not found",
}
DENSITY_OF_GRAVITY = 1120
"""kg/m3 of wood at 12 % of moisture by its gravity there: water's 1000, and 12 % for the water in the wood."""
ORIGINS = {"US": "the United States", "AF": "Africa", "AM": "tropical America", "AS": "Asia"}

# other names by id, the plainest first: it is the one that suggestions show
_NAMES: dict[str, tuple[str, ...]] = {
    "black_walnut": ("black walnut", "walnut", "american walnut", "american black walnut", "eastern black walnut"),
    "sugar_maple": ("hard maple", "sugar maple", "rock maple"),
    "red_maple": ("soft maple", "red maple"),
    "black_cherry": ("cherry", "black cherry", "american cherry"),
    "white_oak": ("white oak", "american white oak"),
    "northern_red_oak": ("red oak", "northern red oak", "american red oak"),
    "white_ash": ("ash", "white ash", "american ash", "american white ash"),
    "american_beech": ("beech", "american beech"),
    "shagbark_hickory": ("hickory", "true hickory", "shagbark hickory", "shagbark"),
    "mockernut_hickory": ("mockernut hickory", "mockernut"),
    "pecan_hickory": ("pecan", "pecan hickory"),
    "yellow_birch": ("yellow birch", "birch", "american birch"),
    "yellow_poplar": ("yellow poplar", "poplar", "tulip poplar", "tulipwood"),
    "red_alder": ("alder", "red alder", "western alder"),
    "american_elm": ("elm", "american elm", "white elm"),
    "american_sycamore": ("sycamore", "american sycamore"),
    "sweetgum": ("sweetgum", "red gum", "gum"),
    "longleaf_pine": ("heart pine", "longleaf pine", "longleaf heart pine"),
    "sapele": ("sapele", "sapelli", "sapele mahogany"),
    "iroko": ("iroko", "kambala", "mvule"),
    "khaya": ("african mahogany", "khaya"),
    "jatoba": ("jatoba", "brazilian cherry", "courbaril"),
    "teak": ("teak", "burmese teak", "burma teak", "genuine teak"),
    "wenge": ("wenge",),
    "zebrawood": ("zebrawood", "zingana", "zebrano"),
    "padauk": ("padauk", "african padauk", "padouk"),
    "purpleheart": ("purpleheart", "amaranth"),
    "true_mahogany": ("mahogany", "true mahogany", "genuine mahogany", "honduras mahogany", "american mahogany"),
    "ipe": ("ipe", "brazilian walnut", "lapacho"),
    "bubinga": ("bubinga", "kevazingo"),
}


@dataclass(frozen=True, slots=True)
class Species:
    """One wood's figures, named and measured as COLUMNS says; None where none was found."""

    id: str
    common_name: str
    botanical_name: str
    origin: str
    sg_basic: float | None
    sg_12: float | None
    density_12_kg_m3: float | None
    moe_mpa: float | None
    mor_mpa: float | None
    side_hardness_n: float | None
    tension_perp_psi: float | None
    shrink_radial_pct: float | None
    shrink_tangential_pct: float | None
    shrink_volumetric_pct: float | None
    C_R: float | None
    C_T: float | None
    C_basis: str
    ET_EL: float | None
    ER_EL: float | None
    conf_mechanical: str
    conf_shrinkage: str
    conf_C: str  # noqa: N815 (the table's own name)
    conf_ratios: str
    notes: str


def find(name: str) -> str | None:
    """Return the id of the wood that ``name`` means, whatever its case and hyphens; None for an unknown one.

    A name that several woods share ("maple", "oak") means none of them: ``nearest`` lists them.
    """
    return _ids().get(folded(name))


def nearest(name: str) -> tuple[str, ...]:
    """Return the names, at most five, that ``name`` may have meant, the likeliest first."""
    kind = name.split()[-1:]  # of a red elm, the elm
    sharing = [known[0] for known in _NAMES.values() if kind and any(folded(kind[0]) == _last(n) for n in known)]
    likely = _spelt_like(name, 0.85) or sharing or _spelt_like(name, 0.7)
    return tuple(dict.fromkeys(likely))[:5]


def _spelt_like(name: str, cutoff: float) -> list[str]:
    return [_NAMES[_ids()[close]][0] for close in difflib.get_close_matches(folded(name), _ids(), n=5, cutoff=cutoff)]


def names() -> tuple[str, ...]:
    """Return the plainest name of every wood, as it may be typed."""
    return tuple(known[0] for known in _NAMES.values())


def names_of(species_id: str) -> tuple[str, ...]:
    """Return the names by which a wood is found, the plainest first, besides its id and its botanical name.

    Raises KeyError for an unknown id.
    """
    return _NAMES[species_id]


def load(species_id: str) -> Species:
    """Return the figures of a wood by its id. Raises KeyError for an unknown id."""
    return _table()[species_id]


def rows() -> tuple[dict[str, str], ...]:
    """Return the whole table as text, each row by COLUMNS, with its sources and remarks."""
    text = resources.files("layout").joinpath("species.csv").read_text(encoding="utf-8")
    return tuple(dict(zip(COLUMNS, row, strict=True)) for row in csv.reader(text.splitlines()))


@cache
def _table() -> dict[str, Species]:
    return {row["id"]: _species(row) for row in rows()}


def _species(row: dict[str, str]) -> Species:
    figures = {f.name: row[f.name] for f in fields(Species)}
    # annotations are text here: a figure is what may be None
    read = {f.name: _figure(figures[f.name]) if f.type == "float | None" else figures[f.name] for f in fields(Species)}
    return Species(**read)  # type: ignore[arg-type]


def _figure(text: str) -> float | None:
    return float(text) if text else None


@cache
def _ids() -> dict[str, str]:
    known = {folded(name): key for key, others in _NAMES.items() for name in (*others, key)}
    known.update({folded(row["botanical_name"]): row["id"] for row in rows()})
    return known


def folded(name: str) -> str:
    """Return a name without case, accents, spaces and punctuation."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    return "".join(c for c in plain if c.isalnum())


def _last(name: str) -> str:
    return folded(name.rsplit(maxsplit=1)[-1])
