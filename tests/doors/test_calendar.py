"""The days of a quote as a calendar file, read line by line after RFC 5545."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from pathlib import Path

import pytest

from configurator import Pick, PlannedDate, Selection, SelectionError, Shop, open_shop
from tests.support.building import choice, option, raw_catalogue, written
from tests.support.commands import TODAY, Run

FIRST = "With the order; or before"
STAGES = [
    {"title": FIRST, "percent": 40},
    {"title": "At last", "percent": 60},
]
AGREED = (
    PlannedDate("2026-08-10", payment=FIRST),
    PlannedDate("2026-09-14", "2026-09-18", title="Bau, Prüfung und Übergabe " * 3),
)


@pytest.fixture
def shop() -> Shop:
    tray = choice("tray", [option("flat", Decimal("1200.00"), mass=40)])
    quote = {"valid-days": 30, "payments": STAGES}
    return open_shop(written(raw_catalogue([tray], quote=quote)), TODAY)


def wanted(*dates: PlannedDate) -> Selection:
    picks = (Pick("vehicle", "ute"), Pick("tray", "flat"))
    return Selection("test", title="Flat, plain", picks=picks, dates=dates)


def events(content: bytes) -> list[dict[str, str]]:
    """The events of a calendar file, by property; whatever the standard asks of it is looked at.

    RFC 5545: lines end with CRLF and are folded at 75 octets (3.1), a calendar has PRODID and
    VERSION (3.6), an event UID and DTSTAMP (3.6.1), in which commas and semicolons of texts are
    escaped (3.3.11).
    """
    assert content.endswith(b"\r\n")
    lines = content.removesuffix(b"\r\n").split(b"\r\n")
    assert not any(b"\n" in line or len(line) > 75 for line in lines)
    unfolded = re.sub("\r\n[ \t]", "", content.decode()).removesuffix("\r\n").split("\r\n")
    assert unfolded[0] == "BEGIN:VCALENDAR"
    assert unfolded[-1] == "END:VCALENDAR"
    assert "VERSION:2.0" in unfolded
    assert any(line.startswith("PRODID:") for line in unfolded)
    found: list[dict[str, str]] = []
    for line in unfolded:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and name not in ("END", "BEGIN"):
            assert name not in found[-1]
            found[-1][name] = value
    for event in found:
        assert {"UID", "DTSTAMP", "SEQUENCE", "SUMMARY"} <= {*event}
        assert re.fullmatch(r"\d{8}T\d{6}Z", event["DTSTAMP"])
        assert not re.search(r"(?<!\\)[,;]", event["SUMMARY"])
    assert len({event["UID"] for event in found}) == len(found)
    return found


def days_of(event: dict[str, str]) -> tuple[str, str]:
    """First day and the day after the last: DTEND is not included (RFC 5545, 3.6.1)."""
    return event["DTSTART;VALUE=DATE"], event["DTEND;VALUE=DATE"]


def test_the_last_day_payments_and_the_build_are_events(shop: Shop, tmp_path: Path) -> None:
    quote = shop.build(wanted(*AGREED)).quote("Q-7", TODAY)
    shop.write(quote, tmp_path / "q.ics")
    content = (tmp_path / "q.ics").read_bytes()
    valid, payment, build = events(content)
    assert quote.valid_until == dt.date(2026, 9, 2)
    assert days_of(valid) == ("20260902", "20260903")
    assert valid["SUMMARY"] == "Quote Q-7: last day to accept"
    assert days_of(payment) == ("20260810", "20260811")
    said = "Quote Q-7: payment due\\, With the order\\; or before\\, AUD\N{NO-BREAK SPACE}480.00"
    assert payment["SUMMARY"] == said
    assert days_of(build) == ("20260914", "20260919")
    assert "Prüfung" in build["SUMMARY"]
    assert build["DESCRIPTION"] == r"Flat\, plain\, Ute\, Test Shop"
    shop.write(quote, tmp_path / "again.ics")
    assert (tmp_path / "again.ics").read_bytes() == content
    shop.write(quote, tmp_path / "de.ics", language="de")
    assert "Angebot Q-7: letzter Tag zur Annahme" in (tmp_path / "de.ics").read_text("utf-8")


@pytest.mark.parametrize(
    ("language", "said"),
    [("en-AU", "Payment: In full 20 August 2026"), ("de", "Zahlung: In full 20. August 2026")],
)
def test_the_quote_has_the_days_in_its_own_language(
    tmp_path: Path, language: str, said: str
) -> None:
    shop = open_shop(written(raw_catalogue()), dt.date(2026, 8, 3))
    dates = [{"day": "2026-09-01", "until": "2026-09-03", "title": "Build"}]
    dates.append({"day": "2026-08-20", "payment": "In full"})
    picks = {"vehicle": "ute"}
    build = shop.build({"format": 1, "catalogue": "test", "picks": picks, "dates": dates})
    shop.write(build.quote("Q-1", shop.day), tmp_path / "q.html", language=language)
    page = (tmp_path / "q.html").read_text("utf-8")
    words = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert said in words
    assert words.index(said) < words.index("Build 1")


def test_a_revision_replaces_the_events_before_it(shop: Shop, tmp_path: Path) -> None:
    """The same UID and a higher SEQUENCE (RFC 5545, 3.8.7.4)."""
    seen = []
    for revision, day in ((None, TODAY), (2, dt.date(2026, 8, 20))):
        build = shop.build(wanted(*AGREED)).change(revision=revision)
        shop.write(build.quote("Q-7", day), tmp_path / "q.ics")
        seen.append(events((tmp_path / "q.ics").read_bytes()))
    first, second = seen
    assert [event["UID"] for event in first] == [event["UID"] for event in second]
    assert {event["SEQUENCE"] for event in first} == {"0"}
    assert {event["SEQUENCE"] for event in second} == {"2"}
    assert days_of(second[0]) == ("20260919", "20260920")


def test_the_register_gives_the_days_of_what_was_issued(run: Run) -> None:
    assert run("quote", "contractor.yaml", "--issue", "--seller", "Ann").code == 0
    ran = run("register", "show", "Q-1", "-o", "q.ics")
    assert (ran.code, ran.out) == (0, "q.ics: quote Q-1, its days\n")
    assert run("register", "show", "Q-1", "-o", "q.doc").err.endswith("end in .pdf or .ics\n")
    (valid,) = events(Path("q.ics").read_bytes())
    assert days_of(valid) == ("20260902", "20260903")
    assert run("quote", "contractor.yaml", "--number", "Q-1", "-o", "same.ics").code == 0
    assert Path("same.ics").read_bytes() == Path("q.ics").read_bytes()


@pytest.mark.parametrize(
    ("date", "said"),
    [
        (PlannedDate("2026-08-10"), "a date is of one thing"),
        (PlannedDate("2026-08-10", title="Build", payment="At last"), "a date is of one thing"),
        (PlannedDate("2026-08-10", payment="At lst"), 'there is no payment "At lst"'),
        (PlannedDate("2026-08-10", "2026-08-09", title="Build"), "before it begins on 2026-08-10"),
        (PlannedDate("2026-08-11", payment=FIRST), "has a date already"),
        (PlannedDate("10 August", title="Build"), "10 August"),
    ],
)
def test_a_date_that_cannot_be_is_refused(shop: Shop, date: PlannedDate, said: str) -> None:
    with pytest.raises(SelectionError, match=said):
        shop.build(wanted(AGREED[0], date)).price()
