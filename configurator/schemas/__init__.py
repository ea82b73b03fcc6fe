"""The shipped JSON Schemas of files and answers, derived from their classes."""
