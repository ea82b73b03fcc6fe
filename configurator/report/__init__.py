"""What is on each paper and in each answer, as values."""
