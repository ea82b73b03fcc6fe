"""Where a shop's own templates run: kept from Python itself, with their work counted.

Jinja's sandbox keeps a template from what it is not given; it lets it loop, call itself and make
text without end. Here every turn of a loop, every call, filter and piece of text counts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextvars import ContextVar
from functools import wraps
from typing import Any

from jinja2 import nodes
from jinja2.exceptions import SecurityError
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.visitor import NodeTransformer

MOST_WORK = 1_000_000
"""Turns of loops, calls and items given to filters in one page."""

MOST_TEXT = 2_000_000
"""Characters of one piece of text that a template makes."""

_WIDEST = 10_000
"""Characters to which a number or a text may be padded."""

_SIZED = (str, bytes, list, tuple, dict, set, frozenset, range)
_WIDTH = re.compile(r"[0-9]{5,}|%[^%a-zA-Z]*\*")
_DONE: ContextVar[list[int]] = ContextVar("_DONE")
_PADDING = ("center", "ljust", "rjust", "zfill", "expandtabs", "indent", "batch", "slice")
_GROWING = ("replace", "join", "translate", "format", "format_map")


def work_counted_anew() -> None:
    """Begin to count: a page is about to be filled in."""
    _DONE.set([0])


def _count(amount: int) -> None:
    done = _DONE.get()
    done[0] += amount
    if done[0] > MOST_WORK:
        raise SecurityError(f"it does more than {MOST_WORK} turns of loops, calls and the like")


def _sized(value: Any) -> Any:
    """The value, where it is not too large."""
    if isinstance(value, _SIZED):
        _require_size(len(value))
    return value


def _require_size(size: int) -> None:
    if size > MOST_TEXT:
        raise SecurityError(f"it makes a text or list of more than {MOST_TEXT} characters or items")


def _counted(items: Iterable[Any]) -> Any:
    """The items of a loop, each counted; what knows its length still does."""
    if isinstance(items, _SIZED):
        _count(len(items))
        return items
    return _one_by_one(items)


def _one_by_one(items: Iterable[Any]) -> Iterator[Any]:
    for item in items:
        _count(1)
        yield item


def _narrow(*given: Any) -> None:
    """No number among what a padding function is given is too large."""
    if any(isinstance(one, int) and abs(one) > _WIDEST for one in given):
        raise SecurityError(f"it pads a text to more than {_WIDEST} characters")


def _bounded(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
    """The filter, with the size of what it is given and of what it makes counted."""

    @wraps(function)
    def bounded(*given: Any, **named: Any) -> Any:
        every = (*given, *named.values())
        if name in _PADDING:
            _narrow(*every)
        _count(1 + sum(len(one) for one in every if isinstance(one, _SIZED)) // 10)
        if name == "format":
            _require_plain_format(str(given[0]), given[1:])
        if name == "replace":
            _require_growth(*given[-3:])
        return _sized(function(*given, **named))

    return bounded


def _require_plain_format(pattern: str, given: tuple[Any, ...]) -> None:
    if _WIDTH.search(pattern):
        raise SecurityError(f"it pads a text to more than {_WIDEST} characters")
    _narrow(*(one for one in given if "*" in pattern))


def _require_growth(*given: Any) -> None:
    texts = [one for one in given if isinstance(one, str)]
    if len(texts) == 3 and (len(texts[0]) + 1) * len(texts[2]) > 10 * MOST_TEXT:
        raise SecurityError(f"it makes a text of more than {MOST_TEXT} characters")


class _Watched(NodeTransformer):
    """Loops whose turns are counted, and texts put together whose length is."""

    def visit_For(self, node: nodes.For) -> nodes.Node:  # noqa: N802
        node = self.generic_visit(node)  # type: ignore[assignment]
        node.iter = nodes.Filter(node.iter, "counted", [], [], None, None, lineno=node.lineno)
        return node

    def visit_Concat(self, node: nodes.Concat) -> nodes.Node:  # noqa: N802
        node = self.generic_visit(node)  # type: ignore[assignment]
        return nodes.Filter(node, "sized", [], [], None, None, lineno=node.lineno)


class BoundedEnvironment(ImmutableSandboxedEnvironment):
    """An environment whose templates do a bounded amount of work; see this module."""

    intercepted_binops = frozenset(("%", "*", "**", "+"))

    def bound_filters(self) -> None:
        """Count the work of every filter known by now."""
        self.filters = {name: _bounded(name, one) for name, one in self.filters.items()}
        self.filters.update(counted=_counted, sized=_sized)

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        return _Watched().visit(super()._parse(source, name, filename))  # type: ignore[no-any-return]

    def get_template(self, *given: Any, **named: Any) -> Any:
        """The template, which is work too: templates include each other."""
        _count(1)
        return super().get_template(*given, **named)

    def call(self, __context: Context, __obj: Any, *args: Any, **kwargs: Any) -> Any:
        """Call what a template calls, a macro of its own too."""
        _count(1)
        name = getattr(__obj, "__name__", "")
        if name in _PADDING:
            _narrow(*args, *kwargs.values())
        if name in _GROWING and isinstance(getattr(__obj, "__self__", None), str):
            _require_plain_format(__obj.__self__ if "format" in name else "", args)
            _require_growth(__obj.__self__, *args)
        return _sized(super().call(__context, __obj, *args, **kwargs))

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Calculate, where what comes of it has a size that can be foreseen."""
        _count(1)
        if operator == "%" and isinstance(left, str):
            _require_plain_format(left, right if isinstance(right, tuple) else (right,))
        if operator == "*":
            for one, other in ((left, right), (right, left)):
                if isinstance(one, _SIZED) and isinstance(other, int):
                    _require_size(len(one) * other)
            if isinstance(left, int) and isinstance(right, int):
                _require_size((left.bit_length() + right.bit_length()) * 100)
        if operator == "**" and max(abs(left), abs(right)) > 1_000:
            raise SecurityError("it raises to a power of more than 1000")
        return _sized(super().call_binop(context, operator, left, right))
