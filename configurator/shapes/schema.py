"""JSON Schema from attrs classes, so that every shape is written once.

A field says what may be in it by its type: ``Annotated[Decimal, "Mass, kg.", asks(minimum=0)]``.
A text is what it means, everything else is what is asked of its value. A class is described by the
first paragraph of its docstring. Every field stands under its own key, and may be left out where it
has a default. Answers, which are written as :mod:`configurator.shapes.forms` says, have
:mod:`configurator.schemas.answers` for that.
"""

from __future__ import annotations

import inspect
import types
from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Any, TypeAlias, Union, get_args, get_origin, get_type_hints

import attrs
from attrs import field, frozen

from configurator.errors import Location

Schema: TypeAlias = Mapping[str, Any]


@frozen(repr=False)
class Asks:
    """Keywords of JSON Schema."""

    keywords: tuple[tuple[str, Any], ...]

    def altered(self, schema: Schema, _: Schemas, /) -> Schema:
        """The schema with the keywords."""
        return {**schema, **{key: _plain(value) for key, value in self.keywords}}


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def asks(**keywords: Any) -> Asks:
    """What is asked of a value, in the keywords of JSON Schema: ``asks(minimum=0)``."""
    return Asks(tuple(keywords.items()))


def one_of(*words: str) -> Asks:
    """Asks for one of these words."""
    return asks(enum=words)


def up_to(most: int, pattern: str = r"\S") -> Asks:
    """Asks for a text of at most this many characters, and not of blanks alone."""
    return asks(maxLength=most, pattern=pattern)


@frozen(repr=False)
class Defined:
    """Makes the schema a definition, so that it stands there once however often it is used."""

    name: str

    def altered(self, schema: Schema, schemas: Schemas, /) -> Schema:
        """A reference to the definition."""
        schemas.definitions.setdefault(self.name, schema)
        return _reference(self.name)


@frozen(repr=False)
class Ref:
    """A shape that no class has; whoever writes the schemas gives its definition."""

    name: str

    def altered(self, _: Schema, __: Schemas, /) -> Schema:
        """A reference to the definition."""
        return _reference(self.name)


@frozen(init=False, repr=False)
class Or:
    """What may stand in its place, told apart by its type: an amount for a list, say."""

    kinds: tuple[Any, ...] = field(eq=False)

    def __init__(self, *kinds: Any) -> None:
        self.__attrs_init__(kinds)

    def altered(self, schema: Schema, schemas: Schemas, /) -> Schema:
        """The schema of a value of any of the types."""
        every = [schema] + [
            schemas.record(kind) if attrs.has(kind) else schemas.of(kind) for kind in self.kinds
        ]
        merged = {key: value for one in reversed(every) for key, value in one.items()}
        return {**merged, "type": [one["type"] for one in every]}


@frozen(repr=False)
class As:
    """How a file has it, where that is another type."""

    kind: Any = field(eq=False)

    def altered(self, _: Schema, schemas: Schemas, /) -> Schema:
        """The schema of that type."""
        return schemas.of(self.kind)


@frozen(repr=False)
class Others:
    """Holds what stands under all keys that are no fields."""

    def altered(self, schema: Schema, _: Schemas, /) -> Schema:
        """The schema of a mapping, as it is."""
        return schema


