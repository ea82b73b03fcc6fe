"""How a register's schema came to be what it is; Alembic runs these, each in one transaction."""
