"""How values are written as data, and what JSON Schema says of that."""
