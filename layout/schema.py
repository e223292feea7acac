"""The shape of a job file as a JSON Schema (draft-07), made from the models, for editors that complete and check as one types.

What it refuses the reader refuses too. It cannot say what hangs on other tables or on how long something is: that names lead
somewhere, that stations rise, that a radius fits. Descriptions are the docstrings of the models' fields, read from their source.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue

from layout import rules, spellings
from layout.defaults import FILLED, MADE, SOMETIMES
from layout.job import Job
from layout.job_joints import JointChoice
from layout.job_shop import CornerKind, SheetChoice, Shop
from layout.job_tops import CUT_SQUARE, OutlineTop, RectTop, RunTop
from layout.job_values import Table
from layout.job_wood import Site, Wood
from layout.keys import SHAPES, bare, keys_of
from layout.placed_references import KINDS
from layout.species import names
from layout.units import LONGEST_MM, MOST_DIGITS, Length

DRAFT = "http://json-schema.org/draft-07/schema#"
WRITTEN = "Written by staveline, which writes it anew where it has changed."
"""The comment by which a schema of ours is known on disk."""

_MARKS = {RunTop: ("along",), RectTop: ("size", "base"), OutlineTop: ("outline",)}
"""The keys that tell a top's shape."""


def schema(root: type[Table] = Job, title: str = "A job of staveline") -> dict[str, Any]:
    """Return the JSON Schema of a file of the model ``root``, a job file's if none is said; the same one each time."""
    made = root.model_json_schema(schema_generator=_Draft7, ref_template="#/definitions/{model}")
    definitions = made.pop("$defs", {})
    if root is Job:
        made["properties"]["top"]["items"] = _any_shape(definitions)
    form = {
        "$schema": DRAFT,
        "$comment": WRITTEN,
        "title": title,
        **made,
    }
    known = _kinds()
    form, definitions = _settled(form), _settled(definitions)
    used = sorted({name for name in known if f'"#/definitions/{name}"' in repr((form, definitions)).replace("'", '"')})
    return {**form, "definitions": {**definitions, **{name: known[name] for name in used}}}


# --- kinds of value ------------------------------------------------------------------------------------------------


def _kinds() -> dict[str, JsonSchemaValue]:
    """Return what the models' marks of a kind stand for."""
    longest = int(max(LONGEST_MM.values()))

    def length(pattern: str, **limits: int) -> JsonSchemaValue:
        return {
            "anyOf": [
                {"type": "number", **limits, "maximum": longest},
                {"type": "string", "pattern": pattern, "maxLength": MOST_DIGITS},
            ],
            "examples": [25.5, "25 1/2", "2'-1 1/2\"", "648 mm"],
        }

    line = {"type": "string", "maxLength": rules.MOST_LETTERS}
    return {
        "length": length(spellings.length(), minimum=-longest),
        "length-above-zero": length(spellings.length_above_zero(), exclusiveMinimum=0),
        "length-from-zero": length(spellings.length_from_zero(), minimum=0),
        "line": {**line, "pattern": spellings.LINE},
        "filled-line": {**line, "pattern": spellings.FILLED},
        "window": {**line, "pattern": spellings.WINDOW},
        "point-on-a-wall": {**line, "pattern": spellings.on_a_wall(), "examples": ["A start", "A end", "A 25 1/2"]},
        "profile": {**line, "pattern": spellings.profile(rules.PROFILES), "examples": list(rules.PROFILES)},
    }


def _settled(form: Any) -> Any:
    """Return a schema whose marks of a kind are references; beside one nothing counts in draft-07, so it goes into allOf."""
    if isinstance(form, list):
        return [_settled(item) for item in form]
    if not isinstance(form, dict):
        return form
    rest = {key: _settled(value) for key, value in form.items()}
    if isinstance(rest.get("kind"), str):
        rest["$ref"] = f"#/definitions/{rest.pop('kind')}"
    if isinstance(rest.get("$ref"), str) and len(rest) > 1:
        return {**{key: value for key, value in rest.items() if key != "$ref"}, "allOf": [{"$ref": rest["$ref"]}]}
    return rest


# --- tables --------------------------------------------------------------------------------------------------------


