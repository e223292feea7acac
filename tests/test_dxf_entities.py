"""Plain DXF entities, tag for tag against what ezdxf writes for the same (ezdxf is a general library of the field)."""

import io
import itertools
import re

import ezdxf
import pytest
from ezdxf.enums import TextEntityAlignment
from ezdxf.render.arrows import ARROWS
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.writers.dxf_entities import (
    DIMBLK1,
    DIMBLK2,
    DIMSAH,
    DIMSE1,
    DIMSE2,
    DIMTXT,
    Lettering,
    Look,
    Measured,
    Plain,
    Seen,
)
from layout.writers.dxf_file import document_bytes, new_document, text_code

ALIGN = {"start": TextEntityAlignment.LEFT, "middle": TextEntityAlignment.CENTER, "end": TextEntityAlignment.RIGHT}
NUMBERS = st.floats(-1e6, 1e6).map(lambda x: round(x, 12) + 0.0)
SIZES = st.floats(1e-3, 1e5).map(lambda x: round(x, 12))
POINTS = st.tuples(NUMBERS, NUMBERS)
LOOKS = st.builds(
    Look,
    st.sampled_from(["PIECE", "LABEL"]),
    st.sampled_from([None, "DASHED"]),
    st.sampled_from([None, 7, 254]),
    st.sampled_from([None, 13, 50]),
    st.sampled_from([1.0, 24.0, 0.3]),
)


def attributes(look):
    told = {"layer": look.layer, "linetype": look.linetype, "color": look.color, "lineweight": look.lineweight}
    told["ltscale"] = look.ltscale
    return {key: value for key, value in told.items() if value is not None}


def written(places, put):
    """The bytes of a document that something puts into the model, into a block and onto a sheet."""
    doc = new_document("R2010", "in")
    doc.blocks.new("T").add_attdef("TAG", (0, 0))
    for place in (doc.modelspace(), doc.blocks.new("B"), doc.paperspace(), doc.new_layout("S"))[:places]:
        put(place)
    return document_bytes(doc)


def same(ours, theirs):
    assert written(4, ours) == written(4, theirs)


@given(POINTS, POINTS, LOOKS)
@settings(max_examples=15, deadline=None)
def test_a_line(a, b, look):
    same(
        lambda place: Plain.of(place).line(a, b, look), lambda place: place.add_line(a, b, dxfattribs=attributes(look))
    )


@given(POINTS, SIZES, LOOKS)
@settings(max_examples=15, deadline=None)
def test_a_circle(at, radius, look):
    same(
        lambda place: Plain.of(place).circle(at, radius, look),
        lambda place: place.add_circle(at, radius, dxfattribs=attributes(look)),
    )


@given(POINTS, SIZES, st.floats(0, 360), st.floats(0, 360), LOOKS)
@settings(max_examples=15, deadline=None)
def test_an_arc(at, radius, start, end, look):
    same(
        lambda place: Plain.of(place).arc(at, radius, start, end, look),
        lambda place: place.add_arc(at, radius, start, end, dxfattribs=attributes(look)),
    )


@given(
    st.lists(st.tuples(NUMBERS, NUMBERS, st.sampled_from([0.0, 1.0, -0.41421356])), min_size=2, max_size=6),
    LOOKS,
    st.booleans(),
    st.booleans(),
)
@settings(max_examples=20, deadline=None)
def test_a_polyline(points, look, closed, dashed):
    def theirs(place):
        line = place.add_lwpolyline(points, format="xyb", close=closed, dxfattribs=attributes(look))
        line.dxf.flags |= 128 if dashed else 0

    same(lambda place: Plain.of(place).polyline(points, look, closed=closed, dashed=dashed), theirs)


@given(st.lists(st.tuples(NUMBERS, NUMBERS, st.sampled_from([0.0, 1.0, -0.41421356])), min_size=2, max_size=5), LOOKS)
@settings(max_examples=15, deadline=None)
def test_a_heavy_polyline(points, look):
    def theirs(place):
        named = {key: value for key, value in attributes(look).items() if key != "layer"}
        line = place.add_polyline2d(points, format="xyb", close=True, dxfattribs=attributes(look))
        for part in line.all_sub_entities():
            part.update_dxf_attribs(named | {"layer": look.layer})
        line.take_ownership()

    same(lambda place: Plain.of(place).heavy_polyline(points, look), theirs)


@given(st.lists(POINTS, min_size=3, max_size=5), LOOKS)
@settings(max_examples=15, deadline=None)
def test_triangles(points, look):
    fan = [(points[0], *pair) for pair in itertools.pairwise(points[1:])]

    def theirs(place):
        for corners in fan:
            place.add_solid([*corners, corners[-1]], dxfattribs=attributes(look))

    same(lambda place: Plain.of(place).triangles(fan, look), theirs)


