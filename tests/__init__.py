"""The tests: each name is a sentence that must be true."""
