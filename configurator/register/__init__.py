"""The register: quotes that a shop has issued, numbered without gaps, kept, and found again."""
