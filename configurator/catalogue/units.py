"""Units, the spaces they go into, the doors, and what the workshop does for them.

Sizes are millimetres; left and right of a unit as seen facing it.
"""

from decimal import Decimal
from typing import Annotated

from attrs import frozen

from configurator.catalogue.fields import (
    SOME_TEXT,
    Coordinate,
    Count,
    ForPeople,
    Id,
    Mm,
    NotNegative,
    Pick,
    Positive,
    Record,
    Size,
    Text,
    Written,
)
from configurator.shapes.schema import asks, one_of

ON_FLOOR = Pick("floor")
"""What stands in ``stands_on`` for the floor of the space."""


@frozen(repr=False, eq=False)
class Box(Record):
    """A box: width along the working face, depth behind it, height; mm."""

    width: Annotated[Size, "Along the working face, mm."]
    depth: Annotated[Size, "From the working face to the back, mm."]
    height: Annotated[Size, "Mm."]

    @property
    def volume(self) -> int:
        """Its volume, mm3."""
        return self.width * self.depth * self.height


@frozen(repr=False, eq=False)
class Sides(Record):
    """A margin on each face of a unit, mm; left and right as seen facing it."""

    front: Annotated[
        Mm,
        "Before the working face, mm: the face stands so far behind the side that the unit "
        "works from.",
    ] = 0
    rear: Annotated[Mm, "Behind, mm."] = 0
    left: Annotated[Mm, "At the left hand of someone facing the unit, mm."] = 0
    right: Annotated[Mm, "At the right hand of someone facing the unit, mm."] = 0
    top: Annotated[
        Mm,
        "Above, mm. What the unit carries stands above it too, or lower than its body: give "
        "that a bottom clearance, or leave this out where the load needs no gap.",
    ] = 0
    bottom: Annotated[
        Mm,
        "Below, mm: the unit stands so far above the floor, or above what carries it. Nothing "
        "else may be below it there.",
    ] = 0


@frozen(repr=False, eq=False)
class Edges(Record):
    """How much of a unit's working face, mm; left and right as seen facing it."""

    left: Annotated[Mm, "Of the face at the left hand of someone facing the unit, mm."] = 0
    right: Annotated[Mm, "Of the face at the right hand of someone facing the unit, mm."] = 0
    top: Annotated[Mm, "Of the face at its top, mm."] = 0
    bottom: Annotated[Mm, "Of the face at its bottom, mm."] = 0


@frozen(repr=False, eq=False)
class Swing(Record):
    """A unit's own door: where it is hung and how far it stands out, mm."""

    hinge: Annotated[
        str,
        "Where the door is hung, as seen by someone facing the unit.",
        one_of("left", "right", "top", "bottom"),
    ]
    reach: Annotated[Size, "How far the open door stands out, mm."]


@frozen(repr=False, eq=False)
class Carries(Record):
    """A bed that other units may stand on: kg, and mm.

    It begins at the working face and lies in the middle of the unit's width. ``slides`` says that
    what stands on it slides out with it.
    """

    mass: Annotated[
        Positive,
        "The most it may carry, kg: all that stands on it, on that, and so on, each with its "
        "contents.",
    ]
    width: Annotated[
        Size,
        "Width of the bed, mm. A bed narrower than the body lies in the middle of the body's "
        "width.",
    ]
    depth: Annotated[Size, "Depth of the bed, mm. It begins at the working face."]
    at: Annotated[
        Mm | None, "Height of the bed above the unit's own base, mm; default its body height."
    ] = None
    slides: Annotated[
        bool,
        "True where what stands on it slides out with it (a fridge slide); false where the top "
        "stays while something below slides out (a drawer unit). Default false.",
    ] = False


@frozen(repr=False, eq=False)
class Prefers(Record):
    """Where a unit is best placed: the side that it works from, the end that it is at, or both."""

    side: Annotated[
        str,
        "The side of the vehicle that it works from; one of its works-from. It does not count "
        "where that side has no door.",
        one_of("left", "right", "rear"),
    ] = ""
    towards: Annotated[str, "The end that its middle is nearer to.", one_of("front", "rear")] = ""


