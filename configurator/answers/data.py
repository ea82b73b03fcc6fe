"""Answers as data and as JSON; selections as data, JSON and YAML: one converter writes them all.

Amounts and other exact numbers are text in answers, so that no reader turns them into floats. In a
selection they are numbers with all their digits, defaults are left out, and the shape is that of a
selection file, so that what an answer holds can be opened again.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from json.encoder import encode_basestring
from typing import Any

import attrs
import cattrs
import yaml

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE
from configurator.catalogue.units import Position
from configurator.errors import ConfiguratorError, Location, Problem, WrongArgument, as_given
from configurator.money import Money, exponent, round_to
from configurator.selection.picks import Budget, Selection
from configurator.shapes.forms import entries_of, form, form_of
from configurator.words import plain


def to_data(value: Any) -> Any:
    """Any value that the package answers with as plain data.

    An answer names itself in ``answer`` and has the shape under that name in
    ``answers.schema.json``, as under ``--json`` on the command line; a part of an answer, such as
    a :class:`Price` or a :class:`Finding`, has that part's shape. A kept quote is the quote that
    was issued; a mapping is data already.

    Values that come in a row, such as the options of a choice that ``one_by_one`` gives, become a
    list of them. An answer of their own has them too: :class:`Problems` those of a check of the
    shop, :class:`PriceAnswer` the suggestions, :class:`OptionsAnswer` the options,
    :class:`TraceAnswer` the lines ``traced``, :class:`BatchAnswer` the quotes of a batch.

    Example:
        >>> to_data(wish.price())["total"]
        '27520.00'
        >>> to_data(next(wish.one_by_one("finish")))[0]["option"]
        'raw'
    """
    return value if isinstance(value, dict) else _answers.unstructure(value)


def to_json(value: Any) -> str:
    """Any answer as text, the same for the same answer, with every digit of its numbers.

    Raises:
        ConfiguratorError: it is no answer, or a figure in it is endless or too long.

    Example:
        >>> '"total": "27520.00"' in to_json(wish.price())
        True
    """
    try:
        return _written(to_data(value), "\n") + "\n"
    except RecursionError:
        told = "what is to be written as JSON holds itself, or is nested too deeply"
        raise ConfiguratorError(told) from None


def _written(value: Any, line: str) -> str:
    """A value as JSON; ``line`` begins a new line as deep as the value stands.

    The standard library writes no Decimal, and some floats with an exponent.
    """
    if isinstance(value, str):
        return encode_basestring(value)
    if isinstance(value, dict) and value:
        parts = [f"{_written(k, '')}: {_written(v, line + '  ')}" for k, v in value.items()]
        return f"{{{line}  {f',{line}  '.join(parts)}{line}}}"
    if isinstance(value, list | tuple) and value:
        parts = [_written(inner, line + "  ") for inner in value]
        return f"[{line}  {f',{line}  '.join(parts)}{line}]"
    if isinstance(value, dt.date):  # as a reader of YAML gives it
        return encode_basestring(value.isoformat())
    if isinstance(value, Decimal):
        return f"{value:f}"
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    except TypeError:
        told = f"{as_given(value)} cannot be written as JSON; give an answer, such as check()"
        raise WrongArgument(told) from None
    except ValueError:
        told = f"{as_given(value)} cannot be written as JSON; give a finite figure, of fewer digits"
        raise ConfiguratorError(told) from None


def amount_text(money: Money) -> str:
    """An amount as text, with the currency's decimals."""
    return str(round_to(money.amount, exponent(money.currency)))


def _place_text(at: Location) -> str:
    """A place in a file; of a file named from the root of the machine, its name alone."""
    return str(at) if at.line else ""


def _number(value: Decimal) -> int | Decimal:
    """A JSON number with the Decimal's digits."""
    return int(value) if value == value.to_integral_value() else value


def _writer(converter: cattrs.Converter) -> Callable[[type], Callable[[Any], Any]]:
    """Makes what writes the values of a class, as :mod:`configurator.shapes.forms` says."""

    def writer(cls: type) -> Callable[[Any], Any]:
        said, entries = form_of(cls), entries_of(cls)
        if any(entry.name.startswith("_") for entry in entries):
            raise TypeError(
                f"a {cls.__name__} is no answer: write what a method of it gives, such as check()"
            )

        def write(value: Any) -> Any:
            if said.instead:
                of = said.instead
                instead = getattr(value, of) if isinstance(of, str) else of(value)
                return instead if isinstance(instead, dict) else converter.unstructure(instead)
            data: dict[str, Any] = {"answer": said.answer} if said.answer else {}
            for entry in entries:
                held = getattr(value, entry.name)
                if held is not None and entry.shown is not None:
                    held = entry.shown(held)
                if entry.inline:
                    data |= writer(type(held))(held)
                else:
                    data[entry.key] = converter.unstructure(held)
            return data

        return write

    return writer


