"""Words that papers get from elsewhere: from the pictures, and from the core with its figures.

Pictures and the core know one language. What they say on papers is recognised here by its pattern,
and said again in the paper's language; what the catalogue wrote stays as it is, and so do whole
sentences, such as findings, but for the cautions that always stand beside masses and power.
"""

from __future__ import annotations

import re
from functools import cache
from html import escape, unescape

from configurator.render.language import Language

__all__ = ["PICTURES", "TABLES", "pictures_spoken", "spoken"]


def _said(text: str) -> str:
    """The text as it is; whoever gathers the words of the papers finds it here."""
    return text


_LAYOUT = (
    _said("Layout of %(title)s, scale 1 to %(scale)s"),
    _said("%(title)s, scale 1 to %(scale)s"),
    _said("Scale 1 : %(scale)s, sizes in mm"),
    _said("length x width x height"),
    _said("clear opening of a door"),
    _said("hangs overhead, seen from above"),
    _said("largest open box on that side"),
    _said("slides out so far; arrow not to scale"),
    _said("%(space)s from the left, doors open"),
    _said("%(space)s from the right, doors open"),
    _said("%(space)s from behind, door open"),
    _said("%(space)s from the left"),
    _said("%(space)s from the right"),
    _said("%(space)s from above"),
    _said("%(space)s from behind"),
    _said("front"),
    _said("left"),
    _said("right"),
    _said("open %(length)s x %(width)s x %(height)s, %(litres)s L"),
    _said("open %(length)s x %(width)s x %(height)s"),
)
_LOADS = (
    _said("Loads against ratings, %(vehicle)s"),
    _said("Front axle"),
    _said("Rear axle"),
    _said("Vehicle"),
    _said("Tow ball"),
    _said("With trailer"),
    _said("%(load)s of %(rating)s kg, %(left)s kg left"),
    _said("%(load)s of %(rating)s kg, %(over)s kg too much"),
    _said("lifted"),
    _said("As delivered"),
    _said("Travelling full"),
    _said("Full with a trailer"),
    _said("Full, most on the tow ball"),
)
_CHARGE = (
    _said("Charge of the battery"),
    _said("Charge of the battery over three days"),
    _said("No battery is picked."),
    _said("what must stay in the battery"),
    _said("%(curve)s: used up after %(span)s"),
    _said("%(curve)s: not used up in three days"),
    _said("without charging"),
    _said("with the sun"),
    _said("with driving"),
    _said("with sun and driving"),
    _said("%(days)s days and %(hours)s hours"),
    _said("%(days)s days and 1 hour"),
    _said("%(days)s days"),
    _said("1 day and %(hours)s hours"),
    _said("1 day and 1 hour"),
    "1 day",
    _said("%(hours)s hours"),
    "1 hour",
)
_TABLES = (
    _said("left"),
    _said("right"),
    _said("rear"),
    _said("floor"),
    _said("hung"),
    _said("Package deals"),
    _said("Adjustments"),
    _said("Rounding"),
    _said("Trade-ins"),
    _said("Adjustments and trade-ins"),
    _said("Accepted extras"),
    _said("Not from the catalogue"),
    _said("%(title)s (not from the catalogue)"),
    _said("Mass of the package"),
    _said("Free volume of the %(space)s"),
    _said("Power without charging"),
    _said("days"),
    _said("%(size)s m2 at %(rate)s"),
    _said("%(size)s m at %(rate)s"),
    _said("price for %(size)s or more"),
    _said("%(people)s aboard, %(mass)s kg each at the seat (%(source)s)"),
    _said(
        "%(people)s aboard, %(mass)s kg each at the seat and %(luggage)s kg of luggage each"
        " (%(source)s)"
    ),
)
_CAUTIONS = (
    _said(
        "Estimate from catalogue figures. Confirm on a weighbridge, loaded as you travel; the"
        " maker's ratings, local rules and a licensed certifier decide."
    ),
    _said(
        "Counted with the ratings of %(titles)s: they apply only once they have been certified"
        " and recorded for this vehicle."
    ),
    _said("Where no place is stated, the middle of canopy or tray was assumed."),
    _said(
        "Estimate from catalogue figures: what is drawn and what the sun gives depend on weather,"
        " season and habit. A planning aid for a licensed electrician, who decides with the"
        " makers' instructions and local rules."
    ),
    _said(
        "230 V wiring and its connection to a vehicle are for a licensed electrician; an inverter"
        " is no less dangerous than a socket at home."
    ),
    _said(
        "Where a lithium battery may sit, how it is enclosed and vented and what protects it"
        " depend on local rules and on its maker; the electrician decides. Do not charge it below"
        " freezing point."
    ),
    _said(
        "A lead-acid battery may give off gas while it is charged: keep its vents open to the"
        " outside, as its maker asks. The last part of a charge takes hours more than the sum"
        " says."
    ),
)
_BASIS = (
    _said(
        "Cable: flexible class 5 copper (IEC 60228 table 3), single-core, insulation for"
        " %(insulation)s °C, clipped direct; what it carries is BS 7671 table 4E1A, method C, two"
        " cables d.c. A cable with other insulation, such as for 75 °C, carries less: these figures"
        " do not hold for it."
    ),
    _said(
        "Heat: cables run at %(ambient)s °C unless their circuit says otherwise; they carry less by"
        " the square root of what is left up to %(insulation)s °C. The drop counts copper at"
        " %(conductor)s °C, or at the heat around it where that is more (IEC 60287-1-1)."
    ),
    _said(
        "Bundles: %(grouped)s loaded cables run together unless their circuit says otherwise; a"
        " circuit alone has %(pair)s, out and back. Of what a cable carries alone, 0.70 is left"
        " with 3 in a bundle, 0.60 with 4 to 6, 0.50 with 7 to 24 (ABYC E-11)."
    ),
    _said(
        "Cables in parallel: all of them count in the bundle unless they run apart. They are of one"
        " length and one size, and each has a fuse of its own at the end that feeds it."
    ),
    _said(
        "A charger from the vehicle draws %(draw)s times what it gives (common practice). Its cable"
        " from the starter battery is counted at %(bay)s °C for the engine bay unless its circuit"
        " says otherwise; near the exhaust it is hotter."
    ),
    _said("An inverter is counted at full power at %(volts)s V, where it draws most."),
    _said("Panels are counted with their rated W at %(volts)s V."),
    _said(
        "From battery to load: the drop in the cables of battery, fuse panel and load together,"
        " with everything on at once, an inverter at full power (%(full)s A); at most %(drop)s"
        " percent (AS/NZS 3000, extra-low voltage)."
    ),
    _said(
        "From battery to load: the drop in the cables of battery, fuse panel and load together,"
        " with everything on at once (%(full)s A); at most %(drop)s"
        " percent (AS/NZS 3000, extra-low voltage)."
    ),
    _said(
        "Volts of a panel: with cells at %(cells)s °C it must bring %(needed)s V, which is what the"
        " battery is charged to and %(headroom)s V for the regulator; that is %(rated)s V as rated"
        " at 25 °C, at maximum power."
    ),
)

