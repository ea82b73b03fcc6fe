"""The labels of figures, each once: what a sentence or a table without heads says of an answer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from tests.support.statements import objects

_TIMES = "×"

SENTENCES = (
    # price and quote
    "Total, {title:inside} {subtotal:amount}",
    "Rounding {rounding:amount}",
    "Total including {tax-name}, {currency} {total:amount}",
    "of which {tax-name} {tax:amount}",
    "Listed at {listed:amount}, together {price:amount}.",
    "Package deal: {title} {saving:off}",
    "{currency} {total:amount}",
    "Includes {currency} {tax:amount} {tax-name}.",
    "Quote {number}",
    "about {added} kg empty, {mass.added} kg loaded",
    "quote {number}",
    "Cut list {number}",
    "Order list {number}",
    "Total: Make, or take from stock {cost:amount}",
    "Total, AUD without tax {cost:amount}",
    "line {line} {words} {amount:amount}",
    "remaining, taxed at {percent} % {left:amount}",
    "together {amount:amount}",
    "{quantity} × {each:amount} {amount:amount}",
    "Before GST {before-tax:amount}",
    "GST standard, 10 % on {before-tax:amount} {tax:amount}",
    "Total including GST {total:amount}",
    "Prices of {day}",
    "Total, without tax {net:amount} {cost:amount} {margin:amount} {percent}",
    # limits
    "{title}: uses {uses} {unit}, {left} {unit} remaining.",
    # mass
    "Payload used, fully loaded\t{payload-used} of {payload} kg",
    "Payload remaining\t{payload-left} kg",
    "Payload remaining with {trailer.download} kg on the tow ball\t{left-towing} kg",
    "Payload: with {trailer.download} kg on the tow ball, {left-towing} kg remain.",
    "Centre of the added mass above the tray floor\t{added-height} mm",
    "Rear overhang\t{size.overhang} of {size.overhang-limit} mm",
    "Overall width\t{size.width} mm",
    "Overall height\t{size.height} mm",
    "Tow-ball download remaining when full, in this layout\t"
    "{trailer.most-download} of {trailer.rated-download} kg",
    "Heaviest trailer remaining\t{trailer.heaviest} kg",
    "Added mass when full: left, on the centre line, right {across} = {added} kg",
    # power
    "Usable in the battery\t{usable} of {capacity} Ah",
    "Panels\t{solar} W",
    "Battery, without charging {daily} Ah a day {usable} Ah {days-alone} days",
    "Continuous discharge\t{discharge} A",
    "Days without charging\t{days-alone}",
    "Days with driving only\t{days-driving}",
    "From the sun a day\t{solar-daily} Ah",
    "From the sun, of what is drawn\t{solar-share:percent} %",
    "Panels need, rated at maximum power\t{panel-volts} V",
    "From driving a day\t{vehicle-daily} Ah",
    "Driving time to recharge from empty\t{recharge-driving} h",
    "Mains time to recharge from empty\t{recharge-mains} h",
    "Inverter at full power\t{inverter.nominal-amps} A, {inverter.low-amps} A at low voltage",
    "Inverter at full power, all {volts} V loads on\t{full-amps} A at low voltage",
    "Lasts with all loads on at once\t{worst-hours} h",
    "Main isolator, continuous, at least\t{isolator} A",
    "Batteries into a short circuit\t{short-circuit} A",
    "Total {worst} {daily}",
    # layout
    "The {title} is {length} mm long, {width} mm wide and {height} mm high inside; "
    "{used-litres} of {litres} L are taken by the units in it.",
    "Largest open box from the {side}: {length} mm long, {width} mm wide, {height} mm high, "
    "{litres} L, at x {x}, y {y}, z {z}.",
    # budget
    "{limit:amount} ({over-percent} %)",
    "To be paid to the shop {to-pay:amount}",
    "Total, {title:inside} {amount:amount}",
    "{contingency-percent} % of what is not yet spent",
    "Total {total:amount}",
    "Limit {limit:amount}",
    "Over {over:amount}",
    "Already spent {spent:amount}",
    "Estimated costs {guessed:amount}",
    "Estimated sales {guessed-sales:amount}",
    "{currency} {over:amount} over the limit of {currency} {limit:amount}, {over-percent} per cent"
    " of it.",
    "AUD {spent:amount} of it is spent. Of the costs, AUD {guessed:amount} is estimated.",
    "AUD {spent:amount} of it is spent. Of the costs, AUD {guessed:amount} is estimated; of the"
    " sales, AUD {guessed-sales:amount}.",
    "estimate {contingency:amount}",
    "Against A {difference:signed}",
    "How the build comes to {currency} {total:amount}",
    "limit {limit:amount}",
    "Contingency {contingency:amount}",
    # the engine; the budget is what was asked with
    "{currency} {to-pay:amount} of AUD 30,000.00, AUD {left:amount} left",
    "{n}. {count} changes: AUD {difference:signed}",
    "{n}. {count} change: AUD {difference:signed}",
    "AUD {difference:signed}",
    "The whole package: {currency} {total:amount} including GST, {mass} kg empty.",
    # sheets
    "outside: {stands.front} behind its front end, {stands.rear:off} beyond its rear end, "
    "{stands.side} in from each side, {stands.up} above its floor.",
    "Slides out {travel}.",
    "above {clear.top}.",
    "behind {clear.rear}, above {clear.top}.",
    f"{{count}} {_TIMES} {{stock}}, {{length}} {_TIMES} {{width}}: {{waste}} % waste",
    f"{{length}} {_TIMES} {{width}} centred at {{x}} / {{y}}: {{text}}",
    f"number {{panel}} ({{length}} {_TIMES} {{width}}) {{x}} {{y}}",
    "Tray: {tray.length} long, {tray.width} wide.",
    "Main isolator: {isolator} A continuous or more",
    "Together they deliver {short-circuit} A into a short circuit:",
    "All together take {charge-limit} A of charge.",
    "All loads on at once draw {worst} A",
    "All {volts} V loads and the inverter at full power draw {full} A at low voltage.",
    "Sums at {volts} V nominal.",
    "breaks {breaks:thousand} kA",
    f"{{count}} {{stock}} {{length}} {_TIMES} {{width}}",
    "{count} {stock} {length}",
)

ASIDE = {
    r"with(out)? the package deal .*?, which saves AUD [\d,]+\.\d\d": "what a price has",
    r"on: number \d+": "the place in the list of the unit that carries it, which JSON names",
    r"\(08\) 5550 \d{4}": "telephone numbers, which the quote has in JSON and other papers do not",
    r"14 Lathe Lane": "the shop's address, which other papers do not have in JSON",
    r"Prices of [\w ]+, AUD": "the day of a comparison, which is the caller's",
    r"\d+ more suit this package": "how many extras are left out",
    r"; and \d+ more": "how many parts a summary does not name, which the tests of a quote count",
    r"[Ss]cale 1 : \d+(; the bar is 500 mm, on paper \d+ mm)?": "the scale of a drawing",
    r"230 V": "mains potential, which needs a licensed electrician",
    r"within 200 mm of the battery": "where a fuse belongs",
    r"[Ii]n the bundle: loaded cables that run together, 2 for": "a circuit alone, out and back",
    r"the loads of normal driving: 0.8 of": "the load factor of restraint",
    r"Panels lie 4 apart for the cut, 6 in from the edges of a sheet; a cut through a bar takes 3, "
    r"each of its ends 10": "settings of the saw, which the catalogue has",
    r"with 1 of 2 wishes": "how many wishes of those that were asked about",
}
"""What is stated without a counterpart in the answer, and why."""


def prepared(answer: Any) -> Any:
    """An answer with what tables make of it beside it: by hand, so that a slip is seen."""
    for thing in [*objects(answer)]:
        for value in thing.values():
            for n, one in enumerate(value if isinstance(value, list) else (), 1):
                if isinstance(one, dict):
                    one["n"] = n
        for make in _MADE:
            make(thing)
    return answer


def _lines(thing: dict[str, Any]) -> None:
    file, _, rest = str(thing.get("at", "")).partition(":")
    if rest:
        line = rest.partition(":")[0]
        thing.update(line=line, place=f"{file}:{line}")


def _differences(thing: dict[str, Any]) -> None:
    """What a package has more than the first, where a comparison has both."""
    keys = ("package-deals", "adjustments", "roundings")
    for key in ("amounts", *(keys if thing.get("answer") == "comparison" else ())):
        if thing.get(key) and "differences" not in thing:
            amounts = [Decimal(one or 0) for one in thing[key]]
            made = {"amounts": thing[key], "differences": [str(a - amounts[0]) for a in amounts]}
            if key == "amounts":
                thing.update(made)
            else:
                title = {"package-deals": "Package deals", "roundings": "Rounding"}.get(key, key)
                thing.setdefault("sums", []).append({"title": title, **made})
    if thing.get("answer") == "comparison":
        columns = thing["columns"]
        totals = {key: [one[key] for one in columns] for key in ("total", "difference")}
        thing["sums"].append(
            {
                "title": "Total including GST",
                "amounts": totals["total"],
                "differences": totals["difference"],
            }
        )


def _loads(thing: dict[str, Any]) -> None:
    """Loads by rating, and what the heaviest of them leaves."""
    if "states" not in thing or "payload-used" not in thing:
        return
    rows = thing["loads"] = []
    for rating, title in RATINGS.items():
        of_state = {
            state["state"]: bar
            for state in thing["states"]
            for bar in state["bars"]
            if bar["rating"] == rating
        }
        for row, states in ((title, of_state), (f"{title}, kg", _without_trailer(of_state))):
            if states:
                heaviest = max(states.values(), key=lambda bar: Decimal(bar["load"]))
                loads = {f"load {state}": bar["load"] for state, bar in states.items()}
                rows.append({**heaviest, "title": row, "n": 0, **loads})
    shares = [state["front-share"] for state in thing["states"]]
    rows.append({"title": "On the front axle", "shares": shares})
    if thing["trailer"] is not None:
        left, rated = (thing["trailer"][f"{key}-download"] for key in ("most", "rated"))
        title = "Tow-ball download, in this layout, kg"
        rows.append({"title": title, "rated": rated, "left": left})
        download = thing["trailer"]["download"]
        left = thing["left-towing"] = str(Decimal(thing["payload-left"]) - Decimal(download))
        title = f"Payload with {download} kg on the tow ball, kg"
        rows.append({"title": title, "rated": thing["payload"], "left": left})
    payload = {key: thing[f"payload{end}"] for key, end in (("load", "-used"), ("rated", ""))}
    rows.append({"title": "Payload", "left": thing["payload-left"], **payload})
    full = thing["states"][1]
    across = (full["left"], thing["added-middle"], full["right"])
    thing["across"] = " + ".join(map(str, across))


def _without_trailer(loads: dict[str, Any]) -> dict[str, Any]:
    return {state: bar for state, bar in loads.items() if state != "towing"}


RATINGS = {
    "gvm": "Vehicle",
    "front-axle": "Front axle",
    "rear-axle": "Rear axle",
    "tow-ball": "Tow ball",
    "gcm": "With trailer",
}


def _numbers(thing: dict[str, Any]) -> None:
    """The number of what a unit stands on: that of the unit in the list."""
    placed = thing.get("placements", ())
    for one in placed:
        unit, _, which = one["on"].partition("#")
        of_it = [n for n, other in enumerate(placed, 1) if other["unit"] == unit]
        if of_it:
            one["on-number"] = of_it[int(which or 1) - 1]


def _mounts(thing: dict[str, Any]) -> None:
    if thing.get("each") and thing.get("laden"):
        thing["all"] = str(Decimal(thing["each"]) * thing["count"])


def _place(spot: Iterable[str]) -> list[Decimal]:
    return [Decimal(one) for one in spot]


def _bars(thing: dict[str, Any]) -> None:
    """What a bar is cut into, and holes of a kind in a face."""
    if thing.get("answer") != "cuts":
        return
    lengths = {one["number"]: one["length"] for one in thing["extrusions"]}
    for bar in thing["bars"]:
        pieces = (
            (f"{n} {_TIMES} " if n > 1 else "") + f"{lengths[number]} (no. {number})"
            for number, n in Counter(bar["pieces"]).items()
        )
        bar["cut"] = " + ".join(pieces)
    for face in thing["faces"]:
        kinds: dict[str, list[dict[str, Any]]] = {}
        for hole in face["cut-outs"]:
            kinds.setdefault(hole["text"], []).append(hole)
        face["kinds"] = [
            {
                "text": said,
                "count": len(holes),
                "diameter": holes[0]["diameter"],
                "at": sorted(([hole["x"], hole["y"]] for hole in holes), key=_place),
            }
            for said, holes in kinds.items()
        ]


def _spots(thing: dict[str, Any]) -> None:
    """Where holes are: every distance once."""
    if thing.get("spots"):
        of = {axis: sorted({spot[axis] for spot in thing["spots"]}) for axis in "xyz"}
        told = {axis: " and ".join(map(str, of[axis])) for axis in "xyz"}
        thing["told"] = f"{told['x']} from front, {told['y']} from left, {told['z']} from floor"


def _alone(thing: dict[str, Any]) -> None:
    """The only entry of a group of a budget has the group's limit."""
    entries = thing.get("lines", ())
    if len(entries) == 1 and thing.get("limit"):
        entries[0].update(limit=thing["limit"], **{"over-percent": thing["over-percent"]})


def _days(thing: dict[str, Any]) -> None:
    """Days beyond which nobody counts."""
    for key in ("days-sun", "days-driving"):
        if thing.get(key) is not None and Decimal(thing[key]) > 30:
            thing[key] = "over 30"


def _battery(thing: dict[str, Any]) -> None:
    if isinstance(thing.get("usable"), str) and Decimal(thing["usable"]) <= 1:
        thing["usable-percent"] = str(round(Decimal(thing["usable"]) * 100))


_MADE = (_spots, _days, _alone, _battery, _lines, _differences, _loads, _numbers, _mounts, _bars)