def _brief_writer(cls: type) -> Callable[[Any], Any]:
    """Makes the function that writes the values of a class in a selection: without defaults."""
    defaults = {f.name: f.default for f in attrs.fields(cls) if f.eq}

    def write(value: Any) -> dict[str, Any]:
        held = {
            entry: getattr(value, entry.name) for entry in entries_of(cls) if entry.name in defaults
        }
        return {
            entry.key: _selections.unstructure(entry.shown(one) if entry.shown else one)
            for entry, one in held.items()
            if one != defaults[entry.name]
        }

    return write


def _converter(
    number: Callable[[Decimal], Any], writer: Callable[[type], Callable[[Any], Any]] | None = None
) -> cattrs.Converter:
    made = cattrs.Converter()
    made.register_unstructure_hook_factory(attrs.has, writer or _writer(made))
    made.register_unstructure_hook(Decimal, number)
    made.register_unstructure_hook_func(
        {tuple, list, frozenset}.__contains__, lambda held: [made.unstructure(one) for one in held]
    )
    return made


_answers = _converter(plain)
_answers.register_unstructure_hook(Fraction, lambda f: plain(Decimal(f.numerator) / f.denominator))
_answers.register_unstructure_hook(Money, amount_text)
_answers.register_unstructure_hook(dt.date, dt.date.isoformat)
_answers.register_unstructure_hook(Location, _place_text)

_selections = _converter(_number, _brief_writer)
_selections.register_unstructure_hook(Pick, str)
form(keys={"origin": "from"})(Position)
form(shown={"limits": dict})(Budget)


_FIRST = ("format", "catalogue", "title", "customer", "picks", "add-ons")
"""The keys with which a selection begins; the others follow in their own order."""


def selection_data(selection: Selection) -> dict[str, Any]:
    """The selection in the shape of a selection file, so that it can be opened again."""
    picks: dict[str, dict[str, int | Decimal]] = {}
    for (choice, option), quantity in selection.quantities.items():
        amount = selection.amounts.get((choice, option))
        picks.setdefault(choice, {})[option] = quantity if amount is None else _number(amount)
    add_ons, free = picks.pop(ADD_ON, {}), picks.pop(FREE_LINE, {})
    written = _selections.unstructure(selection)
    for line in written.get("free-lines", ()):
        if free.get(line["id"], 1) != 1:
            line["quantity"] = free[line["id"]]
    data = {"format": 1, **written, "picks": picks} | ({"add-ons": add_ons} if add_ons else {})
    names = (*_FIRST, *(name for name in data if name not in _FIRST))
    return {name: data[name] for name in names if data.get(name) or name in ("picks", "catalogue")}


def selection_file_data(selection: Selection) -> dict[str, Any]:
    """The same as somebody would have typed it: short."""
    data = selection_data(selection)
    data["picks"] = {choice: _short(options) for choice, options in data["picks"].items()}
    if "add-ons" in data:
        data["add-ons"] = _several(data["add-ons"])
    return data


def selection_yaml(selection: Selection) -> str:
    """The text of a selection file in YAML 1.2, which means the same to a reader of YAML 1.1.

    Whatever one of them would take for something else than text is in quotation marks, and
    numbers keep all their digits.
    """
    data = selection_file_data(selection)
    return yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)


def _short(options: Mapping[str, int | Decimal]) -> Any:
    """One option alone as its id, several of one each as a list, others with their quantities."""
    return next(iter(options)) if list(options.values()) == [1] else _several(options)


def _several(options: Mapping[str, int | Decimal]) -> Any:
    return list(options) if set(options.values()) == {1} else dict(options)


class _Dumper(yaml.SafeDumper):
    """Writes decimal numbers as they are, and marks text that could be read as a number."""


def _decimal(dumper: yaml.SafeDumper, value: Decimal) -> yaml.ScalarNode:
    kind = "float" if "." in format(value, "f") else "int"
    return dumper.represent_scalar(f"tag:yaml.org,2002:{kind}", format(value, "f"))


def _text(dumper: yaml.SafeDumper, value: str) -> yaml.ScalarNode:
    marks = "'" if _like_a_number(value) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=marks)


def _like_a_number(text: str) -> bool:
    for kind in (float, lambda digits: int(digits, 0)):
        try:
            kind(text)
        except ValueError:
            continue
        return True
    return False


_Dumper.add_representer(Decimal, _decimal)
_Dumper.add_representer(str, _text)

form(instead=selection_data)(Selection)
form(inline="at", hidden="is_on_yaml", values={"level": ("error", "caution")})(Problem)
