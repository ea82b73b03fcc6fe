"""Every answer as JSON, in the shapes of ``schemas/answers.schema.json``."""
