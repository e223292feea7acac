"""The table of woods and the names it is found by."""

import re

import pytest

from layout import species

FOUND = {
    "black walnut": "black_walnut",
    "Black-Walnut": "black_walnut",
    "  BLACK   walnut ": "black_walnut",
    "walnut": "black_walnut",
    "American black walnut": "black_walnut",
    "Juglans nigra": "black_walnut",
    "hard maple": "sugar_maple",
    "sugar maple": "sugar_maple",
    "soft maple": "red_maple",
    "cherry": "black_cherry",
    "white oak": "white_oak",
    "red oak": "northern_red_oak",
    "ash": "white_ash",
    "beech": "american_beech",
    "hickory": "shagbark_hickory",
    "true hickory": "shagbark_hickory",
    "pecan": "pecan_hickory",
    "yellow birch": "yellow_birch",
    "birch": "yellow_birch",
    "sapele": "sapele",
    "iroko": "iroko",
    "teak": "teak",
    "wenge": "wenge",
    "jatoba": "jatoba",
    "Brazilian cherry": "jatoba",
    "african mahogany": "khaya",
    "mahogany": "true_mahogany",
    "Ipé": "ipe",
    "yellow-poplar": "yellow_poplar",
}


@pytest.mark.parametrize(("name", "key"), FOUND.items())
def test_names_are_found(name: str, key: str) -> None:
    assert species.find(name) == key


@pytest.mark.parametrize("name", ["maple", "oak", "pine", "", "--", "walnutt", "plywood"])
def test_shared_and_unknown_names_are_not(name: str) -> None:
    assert species.find(name) is None


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("maple", ("hard maple", "soft maple")),
        ("European oak", ("white oak", "red oak")),
        ("walnutt", ("black walnut",)),
        ("hikory", ("hickory",)),
        ("plywood", ()),
        ("", ()),
    ],
)
def test_nearest_names(name: str, near: tuple[str, ...]) -> None:
    assert species.nearest(name) == near


def test_suggestions_can_be_typed() -> None:
    assert all(species.find(name) for name in species.names())
    assert len({species.find(name) for name in species.names()}) == len(species.rows()) == 30


def test_no_name_means_two_woods() -> None:
    for row in species.rows():
        assert species.find(row["id"]) == row["id"]
        assert species.find(row["botanical_name"]) == row["id"]


def test_figures() -> None:
    walnut = species.load("black_walnut")
    assert (walnut.C_R, walnut.C_T, walnut.density_12_kg_m3) == (0.0019, 0.00274, 616)
    assert (walnut.ET_EL, walnut.ER_EL, walnut.conf_C) == (0.056, 0.106, "A")
    wenge = species.load("wenge")
    assert wenge.shrink_volumetric_pct is None
    assert wenge.tension_perp_psi is None
    assert wenge.notes.startswith("NOT in the Wood Handbook")
    with pytest.raises(KeyError):
        species.load("plywood")


def test_every_row_holds_together() -> None:
    for row in species.rows():
        wood = species.load(row["id"])
        assert wood.C_R is not None
        assert wood.C_T is not None
        assert 0.0005 < wood.C_R < wood.C_T < 0.005
        assert wood.sg_12 is not None
        assert wood.density_12_kg_m3 == pytest.approx(1120 * wood.sg_12, abs=1.0)
        assert wood.shrink_radial_pct is not None
        assert wood.shrink_tangential_pct is not None
        assert 1 / (3000 / wood.shrink_radial_pct - 20) == pytest.approx(float(row["C_R_from_shrinkage"]), abs=2e-5)
        assert 1 / (3000 / wood.shrink_tangential_pct - 20) == pytest.approx(float(row["C_T_from_shrinkage"]), abs=2e-5)
        assert {row["conf_mechanical"], row["conf_shrinkage"], row["conf_C"], row["conf_ratios"]} <= set("ABCD-")


def test_every_source_that_a_row_cites_is_named() -> None:
    cited = {
        int(n) for row in species.rows() for c in species.COLUMNS if c[:4] == "src_" for n in re.findall(r"\d+", row[c])
    }
    assert cited == set(species.SOURCES)
