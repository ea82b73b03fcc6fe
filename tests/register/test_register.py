"""Quotes issued, found, revised and ended, on both kinds of database."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
import sqlite3
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import attrs
import pytest
import sqlalchemy as sa

from configurator import (
    Build,
    ConfiguratorError,
    Customer,
    FileError,
    Money,
    NoCustomer,
    Quote,
    Register,
    RegisterError,
    Shop,
    open_shop,
)
from configurator.answers.register import MOVES
from configurator.register.opening import open_database
from configurator.register.tables import PAPERS
from configurator.register.upkeep import as_csv
from tests.support.changed_catalogue import dearer_guards
from tests.support.databases import new_database
from tests.support.registers import DAY, Clock, plain_paper


def for_customer(quote: Quote, name: str, phone: str = "", email: str = "") -> Quote:
    customer = Customer(name, phone=phone, email=email)
    return attrs.evolve(quote, selection=attrs.evolve(quote.selection, customer=customer))


def test_numbers_follow_one_another_in_each_series(register: Register, quote: Quote) -> None:
    first = [register.issue(quote, seller="Ann").number for _ in range(3)]
    other = [register.issue(quote, seller="Ann", series="T26-").number for _ in range(2)]
    assert first == ["Q-1", "Q-2", "Q-3"]
    assert other == ["T26-1", "T26-2"]
    assert register.issue(quote, seller="Ann").number == "Q-4"


def test_what_was_issued_is_kept_to_the_byte(
    register: Register, quote: Quote, open_again: Callable[[], Register]
) -> None:
    issued = register.issue(quote, seller="Ann")
    register.close()
    with open_again() as again:
        kept = again.open("Q-1")
        assert kept == issued
        assert kept.pdf == b"%PDF quote Q-1, revision None"
        assert str(kept.total) == "AUD 25,630.00"
        [revision] = again.show("Q-1").revisions
        assert (revision.catalogue_digest, revision.day) == (quote.catalogue_digest, "2026-08-03")


def test_a_number_that_was_drawn_is_no_other_quote_s(
    register: Register, build: Build, quote: Quote
) -> None:
    """The very quote that was issued may have its number again, as far as it is known."""
    own, more = build.quote("Q-1", DAY), build.drop("lights", "flood-rear")
    register.require_free("Q-1", own)
    register.issue(quote, seller="Ann")
    register.require_free("Q-1", own)
    register.require_free("Q-2", own)
    taken = (
        r"Q-1 is the number of another quote in the register \(Jorun Hallam Fencing, Trade, low "
        r"canopy with drawers, AUD 25,630\.00, issued on 2026-08-03\): give another number"
    )
    for other in (more.quote("Q-1", DAY), build.quote("Q-1", DAY + dt.timedelta(1)), None):
        with pytest.raises(RegisterError, match=taken):
            register.require_free("Q-1", other)
    register.withdraw("Q-1", seller="Ann", reason="a mistake")
    with pytest.raises(RegisterError, match=taken):
        register.require_free("Q-1", more.quote("Q-1", DAY))
    register.forget("Q-1", seller="Ann", reason="by letter")
    with pytest.raises(RegisterError, match=r"Q-1 is the number of another quote .*\(Mid-size "):
        register.require_free("Q-1", own)


def test_a_refused_quote_draws_no_number(register: Register, shop: Shop, quote: Quote) -> None:
    with pytest.raises(ConfiguratorError):
        register.issue(shop.build().quote("DRAFT", DAY), seller="Ann")
    assert register.issue(quote, seller="Ann").number == "Q-1"


def test_a_paper_that_cannot_be_made_draws_no_number(register: Register, quote: Quote) -> None:
    def fails(_: Quote) -> bytes:
        raise FileError("no paper")

    broken = attrs.evolve(register, paper=fails)
    with pytest.raises(FileError, match="no paper"):
        broken.issue(quote, seller="Ann")
    assert register.issue(quote, seller="Ann").number == "Q-1"
    assert register.check().wrong == ()


def test_a_revision_says_what_changed_and_by_how_much(
    register: Register, build: Build, quote: Quote
) -> None:
    register.issue(quote, seller="Ann")
    without = build.drop("lights", "flood-rear").quote("DRAFT", DAY)
    kept = register.revise("Q-1", without, seller="Bea", reason="without the rear light")
    assert (kept.number, kept.revision) == ("Q-1", 2)
    record = register.show("Q-1")
    [changed] = record.revisions[1].changed
    assert (changed.line, changed.was, changed.is_now) == (
        "lights=flood-rear",
        Money(Decimal(190), "AUD"),
        None,
    )
    assert [r.total for r in record.revisions] == [quote.price.total, without.price.total]
    selection = json.loads(kept.selection)
    assert selection["revision"] == 2
    assert [told.get("what", "") for told in selection["revisions"]] == [
        "",
        "without the rear light",
    ]
    assert register.open("Q-1", 1).pdf == b"%PDF quote Q-1, revision None"
    assert register.open("Q-1", 2).pdf == b"%PDF quote Q-1, revision 2"


def test_add_ons_taken_up_make_a_revision_that_is_accepted(
    register: Register, build: Build, quote: Quote
) -> None:
    register.issue(quote, seller="Ann")
    extra = build.suggestions()[0].line
    more = build.pick("add-on", extra.option).quote("DRAFT", DAY)
    register.accept("Q-1", seller="Ann", reason="signed at the counter", quote=more)
    record = register.show("Q-1")
    assert (record.entry.status, record.entry.revision) == ("accepted", 2)
    assert [line.line for line in record.revisions[1].changed] == [f"add-on={extra.option}"]
    assert [step.event for step in record.trail] == ["issued", "revised", "accepted"]
    assert record.entry.total == more.price.total


def test_a_revision_that_changes_nothing_is_refused(
    register: Register, build: Build, quote: Quote
) -> None:
    register.issue(quote, seller="Ann")
    without = build.drop("lights", "flood-rear").quote("DRAFT", DAY)
    assert not register.revise("Q-1", without, seller="Ann", reason="without the light").reopened
    with pytest.raises(RegisterError, match="Q-1: nothing has changed since revision 2"):
        register.revise("Q-1", without, seller="Ann", reason="without the light")
    register.accept("Q-1", seller="Ann", reason="signed")
    with pytest.raises(RegisterError, match="Q-1: nothing has changed since revision 2"):
        register.revise("Q-1", without, seller="Ann", reason="without the light")
    assert register.show("Q-1").entry.status == "accepted"
    noted = build.drop("lights", "flood-rear").change(notes=("As agreed.",))
    for n, changed in enumerate(
        (noted.quote("DRAFT", DAY), noted.quote("DRAFT", DAY + dt.timedelta(1)))
    ):
        kept = register.revise("Q-1", changed, seller="Ann", reason="again")
        assert (kept.revision, kept.reopened) == (3 + n, n == 0)
    register.decline("Q-1", seller="Ann", reason="too dear")
    changed = noted.quote("DRAFT", DAY + dt.timedelta(1))
    assert register.revise("Q-1", changed, seller="Ann", reason="is back").revision == 5
    assert register.check().wrong == ()


def test_the_history_on_a_paper_is_the_register_s(
    register: Register, build: Build, quote: Quote
) -> None:
    register.issue(quote, seller="Ann")
    fourth = build.quote("DRAFT", DAY + dt.timedelta(days=1))
    register.revise("Q-1", fourth, seller="Ann", reason="as agreed")
    kept = register.revise("Q-1", quote, seller="Ann", reason="as it was")
    history = json.loads(kept.selection)["revisions"]
    assert [(told["revision"], told["date"], told.get("what", "")) for told in history] == [
        (1, "2026-08-03", ""),
        (2, "2026-08-04", "as agreed"),
        (3, "2026-08-03", "as it was"),
    ]
    again = attrs.evolve(quote, selection=build.selection)
    revised = attrs.evolve(build.selection, revision=3)
    copied = register.issue(attrs.evolve(again, selection=revised), seller="Ann")
    assert copied.pdf == b"%PDF quote Q-2, revision None"
    assert "revision" not in json.loads(copied.selection)


@pytest.mark.parametrize("series", ["Q1", "7", "draft-", "x" * 21, "a\nb", "Ä-", " "])
def test_a_series_that_could_be_mistaken_is_refused(
    register: Register, quote: Quote, series: str
) -> None:
    with pytest.raises(ConfiguratorError, match="cannot be a series"):
        register.issue(quote, seller="Ann", series=series)


def test_add_ons_are_not_accepted_at_prices_that_nobody_has_seen(
    register: Register, quote: Quote, build: Build, tmp_path: Path
) -> None:
    register.issue(quote, seller="Ann")
    dearer = open_shop(dearer_guards(tmp_path), DAY).build(register.open("Q-1").selection)
    extra = build.suggestions()[0].line.option
    more = dearer.pick("add-on", extra).quote("DRAFT", DAY)
    with pytest.raises(RegisterError, match=r"was AUD 390\.00, and is AUD 490\.00: revise"):
        register.accept("Q-1", seller="Ann", reason="signed", quote=more)
    assert register.show("Q-1").entry.revision == 1


def test_a_lapsed_quote_is_not_accepted_with_add_ons_either(
    register: Register, quote: Quote, clock: Clock
) -> None:
    register.issue(quote, seller="Ann")
    clock.now = dt.datetime(2026, 9, 3, 1, 0, tzinfo=dt.UTC)
    with pytest.raises(RegisterError, match="quote Q-1 is lapsed and cannot be accepted"):
        register.accept("Q-1", seller="Ann", reason="signed", quote=quote)


def test_a_reopened_quote_says_what_it_was_and_is(
    register: Register, shop: Shop, quote: Quote, tmp_path: Path
) -> None:
    register.issue(quote, seller="Ann")
    kept = register.open("Q-1")
    build = shop.build(kept.selection)
    same = kept.priced(build.price())
    assert (same.was, same.is_now, same.changed) == (quote.price.total, quote.price.total, ())
    later = open_shop(dearer_guards(tmp_path), DAY)
    now = kept.priced(later.build(kept.selection).price())
    assert now.is_now.amount - now.was.amount == 100
    [line] = now.changed
    assert (line.line, str(line.was), str(line.is_now)) == (
        "mudguards=folded",
        "AUD 390.00",
        "AUD 490.00",
    )


def stays(_: Register) -> None:
    """A quote that was issued is as it was."""


STATES: dict[str, Callable[[Register], None]] = {
    "issued": stays,
    "accepted": lambda register: register.accept("Q-1", seller="Ann", reason="signed"),
    "declined": lambda register: register.decline("Q-1", seller="Ann", reason="too dear"),
    "withdrawn": lambda register: register.withdraw("Q-1", seller="Ann", reason="mistake"),
}


@pytest.mark.parametrize("after", ["accepted", "declined", "withdrawn"])
@pytest.mark.parametrize("before", list(STATES))
def test_a_quote_goes_only_where_it_may(
    register: Register, quote: Quote, before: str, after: str
) -> None:
    register.issue(quote, seller="Ann")
    STATES[before](register)
    if after in MOVES[before]:
        STATES[after](register)
        assert register.show("Q-1").entry.status == after
    else:
        so = "already" if before == after else f"and cannot be {after}"
        with pytest.raises(RegisterError, match=f"quote Q-1 is {before} {so}: "):
            STATES[after](register)
        assert register.show("Q-1").entry.status == before
    assert register.check().wrong == ()


def test_what_a_seller_asks_for_twice_is_issued_once(
    register: Register, build: Build, quote: Quote
) -> None:
    first = register.issue(quote, seller="Ann", request="desk-7")
    assert register.issue(quote, seller="Ann", request="desk-7") == first
    other = build.drop("lights", "flood-rear").quote("DRAFT", DAY)
    with pytest.raises(RegisterError, match="Q-1"):
        register.issue(other, seller="Ann", request="desk-7")
    assert register.issue(quote, seller="Bea", request="desk-7") == first
    assert register.show("Q-1").entry.seller == "Ann"
    assert register.issue(other, seller="Bea", request="desk-8").number == "Q-2"
    assert [entry.seller for entry in register.list().quotes][::-1] == ["Ann", "Bea"]


def test_a_request_whose_quote_has_changed_since_is_told(register: Register, quote: Quote) -> None:
    register.issue(quote, seller="Ann", request="desk-7")
    register.withdraw("Q-1", seller="Ann", reason="by mistake")
    with pytest.raises(RegisterError, match=r"Q-1 was already issued .* is withdrawn by now"):
        register.issue(quote, seller="Ann", request="desk-7")
    assert [entry.number for entry in register.list().quotes] == ["Q-1"]


def test_what_is_issued_names_a_customer(register: Register, build: Build, quote: Quote) -> None:
    nobodys = build.change(customer=None).quote("DRAFT", DAY)
    draft = register.keep(nobodys, seller="Ann").number
    for told in (nobodys, for_customer(quote, " ")):
        with pytest.raises(NoCustomer, match=r"names no customer: .* register keep SELECTION$"):
            register.issue(told, seller="Ann", draft=draft)
    register.issue(quote, seller="Ann", draft=draft)
    with pytest.raises(NoCustomer):
        register.revise("Q-1", nobodys, seller="Ann", reason="as agreed")
    assert [revision.revision for revision in register.show("Q-1").revisions] == [0, 1]
    assert register.check().wrong == ()


def test_the_name_of_a_request_is_not_printed_on_a_revision(
    register: Register, build: Build, quote: Quote
) -> None:
    register.issue(quote, seller="Ann", request="desk-7")
    less = build.drop("lights", "flood-rear").quote("DRAFT", DAY)
    kept = register.revise("Q-1", less, seller="Ann", reason="without the light")
    told = json.loads(kept.selection)["revisions"]
    assert [one.get("what", "") for one in told] == ["", "without the light"]
    assert register.show("Q-1").trail[0].reason == "request desk-7"


def test_a_quote_lapses_on_its_day(register: Register, quote: Quote, clock: Clock) -> None:
    register.issue(quote, seller="Ann")
    clock.now = dt.datetime(2026, 9, 2, 23, 0, tzinfo=dt.UTC)
    assert [e.number for e in register.list(lapses_within=7).quotes] == ["Q-1"]
    assert [e.number for e in register.list(lapses_within=10**12).quotes] == ["Q-1"]
    assert register.lapse() == 0
    assert register.show("Q-1").entry.status == "issued"
    clock.now = dt.datetime(2026, 9, 3, 1, 0, tzinfo=dt.UTC)
    assert register.list(lapses_within=7).quotes == ()
    assert [e.number for e in register.list(status="lapsed").quotes] == ["Q-1"]
    assert register.list(status="issued").quotes == ()
    with pytest.raises(RegisterError, match="quote Q-1 is lapsed and cannot be accepted"):
        register.accept("Q-1", seller="Ann", reason="signed")
    assert register.lapse() == 1
    assert register.lapse() == 0
    [_, step] = register.show("Q-1").trail
    assert (step.event, step.before, step.reason) == ("lapsed", "issued", "valid until 2026-09-02")
    assert register.check().wrong == ()


def test_a_draft_has_no_number_until_it_is_issued(register: Register, quote: Quote) -> None:
    kept = register.keep(quote, seller="Ann")
    assert (kept.number, kept.pdf) == ("draft-1", b"")
    assert [e.status for e in register.list().quotes] == ["draft"]
    issued = register.issue(quote, seller="Bea", draft="draft-1")
    assert issued.number == "Q-1"
    assert [(e.number, e.status) for e in register.list().quotes] == [("Q-1", "issued")]
    register.keep(quote, seller="Ann")
    with pytest.raises(RegisterError, match="quote draft-2 is a draft and cannot be accepted: it "):
        register.accept("draft-2", seller="Ann", reason="signed")
    with pytest.raises(RegisterError, match="there is no quote draft-1"):
        register.issue(quote, seller="Bea", draft="draft-1")
    assert register.check().wrong == ()


def test_a_new_quote_replaces_an_old_one(register: Register, quote: Quote) -> None:
    register.issue(quote, seller="Ann")
    register.issue(quote, seller="Ann", replaces="Q-1")
    record = register.show("Q-1")
    assert record.entry.status == "replaced"
    assert record.trail[-1].reason == "replaced by Q-2"
    with pytest.raises(RegisterError, match="nothing can follow"):
        register.issue(quote, seller="Ann", replaces="Q-1")
    assert len(register.list().quotes) == 2


def test_who_and_why_must_be_said(register: Register, quote: Quote) -> None:
    with pytest.raises(ConfiguratorError, match="the seller is empty"):
        register.issue(quote, seller=" ")
    register.issue(quote, seller="Ann")
    with pytest.raises(ConfiguratorError, match="the reason is empty"):
        register.decline("Q-1", seller="Ann", reason="")
    with pytest.raises(ConfiguratorError, match="one line of at most 300 letters"):
        register.decline("Q-1", seller="Ann", reason="x\ny")
    with pytest.raises(ConfiguratorError, match="cannot be a series"):
        register.issue(quote, seller="Ann", series=" ")


@pytest.mark.parametrize(
    "query",
    [
        "q-1",
        "brand",
        "BRÄNDGROVE ottilie",
        "0491 570",
        "0491570006",
        "ottilie@example",
        "trade drawers",
        "ann",
    ],
)
def test_quotes_are_found_by_the_beginnings_of_words(
    register: Register, quote: Quote, query: str
) -> None:
    ours = for_customer(quote, "Ottilie Brändgrove", "0491 570 006", "ottilie@example.com")
    register.issue(ours, seller="Ann")
    register.issue(attrs.evolve(for_customer(quote, "Jo"), title="Farm"), seller="Bea")
    assert [entry.number for entry in register.find(query).quotes] == ["Q-1"]


@pytest.mark.parametrize("query", ["nobody", "", "'; DROP TABLE quotes", '"', "*", "brand nobody"])
def test_queries_that_find_nothing_are_answered_so(
    register: Register, quote: Quote, query: str
) -> None:
    register.issue(for_customer(quote, "Ottilie Brandgrove"), seller="Ann")
    assert register.find(query).quotes == ()


def test_data_is_deleted_on_request_and_sums_are_kept(register: Register, quote: Quote) -> None:
    secret = for_customer(quote, "Ottilie Brandgrove", "0491 570 006", "ottilie@example.com")
    register.issue(secret, seller="Ann")
    register.accept("Q-1", seller="Ann", reason="signed")
    register.forget("Q-1", seller="Ann", reason="asked for by letter")
    record = register.show("Q-1")
    assert (record.entry.customer, record.entry.phone, record.entry.email) == ("", "", "")
    assert (record.entry.number, record.entry.total) == ("Q-1", quote.price.total)
    assert [step.event for step in record.trail] == ["issued", "accepted", "deleted"]
    assert register.find("brandgrove").quotes == ()
    with pytest.raises(RegisterError, match="deleted at the customer's request"):
        register.open("Q-1")
    with register.database.reading() as at:
        for table in sa.inspect(at).get_table_names():
            held = str(at.execute(sa.text(f"SELECT * FROM {table}")).all())
            assert "randgrove" not in held, table
    assert register.check().wrong == ()


def test_a_quote_goes_on_after_its_data_was_deleted(register: Register, quote: Quote) -> None:
    register.issue(for_customer(quote, "Ottilie Brandgrove"), seller="Ann")
    register.forget("Q-1", seller="Ann", reason="by letter")
    register.revise("Q-1", for_customer(quote, "Jo Hill"), seller="Ann", reason="is back")
    assert register.check().wrong == ()
    assert register.open("Q-1").revision == 2
    with pytest.raises(RegisterError, match="deleted at the customer's request"):
        register.open("Q-1", 1)
    register.forget("Q-1", seller="Ann", reason="by letter again")
    assert register.check().wrong == ()
    assert [revision.deleted for revision in register.show("Q-1").revisions] == [True, True]


def test_nothing_of_a_customer_is_left_in_the_file(tmp_path: Path, quote: Quote) -> None:
    path = tmp_path / "r"
    secret = for_customer(quote, "Zyxwvut Brandgrove", "0491 570 006", "qwertz@example.com")
    with Register(open_database(str(path)), plain_paper, Clock()) as register:
        for each in (quote, secret, quote):
            register.issue(each, seller="Ann")
        other = sqlite3.connect(path)  # so that the log of what was written stays there
        other.execute("SELECT count(*) FROM quotes").fetchall()
        register.forget("Q-2", seller="Ann", reason="by letter")
        held = b"".join(file.read_bytes() for file in tmp_path.iterdir()).lower()
        other.close()
        for part in (
            b"zyx",
            b"brandgrove",
            b"andgrove",
            b"qwertz",
            b"wertz",
            b"0491 570",
            b"570 006",
        ):
            assert part not in held, part
        assert [entry.number for entry in register.find("trade").quotes] == ["Q-3", "Q-1"]


def test_a_paper_that_was_altered_is_not_handed_out(register: Register, quote: Quote) -> None:
    register.issue(quote, seller="Ann")
    with register.database.writing() as to:
        to.execute(sa.update(PAPERS).values(pdf=b"%PDF other"))
    with pytest.raises(RegisterError, match="quote Q-1, revision 1: its pdf is not what was kept"):
        register.open("Q-1")


@pytest.mark.parametrize("change", ["total = 'abc'", "status = 'odd'"])
def test_a_list_that_was_altered_is_told_in_a_sentence(
    register: Register, quote: Quote, change: str
) -> None:
    register.issue(quote, seller="Ann")
    with register.database.writing() as to:
        to.execute(sa.text(f"UPDATE quotes SET {change}"))
    with pytest.raises(RegisterError, match="quote Q-1: it is not what was written"):
        register.list()
    if "status" in change:
        with pytest.raises(RegisterError, match="quote Q-1: it is not what was written"):
            register.decline("Q-1", seller="Ann", reason="too dear")


def test_a_quote_that_is_gone_is_missed(tmp_path: Path, quote: Quote) -> None:
    with Register(open_database(str(tmp_path / "r")), plain_paper, Clock()) as register:
        register.issue(quote, seller="Ann")
        with sqlite3.connect(tmp_path / "r") as other:
            other.execute("DELETE FROM quotes")
        other.close()
        assert register.check().wrong == ("quote 1 of the trail is missing from the list",)


CHANGES = {
    "a price": ("UPDATE revisions SET total = '1.00'", "quote Q-2, revision 1"),
    "a reason": ("UPDATE trail SET reason = 'x' WHERE id = 2", "trail, row 2 (quote Q-2, issued)"),
    "a step": ("DELETE FROM trail WHERE id = 2", "trail: row 2 is missing"),
    "the last step": ("DELETE FROM trail WHERE id = 3", "trail: it ends at row 2"),
    "a paper": ("UPDATE papers SET selection = '{}'", "its selection is not what was kept"),
    "a status": ("UPDATE quotes SET status = 'declined' WHERE id = 1", "quote Q-1: it is declined"),
    "a total": ("UPDATE quotes SET total = '2.00' WHERE id = 2", "total is '2.00' in the list"),
    "a customer": (
        "UPDATE quotes SET customer = 'X' WHERE id = 2",
        "quote Q-2: customer is 'X' in the list",
    ),
    "a seller": ("UPDATE quotes SET seller = 'X' WHERE id = 2", "quote Q-2: seller is 'X' in"),
    "a day": ("UPDATE quotes SET valid_until = '2030-01-01' WHERE id = 2", "Q-2: valid until is"),
    "a number": ("UPDATE quotes SET number = 'Q-9' WHERE id = 2", "quote Q-9: number is 'Q-9'"),
    "a series": ("UPDATE series SET last = 3", "quote Q-3: the number was drawn"),
    "no series": ("DELETE FROM series", "quote Q-1: its number was not drawn"),
    "the end of the trail": ("DELETE FROM chain", "trail: it ends at row 3, and 0 were written"),
    "a revision": ("DELETE FROM papers WHERE quote = 1", "quote Q-1, revision 1: its content"),
}


@pytest.mark.parametrize("change", list(CHANGES))
def test_what_was_altered_is_named(register: Register, quote: Quote, change: str) -> None:
    for _ in range(2):
        register.issue(quote, seller="Ann")
    register.decline("Q-2", seller="Ann", reason="too dear")
    assert register.check().wrong == ()
    sentence, named = CHANGES[change]
    with register.database.writing() as to:
        for table in ("revisions", "trail"):
            if register.database.path is None:
                to.execute(sa.text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
            else:
                for kind in ("update", "delete"):
                    to.execute(sa.text(f"DROP TRIGGER {table}_no_{kind}"))
        where = " WHERE quote = 2" if sentence.startswith("UPDATE revisions") else ""
        to.execute(sa.text(sentence + where))
    [found] = register.check().wrong
    assert named in found


@pytest.mark.parametrize("table", ["revisions", "trail"])
@pytest.mark.parametrize("change", ["UPDATE {} SET revision = 7", "DELETE FROM {}"])
def test_the_database_itself_refuses_changes(
    register: Register, quote: Quote, table: str, change: str
) -> None:
    register.issue(quote, seller="Ann")
    with pytest.raises(FileError, match="is only added to"), register.database.writing() as to:
        to.execute(sa.text(change.format(table)))
    assert register.check().wrong == ()


def test_won_and_lost_by_month_and_by_reason(
    register: Register, quote: Quote, clock: Clock
) -> None:
    for _ in range(4):
        register.issue(quote, seller="Ann")
    register.accept("Q-1", seller="Ann", reason="signed")
    clock.now = dt.datetime(2026, 9, 1, 9, 0, tzinfo=dt.UTC)
    register.decline("Q-2", seller="Ann", reason="too dear")
    clock.now = dt.datetime(2026, 10, 1, 9, 0, tzinfo=dt.UTC)
    found = register.results("AUD")
    assert register.lapse() == 2
    assert register.results("aud") == found
    total = quote.price.total
    nothing = Money.zero("AUD")
    months = [(m.of, m.issued, m.won, m.lost, m.won_total, m.lost_total) for m in found.months]
    assert months == [
        ("2026-08", 4, 1, 0, total, nothing),
        ("2026-09", 0, 0, 3, nothing, total + total + total),
    ]
    assert [(r.of, r.won, r.lost) for r in found.reasons] == [
        ("lapsed", 0, 2),
        ("signed", 1, 0),
        ("too dear", 0, 1),
    ]
    only = register.results("AUD", first=dt.date(2026, 9, 1), last=dt.date(2026, 9, 30))
    assert [m.of for m in only.months] == ["2026-09"]


def test_what_the_shop_withdraws_is_neither_won_nor_lost(register: Register, quote: Quote) -> None:
    for _ in range(4):
        register.issue(quote, seller="Ann")
    register.accept("Q-1", seller="Ann", reason="signed")
    register.decline("Q-2", seller="Ann", reason="too dear")
    register.accept("Q-3", seller="Ann", reason="signed")
    for number in ("Q-3", "Q-4"):
        register.withdraw(number, seller="Ann", reason="no longer made")
    found, total = register.results("AUD"), quote.price.total
    [month] = found.months
    assert (month.issued, month.won, month.lost, month.withdrawn) == (4, 1, 1, 2)
    assert (month.won_total, month.lost_total, month.withdrawn_total) == (
        total,
        total,
        total + total,
    )
    assert [(r.of, r.won, r.lost, r.withdrawn) for r in found.reasons] == [
        ("no longer made", 0, 0, 2),
        ("signed", 1, 0, 0),
        ("too dear", 0, 1, 0),
    ]


def test_a_quote_counts_once_and_by_the_shop_s_own_days(
    register: Register, quote: Quote, clock: Clock
) -> None:
    east = dt.timezone(dt.timedelta(hours=10))
    register.issue(quote, seller="Ann")
    clock.now = dt.datetime(2026, 8, 20, 9, 0, tzinfo=east)
    register.accept("Q-1", seller="Ann", reason="signed")
    later = attrs.evolve(quote, valid_until=quote.valid_until + dt.timedelta(30))
    register.revise("Q-1", later, seller="Ann", reason="as agreed")
    clock.now = dt.datetime(2026, 9, 1, 8, 0, tzinfo=east)  # still August in Greenwich
    register.accept("Q-1", seller="Ann", reason="signed again")
    assert [(m.of, m.won) for m in register.results("AUD").months] == [
        ("2026-08", 0),
        ("2026-09", 1),
    ]
    august = register.results("AUD", last=dt.date(2026, 8, 31))
    assert [(m.of, m.issued, m.won) for m in august.months] == [("2026-08", 1, 0)]
    assert august.reasons == ()


def test_no_cell_of_a_spreadsheet_is_a_formula(register: Register, quote: Quote) -> None:
    for name in ("=1+1", "+61", "-2", "@x", "Jo"):
        register.issue(for_customer(quote, name), seller="Ann")
    rows = list(csv.DictReader(io.StringIO(as_csv(register.list().quotes))))
    assert [row["customer"] for row in rows] == ["Jo", "'@x", "'-2", "'+61", "'=1+1"]
    assert {row["total"] for row in rows} == {"25630.00"}


def test_a_backup_is_whole_and_opens_as_a_register(
    register: Register, quote: Quote, tmp_path: Path
) -> None:
    register.issue(quote, seller="Ann")
    register.decline("Q-1", seller="Ann", reason="too dear")
    register.backup(tmp_path / "copy.sqlite")
    copied = sqlite3.connect(tmp_path / "copy.sqlite")
    assert copied.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    copied.close()
    copy = attrs.evolve(register, database=open_database(str(tmp_path / "copy.sqlite")))
    with copy:
        assert copy.check().wrong == ()
        assert copy.show("Q-1") == register.show("Q-1")
        assert copy.open("Q-1") == register.open("Q-1")
        assert copy.issue(quote, seller="Ann").number == "Q-2"
    with pytest.raises(FileError, match="never overwritten"):
        register.backup(tmp_path / "copy.sqlite")


def test_a_register_moves_to_a_server(tmp_path: Path, cluster: str, quote: Quote) -> None:
    address = new_database(cluster)
    with Register(open_database(str(tmp_path / "r")), plain_paper, Clock()) as register:
        register.issue(quote, seller="Ann")
        register.move(address)
        with attrs.evolve(register, database=open_database(address)) as moved:
            assert moved.check().wrong == ()
            assert moved.open("Q-1") == register.open("Q-1")
            assert moved.find("Trade drawers") == register.find("Trade drawers")
            assert moved.issue(quote, seller="Ann").number == "Q-2"
        with pytest.raises(FileError, match=r"it was moved to postgresql:.*: use that one$"):
            register.issue(quote, seller="Ann")
        assert register.open("Q-1").number == "Q-1"


def test_a_moved_register_issues_no_more_quotes(
    register: Register, address: str, quote: Quote, tmp_path: Path
) -> None:
    register.issue(quote, seller="Ann")
    with pytest.raises(RegisterError, match="that is where it is"):
        register.move(address)
    other = str(tmp_path / "other 100%'s $1")
    assert register.move(other) == other
    said = re.escape(f"it was moved to {other}: use that one")
    with pytest.raises(FileError, match=f"{said}$"):
        register.decline("Q-1", seller="Ann", reason="too dear")
    with pytest.raises(RegisterError, match="this register was moved before"):
        register.move(str(tmp_path / "third"))
    assert register.show("Q-1").entry.status == "issued"
    assert register.check().wrong == ()


def test_a_register_is_not_moved_over_another(
    register: Register, quote: Quote, tmp_path: Path
) -> None:
    register.issue(quote, seller="Ann")
    other = str(tmp_path / "other")
    with Register(open_database(other), plain_paper, Clock()) as theirs:
        theirs.issue(quote, seller="Bea")
    with pytest.raises(RegisterError, match="there are quotes already"):
        register.move(other)
    assert register.issue(quote, seller="Ann").number == "Q-2"
