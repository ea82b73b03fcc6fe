"""What a shop sells: the catalogue as values, and how its files are read."""