@frozen(repr=False, eq=False)
class Fixings(Record):
    """What holds a unit down: how many fixings, and the working load of each, N."""

    count: Annotated[Count, "How many fixings share the load."]
    each: Annotated[
        Decimal,
        "Working load of one fixing in its weakest direction, N.",
        asks(exclusiveMinimum=0, maximum=10000000),
    ]


@frozen(repr=False, cache_hash=True)
class Unit(Record):
    """A physical thing to place in a space."""

    space: Annotated[Id, "The space that it goes into."]
    body: Annotated[Box, "Outside size of the unit itself, without clearances."]
    clearance: Annotated[
        Sides,
        "Room that must stay clear around the body, such as the vent gap behind and above a "
        "compressor fridge. No other body may be in it, neither what stands on the unit (top) "
        "nor what does not. It may share room with another clearance, and reach into what the "
        "gear of a door sweeps.",
    ] = Sides()
    clearance_exclusive: Annotated[
        bool,
        "True where another unit's clearance may not share this unit's clearance. Default false.",
    ] = False
    works_from: Annotated[
        tuple[Annotated[str, "A side of the vehicle.", one_of("left", "right", "rear")], ...],
        "The sides of the space that the working face may be at; an opening must bare it there, "
        "or within reach. Empty or left out: the unit needs no opening once it is in (a "
        "battery, a tank).",
        asks(uniqueItems=True),
    ] = ()
    prefers: Annotated[
        Prefers | None,
        "Where it is placed where nothing speaks against it: first at its side, then at its "
        "end. The customer's wishes come first, and a door that prefers the unit takes the "
        "place of this.",
        asks(minProperties=1),
    ] = None
    reach: Annotated[
        int,
        "How far behind the side that it works from the working face may stand, mm: within an "
        "arm's reach of someone at the opening. Before all of the face that no frame may hide, "
        "from there to the side, no other body may stand and no gear of a door may sweep, and "
        "that part of the face lies in one clear opening as seen straight in. Default 0: the "
        "face is at the side, but for its front clearance.",
        asks(minimum=0, maximum=2000),
    ] = 0
    behind_frame: Annotated[
        Edges,
        "How much of the working face may stay behind the frame of the opening, mm. It counts "
        "for what stays in place, and for the unit's own door, which lies in the rest of the "
        "face. Of a unit with travel nothing may stay behind the frame, for what slides out "
        "passes the opening whole: a plinth or a flank that stays is no part of the body then; "
        "state it as clearance.",
    ] = Edges()
    travel: Annotated[
        Mm,
        "How far it slides out of its working face, mm. The whole face slides out, so it lies "
        "in one clear opening with nothing behind the frame.",
    ] = 0
    swing: Annotated[Swing | None, "The unit's own door or lid and the room it sweeps."] = None
    stands_on: Annotated[
        tuple[Annotated[Pick, "floor, CHOICE or CHOICE=OPTION.", SOME_TEXT], ...],
        "What may carry it: floor, a choice id (any of its options), or choice=option. Default: "
        "floor.",
        asks(minItems=1, uniqueItems=True),
    ] = (ON_FLOOR,)
    carries: Annotated[Carries | None, "What may stand on it."] = None
    overhang: Annotated[
        Mm, "How far its footprint may stand over the edge of what carries it, mm. Default 0."
    ] = 0
    hangs_at: Annotated[
        Mm | None,
        "Height of its underside above the floor of the space, for a unit that hangs from roof "
        "or wall, mm.",
    ] = None
    turns: Annotated[
        bool,
        "May stand turned about the vertical by a quarter. Default false. On the way in any "
        "unit may be turned.",
    ] = False
    built_in: Annotated[
        bool,
        "Built in place by the workshop, so it need not pass an opening whole. Default false: "
        "it passes a clear opening in some attitude, straight or at a slant, and is brought to "
        "how it stands by quarter turns that leave all of it inside, each of which takes the "
        "diagonal of what is turned in both directions.",
    ] = False
    contents: Annotated[
        NotNegative,
        "Allowance for what is kept in it when travelling, kg. It counts in the vehicle's mass "
        "and in what a carrier below it carries.",
    ] = Decimal(0)
    litres: Annotated[
        Positive | None, "Stated volume, litres; used to name the largest of several siblings."
    ] = None
    fixings: Annotated[Fixings | None, "What holds it down, for the check of the mounts."] = None

    def may_stand_on(self, choice: str, option: str) -> bool:
        """Whether the option is among those that may carry it."""
        return any(carrier.covers(choice, option) for carrier in self.stands_on)


