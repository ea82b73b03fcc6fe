"""Where the words of a drawing lie, and what they lie on, read from its SVG.

Letters are measured in the typeface that ships with the papers. Lines that a later shape covers are
gone; shapes with a dent are taken to cover nothing.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from math import cos, pi, sin
from typing import TypeAlias

import font_source_sans_pro
from PIL import ImageFont

Spot: TypeAlias = tuple[float, float]
Line: TypeAlias = tuple[Spot, Spot]
Box: TypeAlias = tuple[float, float, float, float]

SVG = "{http://www.w3.org/2000/svg}"
TOP = 0.66
"""How far letters stand above their base line, of their size; tails below it do not count."""


@cache
def _face(bold: bool) -> ImageFont.FreeTypeFont:
    name = "SourceSansProBold" if bold else "SourceSansPro"
    return ImageFont.truetype(getattr(font_source_sans_pro, name), 1000)


def faults(svg: str) -> list[str]:
    """Words that lie on a line or on other words, each with what it lies on."""
    lines, texts = _read(svg)
    around = [_around(line) for line in lines]
    upright = [_around(corners) for _, corners in texts]
    found = []
    for index, (words, corners) in enumerate(texts):
        box = upright[index]
        for (start, end), reach in zip(lines, around, strict=True):
            if _touch(reach, box) and _inside(start, end, corners) is not None:
                found.append(f"{words!r} on a line from {_at(start)} to {_at(end)}")
        for (other, others), reach in zip(texts[index + 1 :], upright[index + 1 :], strict=True):
            if _touch(box, reach) and _overlap(corners, others):
                found.append(f"{words!r} on {other!r}")
    return found


def words_of(svg: str) -> list[tuple[str, list[Spot]]]:
    """All words of a drawing, with the corners of where they lie."""
    return _read(svg)[1]


def _at(spot: Spot) -> str:
    return f"{spot[0]:.0f},{spot[1]:.0f}"


def _around(shape: Sequence[Spot]) -> Box:
    """The upright box around a shape: left, top, right, bottom."""
    xs, ys = zip(*shape, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _touch(one: Box, other: Box) -> bool:
    """Whether two upright boxes touch."""
    return (
        one[0] <= other[2] + 1e-3
        and other[0] <= one[2] + 1e-3
        and one[1] <= other[3] + 1e-3
        and other[1] <= one[3] + 1e-3
    )


@lru_cache(maxsize=64)
def _read(text: str) -> tuple[list[Line], list[tuple[str, list[Spot]]]]:
    svg = ET.fromstring(text)
    lines: list[Line] = []
    texts: list[tuple[str, list[Spot]]] = []
    held = svg.get("text-anchor", "start")
    for element in svg.iter():
        if element.tag == f"{SVG}text":
            texts.append((element.text or "", _box(element, held)))
            continue
        shapes = list(_shapes(element))
        if not shapes:
            continue
        fill, pen = element.get("fill", "#000"), element.get("stroke", "none")
        if fill != "none":
            for points, closed in shapes:
                if closed and len(points) > 2 and _is_convex(points):
                    box = _around(points)
                    lines = [rest for line in lines for rest in _outside(line, points, box)]
        if pen not in ("none", fill) or (pen != "none" and element.tag != f"{SVG}path"):
            for points, closed in shapes:
                ends = [*points[1:], points[0]] if closed else points[1:]
                lines += zip(points, ends, strict=False)
    return lines, texts


def _shapes(element: ET.Element) -> Iterator[tuple[list[Spot], bool]]:
    def number(name: str) -> float:
        return float(element.get(name, "0"))

    match element.tag.removeprefix(SVG):
        case "rect":
            x, y, wide, high = map(number, ("x", "y", "width", "height"))
            yield [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], True
        case "polygon" | "polyline":
            figures = [float(n) for n in re.findall(r"-?[\d.]+", element.get("points", ""))]
            spots = list(zip(figures[::2], figures[1::2], strict=True))
            yield spots, element.tag.endswith("polygon")
        case "circle":
            x, y, r = map(number, ("cx", "cy", "r"))
            turns = [i * pi / 12 for i in range(24)]
            yield [(x + r * cos(turn), y + r * sin(turn)) for turn in turns], True
        case "path":
            for piece in re.findall(r"M[^M]+", element.get("d", "")):
                figures = [float(n) for n in re.findall(r"-?[\d.]+", piece)]
                yield list(zip(figures[::2], figures[1::2], strict=True)), "Z" in piece


def _box(element: ET.Element, held: str) -> list[Spot]:
    words, size = element.text or "", float(element.get("font-size", "1"))
    wide = _face(element.get("font-weight") == "700").getlength(words) / 1000 * size
    anchor = element.get("text-anchor", held)
    start = {"start": 0.0, "middle": -wide / 2, "end": -wide}[anchor]
    box = [(start, -TOP * size), (start + wide, -TOP * size)]
    box += [(start + wide, 0.0), (start, 0.0)]
    turn = element.get("transform", "")
    if turn.startswith("matrix"):
        a, b, c, d, e, f = (float(n) for n in re.findall(r"-?[\d.]+", turn))
        return [(a * x + c * y + e, b * x + d * y + f) for x, y in box]
    left, base = float(element.get("x", "0")), float(element.get("y", "0"))
    if turn.startswith("rotate(-90"):
        return [(left + y, base - x) for x, y in box]
    return [(left + x, base + y) for x, y in box]


def _cross(a: Spot, b: Spot, c: Spot) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _is_convex(points: Sequence[Spot]) -> bool:
    count = len(points)
    turns = [
        _cross(points[i], points[(i + 1) % count], points[(i + 2) % count]) for i in range(count)
    ]
    return all(turn >= -1e-6 for turn in turns) or all(turn <= 1e-6 for turn in turns)


def _inside(start: Spot, end: Spot, points: Sequence[Spot]) -> tuple[float, float] | None:
    """Between which parts of its length a line is inside a convex shape."""
    area = sum(
        a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)
    )
    sign = 1 if area > 0 else -1
    low, high = 0.0, 1.0
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        one, other = sign * _cross(a, b, start), sign * _cross(a, b, end)
        if one <= 1e-6 and other <= 1e-6:
            return None
        if one < 0:
            low = max(low, one / (one - other))
        elif other < 0:
            high = min(high, one / (one - other))
    return (low, high) if low < high else None


def _outside(line: Line, points: Sequence[Spot], around: Box) -> Iterator[Line]:
    """What a convex shape, with a box around it, leaves of a line."""
    start, end = line
    within = _inside(start, end, points) if _touch(_around(line), around) else None
    if within is None:
        yield line
        return
    low, high = within

    def at(part: float) -> Spot:
        return start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part

    if low > 1e-6:
        yield start, at(low)
    if high < 1 - 1e-6:
        yield at(high), end


def _overlap(one: Sequence[Spot], other: Sequence[Spot]) -> bool:
    """Whether two four-sided boxes have room in common."""
    for shape in (one, other):
        for a, b in zip(shape, [*shape[1:], shape[0]], strict=True):
            way = (a[1] - b[1], b[0] - a[0])
            spans = [[x * way[0] + y * way[1] for x, y in box] for box in (one, other)]
            if max(spans[0]) <= min(spans[1]) + 1e-6 or max(spans[1]) <= min(spans[0]) + 1e-6:
                return False
    return True
