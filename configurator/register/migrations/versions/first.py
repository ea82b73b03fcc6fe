"""Quotes, their revisions and papers, and the trail, which nobody can change afterwards."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_ADDED_TO_ONLY = ("revisions", "trail")


def upgrade() -> None:
    """Make the tables of version 0001, and the triggers that refuse changes."""
    op.create_table(
        "series",
        sa.Column("prefix", sa.String(20), primary_key=True),
        sa.Column("last", sa.Integer, nullable=False),
    )
    chain = op.create_table(
        "chain",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("rows", sa.Integer, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
    )
    op.bulk_insert(chain, [{"id": 1, "rows": 0, "digest": ""}])
    op.create_table(
        "quotes",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("number", sa.String(40), unique=True),
        *_texts(
            status=12,
            revision=0,
            seller=120,
            customer=120,
            phone=40,
            email=120,
            title=80,
            vehicle=200,
            currency=3,
            total=20,
            issued=10,
            valid_until=10,
        ),
    )
    op.create_index("ix_quotes_issued", "quotes", ["issued"])
    op.create_index("ix_quotes_valid_until", "quotes", ["valid_until"])
    op.create_table(
        "revisions",
        sa.Column("quote", sa.Integer, sa.ForeignKey("quotes.id"), primary_key=True),
        sa.Column("revision", sa.Integer, primary_key=True),
        *_texts(
            at=20,
            seller=120,
            day=10,
            valid_until=10,
            catalogue=64,
            catalogue_digest=64,
            currency=3,
            total=20,
            selection_digest=64,
            answer_digest=64,
            pdf_digest=64,
        ),
    )
    op.create_table(
        "papers",
        sa.Column("quote", sa.Integer, primary_key=True),
        sa.Column("revision", sa.Integer, primary_key=True),
        sa.Column("selection", sa.Text, nullable=False),
        sa.Column("answer", sa.Text, nullable=False),
        sa.Column("pdf", sa.LargeBinary, nullable=False),
        sa.Column("deleted", sa.Boolean, nullable=False),
        sa.ForeignKeyConstraint(["quote", "revision"], ["revisions.quote", "revisions.revision"]),
    )
    op.create_table(
        "trail",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("quote", sa.Integer, sa.ForeignKey("quotes.id"), nullable=False),
        *_texts(at=20, seller=120, event=12, before=12, after=12, revision=0),
        sa.Column("reason", sa.Text, nullable=False),
        *_texts(content=64, previous=64, digest=64),
    )
    op.create_index("ix_trail_quote", "trail", ["quote"])
    sqlite = op.get_bind().dialect.name == "sqlite"
    if not sqlite:
        op.execute(
            "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            "RAISE EXCEPTION '% is only added to', TG_TABLE_NAME; END $$"
        )
    for table in _ADDED_TO_ONLY:
        for change in ("UPDATE", "DELETE"):
            name = f"{table}_no_{change.lower()}"
            body = (
                f"BEGIN SELECT RAISE(ABORT, '{table} is only added to'); END"
                if sqlite
                else "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            )
            op.execute(f"CREATE TRIGGER {name} BEFORE {change} ON {table} {body}")


def _texts(**lengths: int) -> list[sa.Column[object]]:
    """Columns that are never empty: texts of at most that length; a number where it is 0."""
    return [
        sa.Column(name, sa.String(length) if length else sa.Integer, nullable=False)
        for name, length in lengths.items()
    ]
