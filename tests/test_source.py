"""Where things stand in a job file: lines, columns and marks."""

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.faults import Fault, JobError, PlaceError
from layout.source import Place, Snags, Source, located

TEXT = """\
[job]
title = "Küche" # é
shop.web.front = 3
[[top]]
name = "a"
size = ["84", # the length
    "40"]
corners = { "front left" = { radius = 2 }, 'back left' = { clip.x = 1 } }
[[top]]
name = "b"
[top.corners."front right"]
radius = "ü"
[[top.sub]]
k = [[1, 2], [3]]
[[top.sub]]
[ deep . "x y" . z ]
q = '''one
two'''
"""


@pytest.mark.parametrize(
    ("path", "place", "typed"),
    [
        (("job",), (1, 1, 6), "[job]"),
        (("job", "title"), (2, 9, 16), '"Küche"'),
        (("job", "shop"), (3, 1, 5), "shop"),
        (("job", "shop", "web"), (3, 6, 9), "web"),
        (("job", "shop", "web", "front"), (3, 18, 19), "3"),
        (("top",), (4, 1, 8), "[[top]]"),
        (("top", 0), (4, 1, 8), "[[top]]"),
        (("top", 0, "size"), (6, 8, 27), '["84", # the length "40"]'),
        (("top", 0, "size", 0), (6, 9, 13), '"84"'),
        (("top", 0, "size", 1), (7, 5, 9), '"40"'),
        (("top", 0, "corners", "front left", "radius"), (8, 39, 40), "2"),
        (("top", 0, "corners", "back left", "clip"), (8, 60, 64), "clip"),
        (("top", 0, "corners", "back left", "clip", "x"), (8, 69, 70), "1"),
        (("top", 1), (9, 1, 8), "[[top]]"),
        (("top", 1, "corners"), (11, 1, 28), '[top.corners."front right"]'),
        (("top", 1, "corners", "front right"), (11, 1, 28), '[top.corners."front right"]'),
        (("top", 1, "corners", "front right", "radius"), (12, 10, 13), '"ü"'),
        (("top", 1, "sub", 0, "k", 1, 0), (14, 15, 16), "3"),
        (("top", 1, "sub", 1), (15, 1, 12), "[[top.sub]]"),
        (("deep", "x y", "z"), (16, 1, 21), '[ deep . "x y" . z ]'),
        (("deep", "x y", "z", "q"), (17, 5, 11), "'''one two'''"),
    ],
)
@pytest.mark.parametrize(
    "change", [lambda t: t, lambda t: "\ufeff" + t.replace("\n", "\r\n"), lambda t: t.rstrip("\n")]
)
def test_places(path: tuple[str | int, ...], place: tuple[int, int, int], typed: str, change: Any) -> None:
    source = Source("j.toml", change(TEXT))
    assert source.place(path) == Place(*place)
    assert source.typed(path) == typed
    assert source.has(path)


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (("job", "number"), (1, 1, 6)),
        (("top", 1, "size", 1), (9, 1, 8)),
        (("top", 0, "corners", "front left", "clip"), (8, 28, 42)),
        (("top", 7, "name"), (4, 1, 8)),
        (("nothing",), (1, 1, 1)),
        ((), (1, 1, 1)),
    ],
)
def test_what_is_missing_points_at_what_it_is_missing_from(
    path: tuple[str | int, ...], place: tuple[int, int, int]
) -> None:
    source = Source("j.toml", TEXT)
    assert source.place(path) == source.place(path, at_key=True) == Place(*place)
    assert source.typed(path) == "nothing"
    assert not source.has(path)


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (("job", "title"), (2, 1, 6)),
        (("top", 0, "corners", "front left"), (8, 13, 25)),
        (("top", 0, "corners", "back left", "clip", "x"), (8, 65, 66)),
        (("top", 1, "corners", "front right"), (11, 14, 27)),
        (("deep",), (16, 3, 7)),
    ],
)
def test_keys_have_places_too(path: tuple[str | int, ...], place: tuple[int, int, int]) -> None:
    assert Source("j.toml", TEXT).place(path, at_key=True) == Place(*place)


def test_labels_count_from_one_and_name_the_thing() -> None:
    source = Source("j.toml", TEXT)
    assert source.label(("top", 0, "size", 1)) == 'top[1] "a".size[2]'
    assert source.label(("top", 1, "corners", "front right")) == 'top[2] "b".corners."front right"'
    assert source.label(("top", 1)) == 'top[2] "b"'
    assert source.label(("top", 7, "size")) == "top[8].size"
    assert source.label(("job", "title")) == "job.title"


def test_the_mark_stands_below_its_text_behind_tabs() -> None:
    fault = Source("k.toml", '[[wall]]\nname = "B"\n\tlength\t= "72 1/" # no\n').fault(
        ("wall", 0, "length"), '"72 1/", which cannot be read as a tape', "a length"
    )
    assert str(fault).split("\n") == [
        'k.toml:3:11: wall[1] "B".length: found "72 1/", which cannot be read as a tape; expected a length',
        '    \tlength\t= "72 1/" # no',
        "    \t      \t  ^^^^^^^",
    ]


