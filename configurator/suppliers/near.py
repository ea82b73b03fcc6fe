"""Codes that look alike: one letter apart, or the same but for punctuation and zeros."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

_ALIKE = str.maketrans("oil", "011")
_SHORTEST = 4
"""Letters that a code has at least, for one letter to be a slip and not another code."""

_MOST = 2


def near_codes(asked: Iterable[str], known: Iterable[str]) -> Mapping[str, tuple[str, ...]]:
    """The known codes most like each of those asked about; none for most of them.

    It takes no longer than the codes are together: codes are not compared with each other.
    """
    by_key: dict[str, set[str]] = {}
    for code in known:
        for key in _keys(code):
            by_key.setdefault(key, set()).add(code)
    found = {}
    for code in asked:
        near = {other for key in _keys(code) for other in by_key.get(key, ())}
        same = {other for other in near if _plain(other) == _plain(code)}
        if near:
            found[code] = tuple(sorted(same or near)[:_MOST])
    return found


def _plain(code: str) -> str:
    """The letters and digits of a code, those that look alike taken for the same."""
    bare = "".join(filter(str.isalnum, code.casefold())).translate(_ALIKE)
    return bare.lstrip("0") or bare


def _keys(code: str) -> Iterator[str]:
    """What two codes that are alike have in common: all of it, or all but one letter."""
    plain = _plain(code)
    yield plain
    if len(plain) >= _SHORTEST:
        yield from (plain[:place] + plain[place + 1 :] for place in range(len(plain)))
