"""What panels and extrusions are cut from, and how large they are; mm."""

from decimal import Decimal
from typing import Annotated, TypeAlias

from attrs import frozen

from configurator.catalogue.fields import (
    Count,
    ForPeople,
    Id,
    NotNegative,
    Positive,
    Record,
    Size,
    Written,
)
from configurator.shapes.schema import asks, one_of

CONSTANT = "mm"
"""The key of a formula under which a number of millimetres stands."""

TRAY = ("tray.length", "tray.width")
SPACE = ("length", "width", "height", "inside-length", "inside-width", "inside-height")
"""What a formula may count with: of the tray, and of each space."""

Formula: TypeAlias = Annotated[
    tuple[
        tuple[
            str,
            Annotated[
                Decimal,
                "How many times it counts; of mm, how many.",
                asks(minimum=-10000, maximum=10000),
            ],
        ],
        ...,
    ],
    "A size as a sum: how many times each measure counts, and mm in addition, such as "
    "{canopy.width: 0.5, mm: 12}. Measures: tray.length, tray.width; of a space, such as canopy, "
    "canopy.length, .width and .height (outside), .inside-length, .inside-width and "
    ".inside-height.",
    asks(minProperties=1),
]


@frozen(repr=False, eq=False)
class SheetSize(Record):
    """A size in which a stock sheet is bought, mm."""

    length: Annotated[Size, "Along the grain (the way it was rolled), mm."]
    width: Annotated[Size, "Across it, mm."]


@frozen(repr=False, eq=False)
class StockSheet(Written):
    """A sheet as it is bought."""

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Material and thickness, as the workshop knows it.", ForPeople(80)]
    thickness: Annotated[Positive, "Mm."]
    sizes: Annotated[tuple[SheetSize, ...], "The sizes in stock.", asks(minItems=1, maxItems=6)]


@frozen(repr=False, eq=False)
class StockBar(Written):
    """An extrusion as it is bought."""

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Section and material, as the workshop knows it.", ForPeople(80)]
    lengths: Annotated[
        tuple[Annotated[Size, "Mm."], ...], "The lengths in stock.", asks(minItems=1, maxItems=6)
    ]


@frozen(repr=False, eq=False)
class Cutting(Record):
    """Stock, and what cutting takes of it; mm."""

    sheets: Annotated[tuple[StockSheet, ...], "Sheets in stock."] = ()
    bars: Annotated[tuple[StockBar, ...], "Extrusions in stock."] = ()
    kerf: Annotated[
        NotNegative, "Least gap between two panels: what the cut takes, mm. Default 0."
    ] = Decimal(0)
    trim: Annotated[NotNegative, "Left at each edge of a sheet, mm. Default 0."] = Decimal(0)
    bar_kerf: Annotated[NotNegative, "What a cut through a bar takes, mm. Default 0."] = Decimal(0)
    bar_trim: Annotated[NotNegative, "Left at each end of a bar, mm. Default 0."] = Decimal(0)


@frozen(repr=False, eq=False)
class Face(Record):
    """The face of a space that a panel closes."""

    space: Annotated[Id, "The space."]
    side: Annotated[
        str,
        "Which face; doors of that side are cut out of it, and what is drilled in the floor is "
        "drilled in it.",
        one_of("left", "right", "rear", "floor"),
    ]


@frozen(repr=False, eq=False)
class Panel(Written):
    """A flat piece of sheet, cut before it is folded or welded.

    With a face, its length lies along the vehicle (at the rear: across it), its width upright (of
    the floor: across), and it stands over the outside of the face as far at one edge as at the
    other.
    """

    title: Annotated[str, "What it is, such as: Side wall.", ForPeople(60)]
    length: Annotated[Formula, "Its length, mm."]
    width: Annotated[Formula, "Its width, mm."]
    stock: Annotated[Id, "The stock sheet that it is cut from; or give stock-of."] = ""
    stock_of: Annotated[
        Id, "In place of stock: a choice, whose picked option says it with cut-from."
    ] = ""
    count: Annotated[Count, "How many. Default 1."] = 1
    grain: Annotated[
        str,
        "Which of its sides lies along the sheet's grain; left out where it does not matter.",
        one_of("length", "width"),
    ] = ""
    face: Annotated[Face | None, "The face of a space that it closes."] = None


@frozen(repr=False, eq=False)
class Spaced(Record):
    """As many as stand at most so far apart along a length, with one at each end."""

    along: Annotated[Formula, "The length that they are spread over, mm."]
    apart: Annotated[Size, "From the middle of one to the next at most, mm."]


@frozen(repr=False, eq=False)
class Extrusion(Written):
    """A length of an extrusion."""

    title: Annotated[str, "What it is, such as: Cross-member.", ForPeople(60)]
    length: Annotated[Formula, "Its length, mm."]
    stock: Annotated[Id, "The stock bar that it is cut from."]
    count: Annotated[Count, "How many, or how many at each place. Default 1."] = 1
    spaced: Annotated[Spaced | None, "How many places there are, by their spacing."] = None