def test_the_mark_stands_below_its_text_behind_wide_and_combining_letters() -> None:
    fault = Source("k.toml", 'a = { "台所" = 1, "e\u0301" = 2 }').fault(("a", "e\u0301"), "2", "3")
    assert fault.text().split("\n")[2] == "    " + " " * 24 + "^"


def test_control_characters_are_shown_and_not_sent() -> None:
    text = Fault(("a",), "\x1b[2J\u202e", "b\u2028", 1, 1, 2, "f", "\x1b]0;x\x07", "a").text()
    assert "\x1b" not in text
    assert text.count("\ufffd") == 5
    assert len(text.split("\n")) == 3


def test_an_endless_line_is_cut_to_the_part_that_matters() -> None:
    text = "a = [" + "1, " * 2000 + "22]"
    shown = Source("f", text).fault(("a", 2000), "22", "2").text().split("\n")
    assert len(shown[1]) < 200
    assert shown[1][shown[2].index("^") :].startswith("22")


def test_long_values_are_quoted_in_part() -> None:
    typed = Source("f", f'a = "{"x" * 500}"').typed(("a",))
    assert len(typed) == 60
    assert typed.endswith("…")


def test_one_fault_for_a_place_and_none_below_it() -> None:
    snags = Snags(Source("f", TEXT))
    snags.add(("top", 0, "size"), "a", "b")
    snags.add(("top", 0, "size"), "c", "d")
    snags.add_typed(("top", 0, "size", 1), "e")
    snags.add_typed(("top", 0, "name"), "e", ", which")
    assert [(f.path, f.found) for f in snags.faults] == [(("top", 0, "size"), "a"), (("top", 0, "name"), '"a", which')]
    assert snags.known(("top", 0, "size", 0))
    assert not snags.known(("top", 0))


def test_later_stages_get_their_place() -> None:
    error = PlaceError(("top", 1, "name"), '"b"', "another")
    assert str(error) == 'top[2].name: found "b"; expected another'
    found = located(error, Source("j.toml", TEXT))
    assert isinstance(found, ValueError)
    assert [(f.line, f.column, f.end_column) for f in found.faults] == [(10, 8, 11)]


def test_faults_are_sorted_by_line_and_column() -> None:
    source = Source("j.toml", TEXT)
    paths: list[tuple[str | int, ...]] = [("top", 1), ("top", 0, "size", 0), ("top", 0, "size"), ("job",)]
    error = JobError(source.fault(path, "", "") for path in paths)
    assert [fault.path for fault in error.faults] == list(reversed(paths))
    assert str(error).count("expected") == 4


SCALARS = st.one_of(
    st.integers(-5, 5).map(str),
    st.sampled_from(["true", "1.5", '"é"', "'a # b'", '"]"', "2026-03-14", '"""x\ny"""', "'''\n'''"]),
)
KEYS = st.sampled_from(["a", "b-1", '"c d"', "'é.f'", '"\\u00e9"', "1"])


def _inline(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    pairs = st.lists(st.tuples(KEYS, inner), max_size=3, unique_by=lambda p: p[0])
    tables = pairs.map(lambda ps: "{ " + ", ".join(f"{k} = {v}" for k, v in ps) + " }")
    arrays = st.lists(inner, max_size=3).map(lambda vs: "[ # c\n" + ",\n\t".join(vs) + " ]")
    return arrays | tables


VALUES = st.recursive(SCALARS, _inline, max_leaves=6)
LINES = st.one_of(
    st.tuples(KEYS, VALUES).map(lambda p: f"{p[0]} = {p[1]}"),
    st.tuples(KEYS, KEYS, VALUES).map(lambda p: f"{p[0]} . {p[1]}={p[2]} # c"),
    KEYS.map(lambda k: f"[{k}]"),
    KEYS.map(lambda k: f"[[{k}]]"),
    st.tuples(KEYS, KEYS).map(lambda p: f"\t[ {p[0]} . {p[1]} ] # d"),
    st.tuples(KEYS, KEYS).map(lambda p: f"[[{p[0]}.{p[1]}]]"),
    st.just("# comment"),
    st.just(""),
)


def _leaves(value: Any, path: tuple[str | int, ...] = ()) -> Any:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    if inner is None:
        yield path, value
    else:
        for key, item in inner:
            yield from _leaves(item, (*path, key))


@given(st.lists(LINES, max_size=8))
def test_every_value_of_any_file_is_found_where_it_stands(lines: list[str]) -> None:
    kept: list[str] = []
    for line in lines:  # leave out what makes the file unsound, such as a key twice
        try:
            tomllib.loads("\n".join([*kept, line]))
        except tomllib.TOMLDecodeError:
            continue
        kept.append(line)
    text = "\n".join(kept)
    source = Source("f.toml", text)
    rows = text.split("\n")
    for path, value in _leaves(tomllib.loads(text)):
        place = source.place(path)
        stretch = rows[place.line - 1][place.column - 1 :]
        if "\n" not in str(value) and not stretch.startswith(("'''", '"""')):
            stretch = stretch[: place.end_column - place.column]
            assert tomllib.loads(f"k = {stretch}") == {"k": value}
        assert source.has(path)
