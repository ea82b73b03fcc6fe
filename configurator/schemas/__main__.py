"""Derives the JSON Schemas from the classes that files are read into and answers are made of.

``python -m configurator.schemas`` writes all of them into this folder.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

from configurator.catalogue.fields import HowMany, Pick
from configurator.catalogue.model import Catalogue, Option, Trade
from configurator.catalogue.parts import (
    FixedPrice,
    MarkedUp,
    Markup,
    MeasuredPrice,
    PriceTable,
    UnitPrice,
)
from configurator.schemas.answers import answers_schema
from configurator.selection.picks import FreeLine, Selection
from configurator.shapes.schema import Ref, Schema, Schemas, asks
from configurator.suppliers.mapping import SupplierMap

_LEAVES: dict[Any, Schema] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    Decimal: {"type": "number"},
    Pick: {"type": "string"},
}
_FORMAT = {"type": "integer", "const": 1, "description": "Version of this format."}


def derived() -> dict[str, Schema]:
    """Every derived schema by its name."""
    catalogue = _catalogue()
    return {
        "answers": answers_schema(),
        "catalogue": catalogue,
        "catalogue-part": _part(catalogue),
        "selection": _selection(),
        "supplier-map": _supplier_map(),
    }


def _schemas() -> Schemas:
    return Schemas(_LEAVES, instead={MarkedUp: Markup})


def _whole(name: str, meaning: str, shape: Schema, definitions: Mapping[str, Schema]) -> Schema:
    properties = {"format": _FORMAT, **shape["properties"]}
    used = _referred_to(properties, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"https://quotes.example.com/{name}.schema.json",
        "title": f"{name.replace('-', ' ').capitalize()}, format 1",
        "description": meaning,
        "type": "object",
        "additionalProperties": False,
        "required": ["format", *shape["required"]],
        "properties": properties,
        "$defs": {key: definitions[key] for key in sorted(used)},
    }


def _referred_to(part: Any, definitions: Mapping[str, Schema]) -> set[str]:
    """Names of the definitions that a part of a schema needs, and that those need."""
    used: set[str] = set()
    parts = [part]
    for one in parts:
        new = {*re.findall(r"#/\$defs/([a-z0-9-]+)", json.dumps(one))} - used
        used |= new
        parts += [definitions[name] for name in sorted(new)]
    return used


_FACETS = ("space", "power", "gives", "uses")
_OF_VEHICLES = ("id", "title", "text", "price", "tax", "mass", *_FACETS, "vehicle")
_OF_ADD_ONS = ("suggest", "because")
_OF_THE_SHOP = ("cost", "supplier", "supplier-code")


def _catalogue() -> Schema:
    schemas = _schemas()
    schemas.definitions["cost-part"] = {
        **schemas.tagged(
            (FixedPrice, UnitPrice, PriceTable, MeasuredPrice), ("from", "until", "note")
        ),
        "description": "One part of a cost. Its kind says which of the other keys it has.",
    }
    option, trade = schemas.record(Option), schemas.record(Trade)
    known = {**option["properties"], **{k: trade["properties"][k] for k in _OF_THE_SHOP}}
    ordinary = [key for key in known if key not in ("vehicle", "group", "amount", *_OF_ADD_ONS)]

    def define(name: str, meaning: str, keys: list[str], required: list[str]) -> None:
        schemas.definitions[name] = {
            "type": "object",
            "description": meaning,
            "required": required,
            "properties": {key: known[key] for key in keys},
            "additionalProperties": False,
        }

    needed = ["id", "title", "price"]
    define("option", "One answer to a choice, with whatever it brings.", ordinary, needed)
    define(
        "vehicle-option",
        "A class of vehicle that the shop builds for.",
        list(_OF_VEHICLES),
        ["id", "title", "vehicle"],
    )
    define(
        "add-on",
        "An extra offered beside the package. Suggested ones are listed with their reason and are "
        "never in the total.",
        [*ordinary, *_OF_ADD_ONS],
        [*needed, "because"],
    )
    shape = schemas.record(
        Catalogue,
        without=("trade", "day", "source", "text"),
        required=(*_NEEDED, "groups", "vehicles", "choices"),
        extra={"vehicles": _VEHICLES, "add-ons": _ADD_ONS},
    )
    meaning = (
        "Everything a shop offers: vehicles, choices and options with their facets, rules, limits, "
        "add-ons, package deals, and the shop's own terms. Sizes in mm, masses in kg, amounts in "
        "the catalogue's currency."
    )
    return _whole("catalogue", meaning, shape, schemas.definitions)


def _part(catalogue: Schema) -> Schema:
    """For editors: the sections that a part may have, none of which it has to."""
    sections = [key for key in catalogue["properties"] if key not in ("format", "parts")]
    return {
        "$schema": catalogue["$schema"],
        "title": "Part of a catalogue, format 1",
        "description": "A file that the one which opens a catalogue names under parts.",
        "type": "object",
        "additionalProperties": False,
        "properties": {
            key: {"$ref": f"catalogue.schema.json#/properties/{key}"} for key in sections
        },
    }


_NEEDED = ("id", "title", "currency", "valid", "shop", "tax", "quote")
_VEHICLES = Annotated[
    tuple[Annotated[Any, Ref("vehicle-option")], ...],
    "Classes of vehicle that the shop builds for; they make the choice called vehicle.",
    asks(minItems=1),
]
_ADD_ONS = Annotated[
    tuple[Annotated[Any, Ref("add-on")], ...],
    "Extras; they make the choice called add-on, of which any may be accepted.",
]


def _selection() -> Schema:
    schemas = _schemas()
    schemas.definitions["free-line"] = schemas.record(
        FreeLine,
        required=("title", "price", "mass"),
        extra={"quantity": Annotated[HowMany, "How many, or how much. Default 1."]},
    )
    shape = schemas.record(
        Selection, without=("source",), extra={"add-ons": Annotated[Any, Ref("pick"), _ACCEPTED]}
    )
    meaning = "What a customer wants so far. May be partial."
    return _whole("selection", meaning, shape, schemas.definitions)


def _supplier_map() -> Schema:
    schemas = _schemas()
    meaning = (
        "How one supplier's price lists are read, and what they set in the catalogue. For the "
        "shop's eyes only."
    )
    return _whole("supplier-map", meaning, schemas.record(SupplierMap), schemas.definitions)


_ACCEPTED = "Add-ons accepted: a list of ids, or quantities by id."


def written(schema: Schema) -> str:
    """The text of a schema's file."""
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    for name, schema in derived().items():
        path = Path(__file__).with_name(f"{name}.schema.json")
        path.write_text(written(schema), encoding="utf-8")