def _reference(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


_KEYS = {"first": "from", "origin": "from", "all_of": "all", "any_of": "any", "none_of": "none"}


def key_of(name: str) -> str:
    """The key in a file of the field of that name."""
    return _KEYS.get(name, name.replace("_", "-"))


def bare(kind: Any) -> Any:
    """The type without its meaning and without None."""
    while True:
        if get_origin(kind) is Annotated:
            kind = get_args(kind)[0]
        elif _is_union(kind) and len(kept := _without_none(kind)) == 1:
            (kind,) = kept
        else:
            return kind


def kind_of(cls: type) -> str | None:
    """The word that a file has under ``kind`` for this class, of those that may stand together."""
    kind = vars(cls).get("kind")
    return kind if isinstance(kind, str) else None


def meaning_of(cls: type) -> str:
    """The first paragraph of the docstring, in one line."""
    return " ".join(inspect.cleandoc(cls.__doc__ or "").partition("\n\n")[0].split())


def _is_union(kind: Any) -> bool:
    return get_origin(kind) in (Union, types.UnionType)


def _without_none(kind: Any) -> list[Any]:
    return [one for one in get_args(kind) if one is not type(None)]


class Schemas:
    """Writes the schemas of types, one definition for each class.

    Args:
        leaves: schemas of the types that are no classes of fields, such as str and Decimal.
        nullable: None is written as null; otherwise what is None is left out.
        instead: classes in whose place others are written.

    Attributes:
        definitions: the schemas of the classes met, by the names that references have.
    """

    def __init__(
        self,
        leaves: Mapping[Any, Schema],
        *,
        nullable: bool = False,
        instead: Mapping[type, type] | None = None,
    ) -> None:
        self.definitions: dict[str, Schema] = {}
        self._leaves, self._nullable = leaves, nullable
        self._instead = instead or {}

    def of(self, kind: Any) -> Schema:
        """The schema of a value of the type."""
        if kind in self._leaves:
            return self._leaves[kind]
        origin, inner = get_origin(kind), get_args(kind)
        if origin is Annotated:
            return self._annotated(kind)
        if _is_union(kind):
            return self._union(_without_none(kind), type(None) in inner and self._nullable)
        if origin is tuple and inner[1:] == (...,) and get_origin(bare(inner[0])) is tuple:
            return self._mapping(*get_args(bare(inner[0])))
        if origin in (tuple, list, frozenset) and inner[1:] in ((), (...,)):
            return {"type": "array", "items": self.of(inner[0])}
        if origin in (dict, Mapping):
            return self._mapping(*inner)
        if attrs.has(kind):
            return self._reference(self._instead.get(kind, kind))
        raise TypeError(f"no schema says how {kind} is written")

    def _annotated(self, kind: Any) -> Schema:
        elsewhere = any(isinstance(said, Ref | As) for said in kind.__metadata__)
        schema: Schema = {} if elsewhere else self.of(kind.__origin__)
        for said in kind.__metadata__:
            schema = _described(schema, said) if type(said) is str else said.altered(schema, self)
        return schema

    def _mapping(self, key: Any, value: Any) -> Schema:
        names = {} if key is str else {"propertyNames": self.of(key)}
        return {"type": "object", **names, "additionalProperties": self.of(value)}

    def _union(self, kinds: list[Any], nullable: bool) -> Schema:
        if len(kinds) > 1 and all(kind_of(kind) for kind in kinds):
            return self.tagged(kinds)
        schemas = [self.of(kind) for kind in kinds]
        if nullable:
            schemas.append({"type": "null"})
        if len(schemas) == 1:
            return schemas[0]
        if all(schema.keys() == {"type"} for schema in schemas):
            return {"type": [schema["type"] for schema in schemas]}
        return {"oneOf": schemas}

    def _reference(self, cls: type) -> Schema:
        name = "".join(f"-{c.lower()}" if c.isupper() else c for c in cls.__name__).lstrip("-")
        if name not in self.definitions:
            self.definitions[name] = {}
            self.definitions[name] = self.record(cls)
        return _reference(name)

    def tagged(self, kinds: Iterable[type], without: Iterable[str] = ()) -> Schema:
        """The schema of a value of one of the classes, of which ``kind`` says which.

        All their keys are known to it; which of them a kind has is said by their descriptions.
        """
        records = {
            str(kind_of(cls)): self.record(self._instead.get(cls, cls), without=without)
            for cls in kinds
        }
        told = [f"{kind}: {_inside(one['description'])}" for kind, one in records.items()]
        properties: dict[str, Schema] = {
            "kind": {"type": "string", "description": " ".join(told), "enum": [*records]}
        }
        by_key: dict[str, dict[str, Schema]] = {}
        for kind, record in records.items():
            for key, schema in record["properties"].items():
                if key != "kind":
                    by_key.setdefault(key, {})[kind] = schema
        for key, found in by_key.items():
            properties[key] = _widest(found, everywhere=len(found) == len(records))
        return {
            "type": "object",
            "required": ["kind"],
            "properties": properties,
            "additionalProperties": False,
        }

    def record(
        self,
        cls: type,
        *,
        only: Iterable[str] | None = None,
        without: Iterable[str] = (),
        required: Iterable[str] | None = None,
        extra: Mapping[str, Any] | None = None,
    ) -> Schema:
        """The schema of a class of fields.

        Args:
            cls: the class.
            only: keys that are written; None for all.
            without: keys that are not.
            required: keys that have to be there, where the class does not say.
            extra: types of keys that no field has.
        """
        left_out = set(without)
        found = {key: (kind, must) for key, kind, must in self._entries(cls) if key not in left_out}
        found |= {key: (kind, False) for key, kind in (extra or {}).items()}
        kept = list(found) if only is None else list(only)
        musts = [key for key in kept if found[key][1]] if required is None else list(required)
        properties = {key: self.of(found[key][0]) for key in kept}
        others = [key for key in kept if Others() in getattr(found[key][0], "__metadata__", ())]
        other = [properties.pop(key)["additionalProperties"] for key in others]
        tag = kind_of(cls)
        if tag is not None:
            properties = {"kind": {"type": "string", "const": tag}, **properties}
            musts.insert(0, "kind")
        needed = {"required": musts} if musts else {}
        return {
            "type": "object",
            "description": meaning_of(cls),
            **needed,
            "properties": properties,
            "additionalProperties": other[0] if other else False,
        }

    def _entries(self, cls: type) -> Iterator[tuple[str, Any, bool]]:
        """The key, the type and whether it has to be there, of all that is written of a class."""
        hints = get_type_hints(cls, include_extras=True)
        for one in attrs.fields(cls):
            if bare(hints[one.name]) is not Location:
                yield key_of(one.name), hints[one.name], one.default is attrs.NOTHING


def _inside(meaning: str) -> str:
    """A sentence as it stands within another."""
    return meaning[:1].lower() + meaning[1:]


def _widest(schemas: Mapping[str, Schema], everywhere: bool) -> Schema:
    """What a key may hold that several kinds have, said with the kinds that have it."""
    kinds_by_meaning: dict[str, list[str]] = {}
    for kind, schema in schemas.items():
        kinds_by_meaning.setdefault(schema.get("description", ""), []).append(kind)
    told = " ".join(f"{', '.join(k)}: {_inside(m)}" for m, k in kinds_by_meaning.items())
    widest: dict[str, Any] = {}
    for schema in schemas.values():
        for key, value in schema.items():
            most = max(value, widest.get(key, value)) if key == "maximum" else value
            widest[key] = most
    return widest if everywhere else _described(widest, told)


def _described(schema: Schema, meaning: str) -> Schema:
    """The schema with its description after its type or reference."""
    first = {key: schema[key] for key in ("$ref", "type") if key in schema}
    return {**first, "description": meaning} | {
        key: value for key, value in schema.items() if key not in (*first, "description")
    }
