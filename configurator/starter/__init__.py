"""A shop's first catalogue: the files that it begins with, and what fills them in."""
