"""The command ``configurator``, which is also ``python -m configurator``."""

import atexit
import gc
import sys


def main() -> None:
    """Run the command line.

    A command lives too briefly for the collector of cycles, which costs a tenth of it and frees
    nothing: it is off before anything is loaded, and finds nothing to go through at the end.
    """
    gc.disable()
    atexit.register(gc.freeze)
    try:
        from configurator import cli

        cli.main()
    except KeyboardInterrupt:  # before the command line can take it, or after it has ended
        sys.exit(130)


if __name__ == "__main__":
    main()