@frozen(repr=False, eq=False)
class SpacePart(Record):
    """What it says of one space: outside sizes, of which one picked option may say each; losses."""

    length: Annotated[Size | None, "Outside length along the vehicle, mm."] = None
    width: Annotated[Size | None, "Outside width across the vehicle, mm."] = None
    height: Annotated[Size | None, "Outside height, mm."] = None
    wall: Annotated[NotNegative, "Lost at each of the four walls (sheet, frame, lining), mm."] = (
        Decimal(0)
    )
    roof: Annotated[NotNegative, "Lost under the roof, mm."] = Decimal(0)
    floor: Annotated[NotNegative, "Lost above the underside to floor sheet and frame, mm."] = (
        Decimal(0)
    )
    divider: Annotated[NotNegative, "Thickness of a divider along the middle, mm."] = Decimal(0)
    divider_at: Annotated[
        Mm | None,
        "Middle of the divider from the inside of the left wall, mm. Default: the middle of the "
        "space.",
    ] = None
    x: Annotated[Coordinate | None, "Front of the space behind the front end of the tray, mm."] = (
        None
    )
    z: Annotated[Coordinate | None, "Underside of the space above the tray floor, mm."] = None


@frozen(repr=False, eq=False)
class Gear(Record):
    """Room at an opening's top corners (bottom: folds down) that struts and hinges sweep, mm."""

    width: Annotated[Mm, "Along the opening, mm."] = 0
    height: Annotated[
        Mm, "Down from the header, or up from the sill of a door that folds down, mm."
    ] = 0
    depth: Annotated[Mm, "Into the space, mm."] = 0


@frozen(repr=False, eq=False)
class Opening(Written):
    """A door: what its frame takes from the inside face of one side of a space, mm.

    ``prefers`` names the units meant to work through it, each a choice id or ``choice=option``.
    """

    space: Annotated[Id, "The space it opens."]
    side: Annotated[str, "Which side of the vehicle.", one_of("left", "right", "rear")]
    sill: Annotated[Mm, "From the inside floor up to the clear opening, mm. Default 0."] = 0
    header: Annotated[Mm, "From the inside roof down to the clear opening, mm. Default 0."] = 0
    front: Annotated[
        Mm | None,
        "From the front end (for a rear opening: the left wall) of the inside to the clear "
        "opening, mm.",
    ] = None
    rear: Annotated[
        Mm | None,
        "From the rear end (for a rear opening: the right wall) of the inside to the clear "
        "opening, mm.",
    ] = None
    width: Annotated[
        Size | None, "Clear width, mm; give it with exactly one of front and rear."
    ] = None
    moves: Annotated[str, "How the door moves.", one_of("lifts", "folds-down", "swings")] = ""
    gear: Annotated[
        Gear | None,
        "Room inside that struts and hinges sweep: at the top corners, or at the bottom corners "
        "of a door that folds down. No body may be there, and nothing that slides or swings "
        "out; a clearance may.",
    ] = None
    prefers: Annotated[
        tuple[
            Annotated[
                Pick,
                "A choice id (whichever of its options is picked), or CHOICE=OPTION.",
                SOME_TEXT,
            ],
            ...,
        ],
        "The units meant to work through this door: they are placed behind it where nothing "
        "speaks against it; where several doors prefer a unit, behind any of them. The "
        "customer's wishes come first.",
        asks(minItems=1, uniqueItems=True),
    ] = ()