class _Draft7(GenerateJsonSchema):
    """The models' schema in the words of draft-07, as a file is typed: TOML has no null, and defaults may be left out."""

    def field_title_should_be_set(self, schema: Any) -> bool:  # noqa: ARG002 (as pydantic calls it)
        """Return that no field gets a title made of its name."""
        return False

    def nullable_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of what may be left out, but not null."""
        return self.generate_inner(schema["schema"])

    def tagged_union_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of forms of which one is chosen by how it looks."""
        return {"anyOf": [self.generate_inner(choice).copy() for choice in schema["choices"].values()]}

    def date_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of a day: a date of TOML, which programs hand over as text."""
        return {**super().date_schema(schema), "pattern": spellings.DAY}

    def tuple_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of a list, of one form for all entries or of one for each."""
        made = super().tuple_schema(schema)
        each = made.pop("prefixItems", None)
        if each:
            made["items"] = each[0] if all(item == each[0] for item in each) else each
        return made

    def dict_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of a table whose keys are of a kind, or are few."""
        made = super().dict_schema(schema)
        value = made.pop("additionalProperties", True)
        for pattern in made.pop("patternProperties", {}).values():
            value = pattern
        keys = self.generate_inner(schema["keys_schema"]) if "keys_schema" in schema else {}
        made.pop("propertyNames", None)
        if "enum" in keys:
            return {**made, "properties": dict.fromkeys(keys["enum"], value), "additionalProperties": False}
        if "pattern" in keys:
            made["propertyNames"] = keys
        return {**made, "additionalProperties": value}

    def default_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of a value with the default that may be typed for it."""
        made = self.generate_inner(schema["schema"])
        default = _plain(schema.get("default"), is_text=made.get("type") == "string")
        return made if default is None else {**made, "default": default}

    def model_schema(self, schema: Any) -> JsonSchemaValue:
        """Return the schema of a table: its keys with what is said of them, and which of them go together."""
        made, model = super().model_schema(schema), schema["cls"]
        made.pop("title", None)
        made["description"] = _markdown(inspect.cleandoc(model.__doc__ or ""))
        said = descriptions(model)
        made["properties"] = {
            key: _described(model, key, value, said[key]) for key, value in made.get("properties", {}).items()
        }
        filled = {*FILLED.get(model, ()), *MADE.get(model, ())}
        asked = [key for key in made.pop("required", []) if key not in filled]
        asked += [need.keys[0] for need in model.needs if len(need.keys) == 1]
        if asked:
            made["required"] = asked
        if model is Job:
            for table, value in made["properties"].items():
                if value.get("type") == "array":
                    value["maxItems"] = rules.MOST.get(table, rules.MOST_EACH)
        return {**made, **_rules(model)}


def _plain(default: Any, *, is_text: bool) -> Any:
    """Return a default as it may be typed; None where there is none to tell."""
    if isinstance(default, Length):
        return float(default) if default.mm else 0
    if isinstance(default, float | Decimal):
        number = int(default) if default == int(default) else float(default)
        return f"{number} lb" if is_text else number
    return default if isinstance(default, bool | int) or (isinstance(default, str) and default) else None


def _described(model: type[Table], key: str, form: JsonSchemaValue, said: str) -> JsonSchemaValue:
    """Return the schema of one key with what is said of it, its default and examples."""
    made = {"description": f"{said}{_left_out(model, key, form)}", **form}
    if (model, key) == (Wood, "species"):
        made["examples"] = list(names())
    listed = KINDS.get(model.__name__.lower(), ()) if key == "kind" else ()
    if listed and "enum" not in form:
        made["examples"] = list(listed)
    return made


def _left_out(model: type[Table], key: str, form: JsonSchemaValue) -> str:
    """Return what holds where a key is left out, as a sentence after what is said of it."""
    if "default" in form:
        default = form["default"]
        text = f'"{default}"' if isinstance(default, str) else str(default).lower()
    elif model is Shop and key == "stock":
        (low, *_, high), (least, *_, most) = rules.STOCK["in"], rules.STOCK["mm"]
        text = f"{low} to {high}, or {least} to {most} mm"
    elif model is Site and key == "humidity":
        text = f"[{rules.HUMIDITY[0]:g}, {rules.HUMIDITY[1]:g}]"
    elif model is Site and key == "temperature":
        text = f'"{rules.TEMPERATURE}"'
    else:
        default = {**FILLED.get(model, {}), **SOMETIMES.get(model, {})}.get(key)
        if default is None:
            return ""
        if model is SheetChoice:
            text = f'"{default.inches}" where the job is in inches, "{default.mm}" where it is in mm'
        else:
            text = f"{default.inches} in or {default.mm} mm"
    return f" Left out: {text}."


# --- which keys go together ----------------------------------------------------------------------------------------


