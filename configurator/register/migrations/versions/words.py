"""Quotes are found by their words: an index of what each says of its customer and its title."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from configurator.register.words import words_of

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the words of each quote, and the index over them."""
    op.add_column("quotes", sa.Column("words", sa.Text, nullable=False, server_default=""))
    bind = op.get_bind()
    named = ("number", "customer", "phone", "email", "title", "vehicle", "seller")
    table = sa.table("quotes", *(sa.column(name) for name in ("id", "words", *named)))
    for row in bind.execute(sa.select(table)).mappings().all():
        words = words_of(*(row[name] or "" for name in named))
        bind.execute(table.update().where(table.c.id == row["id"]).values(words=words))
    for sentence in _SQLITE if bind.dialect.name == "sqlite" else _POSTGRESQL:
        op.execute(sentence)


_SQLITE = (
    "CREATE VIRTUAL TABLE quote_words USING fts5(words, content='quotes', content_rowid='id', "
    "prefix='2 3')",
    "INSERT INTO quote_words(quote_words) VALUES('rebuild')",
    "CREATE TRIGGER quotes_added AFTER INSERT ON quotes BEGIN "
    "INSERT INTO quote_words(rowid, words) VALUES (new.id, new.words); END",
    "CREATE TRIGGER quotes_changed AFTER UPDATE OF words ON quotes BEGIN "
    "INSERT INTO quote_words(quote_words, rowid, words) VALUES ('delete', old.id, old.words); "
    "INSERT INTO quote_words(rowid, words) VALUES (new.id, new.words); END",
)

_POSTGRESQL = (
    "ALTER TABLE quotes ADD COLUMN found tsvector "
    "GENERATED ALWAYS AS (to_tsvector('simple', words)) STORED",
    "CREATE INDEX quote_words ON quotes USING gin (found) WITH (fastupdate = off)",
)
