"""Whether one unit fits a space on its own, and the values of a layout of all."""
