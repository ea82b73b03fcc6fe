"""What the customer wants so far, resolved against the catalogue, and what the picks add up to."""
