"""What the customer wants so far: values, reading, single changes."""
