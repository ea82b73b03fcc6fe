"""``python -m configurator`` is the command ``configurator``."""

from configurator.cli import main

main()
