"""What the mass picture has to say: ratings exceeded or close, the front axle, size on the road.

A rating that is exceeded stops a quote unless the selection carries a named override; a front
axle that would leave the ground stops it always.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

import attrs

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Rule, tests_in
from configurator.errors import NOWHERE, Location
from configurator.findings import Finding
from configurator.mass.axles import share
from configurator.mass.demands import LIFTING, axle_bounds, highest_rating, let_pass, rated
from configurator.mass.picture import HIGHEST, WIDEST, mass_picture
from configurator.mass.states import Bar, MassPicture, State
from configurator.rules import broken_rules
from configurator.selection.picks import Override
from configurator.selection.resolved import Resolved, once, trial
from configurator.totals import undecided
from configurator.words import Text, joined, left, listed, nearest, plain, text, used

if TYPE_CHECKING:
    from configurator.fit.layout import Layout

_REASON = text("A rating is the maker's limit for tyres, bearings, springs, frame and brakes.")
_AXLES = ("front-axle", "rear-axle")


def kilograms(mass: Fraction) -> str:
    """What is available or left, as people read it, to 0.1 kg."""
    return plain(left(mass))


def loaded(mass: Fraction) -> str:
    """What loads or is too much, as people read it, to 0.1 kg."""
    return plain(used(mass))


def millimetres(length: Fraction) -> str:
    """A place as people read it, to the millimetre."""
    return plain(nearest(length, 0))


def rating_findings(build: Resolved, layout: Layout | None) -> tuple[Finding, ...]:
    """Everything that the mass picture has to say; empty while no vehicle is picked."""
    picture = mass_picture(build, layout)
    return () if picture is None else tuple(_Findings(build, layout, picture).all())


@once
def rating_stops(build: Resolved) -> frozenset[str]:
    """Subjects of what stops the selection wherever its units sit, and is not overridden.

    Both axles and lifting are ``axles``. Nothing is laid out for it: an axle counts where even the
    best place of each unit is no help.
    """
    picture = mass_picture(build, None)
    return frozenset() if picture is None else _Findings(build, None, picture).stops()


def with_overrides(build: Resolved, findings: Iterable[Finding]) -> list[Finding]:
    """The findings with ratings overridden where the selection names who answers for it.

    An override of ``gvm`` overrides limits that count mass as well, and the other way round: they
    say the same of the same rating. An override that nothing needs is said in a note.
    """
    mass_limits = {limit.id for limit in build.catalogue.limits if limit.counts == "mass"}
    answered = [(o, let_pass(build.catalogue, [o])) for o in build.selection.overrides]
    needless = list(build.selection.overrides)
    done = []
    for finding in findings:
        may = finding.code == "rating" or (
            finding.code == "limit" and finding.subject in mass_limits
        )
        override = next((o for o, subjects in answered if finding.subject in subjects), None)
        if finding.level == "stop" and may and override is not None:
            needless = [o for o in needless if o != override]
            sentence = text(
                "{sentence}; overridden by {name}: {reason}",
                sentence=finding.sentence,
                name=override.name,
                reason=override.reason,
            )
            done.append(attrs.evolve(finding, level="caution", sentence=sentence))
        else:
            done.append(finding)
    return [*done, *map(_needless, needless)]


def _needless(override: Override) -> Finding:
    sentence = text(
        "The override of {subject} by {name} is not needed",
        subject=override.subject,
        name=override.name,
    )
    return _finding("note", override.subject, sentence, text("leave it out"), at=override.at)


def _finding(
    level: str,
    subject: str,
    sentence: str,
    hint: str = "",
    reason: str = "",
    code: str = "rating",
    at: Location = NOWHERE,
    numbers: tuple[tuple[str, Decimal | int], ...] = (),
) -> Finding:
    return Finding(level, code, subject, sentence, reason, hint, numbers, at=at)


class _Findings:
    """The findings of one picture."""

    def __init__(
        self,
        build: Resolved,
        layout: Layout | None,
        picture: MassPicture,
    ) -> None:
        self.build = build
        self.layout, self.picture = layout, picture
        self.settings = build.catalogue.mass
        self.counted = picture.counted

    def all(self) -> Iterator[Finding]:
        """Every finding, in no order of seriousness."""
        yield from self._lifting()
        yield from self._ratings()
        yield from self._front_share()
        yield from self._towing()
        yield from self._size()
        yield from self._people()
        yield from self._offset()
        yield from self._upgrades()

    def stops(self) -> frozenset[str]:
        """Subjects of what stops a quote, without the words."""
        lifted = any(f.level == "stop" for f in self._lifting())
        told = [*self._towing(), *self._size(), *self._people()]
        found = {f.subject for f in told if f.level == "stop"}
        worst = (pair for pair in self._worst() if pair[0].subject != "gcm")
        found |= {bar.subject for bar, state in worst if self._stops(bar, state)}
        found -= let_pass(self.build.catalogue, self.build.selection.overrides)
        if lifted or found & set(_AXLES):
            found = found - set(_AXLES) | {"axles"}
        return frozenset(found)

    def _lifting(self) -> Iterator[Finding]:
        lifted = [(s, self._certain(LIFTING, s)) for s in self.counted if s.loads.lifted]
        if not lifted:
            return
        state, certain = max(lifted, key=lambda pair: pair[1])
        short = -state.loads.front
        if short:
            sentence = text(
                "{state}, the front wheels would leave the ground: what sits behind the rear axle "
                "takes {short} kg more off the front axle than it carries",
                state=state.title,
                short=used(short),
            )
        else:
            sentence = text(
                "{state}, nothing at all would rest on the front wheels", state=state.title
            )
        yield _finding(
            "stop" if certain else "caution",
            "front-axle",
            sentence if certain else self._as_placed(sentence),
            text("move mass forward of the rear axle, or leave out what sits behind it"),
            code="lifting",
            numbers=(("short", used(short)),),
        )

    def _worst(self) -> Iterator[tuple[Bar, State]]:
        """For each rating the state that comes closest to it, or exceeds it most."""
        bars: dict[str, list[tuple[Bar, State]]] = {}
        for state in self.counted:
            for bar in state.bars:
                bars.setdefault(bar.subject, []).append((bar, state))
        for of_one in bars.values():
            yield max(of_one, key=lambda pair: (self._stops(*pair), pair[0].load - pair[0].rating))

    def _ratings(self) -> Iterator[Finding]:
        close: set[str] = set()
        for bar, state in self._worst():
            if bar.left < 0 and bar.subject != "gcm":  # what is wrong there is said of the trailer
                yield self._over(bar, state)
            elif self._is_close(bar):
                yield self._close(bar, state)
                close.add(bar.subject)
        # a state that is not counted has the tow ball loaded as far as the ratings allow; that is
        # said of the trailer
        for state in self.picture.states:
            for bar in state.bars if state not in self.counted else ():
                if bar.subject not in {"tow-ball", *close} and self._is_close(bar):
                    yield self._close(bar, state)

    def _is_close(self, bar: Bar) -> bool:
        return 0 <= bar.left <= (1 - Fraction(self.settings.caution_at)) * bar.rating

    def _over(self, bar: Bar, state: State) -> Finding:
        sentence = _over_words(bar.subject, _known(bar, state))
        if not self._certain(bar.subject, state):
            sentence = self._as_placed(sentence)
        elif bar.subject in _AXLES and self.layout is not None and self.layout.placements:
            sentence = text("{over}; no layout that fits keeps every axle rating", over=sentence)
        level = "stop" if self._stops(bar, state) else "caution"
        advice = joined(self._advice(bar, state), "; ")
        return _finding(level, bar.subject, sentence, advice, _REASON, numbers=_numbers(bar))

    def _close(self, bar: Bar, state: State) -> Finding:
        return _finding(
            "caution",
            bar.subject,
            text(
                "{state}, {bar} is close to its rating: {load} of {rating} kg, {left} kg remaining",
                **_known(bar, state),
            ),
            text("have it weighed as you travel before you rely on what is left"),
            _REASON,
            numbers=_numbers(bar),
        )

    def _stops(self, bar: Bar, state: State) -> bool:
        """Whether the rating is exceeded for certain, even by what could still raise it."""
        if bar.left >= 0:
            return False
        highest = highest_rating(self.build, bar)
        return bar.load > highest and self._certain(bar.subject, state, highest)

    def _certain(self, subject: str, state: State, highest: Fraction | None = None) -> bool:
        """Whether what is exceeded, or the front axle lifted, is so wherever units sit."""
        if subject not in (*_AXLES, LIFTING):
            return True
        spaces_may_come = self.layout is None or (self.layout.unknown and undecided(self.build))
        if self.layout is not None and not spaces_may_come:
            return self.layout.ratings == "exceeded" or not self.layout.placements
        bounds = axle_bounds(self.build, state.id)
        assert bounds is not None
        forward, backward = bounds
        if subject == LIFTING:
            return forward.lifted
        least = forward.rear if subject == "rear-axle" else backward.front
        return least > (state.bar(subject).rating if highest is None else highest)

    def _as_placed(self, sentence: Text) -> Text:
        """The sentence with what a load depends on that is not certain."""
        if self.layout is None or self.layout.unknown:
            return text("{sentence}, with every unit in the middle of its space", sentence=sentence)
        if self.layout.ratings == "unknown":
            return text(
                "{sentence}, as laid out; whether another layout keeps it could not be settled",
                sentence=sentence,
            )
        return text("{sentence}, as laid out", sentence=sentence)

    def _advice(self, bar: Bar, state: State) -> Iterator[str]:
        """Where most of it comes from, and which upgrade in the catalogue would carry it."""
        wheelbase = self.picture.wheelbase
        weights: dict[str, Fraction] = {}
        for item in state.items:
            loads = share(item.mass, item.x, wheelbase)
            on = {"front-axle": loads.front, "rear-axle": loads.rear}.get(bar.subject, item.mass)
            weights[item.title] = weights.get(item.title, Fraction(0)) + on
        most = sorted(weights.items(), key=lambda pair: (-pair[1], pair[0]))[:3]
        told = [text("{title} ({n} kg)", title=title, n=used(kg)) for title, kg in most if kg > 0]
        if told and bar.subject in ("gvm", "front-axle", "rear-axle"):
            yield text("the most comes from {items}", items=joined(told))
        for title, rating in self._better(bar, state):
            yield text(
                "{title} would rate it at {rating} kg, once certified",
                title=title,
                rating=left(rating),
            )

    def _better(self, bar: Bar, state: State) -> Iterator[tuple[str, Fraction]]:
        """Upgrades that carry the load with their own mass, and that fit the vehicle's rules."""
        for choice in self.build.catalogue.choices:
            for option in choice.options:
                if rated(option.ratings, bar.subject) is None:
                    continue
                changed = self.build.picking(Pick(choice.id, option.id))
                then = trial(self.build, changed)
                new = set(broken_rules(then)) - set(broken_rules(self.build))
                picture = mass_picture(then, self.layout)
                if picture is None or any(map(_about_vehicle, new)):
                    continue
                would = picture.state(state.id).bar(bar.subject)
                if would.left >= 0:
                    yield option.title, would.rating

    def _front_share(self) -> Iterator[Finding]:
        asked = {"full": self.settings.front_share, "towing": self.settings.front_share_towing}
        for state in self.counted:
            least = Fraction(asked.get(state.id, 0))
            if state.loads.lifted or state.loads.front_share >= least:
                continue
            front = used(state.loads.front)
            yield _finding(
                "caution",
                "front-share",
                text(
                    "{state}, only {percent} % of the mass is on the front axle ({front} kg); "
                    "this shop asks for {wanted} %",
                    state=state.title,
                    percent=nearest(100 * state.loads.front_share),
                    front=front,
                    wanted=nearest(100 * least),
                ),
                text("move mass forward of the rear axle, or carry less behind it"),
                text("A front axle that carries too little steers and brakes badly."),
                numbers=(("front", front),),
            )

    def _towing(self) -> Iterator[Finding]:
        trailer, travel = self.picture.trailer, self.build.selection.travel
        if trailer is None:
            if travel.tow_ball or travel.trailer:
                yield _finding(
                    "caution",
                    "tow-ball",
                    text("A trailer is to be towed, but no tow bar is picked"),
                    text("pick a tow bar, or leave the trailer out"),
                    at=travel.at,
                )
            return
        if not trailer.stated and trailer.most_download < trailer.rated_download:
            yield _finding(
                "caution",
                "tow-ball",
                text(
                    "Travelling full, at most {most_download} kg of tow-ball download remain, of "
                    "the {rated_download} kg that the lower rating of vehicle and tow bar would "
                    "allow",
                    most_download=left(trailer.most_download),
                    rated_download=left(trailer.rated_download),
                ),
                text("say how heavy the tow ball is, or carry less when you tow"),
                text("The download is load on the vehicle, and counts more on the rear axle."),
                numbers=(("left", left(trailer.most_download)),),
            )
        if travel.trailer is None or trailer.heaviest is None:
            return
        too_much = Fraction(travel.trailer) - trailer.heaviest
        if too_much > 0:
            over = used(too_much)
            yield _finding(
                "stop",
                "gcm",
                text(
                    "A trailer of {trailer} kg is {over} kg heavier than the ratings allow: "
                    "{heaviest} kg",
                    trailer=travel.trailer,
                    over=over,
                    heaviest=left(trailer.heaviest),
                ),
                reason=text("The lowest of vehicle, tow bar and combined rating applies."),
                at=travel.at,
                numbers=(("over", over),),
            )

    def _size(self) -> Iterator[Finding]:
        size = self.picture.size
        if size.overhang is not None and size.overhang > size.overhang_limit:
            over = used(size.overhang - size.overhang_limit)
            yield _finding(
                "stop",
                "overhang",
                text(
                    "Tray or canopy ends {overhang} mm behind the rear axle, {over} mm more than "
                    "the {overhang_limit} mm that a rigid vehicle may have",
                    overhang=used(size.overhang),
                    over=over,
                    overhang_limit=left(size.overhang_limit),
                ),
                text("choose a shorter tray"),
                text("Rear overhang is limited to 60 % of the wheelbase, and 3.7 m at most."),
                numbers=(("over", over),),
            )
        wide, high = size.least_width or 0, size.least_height or 0
        too_wide = text(
            "It would be {size} mm wide; a light vehicle may be {most} mm wide",
            size=wide,
            most=WIDEST,
        )
        too_high = text(
            "It would be {size} mm high; a light vehicle may be {most} mm high",
            size=high,
            most=HIGHEST,
        )
        for sentence, beyond in ((too_wide, wide - WIDEST), (too_high, high - HIGHEST)):
            if beyond > 0:
                ask = text("ask the road authority before it is built")
                yield _finding("caution", "size", sentence, ask, numbers=(("over", beyond),))

    def _people(self) -> Iterator[Finding]:
        picture = self.picture
        if picture.people > picture.seats:
            yield _finding(
                "stop",
                "people",
                text(
                    "1 person is to travel, but {seats}",
                    "{n} people are to travel, but {seats}",
                    n=picture.people,
                    seats=text("there is only 1 seat", "there are only {n} seats", n=picture.seats),
                ),
                text("choose a class with more seats, or say how many travel"),
                code="seats",
                numbers=(("people", picture.people), ("seats", picture.seats)),
                at=self.build.selection.travel.at,
            )

    def _offset(self) -> Iterator[Finding]:
        offset = self.picture.state("full").offset
        if abs(offset) <= self.settings.offset:
            return
        off = nearest(abs(offset), 0)
        right = text(
            "The vehicle is heavier on the right: its centre of mass is {off} mm off the centre "
            "line",
            off=off,
        )
        on_left = text(
            "The vehicle is heavier on the left: its centre of mass is {off} mm off the centre "
            "line",
            off=off,
        )
        yield _finding(
            "caution",
            "balance",
            right if offset > 0 else on_left,
            text("move heavy things to the other side"),
            numbers=(("offset", nearest(offset, 0)),),
        )

    def _upgrades(self) -> Iterator[Finding]:
        if self.picture.upgrades:
            yield _finding(
                "caution",
                "upgrade",
                text(
                    "The ratings of {upgrades} are counted; they apply only once they have been "
                    "certified and recorded for this vehicle",
                    upgrades=listed(self.picture.upgrades),
                ),
            )


def _over_words(rating: str, known: dict[str, object]) -> Text:
    match rating:
        case "gvm":
            return text(
                "{state}, the vehicle would weigh {load} kg, {over} kg more than the {rating} kg "
                "that its gross vehicle mass allows",
                **known,
            )
        case "tow-ball":
            return text(
                "{state}, the tow ball would carry {load} kg, {over} kg more than the {rating} kg "
                "that the lower rating of vehicle and tow bar allows",
                **known,
            )
        case _:
            return text(
                "{state}, {bar} would carry {load} kg, {over} kg more than the {rating} kg that "
                "it is rated for",
                **known,
            )


def _about_vehicle(rule: Rule) -> bool:
    conditions = (rule.when, rule.needs, rule.rules_out)
    return any(test.choice == VEHICLE for c in conditions if c is not None for test in tests_in(c))


def _numbers(bar: Bar) -> tuple[tuple[str, Decimal], ...]:
    return ("load", used(bar.load)), ("rating", left(bar.rating)), ("over", used(-bar.left))


def _known(bar: Bar, state: State) -> dict[str, object]:
    """What messages say of a load, as it is shown."""
    return {"state": state.title, "bar": bar.title, "left": left(bar.left), **dict(_numbers(bar))}
