"""What the option engine must answer, by listing every complete selection of a small catalogue.

The oracle reads the same catalogue as plain data, shares no code with the engine, and is never
clever: it lists all answers to all choices, notes what each breaks, and looks. Rules and single
units are judged by the plain evaluators of ``test_rules_oracle`` and ``test_fit_outside``; sums,
masses, prices and package deals are worked out here.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from itertools import product
from typing import Any, TypeAlias

from attrs import field, frozen

from configurator import Catalogue, Pick, Selection
from configurator.selection.resolved import Resolved
from tests.support.axle_oracle import Centres, Loads
from tests.support.building import Raw, read
from tests.support.fit_oracle import Fitter
from tests.support.layout_oracle import TooMany, all_middles, possible
from tests.support.random_catalogues import Counts, every_package, kind_of, offers
from tests.support.rendered import kept
from tests.support.rules_oracle import broken

Key: TypeAlias = tuple[str, str]
Fact: TypeAlias = tuple[str, str]

_MOST_LAYOUTS = 400_000

RATINGS = ("axles", "gvm", "overhang")

SIDES = ("length", "width", "height")
_LOST = {"length": ("wall", "wall"), "width": ("wall", "wall"), "height": ("roof", "floor")}


@frozen
class World:
    """One complete selection, the facts it breaks, and sets of facts it breaks only together."""

    counts: Counts
    broken: frozenset[Fact]
    bits: int = field(repr=False)
    clashes: tuple[frozenset[Fact], ...] = ()

    def keeps(self, facts: frozenset[Fact]) -> bool:
        """Whether it breaks none of the facts, nor some of them together."""
        return not self.broken & facts and not any(clash <= facts for clash in self.clashes)


def asked_of(what: str) -> tuple[str, ...]:
    """What of a space a measure of it hangs on."""
    which = what.removeprefix("canopy.")
    if which == "volume":
        return (*SIDES, "wall", "roof", "floor")
    return (which,) if which in SIDES else SIDES


class Sums:
    """What picks of a catalogue come to; both plain data, the picks complete or not."""

    def __init__(self, data: Raw, counts: Counts, options: Mapping[Key, Raw]) -> None:
        self.data, self.counts, self.options = data, counts, options
        self.picked = [(key, self.options[key], n) for key, n in counts.items()]

    def one(self, name: str) -> str | None:
        return next((o for c, o in self.counts if c == name), None)

    def open(self, matters: Callable[[Raw], bool]) -> bool:
        """Whether a choice of one without an answer has an option that matters."""
        return any(
            kind_of(self.data, c) == "one" and self.one(c) is None and matters(one)
            for (c, _), one in self.options.items()
        )

    def parts(self) -> list[Raw]:
        return [one["space"]["canopy"] for _, one, _ in self.picked if "space" in one]

    def outside(self, side: str) -> int | None:
        given: list[int] = [part[side] for part in self.parts() if side in part]
        return min(given, default=None)

    def inside(self, side: str) -> int | None:
        outer = self.outside(side)
        if outer is None:
            return None
        lost = sum((Decimal(p.get(key, 0)) for p in self.parts() for key in _LOST[side]), Decimal())
        return max(0, math.floor(outer - lost))

    def room(self) -> int:
        """Clear volume less the bodies of all units, mm3."""
        sides = [self.inside(side) for side in SIDES]
        clear = math.prod(side for side in sides if side is not None) if None not in sides else 0
        bodies = sum(
            n * math.prod(one["unit"]["body"].values())
            for _, one, n in self.picked
            if "unit" in one
        )
        return int(clear - bodies)

    def measured(self, what: str) -> Decimal | None:
        which, asked = what.removeprefix("canopy."), asked_of(what)
        outer = [self.outside(side) for side in SIDES]
        shape = [Decimal(side) / 1000 for side in outer if side is not None]
        shaping = lambda one: any(key in one.get("space", {}).get("canopy", {}) for key in asked)  # noqa: E731
        if len(shape) < 3 or self.open(shaping):
            return None
        long, wide, high = shape
        if which == "shell":
            return 2 * (long * wide + long * high + wide * high)
        if which == "volume":
            return Decimal(math.prod(self.inside(side) or 0 for side in SIDES)) / 10**9
        return shape[SIDES.index(which)]

    def part(self, part: Raw, quantity: int) -> Decimal | None:
        if part["kind"] == "fixed":
            return Decimal(part["amount"])
        if part["kind"] == "measure":
            size = self.measured(part["of"])
            return None if size is None else Decimal(part["rate"]) * size
        if part["kind"] == "breaks":
            return Decimal(
                max((s["from"], s["each"]) for s in part["steps"] if s["from"] <= quantity)[1]
            )
        if part["kind"] == "table":
            cell: Any = part["rows"]
            for name in part["by"]:
                cell = cell.get(self.one(name)) if cell is not None else None
            return None if cell is None else Decimal(cell)
        return None

    def figure(self, one: Raw, facet: str, quantity: int = 1) -> Decimal | None:
        written = one.get(facet, 0)
        parts = written if isinstance(written, list) else [{"kind": "fixed", "amount": written}]
        found = [self.part(part, quantity) for part in parts]
        known = [value for value in found if value is not None]
        return sum(known, Decimal()) if len(known) == len(found) else None

    @cached_property
    def each(self) -> dict[Key, int | None]:
        """Cents for one of each pick, half up; None where the price is open."""
        found = {}
        for key, one, n in self.picked:
            value = self.figure(one, "price", n)
            found[key] = None if value is None else math.floor(value * 100 + Decimal("0.5"))
        return found

    @property
    def listed(self) -> int:
        """Cents of the lines that have a price."""
        return sum((self.each[key] or 0) * n for key, _, n in self.picked)

    def price(self) -> int:
        """Cents: lines with a price, less the best set of package deals."""
        worth = []
        for deal in self.data.get("package-deals", []):
            wanted = wants(deal)
            known = {key: self.each.get(key) for key in wanted}
            if None in known.values():
                continue
            listed = sum((known[key] or 0) * n for key, n in wanted.items())
            if listed > 100 * deal["price"]:
                sets = [self.counts.get(key, 0) // n for key, n in wanted.items()]
                most = 1 if deal.get("times") == "once" else max(sets)
                worth.append((wanted, listed - 100 * deal["price"], most))
        best = 0
        for counts in product(*(range(most + 1) for _, _, most in worth)):
            uses: Counter[Key] = Counter()
            for (wanted, _, _), times in zip(worth, counts, strict=True):
                uses.update({key: n * times for key, n in wanted.items()})
            if all(n <= self.counts.get(key, 0) for key, n in uses.items()):
                some = zip(worth, counts, strict=True)
                best = max(best, sum(times * saving for (_, saving, _), times in some))
        return self.listed - best

    def mass(self) -> Decimal:
        """Empty mass, kg; what is not known counts nothing."""
        known = [(n, self.figure(one, "mass")) for _, one, n in self.picked]
        return sum((n * mass for n, mass in known if mass is not None), Decimal())

    def exceeds(self, limit: Raw) -> bool:
        """Whether the limit is exceeded; where nothing is used, nothing is."""
        name = limit["id"]
        given, used = -Decimal(limit.get("reserve", 0)), Decimal()
        for _, one, n in self.picked:
            if "gives" in one:
                given += n * Decimal(one["gives"].get(name, 0))
            if "uses" in one:
                used += n * Decimal(one["uses"].get(name, 0))
            if "counts" in limit:
                used += n * (self.figure(one, "mass") or 0)
                used += n * Decimal(one.get("unit", one).get("contents", 0))
                if "vehicle" in one:
                    kerb = one["vehicle"]["kerb"]
                    given += Decimal(one["vehicle"]["gvm"]) - kerb["front"] - kerb["rear"]
                    if limit["counts"] == "mass-and-people":
                        used += 2 * 75  # where neither a selection nor a catalogue says more
        return used > 0 and used > given


def wants(deal: Raw) -> dict[Key, int]:
    """The quantities that a package deal asks for."""
    found: dict[Key, int] = {}
    for name, answer in deal["picks"].items():
        by = {answer: 1} if isinstance(answer, str) else answer
        found |= {(name, one): n for one, n in by.items()}
    return found


class Oracle:
    """All complete selections of a catalogue, listed.

    Args:
        data: the catalogue.

    Raises:
        TooMany: there are more layouts than anybody wants to try.
    """

    def __init__(self, data: Raw) -> None:
        self.data = data
        self.offers = offers(data)
        self.options = {(c, o): one for c, by in self.offers.items() for o, one in by.items()}
        self.bits: dict[tuple[str, str, int], int] = {}
        for (name, one), written in self.options.items():
            for level in range(1, written.get("most", 1) + 1):
                self.bits[name, one, level] = 1 << len(self.bits)
        self.units = {key for key, one in self.options.items() if "unit" in one}
        self._fits: dict[tuple[Any, ...], bool] = {}
        self._rooms: dict[tuple[Any, ...], bool] = {}
        self._middles: dict[tuple[Any, ...], frozenset[Centres]] = {}
        self._shops: dict[tuple[Decimal | None, ...], Catalogue] = {}
        self._prices: dict[int, int] = {}
        self.fitting = self._matter_to_fit()
        self.facts = frozenset(
            {("rule", r["id"]) for r in data.get("rules", [])}
            | {("limit", r["id"]) for r in data.get("limits", [])}
            | {("fit", "=".join(key)) for key in self.units}
            | {("not-weighed", "=".join(key)) for key in self.options}
            | {("layout", "canopy")}
            | {("rating", subject) for subject in RATINGS}
        )
        found = kept("worlds", repr(data).encode(), self._listed)
        if found is None:
            raise TooMany
        self.worlds = found

    # Listing

    def _listed(self) -> list[World] | None:
        """Every complete selection, or nothing where there are too many layouts."""
        try:
            return [self._world(counts) for counts in every_package(self.data)]
        except TooMany:
            return None

    def _matter_to_fit(self) -> set[str]:
        """Choices that have to do with spaces, or with the mass of a unit."""
        found = {
            name
            for name, by in self.offers.items()
            if any(key in one for one in by.values() for key in ("space", "openings", "unit"))
        }
        for key in self.units:
            mass = self.options[key].get("mass")
            for part in mass if isinstance(mass, list) else []:
                found |= set(part.get("by", ()))
        return found

    def _world(self, counts: Counts) -> World:
        sums = Sums(self.data, counts, self.options)
        wrong = {("rule", r["id"]) for r in self.data.get("rules", []) if broken(r, counts)}
        wrong |= {("limit", r["id"]) for r in self.data.get("limits", []) if sums.exceeds(r)}
        misfits = {("fit", "=".join(key)) for key in self._misfits(counts)}
        wrong |= misfits
        wrong |= {("not-weighed", "=".join(key)) for key in counts if self._untold(counts, key)}
        sized = None not in [sums.outside(side) for side in SIDES]
        if (misfits and sized) or not self._goes_in(counts):
            wrong.add(("layout", "canopy"))
        clashes = []
        if "mass" in self.data:
            loads = self.loads(counts)
            told = {"gvm": loads.heavy(), "overhang": loads.hangs_over(), "axles": loads.hopeless()}
            wrong |= {("rating", subject) for subject, broken in told.items() if broken}
            unfit = ("layout", "canopy") in wrong
            kept = unfit or told["axles"] or any(map(loads.keeps, self.middles(counts)))
            if not kept:
                clashes.append(frozenset([("rating", "axles"), ("layout", "canopy")]))
        return World(counts, frozenset(wrong), self._mask(counts), tuple(clashes))

    def loads(self, counts: Counts) -> Loads:
        """What a complete selection puts on its axles."""
        sums = Sums(self.data, counts, self.options)
        sized = None not in [sums.outside(side) for side in SIDES]
        inside = sums.inside("length") if sized else None
        return Loads(self.data, sums.picked, lambda one: sums.figure(one, "mass"), inside)

    def middles(self, counts: Counts) -> frozenset[Centres]:
        """Where the units may sit along the canopy, over every layout that fits."""
        if self.loads(counts).inside is None or not counts.keys() & self.units:
            return frozenset([()])
        shaping = {key: n for key, n in counts.items() if key[0] in self.fitting}
        known = tuple(sorted(shaping.items()))
        if known not in self._middles:
            picks = tuple(Pick(*key, n) for key, n in shaping.items())
            shop = self._plain_shop(shaping)
            self._middles[known] = all_middles(Resolved(shop, Selection("test", picks)), "canopy")
        return self._middles[known]

    def _untold(self, counts: Counts, key: Key) -> bool:
        """Whether a complete selection does not tell what a pick of it weighs."""
        return Sums(self.data, counts, self.options).figure(self.options[key], "mass") is None

    def _misfits(self, counts: Counts) -> Iterator[Key]:
        shaping = {key: n for key, n in counts.items() if key[0] in self.fitting}
        sums = Sums(self.data, shaping, self.options)
        if None in [sums.outside(side) for side in SIDES]:
            yield from sorted(shaping.keys() & self.units)
            return
        fitter: Fitter | None = None
        for key in sorted(shaping.keys() & self.units):
            known = (key, *sorted(shaping.items()))
            if known not in self._fits:
                if fitter is None:
                    fitter = Fitter(self._plain(shaping), dict(shaping))
                # one of those picked is the unit itself, which does not stand on itself
                fitter.picks = {**shaping, key: shaping[key] - 1}
                one = fitter.all[key]
                bases = list(fitter.bases(one["unit"], fitter.picks))
                # where a table has no mass for it, nobody can tell what may carry it
                unknown = sums.figure(self.options[key], "mass") is None
                unknown = unknown and any(carrier for _, carrier in bases)
                self._fits[known] = unknown or fitter.fits(one)
            if not self._fits[known]:
                yield key

    def _goes_in(self, counts: Counts) -> bool:
        """Whether all units go into the space together; each does on its own."""
        shaping = {key: n for key, n in counts.items() if key[0] in self.fitting}
        known = tuple(sorted(shaping.items()))
        if known not in self._rooms:
            sums = Sums(self.data, shaping, self.options)
            units = [(key, n) for key, n in shaping.items() if key in self.units]
            sized = None not in [sums.outside(side) for side in SIDES]
            picks = tuple(Pick(*key, n) for key, n in shaping.items())
            self._rooms[known] = (
                not sized
                or sum(n for _, n in units) < 2
                or possible(
                    Resolved(self._plain_shop(shaping), Selection("test", picks)), _MOST_LAYOUTS
                )
            )
        return self._rooms[known]

    def _plain_shop(self, counts: Counts) -> Catalogue:
        """The catalogue read, with every mass of a unit a number."""
        sums = Sums(self.data, counts, self.options)
        masses = tuple(sums.figure(self.options[key], "mass") for key in sorted(self.units))
        if masses not in self._shops:
            bare = {**self._plain(counts), "rules": [], "package-deals": []}
            self._shops[masses] = read(bare, cautions=True)
        return self._shops[masses]

    def _plain(self, counts: Counts) -> Raw:
        """The catalogue as the fitter reads it: every mass a number."""
        sums = Sums(self.data, counts, self.options)
        lists = [
            {
                **one,
                "options": [
                    {**o, "mass": sums.figure(o, "mass") or 0} if "unit" in o else o
                    for o in one["options"]
                ],
            }
            for one in self.data["choices"]
        ]
        return {**self.data, "choices": lists}

    def _mask(self, counts: Counts) -> int:
        mask = 0
        for (name, one), n in counts.items():
            for level in range(1, n + 1):
                mask |= self.bits[name, one, level]
        return mask

    # Looking

    def sound(self, picks: Counts, facts: Iterable[Fact] | None = None) -> list[World]:
        """The complete selections with the picks that break none of the facts, all by default."""
        mask = self._mask(picks)
        asked = self.facts if facts is None else frozenset(facts)
        return [w for w in self.worlds if w.bits & mask == mask and w.keeps(asked)]

    def states(self, picks: Counts, facts: Iterable[Fact] | None = None) -> dict[Key, str]:
        """``picked``, ``open``, ``implied``, ``instead`` or ``ruled-out``, option by option."""
        found = {}
        sound = self.sound(picks, facts)
        some, every = 0, -1
        for world in sound:
            some |= world.bits
            every &= world.bits
        for key in self.options:
            bit = self.bits[(*key, 1)]
            single = kind_of(self.data, key[0]) != "several"
            if key in picks:
                found[key] = "picked"
            elif single and any(name == key[0] for name, _ in picks):
                others = {other: n for other, n in picks.items() if other[0] != key[0]}
                can = self.sound({**others, key: 1}, facts)
                found[key] = "instead" if can else "ruled-out"
            elif not sound or not some & bit:
                found[key] = "ruled-out"
            else:
                found[key] = "implied" if every & bit else "open"
        return found

    def price(self, world: World) -> int:
        """Cents, after package deals."""
        if world.bits not in self._prices:
            self._prices[world.bits] = Sums(self.data, world.counts, self.options).price()
        return self._prices[world.bits]

    def price_of(self, picks: Counts) -> int:
        """Cents of picks that need not be complete, after package deals."""
        return Sums(self.data, picks, self.options).price()

    def saved(self, world: World) -> int:
        """Cents that package deals save."""
        sums = Sums(self.data, world.counts, self.options)
        return sums.listed - sums.price()

    def mass(self, world: World) -> Decimal:
        """Empty mass, kg."""
        return Sums(self.data, world.counts, self.options).mass()

    def taken(self, world: World) -> int:
        """Bodies of units less clear volume, mm3: the less, the more room is left."""
        return -Sums(self.data, world.counts, self.options).room()

    # Ways out

    def _open_ones(self, picks: Counts, wanted: Key | None) -> set[str]:
        """Choices without a pick, that of the wanted option aside, while the customer chooses.

        That is while one of those is a choice of one. One that a price hangs on counts as answered.
        """
        answered = {name for name, _ in picks} | ({wanted[0]} if wanted else set())
        without = {name for name in self.offers if name not in answered}
        of_one = {name for name in without if kind_of(self.data, name) == "one"}
        return of_one | (without - self._priced_by() if of_one else set())

    def _priced_by(self) -> set[str]:
        """Choices that a price is looked up by, or measured with."""
        return {name for one in self.options.values() for name in self._hangs_on(one)}

    def _hangs_on(self, one: Raw) -> set[str]:
        """Choices that the price of an option is looked up by, or measured with."""
        found: set[str] = set()
        price = one.get("price", 0)
        for part in price if isinstance(price, list) else []:
            found |= set(part.get("by", ()))
            if part["kind"] == "measure":
                sides = asked_of(part["of"])
                found |= {name for name in self.offers if self._shapes(name, sides)}
        return found

    def _shapes(self, name: str, sides: Iterable[str]) -> bool:
        parts = [one.get("space", {}).get("canopy", {}) for one in self.offers[name].values()]
        return any(side in part for part in parts for side in sides)

    def changes(self, picks: Counts, wanted: Key | None, world: World) -> dict[Key | str, Any]:
        """What the world changes of the picks: answers of choices of one, single quantities."""
        found: dict[Key | str, Any] = {}
        still_open = self._open_ones(picks, wanted)
        for name, by in self.offers.items():
            if name in still_open:
                continue
            if kind_of(self.data, name) == "several":
                for one in by:
                    after = world.counts.get((name, one), 0)
                    if after != picks.get((name, one), 0):
                        found[name, one] = after
                continue
            before = next((o for c, o in picks if c == name), None)
            now = next((o for c, o in world.counts if c == name), None)
            if before != now:
                found[name] = now
        return found

    def price_is_open(self, picks: Counts, wanted: Key | None, world: World) -> bool:
        """Whether nobody can tell yet what it costs to have the world's changes.

        Something that they add, take away or change the price of has none, as far as is decided, or
        is still to be chosen.
        """
        still_open = self._open_ones(picks, wanted)
        held = {key: n for key, n in world.counts.items() if key[0] not in still_open}
        other = {key for key in self.options if picks.get(key, 0) != held.get(key, 0)}
        moved = {name for name, _ in other}
        then = {key for key, one in self.options.items() if self._hangs_on(one) & moved}
        if any(c in still_open and kind_of(self.data, c) == "one" for c, _ in then):
            return True
        both = [Sums(self.data, some, self.options) for some in (picks, held)]
        dealt: list[set[tuple[str, int]]] = []
        for sums in both:
            if any(sums.each.get(key, 0) is None for key in other | then):
                return True
            open_deals = set()
            for deal in self.data.get("package-deals", []):
                wanted_by = wants(deal)
                sets = min(sums.counts.get(key, 0) // n for key, n in wanted_by.items())
                sets = min(sets, 1) if deal.get("times") == "once" else sets
                if sets and None in (sums.each[key] for key in wanted_by):
                    open_deals.add((deal["id"], sets))
            dealt.append(open_deals)
        return dealt[0] != dealt[1]

    def decided_price(self, picks: Counts, wanted: Key | None, world: World) -> int:
        """Cents of what the world holds besides the choices that stay open."""
        still_open = self._open_ones(picks, wanted)
        held = {key: n for key, n in world.counts.items() if key[0] not in still_open}
        return Sums(self.data, held, self.options).price()