@frozen(repr=False, eq=False)
class Extent(Record):
    """Outside size of a thing that is in no space, mm."""

    length: Annotated[Size, "Along the vehicle, mm."]
    width: Annotated[Size, "Across the vehicle, mm."]
    height: Annotated[Size, "Mm."]


@frozen(repr=False, eq=False)
class Position(Record):
    """Where a mass sits that is not placed in a space, mm."""

    origin: Annotated[str, "What x counts from.", one_of("front-axle", "tray-front", "rear-axle")]
    x: Annotated[Coordinate, "Rearward, mm."]
    y: Annotated[Coordinate, "To the right of the centre line, mm. Default 0."] = 0
    z: Annotated[Coordinate, "Above what above names, mm. Default 0."] = 0
    above: Annotated[
        str,
        "What z counts from: the tray floor, or the highest roof of the spaces. Default "
        "tray-floor.",
        one_of("tray-floor", "roof"),
    ] = "tray-floor"
    top: Annotated[
        Coordinate | None, "Its highest point, counted like z, mm; counts in the overall height."
    ] = None
    size: Annotated[
        Extent | None,
        "Its outside size, for pictures: about x and y, and under top or, without a top, about z. "
        "Without a size it is not drawn.",
    ] = None


@frozen(repr=False, eq=False)
class Hole(Record):
    """Size of a hole, mm: its diameter, or its width and height."""

    diameter: Annotated[Size | None, "Diameter, mm."] = None
    width: Annotated[Size | None, "Width, mm."] = None
    height: Annotated[Size | None, "Height, mm."] = None


@frozen(repr=False, eq=False)
class OnUnit(Record):
    """The middle of a hole or fixing on a unit, mm, as seen facing the unit."""

    across: Annotated[Mm, "From the left edge of its working face."]
    behind: Annotated[Mm, "Behind its working face. Default 0."] = 0
    up: Annotated[Mm, "Above its underside. Default 0."] = 0


@frozen(repr=False, eq=False)
class Corners(Record):
    """The four corners of a unit's footprint, mm."""

    across: Annotated[Mm, "From its left and its right edge, mm."]
    behind: Annotated[Mm, "From its working face and from its back, mm."]

    def places(self, width: int, depth: int) -> tuple[OnUnit, ...]:
        """The four places on a body of that width and depth."""
        return tuple(
            OnUnit(across, behind)
            for across in (self.across, width - self.across)
            for behind in (self.behind, depth - self.behind)
        )


@frozen(repr=False, eq=False)
class Work(Written):
    """One thing that the workshop does for it, as it stands on the job sheet; never a price."""

    do: Annotated[str, "What is done.", one_of("cut", "drill", "fit", "seal", "weld")]
    text: Annotated[str, "What it is for, such as: Hold-down bolts.", ForPeople(120)]
    where: Annotated[
        str,
        "In what and where, such as: through the floor, 80 mm from the front wall.",
        ForPeople(200),
    ] = ""
    on: Annotated[
        Text,
        "The unit that it is done on where that is another option's, such as the cupboard that "
        "a fuse panel is let into: CHOICE or CHOICE=OPTION. The catalogue check then asks for a "
        "side that this unit works from.",
    ] = ""
    hole: Annotated[
        Hole | None,
        "Size of the hole: its diameter, or its width and height.",
        asks(minProperties=1),
    ] = None
    count: Annotated[
        Count | None, "How many for each one picked. Default 1, or as many as there are places."
    ] = None
    places: Annotated[
        tuple[OnUnit, ...],
        "Where on the unit, for a unit that works from a side; the job sheet says where that is "
        "in its space.",
        asks(minItems=1, maxItems=50),
    ] = ()
    corners: Annotated[
        Corners | None, "In place of places: at the four corners of the unit's footprint."
    ] = None

    @property
    def times(self) -> int:
        """How many for each one picked, where the catalogue does not say where on the unit."""
        return 1 if self.count is None else self.count

    def on_unit(self, width: int, depth: int) -> tuple[OnUnit, ...]:
        """Where on a unit whose body has that width and depth; empty where nothing says."""
        return self.corners.places(width, depth) if self.corners else self.places
