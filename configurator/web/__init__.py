"""The page at the counter: a package built by tapping, with nothing but HTML and forms."""
