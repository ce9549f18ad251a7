"""A JSON Schema (Draft 2020-12) for each kind of message, both ways; validators are built once."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Literal

from jsonschema import Draft202012Validator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012, Schema

Side = Literal["from_bridge", "from_client"]

_SHARED = "../parts.json"


@cache
def kinds(side: Side) -> tuple[str, ...]:
    """The kinds of message that this side may send."""
    names = (one.name for one in files(__name__).joinpath(side).iterdir())
    return tuple(sorted(name.removesuffix(".json") for name in names if name.endswith(".json")))


@cache
def validator(side: Side, kind: str) -> Draft202012Validator:
    """The compiled validator of one kind; KeyError when there is no such kind."""
    if kind not in kinds(side):
        raise KeyError(kind)
    schema = json.loads(files(__name__).joinpath(side, f"{kind}.json").read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema, registry=_shared())


@cache
def _shared() -> Registry[Schema]:
    parts = json.loads(files(__name__).joinpath("parts.json").read_text("utf-8"))
    resource: Resource[Schema] = Resource.from_contents(parts, default_specification=DRAFT202012)
    empty: Registry[Schema] = Registry()
    shared: Registry[Schema] = empty.with_resource(_SHARED, resource)
    return shared