PICTURES = (*_LAYOUT, *_LOADS, *_CHARGE)
"""What pictures say, with places for what changes."""

TABLES = (*_TABLES, *_LOADS, *_CHARGE, *_CAUTIONS, *_BASIS)
"""What the core calls the rows of tables, and says beside them."""

_TEXTS = ("title", "titles", "space", "vehicle", "curve", "span", "limit", "source")
"""Places of a phrase in which a text stands; in all others stands a number."""

_PLACE = re.compile(r"%\((\w+)\)s")
_NUMBER = r"[+-]?[0-9][0-9.]*|lifted"
_PICTURE = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
_WITHIN = re.compile(r"(<(?:text|title)\b[^>]*>)([^<]*)(?=</)")


def spoken(text: str, language: Language) -> str:
    """A label in that language, if it is one of the papers' own words; otherwise as it is.

    What stands in the places of a phrase is spoken too, and numbers get the language's sign.
    """
    known = language.words.gettext(text) if text else ""
    return known if known != text else _recognised(text, language, TABLES)


def _recognised(text: str, language: Language, phrases: tuple[str, ...]) -> str:
    if re.fullmatch(r"[+-]?[0-9]+\.[0-9]+", text):
        return text.replace(".", language.decimal_sign)
    for phrase, pattern in _patterns(phrases):
        found = pattern.fullmatch(text)
        if found:
            parts = found.groupdict().items()
            values = {name: _recognised(part, language, phrases) for name, part in parts}
            return language.words.gettext(phrase) % values
    return text


def pictures_spoken(page: str, language: Language) -> str:
    """The page with whatever its pictures say in that language."""
    if language.tag.startswith("en"):
        return page

    def in_picture(picture: re.Match[str]) -> str:
        return _WITHIN.sub(in_element, picture[0])

    def in_element(said: re.Match[str]) -> str:
        return said[1] + escape(_recognised(unescape(said[2]), language, PICTURES))

    return _PICTURE.sub(in_picture, page)


@cache
def _patterns(phrases: tuple[str, ...]) -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Each phrase as a pattern, those first that say most themselves."""
    said = sorted(phrases, key=lambda phrase: (-len(_PLACE.sub("", phrase)), phrase))
    return tuple((phrase, _pattern(phrase)) for phrase in said)


def _pattern(phrase: str) -> re.Pattern[str]:
    parts = _PLACE.split(phrase)
    made = [re.escape(part) for part in parts]
    for index in range(1, len(parts), 2):
        name = parts[index]
        made[index] = f"(?P<{name}>{'.+' if name in _TEXTS else _NUMBER})"
    return re.compile("".join(made), re.DOTALL)
