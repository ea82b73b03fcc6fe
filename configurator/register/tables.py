"""The tables of a register, as the newest schema has them; both kinds of database have the same.

``revisions`` and ``trail`` are only ever added to, and triggers refuse anything else. What may have
to be deleted on a customer's request stands apart, in ``papers`` and in ``quotes``.
"""

from __future__ import annotations

import sqlalchemy as sa

NEWEST = "0002"
"""The version of the schema that this program writes."""

TABLES = sa.MetaData()

SERIES = sa.Table(
    "series",
    TABLES,
    sa.Column("prefix", sa.String(20), primary_key=True),
    sa.Column("last", sa.Integer, nullable=False),
)
"""The last number drawn for each prefix."""

CHAIN = sa.Table(
    "chain",
    TABLES,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("rows", sa.Integer, nullable=False),
    sa.Column("digest", sa.String(64), nullable=False),
)
"""One row: how long the trail is, and the digest of its last row. Who writes locks it first."""

QUOTES = sa.Table(
    "quotes",
    TABLES,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("number", sa.String(40), unique=True),
    sa.Column("status", sa.String(12), nullable=False),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("seller", sa.String(120), nullable=False),
    sa.Column("customer", sa.String(120), nullable=False),
    sa.Column("phone", sa.String(40), nullable=False),
    sa.Column("email", sa.String(120), nullable=False),
    sa.Column("title", sa.String(80), nullable=False),
    sa.Column("vehicle", sa.String(200), nullable=False),
    sa.Column("currency", sa.String(3), nullable=False),
    sa.Column("total", sa.String(20), nullable=False),
    sa.Column("issued", sa.String(10), nullable=False, index=True),
    sa.Column("valid_until", sa.String(10), nullable=False, index=True),
    sa.Column("words", sa.Text, nullable=False),
)
"""Each quote as it stands now. ``number`` is empty (null) while it is a draft."""

REVISIONS = sa.Table(
    "revisions",
    TABLES,
    sa.Column("quote", sa.Integer, sa.ForeignKey("quotes.id"), primary_key=True),
    sa.Column("revision", sa.Integer, primary_key=True),
    sa.Column("at", sa.String(20), nullable=False),
    sa.Column("seller", sa.String(120), nullable=False),
    sa.Column("day", sa.String(10), nullable=False),
    sa.Column("valid_until", sa.String(10), nullable=False),
    sa.Column("catalogue", sa.String(64), nullable=False),
    sa.Column("catalogue_digest", sa.String(64), nullable=False),
    sa.Column("currency", sa.String(3), nullable=False),
    sa.Column("total", sa.String(20), nullable=False),
    sa.Column("selection_digest", sa.String(64), nullable=False),
    sa.Column("answer_digest", sa.String(64), nullable=False),
    sa.Column("pdf_digest", sa.String(64), nullable=False),
)
"""What each revision was, and the SHA-256 digests of what is kept of it."""

PAPERS = sa.Table(
    "papers",
    TABLES,
    sa.Column("quote", sa.Integer, primary_key=True),
    sa.Column("revision", sa.Integer, primary_key=True),
    sa.Column("selection", sa.Text, nullable=False),
    sa.Column("answer", sa.Text, nullable=False),
    sa.Column("pdf", sa.LargeBinary, nullable=False),
    sa.Column("deleted", sa.Boolean, nullable=False),
    sa.ForeignKeyConstraint(["quote", "revision"], ["revisions.quote", "revisions.revision"]),
)
"""What each revision was made of and looks like; ``deleted`` once it was deleted on request."""

TRAIL = sa.Table(
    "trail",
    TABLES,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("quote", sa.Integer, sa.ForeignKey("quotes.id"), nullable=False, index=True),
    sa.Column("at", sa.String(20), nullable=False),
    sa.Column("seller", sa.String(120), nullable=False),
    sa.Column("event", sa.String(12), nullable=False),
    sa.Column("before", sa.String(12), nullable=False),
    sa.Column("after", sa.String(12), nullable=False),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
    sa.Column("content", sa.String(64), nullable=False),
    sa.Column("previous", sa.String(64), nullable=False),
    sa.Column("digest", sa.String(64), nullable=False),
)
"""Everything that happened, in order.

``content`` is the digest of the row of ``revisions`` that came with it, or empty; ``digest`` is of
the row itself, with that of the row before in ``previous``.
"""
