"""Price of a selection, exact from the catalogue's text to the total."""