def _rules(model: type[Table]) -> JsonSchemaValue:
    """Return what a table's class variables say of its keys."""
    beside: dict[str, JsonSchemaValue] = {}

    def where(key: str) -> JsonSchemaValue:
        return beside.setdefault(key, {})

    for key, other in model.apart:
        where(key).setdefault("properties", {})[other] = False
    for key, other in (*model.beside, *model.together, *((b, a) for a, b in model.together)):
        where(key).setdefault("required", []).append(other)
    for only in model.only:
        for key, value in only.where:
            where(only.key).setdefault("properties", {})[key] = _equal(model, key, value)
            where(only.key).setdefault("required", []).append(key)
    found: JsonSchemaValue = {"dependencies": beside} if beside else {}
    if model.one_of:
        found["oneOf"] = [{"required": [key]} for key in model.one_of]
    for need in model.needs:
        if len(need.keys) > 1:
            found["anyOf"] = [{"required": [key]} for key in need.keys]
    conditions = [*_never(model), *_of_one_model(model)]
    return {**found, "allOf": conditions} if conditions else found


def _equal(model: type[Table], key: str, value: str) -> JsonSchemaValue:
    """Return the schema of a key that has a value; blanks round a word that anyone may choose do not count."""
    if get_origin(bare(model.model_fields[key].annotation)) is Literal:
        return {"const": value}
    return {"pattern": f"^{spellings.BLANK}*{value}{spellings.BLANK}*$"}


def _if(key: str, form: JsonSchemaValue, then: JsonSchemaValue) -> JsonSchemaValue:
    return {"if": {"required": [key], "properties": {key: form}}, "then": {"properties": then}}


def _never(model: type[Table]) -> Iterator[JsonSchemaValue]:
    for never in model.never:
        key, value = never.where
        then = {k: False if model.model_fields[k].default is None else {"enum": [0]} for k in never.keys}
        yield _if(key, _equal(model, key, value), then)


def _of_one_model(model: type[Table]) -> Iterator[JsonSchemaValue]:
    """Yield what is left to the checks across tables only because it may also hang on other tables."""
    if issubclass(model, JointChoice):
        for only in JointChoice.of_kind:
            key, value = only.where[0]
            yield _if(key, {"enum": [k for k in get_args(CornerKind) if k != value]}, {only.key: False})
    if issubclass(model, RunTop):
        for end, corners in RunTop.ends.items():
            yield _if(end, {"enum": list(CUT_SQUARE)}, {"corners": {"properties": dict.fromkeys(corners, False)}})


def _any_shape(definitions: dict[str, JsonSchemaValue]) -> JsonSchemaValue:
    """Return the schema of a top of any shape: all keys to choose from, then those of the shape that the keys tell.

    With the shapes side by side an editor would say of a slip only that the whole top is none of the three.
    """
    every: dict[str, JsonSchemaValue] = {}
    for model in SHAPES.values():
        for key in keys_of(model):
            form = definitions[model.__name__]["properties"][key]
            every.setdefault(key, form if "enum" in form else {"description": form["description"]})
    asked = {model: [{"required": [key]} for key in keys] for model, keys in _MARKS.items()}
    return {
        "type": "object",
        "description": "A top: a run has along, a rectangle size or base, any other shape outline.",
        "properties": every,
        "additionalProperties": False,
        "anyOf": [mark for marks in asked.values() for mark in marks],
        "allOf": [
            {"if": {"anyOf": marks}, "then": {"$ref": f"#/definitions/{model.__name__}"}}
            for model, marks in asked.items()
        ],
    }


# --- what is said of keys ------------------------------------------------------------------------------------------


def descriptions(model: type[BaseModel]) -> dict[str, str]:
    """Return what the source of a model says below each of its fields, by the key as typed."""
    said: dict[str, str] = {}
    for one in reversed(model.__mro__):
        if issubclass(one, Table):
            said |= _fields_said(one.__module__).get(one.__name__, {})
    return {field.alias or name: said[name] for name, field in model.model_fields.items()}


@cache
def _fields_said(module: str) -> dict[str, dict[str, str]]:
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    found: dict[str, dict[str, str]] = {}
    for node in tree.body:
        if not isinstance(node, ast.ClassDef):
            continue
        mine = found.setdefault(node.name, {})
        for field, after in zip(node.body, node.body[1:], strict=False):
            if (
                isinstance(field, ast.AnnAssign)
                and isinstance(field.target, ast.Name)
                and isinstance(after, ast.Expr)
                and isinstance(after.value, ast.Constant)
                and isinstance(after.value.value, str)
            ):
                mine[field.target.id] = _markdown(inspect.cleandoc(after.value.value))
    return found


def _markdown(text: str) -> str:
    """Return a docstring as editors show it: single marks round keys, paragraphs as they are, no line ends within."""
    return "\n\n".join(" ".join(part.split()) for part in text.replace("``", "`").split("\n\n"))
