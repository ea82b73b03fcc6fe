"""Catalogues as people type them: every style of YAML and JSON, each amount in its place known.

The text is made piece by piece, so that what it has to be with other amounts is known without
reading it. No two amounts of one text are the same.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from decimal import Decimal
from random import Random

from attrs import field, frozen

from tests.support.building import raw_catalogue, vehicle

_FIGURE = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_COMMENTS = ("", "", "", "  # aus Überschuss 🚙", " # 12.50 was it", "   ", "\t# {a: 1.00}")


@frozen
class Typed:
    """A catalogue as text.

    Attributes:
        pieces: the text; every second one is an amount as it is typed.
        ends: what ends its lines.
        mark: whether it begins with a byte order mark.
    """

    pieces: tuple[str, ...] = field(repr=False)
    ends: str
    mark: bool

    @property
    def amounts(self) -> tuple[Decimal, ...]:
        """The amounts, in the order in which they are typed."""
        return tuple(map(Decimal, self.pieces[1::2]))

    @property
    def content(self) -> bytes:
        """The bytes of the file."""
        text = "".join(self.pieces).replace("\n", self.ends)
        return (self.head + text).encode()

    @property
    def head(self) -> str:
        """What is before the text."""
        return "\ufeff" if self.mark else ""

    def same_but_for(self, content: bytes, new: dict[Decimal, Decimal]) -> bool:
        """Whether that is this text with these new amounts for old ones, and nothing else new."""
        text, at = content.decode(), len(self.head)
        if not text.startswith(self.head):
            return False
        for number, piece in enumerate(self.pieces):
            if number % 2 and Decimal(piece) in new:
                found = _FIGURE.match(text, at)
                if found is None or Decimal(found.group()) != new[Decimal(piece)]:
                    return False
                at = found.end()
            else:
                same = piece.replace("\n", self.ends)
                if not text.startswith(same, at):
                    return False
                at += len(same)
        return at == len(text)


def typed(seed: int) -> Typed:
    """A catalogue with a few options, by the seed."""
    dice = Random(seed)
    amounts = _Amounts(dice)
    text = _as_json(dice, amounts) if dice.random() < 0.2 else "".join(_as_yaml(dice, amounts))
    pieces = re.split(r"\x02([^\x03]*)\x03", text)
    return Typed(tuple(pieces), dice.choice(("\n", "\r\n", "\n")), dice.random() < 0.3)


class _Amounts:
    """Amounts, each only once, as somebody would type them, between two marks."""

    def __init__(self, dice: Random) -> None:
        self.dice, self.met = dice, set[Decimal]()

    def one(self) -> str:
        while True:
            typed = self.dice.choice(("{}", "{}.{:02}", "{}.{}", "{}.50", "{}.00")).format(
                self.dice.randrange(1, 90_000), self.dice.randrange(10)
            )
            if Decimal(typed) not in self.met:
                self.met.add(Decimal(typed))
                return f"\x02{typed}\x03"


_SIZES = ("small", "large")


def _parts(dice: Random, amounts: _Amounts, cost: bool) -> list[dict[str, str]]:
    """Parts of a price or a cost, their values as YAML in one line."""
    kinds = ["fixed", "measure", "table", *([] if cost else ["breaks", "markup", "labour"])]
    made = []
    for kind in dice.sample(kinds, dice.randint(1, 3)):
        one = {"kind": kind}
        match kind:
            case "fixed":
                one["amount"] = amounts.one()
            case "measure":
                one |= {"of": "box.length", "rate": amounts.one()}
            case "table":
                cells = ", ".join(f"{size}: {amounts.one()}" for size in _SIZES)
                one |= {"by": "[size]", "rows": f"{{{cells}}}"}
            case "breaks":
                steps = ", ".join(f"{{from: {n}, each: {amounts.one()}}}" for n in (1, 5))
                one["steps"] = f"[{steps}]"
            case "markup":
                one |= {"cost": amounts.one(), "percent": "35"}
            case "labour":
                one |= {"hours": "1.5", "trade": "fitting"}
        made.append(one)
        if kind == "fixed" and not cost and dice.random() < 0.3:
            made[-1]["until"] = "2026-09-30"
            made.append({"kind": "fixed", "amount": amounts.one(), "from": "2026-10-01"})
    return made


def _as_yaml(dice: Random, amounts: _Amounts) -> Iterable[str]:
    head = raw_catalogue(spaces=[{"id": "box", "title": "box"}], labour={"fitting": 99})
    for key in ("choices", "vehicles"):
        head.pop(key)
    yield from (f"{key}: {json.dumps(value)}\n" for key, value in head.items())
    yield f"vehicles: {json.dumps([vehicle()])}\nchoices:{dice.choice(_COMMENTS)}\n"
    yield "- {id: size, title: Size, group: build, pick: one, options: ["
    boxes = ("{id: %s, title: A, price: %s, space: {box: {length: %d}}}",) * 2
    made = (box % (size, amounts.one(), 900) for box, size in zip(boxes, _SIZES, strict=True))
    yield ", ".join(made) + "]}\n"
    yield "- id: things\n  title: Things\n  group: build\n  pick: several\n  options:\n"
    for number in range(dice.randint(1, 4)):
        yield from _option(dice, amounts, number)


def _option(dice: Random, amounts: _Amounts, number: int) -> Iterable[str]:
    price, cost = _amount(dice, amounts, False), _amount(dice, amounts, True)
    keys = [f"id: o{number}", f"title: Ding Nr. {number} “ü”"]
    if dice.random() < 0.2:
        yield f"  - {{{', '.join(keys)}, price: {_flow(price)}, cost: {_flow(cost)}}}\n"
        return
    lines = [*keys, *_block(dice, "price", price), *_block(dice, "cost", cost)]
    if dice.random() < 0.2:
        yield f"\n# option {number}: 99.99\n"
    yield "".join(
        f"{'  - ' if not n else '    '}{line}{dice.choice(_COMMENTS)}\n"
        for n, line in enumerate(lines)
    )


def _amount(dice: Random, amounts: _Amounts, cost: bool) -> str | list[dict[str, str]]:
    if dice.random() < 0.1:
        return [{"kind": "unit-price", "price": amounts.one(), "per": "100"}]
    return amounts.one() if dice.random() < 0.5 else _parts(dice, amounts, cost)


def _flow(amount: str | list[dict[str, str]]) -> str:
    if isinstance(amount, str):
        return amount
    parts = (", ".join(f"{k}: {v}" for k, v in part.items()) for part in amount)
    return "[" + ", ".join(f"{{{part}}}" for part in parts) + "]"


def _block(dice: Random, key: str, amount: str | list[dict[str, str]]) -> list[str]:
    named = dice.choice((key, f'"{key}"', f"'{key}'", f"{key} "))
    if isinstance(amount, str) or dice.random() < 0.4:
        return [f"{named}:{dice.choice((' ', '   '))}{_flow(amount)}"]
    inside = dice.choice(("", "  "))
    lines = [f"{named}:"]
    for part in amount:
        pairs = [f"{k}: {v}" for k, v in part.items()]
        lines += [f"{inside}- {pairs[0]}", *(f"{inside}  {pair}" for pair in pairs[1:])]
    return lines


def _as_json(dice: Random, amounts: _Amounts) -> str:
    """The same as JSON, in which characters may be written as pairs of escapes."""
    options = []
    for number in range(dice.randint(1, 4)):
        price = _amount(dice, amounts, False)
        options.append(
            f'{{"id": "o{number}", "title": "Ding \\ud83d\\ude99 {number}", '
            f'"price": {_json(price)}, "cost": {_json(_amount(dice, amounts, True))}}}'
        )
    head = raw_catalogue(spaces=[{"id": "box", "title": "box"}], labour={"fitting": 99})
    sizes = [
        {"id": size, "title": "🚙", "price": "@", "space": {"box": {"length": 900}}}
        for size in _SIZES
    ]
    head["choices"] = [
        {"id": "size", "title": "Size", "group": "build", "pick": "one", "options": sizes},
        {"id": "things", "title": "T", "group": "build", "pick": "several", "options": ["*"]},
    ]
    between = dice.choice((",", ",\n  ", " ,\t"))
    whole = json.dumps(head, indent=dice.choice((None, 1)))
    whole = re.sub('"@"', lambda _: amounts.one(), whole)
    return whole.replace('"*"', between.join(options))


def _json(amount: str | list[dict[str, str]]) -> str:
    return re.sub("[a-z][a-z.-]*|[0-9]{4}-[0-9-]+", r'"\g<0>"', _flow(amount))
