"""Findings about mass: ratings exceeded or close, the front axle, size on the road.

A rating that is exceeded stops a quote unless the selection carries a named override; a front
axle that would leave the ground stops it always.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import attrs

from configurator.catalogue.fields import Pick, tests_in
from configurator.catalogue.model import VEHICLE, Rule
from configurator.findings import Finding, Saying
from configurator.mass.axles import share
from configurator.mass.demands import LIFTING, axle_bounds, highest_rating, let_pass, rated
from configurator.mass.picture import HIGHEST, WIDEST, mass_picture, rated_towing
from configurator.mass.places import places_of, reach_of
from configurator.mass.states import (
    LoadCase,
    MassPicture,
    RatedLoad,
    lifted_words,
    over_words,
    upgrade_words,
)
from configurator.selection.resolved import Resolved, once, trial
from configurator.selection.rules import broken_rules
from configurator.selection.totals import contents_of, undecided
from configurator.words import Text, itemised, joined, left, listed, nearest, text, used

if TYPE_CHECKING:
    from configurator.fit.layout import Layout

_REASON = text("A rating is the maker's limit for tyres, bearings, springs, frame and brakes.")
_AXLES = ("front-axle", "rear-axle")

_SAYINGS = {
    "needless": Saying("note", "The override of {subject} by {name} is not needed", "leave it out"),
    "lifting": Saying(
        "stop",
        "{sentence}",
        "move mass forward of the rear axle, or leave out what sits behind it",
    ),
    "over": Saying("stop", "{sentence}"),
    "close": Saying(
        "caution",
        "{state}, {bar} is close to its rating: {load} of {rating} kg, {left} kg remaining",
        "have it weighed as you travel before you rely on what is left",
    ),
    "front-share": Saying(
        "caution",
        "{state}, only {percent} % of the mass is on the front axle ({front} kg); this shop asks "
        "for {wanted} %",
        "move mass forward of the rear axle, or carry less behind it",
        "A front axle that carries too little steers and brakes badly.",
    ),
    "no-tow-bar": Saying(
        "caution",
        "A trailer is to be towed, but no tow bar is picked",
        "pick a tow bar, or leave the trailer out",
    ),
    "download": Saying(
        "caution",
        "Fully loaded in this layout, at most {left} kg of tow-ball download remain, of the "
        "{rated} kg that the lower rating of vehicle and tow bar would allow",
        "state the tow-ball download: another layout may allow more; or carry less when you tow",
        "The download is load on the vehicle, and counts more on the rear axle.",
    ),
    "trailer": Saying(
        "stop",
        "A trailer of {trailer} kg is {over} kg heavier than the ratings allow: {heaviest} kg",
        "",
        "The lowest of vehicle, tow bar and combined rating applies.",
    ),
    "overhang": Saying(
        "stop",
        "Tray or canopy ends {overhang} mm behind the rear axle, {over} mm more than the {limit} "
        "mm that a rigid vehicle may have",
        "choose a shorter tray",
        "Rear overhang is limited to 60 % of the wheelbase, and 3.7 m at most.",
    ),
    "width": Saying(
        "caution",
        "It would be {size} mm wide; a light vehicle may be {most} mm wide",
        "ask the road authority before it is built",
    ),
    "height": Saying(
        "caution",
        "It would be {size} mm high; a light vehicle may be {most} mm high",
        "ask the road authority before it is built",
    ),
    "people": Saying(
        "stop",
        ("1 person is to travel, but {there}", "{n} people are to travel, but {there}"),
        "choose a class with more seats, or say how many travel",
    ),
    "right": Saying(
        "caution",
        "The vehicle is heavier on the right: its centre of mass is {off} mm off the centre line",
        "move heavy things to the other side",
    ),
    "left": Saying(
        "caution",
        "The vehicle is heavier on the left: its centre of mass is {off} mm off the centre line",
        "move heavy things to the other side",
    ),
    "upgrade": Saying(
        "caution",
        "{upgrades}: the higher ratings are counted here, but apply only once certified and "
        "recorded for this vehicle",
    ),
}


def _say(
    what: str, subject: str, known: Mapping[str, object], *numbers: str, **changes: Any
) -> Finding:
    """A finding with what is known in it, and some of that as its numbers."""
    told: Any = tuple((name, known[name]) for name in numbers)
    code = changes.pop("code", "rating")
    return _SAYINGS[what].finding(code, subject, known, told, **changes)


def rating_findings(build: Resolved, layout: Layout | None) -> tuple[Finding, ...]:
    """Everything that the mass picture has to say; empty while no vehicle is picked."""
    picture = mass_picture(build, layout)
    return () if picture is None else tuple(_RatingFindings(build, layout, picture).all())


@once
def rating_stops(build: Resolved) -> frozenset[str]:
    """Subjects of what stops the selection wherever its units sit, and is not overridden.

    Both axles and lifting are ``axles``. Nothing is laid out for it: an axle counts where even the
    best place of each unit is no help.
    """
    picture = mass_picture(build, None)
    return frozenset() if picture is None else _RatingFindings(build, None, picture).stops()


def with_overrides(build: Resolved, findings: Iterable[Finding]) -> list[Finding]:
    """The findings with ratings overridden where the selection names who answers for it.

    An override of ``gvm`` overrides limits that count mass as well, and the other way round: they
    say the same of the same rating. An override that nothing needs is said in a note.
    """
    mass_limits = {limit.id for limit in build.catalogue.limits if limit.of_mass}
    answered = [(o, let_pass(build.catalogue, [o])) for o in build.selection.overrides]
    needed = []
    done = []
    for finding in findings:
        may = finding.code == "rating" or (
            finding.code == "limit" and finding.subject in mass_limits
        )
        override = next((o for o, subjects in answered if finding.subject in subjects), None)
        if finding.level == "stop" and may and override is not None:
            needed.append(override)
            sentence = text(
                "{sentence}; overridden by {name}: {reason}",
                sentence=finding.sentence,
                name=override.name,
                reason=override.reason,
            )
            done.append(attrs.evolve(finding, level="caution", sentence=sentence))
        else:
            done.append(finding)
    needless = [override for override in build.selection.overrides if override not in needed]
    return [
        *done,
        *(
            _say("needless", o.subject, {"subject": o.subject, "name": o.name}, at=o.at)
            for o in needless
        ),
    ]


class _RatingFindings:
    """The findings of one picture."""

    def __init__(self, build: Resolved, layout: Layout | None, picture: MassPicture) -> None:
        self.build, self.layout, self.picture = build, layout, picture
        self.settings, self.counted = build.catalogue.mass, picture.counted

    def all(self) -> Iterator[Finding]:
        """Every finding, in no order of seriousness."""
        yield from self._lifting()
        yield from self._ratings()
        yield from self._front_share()
        yield from self._plain()
        offset, most = self.picture.state("full").offset, self.settings.offset
        if abs(offset) > most:
            side, off = "right" if offset > 0 else "left", nearest(abs(offset), 0)
            known = {"off": off, "offset": nearest(offset, 0)}
            yield _say(side, "balance", known, "offset")
        if self.picture.upgrades:
            yield _say("upgrade", "upgrade", {"upgrades": listed(self.picture.upgrades)})

    def stops(self) -> frozenset[str]:
        """Subjects of what stops a quote, without the words."""
        lifted = any(self._certain(LIFTING, s) for s in self.counted if s.loads.lifted)
        found = {finding.subject for finding in self._plain() if finding.level == "stop"}
        worst = (pair for pair in self._worst() if pair[0].subject != "gcm")
        found |= {bar.subject for bar, state in worst if self._stops(bar, state)}
        found -= let_pass(self.build.catalogue, self.build.selection.overrides)
        if lifted or found & set(_AXLES):
            found = found - set(_AXLES) | {"axles"}
        return frozenset(found)

    def _lifting(self) -> Iterator[Finding]:
        lifted = [(s, self._certain(LIFTING, s)) for s in self.counted if s.loads.lifted]
        if lifted:
            state, certain = max(lifted, key=lambda pair: pair[1])
            known: dict[str, object] = {"state": state.title, "short": used(-state.loads.front)}
            if known["short"]:
                sentence = text(
                    "{lifted}: the load behind the rear axle takes {short} kg more off the front "
                    "axle than is on it",
                    lifted=lifted_words(state.title),
                    **known,
                )
            else:
                sentence = text("{state}, nothing at all would rest on the front wheels", **known)
            known["sentence"] = sentence if certain else self._as_placed(sentence)
            level = "stop" if certain else "caution"
            may_come = certain and (
                self._hangs_elsewhere(state) or self._may_be_moved(LIFTING, state, Fraction(0))
            )
            yield _say(
                "lifting",
                "front-axle",
                known,
                "short",
                code="lifting",
                level=level,
                may_come=may_come,
            )

    def _worst(self) -> Iterator[tuple[RatedLoad, LoadCase]]:
        """For each rating the state that comes closest to it, or exceeds it most."""
        bars: dict[str, list[tuple[RatedLoad, LoadCase]]] = {}
        for state in self.counted:
            for bar in state.bars:
                bars.setdefault(bar.subject, []).append((bar, state))
        for of_one in bars.values():
            yield max(of_one, key=lambda pair: (self._stops(*pair), pair[0].load - pair[0].rating))

    def _ratings(self) -> Iterator[Finding]:
        close: set[str] = set()
        for bar, state in self._worst():
            if bar.left < 0 and bar.subject != "gcm":  # what is wrong there is said of the trailer
                stops = self._stops(bar, state)
                level = "stop" if stops else "caution"
                may_come = stops and self._may_come(bar, state)
                over, hint = self._over(bar, state), joined(self._advice(bar, state), "; ")
                yield self._loaded(
                    "over", bar, state, over, level=level, may_come=may_come, hint=hint
                )
            elif self._is_close(bar):
                yield self._loaded("close", bar, state)
                close.add(bar.subject)
        # a state that is not counted has the tow ball loaded as far as the ratings allow; that is
        # said of the trailer
        for state in self.picture.states:
            for bar in state.bars if state not in self.counted else ():
                if bar.subject not in {"tow-ball", *close} and self._is_close(bar):
                    yield self._loaded("close", bar, state)

    def _is_close(self, bar: RatedLoad) -> bool:
        return 0 <= bar.left <= (1 - Fraction(self.settings.caution_at)) * bar.rating

    def _loaded(
        self, what: str, bar: RatedLoad, state: LoadCase, sentence: str = "", **changes: Any
    ) -> Finding:
        """A finding on a load and its rating."""
        known = {
            "sentence": sentence,
            "state": state.title,
            "bar": bar.title,
            "left": left(bar.left),
            "load": used(bar.load),
            "rating": left(bar.rating),
            "over": used(-bar.left),
        }
        return _say(what, bar.subject, known, "load", "rating", "over", reason=_REASON, **changes)

    def _over(self, bar: RatedLoad, state: LoadCase) -> Text:
        sentence = over_words(bar.subject, state.title, bar.load, bar.rating)
        if not self._certain(bar.subject, state):
            return self._as_placed(sentence)
        if bar.subject in _AXLES and self.layout is not None and self.layout.placements:
            return text("{over}; no layout that fits stays within every axle rating", over=sentence)
        return sentence

    def _stops(self, bar: RatedLoad, state: LoadCase) -> bool:
        """Whether the rating is exceeded for certain, even by what could still raise it."""
        if bar.left >= 0:
            return False
        highest = highest_rating(self.build, bar)
        return bar.load > highest and self._certain(bar.subject, state, highest)

    def _may_come(self, bar: RatedLoad, state: LoadCase) -> bool:
        """Whether more picks may still bring the load within its rating."""
        if self._hangs_elsewhere(state):
            return True
        highest = highest_rating(self.build, bar, more=True)
        return bar.load <= highest or self._may_be_moved(bar.subject, state, highest)

    def _hangs_elsewhere(self, state: LoadCase) -> bool:
        """Whether more picks may still bring another tow bar for what is towed."""
        return state.id == "towing" and any(
            option.hitch is not None and not self.build.selection.quantity(choice.id, option.id)
            for choice in self.build.catalogue.by_id.values()
            if self.build.takes_more(choice)
            for option in choice.options
        )

    def _may_be_moved(self, subject: str, state: LoadCase, highest: Fraction) -> bool:
        """Whether more picks may still take load off an axle, or put it on the front wheels."""
        if subject not in (*_AXLES, LIFTING):
            return False
        places, bounds = places_of(self.build), axle_bounds(self.build, state.id, more=True)
        assert places is not None
        assert bounds is not None
        forward, backward = bounds
        least = {"front-axle": backward.front, "rear-axle": forward.rear, LIFTING: -forward.front}
        if least[subject] <= highest:
            return True
        axle, reach = self.picture.wheelbase, reach_of(self.build, places.vehicle)
        every = self.build.catalogue.by_id.values()
        may_come = ((c, o) for c in every if self.build.takes_more(c) for o in c.options)
        for choice, option in may_come:
            if option.mass or contents_of(option):
                first, last = reach.where(choice, option)
                behind = subject == "front-axle" and last > axle
                if behind or first < {"rear-axle": 0, LIFTING: axle}.get(subject, first):
                    return True
        return False

    def _certain(self, subject: str, state: LoadCase, highest: Fraction | None = None) -> bool:
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
                "{sentence}, as laid out; it is not settled whether another layout would stay "
                "within it",
                sentence=sentence,
            )
        return text("{sentence}, as laid out", sentence=sentence)

    def _advice(self, bar: RatedLoad, state: LoadCase) -> Iterator[str]:
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
            yield text("the most comes from {items}", items=itemised(told))
        for title, rating in self._better(bar, state):
            yield upgrade_words(title, rating)

    def _better(self, bar: RatedLoad, state: LoadCase) -> Iterator[tuple[str, Fraction]]:
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
            least, share_of = Fraction(asked.get(state.id, 0)), state.loads.front_share
            if not state.loads.lifted and share_of < least:
                known = {
                    "state": state.title,
                    "percent": nearest(100 * share_of),
                    "front": used(state.loads.front),
                    "wanted": nearest(100 * least),
                }
                yield _say("front-share", "front-share", known, "front")

    def _plain(self) -> Iterator[Finding]:
        """What does not depend on a layout: towing, size on the road and people."""
        picture, travel, size = self.picture, self.build.selection.travel, self.picture.size
        trailer = picture.trailer
        if trailer is None:
            if travel.tow_ball or travel.trailer:
                yield _say("no-tow-bar", "tow-ball", {}, at=travel.at)
        else:
            if not trailer.stated and trailer.most_download < trailer.rated_download:
                known = {"left": left(trailer.most_download), "rated": left(trailer.rated_download)}
                yield _say("download", "tow-ball", known, "left")
            if travel.trailer is not None and trailer.heaviest is not None:
                over = Fraction(travel.trailer) - trailer.heaviest
                if over > 0:
                    known = {"over": used(over), "heaviest": left(trailer.heaviest)}
                    known["trailer"] = travel.trailer
                    level = "stop" if self._too_heavy() else "caution"
                    may_come = not self._too_heavy(more=True)
                    told = {"level": level, "may_come": level == "stop" and may_come}
                    yield _say("trailer", "gcm", known, "over", at=travel.at, **told)
        if size.overhang is not None and size.overhang > size.overhang_limit:
            known = {"overhang": used(size.overhang), "limit": left(size.overhang_limit)}
            known["over"] = used(size.overhang - size.overhang_limit)
            yield _say("overhang", "overhang", known, "over")
        for what, here, most in (
            ("width", size.least_width or 0, WIDEST),
            ("height", size.least_height or 0, HIGHEST),
        ):
            if here > most:
                sizes = {"size": here, "most": most, "over": here - most}
                yield _say(what, "size", sizes, "over")
        if picture.people > picture.seats:
            n, seats = picture.people, picture.seats
            there = text("there is only 1 seat", "there are only {n} seats", n=seats)
            aboard = {"n": n, "people": n, "seats": seats, "there": there}
            yield _say("people", "people", aboard, "people", "seats", code="seats", at=travel.at)

    def _too_heavy(self, more: bool = False) -> bool:
        """Whether the trailer is too heavy for all that choices of one still open could bring.

        With ``more``, for all that anything could bring which may still be picked.
        """
        state, places = self.picture.state("towing"), places_of(self.build)
        assert places is not None
        if more and self._hangs_elsewhere(state):
            return False
        hitch = next(option.hitch for _, option, _ in self.build.picks if option.hitch is not None)
        trailer = self.build.selection.travel.trailer or 0
        if trailer > rated_towing(places.vehicle, hitch):
            return True
        bar = state.bar("gcm")
        return bar.load > highest_rating(self.build, bar, more)


def _about_vehicle(rule: Rule) -> bool:
    conditions = (rule.when, rule.needs, rule.rules_out)
    return any(test.choice == VEHICLE for c in conditions if c is not None for test in tests_in(c))