@given(
    st.text(st.characters(codec="utf-8", exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=12).map(text_code),
    POINTS,
    SIZES,
    LOOKS,
    st.sampled_from([0.0, 90.0, 33.25]),
    st.sampled_from(["start", "middle", "end"]),
)
@settings(max_examples=30, deadline=None)
def test_a_text(code, at, height, look, rotation, anchor):
    def theirs(place):
        named = attributes(look) | {"style": "OWN"}
        text = place.add_text(code, height=height, rotation=rotation, dxfattribs=named)
        text.set_placement(at, align=ALIGN[anchor])

    same(lambda place: Plain.of(place).text(Lettering(code, at, height, "OWN", anchor), look, rotation), theirs)


FIELDS = st.tuples(POINTS, SIZES, st.sampled_from(list(ALIGN)))


@given(st.dictionaries(st.sampled_from(["A", "B_2", "NUMBER"]), FIELDS, min_size=1))
@settings(max_examples=20, deadline=None)
def test_a_block_with_its_fields(fields):
    def theirs(place):
        reference = place.add_blockref("T", (0.0, 0.0), dxfattribs={"layer": "TITLE"})
        for tag, (at, height, anchor) in fields.items():
            named = {"layer": "TITLE", "style": "OWN", "height": height}
            attrib = reference.add_attrib(tag, f"of {tag}", (0.0, 0.0), dxfattribs=named)
            attrib.set_placement(at, align=ALIGN[anchor])
            attrib.is_invisible = True

    def ours(place):
        set_out = {
            tag: Lettering(f"of {tag}", at, height, "OWN", anchor) for tag, (at, height, anchor) in fields.items()
        }
        Plain.of(place).reference("T", set_out, "TITLE")

    same(ours, theirs)


@given(st.tuples(POINTS, POINTS), st.tuples(SIZES, SIZES, SIZES), st.integers(2, 40), st.sampled_from([0, 0xC000]))
@settings(max_examples=15, deadline=None)
def test_a_viewport(points, sizes, number, flags):
    def theirs(page):
        viewport = page.add_viewport(
            center=points[0],
            size=sizes[:2],
            view_center_point=points[1],
            view_height=sizes[2],
            status=number,
            dxfattribs={"layer": "VIEWS"},
        )
        viewport.dxf.flags, viewport.dxf.id = flags, number

    def ours(page):
        Plain.of(page).viewport(Seen(points[0], sizes[:2], points[1], sizes[2], number, flags), "VIEWS")

    def on_paper(put):
        doc = new_document("R2010", "in")
        put(doc.paperspace())
        put(doc.new_layout("S"))
        return document_bytes(doc)

    assert on_paper(ours) == on_paper(theirs)


OWN = {"dimtxt": DIMTXT, "dimse1": DIMSE1, "dimse2": DIMSE2, "dimsah": DIMSAH, "dimblk1": DIMBLK1, "dimblk2": DIMBLK2}
ENDS = st.sampled_from(["", "NONE"])
DEPARTURES = st.fixed_dictionaries(
    {},
    optional={
        "dimtxt": SIZES,
        "dimse1": st.just(1),
        "dimse2": st.just(1),
        "dimsah": st.just(1),
        "dimblk1": ENDS,
        "dimblk2": ENDS,
    },
)


@given(
    st.tuples(POINTS, POINTS, POINTS, POINTS),
    st.sampled_from([0.0, 90.0, 33.25, 179.0]),
    st.sampled_from([None, 90.0, 12.5, -30.0]),
    SIZES,
    DEPARTURES,
    LOOKS,
)
@settings(max_examples=40, deadline=None)
def test_a_dimension(points, angle, rotation, value, own, look):
    base, first, second, middle = points
    # ezdxf puts the ends' blocks last
    own = {key: own[key] for key in OWN if key in own}

    def theirs(place):
        for end in ("NONE", ""):
            ARROWS.arrow_handle(place.doc.blocks, end)
        override = place.add_linear_dim(
            base=base,
            p1=first,
            p2=second,
            angle=angle,
            text='12 1/2"',
            text_rotation=rotation,
            dimstyle="Standard",
            override=own,
            dxfattribs=attributes(look),
        )
        entity = override.dimension
        entity.dxf.text_midpoint = middle
        entity.set_flag_state(entity.USER_LOCATION_OVERRIDE, state=True, name="dimtype")
        entity.dxf.actual_measurement = value
        override.commit()
        block = place.doc.blocks.new_anonymous_block(type_char="D")
        entity.dxf.geometry = block.name
        Plain.of(block).line(first, second, Look("0"))

    def ours(place):
        handles = {end: ARROWS.arrow_handle(place.doc.blocks, end) for end in ("NONE", "")} | {"": "0"}
        told = [(OWN[key], handles[told] if key.startswith("dimblk") else told) for key, told in own.items()]
        measured = Measured("Standard", base, (first, second), angle, '12 1/2"', middle, rotation, value, told)
        Plain.of(place).dimension(measured, look, place.doc).line(first, second, Look("0"))

    def numbered(text):
        """Number anonymous blocks as they are met: their names are nobody's."""
        met = {}
        return re.sub(rb"\*D\d+", lambda name: met.setdefault(name[0], b"*D%d" % len(met)), text)

    assert numbered(written(4, ours)) == numbered(written(4, theirs))


@pytest.mark.parametrize("places", [1, 2, 3, 4])
def test_every_entity_has_a_handle_of_its_own(places):
    def put(place):
        Plain.of(place).line((0.0, 0.0), (1.0, 0.0), Look("0"))
        place.add_linear_dim(base=(0, 5), p1=(0, 0), p2=(9, 0)).render()
        points = ((0.0, 0.0), (9.0, 0.0))
        measured = Measured("Standard", (0.0, 5.0), points, 0.0, "9", (4.5, 5.5), None, 9.0, [(DIMSE1, 1)])
        Plain.of(place).dimension(measured, Look("0"), place.doc).line(*points, Look("0"))
        Plain.of(place).text(Lettering("a", (0.0, 0.0), 1.0, "Standard"), Look("0"))
        Plain.of(place).reference("T", {"TAG": Lettering("b", (0.0, 0.0), 1.0, "Standard")}, "0")

    text = written(places, put).decode()
    # the first is the header's: the handle that is next
    seed, *handles = re.findall(r"^  5\r?\n([0-9A-F]+)\r?$", text, re.MULTILINE)
    assert len(handles) == len(set(handles)) > 3 * places
    assert int(seed, 16) > max(int(handle, 16) for handle in handles)
    assert not ezdxf.read(io.StringIO(text)).audit().has_issues
