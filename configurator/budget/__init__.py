"""What the whole build costs the customer, and what would bring it under a limit."""
