"""The command ``configurator``, which is also ``python -m configurator``."""

import atexit
import gc


def main() -> None:
    """Run the command line.

    A command lives too briefly for the collector of cycles, which costs a tenth of it and frees
    nothing: it is off before anything is loaded, and finds nothing to go through at the end.
    """
    gc.disable()
    atexit.register(gc.freeze)
    from configurator import cli

    cli.main()


if __name__ == "__main__":
    main()
