"""`python -m layoutkit` is the same as `layoutkit`."""

import sys


def run() -> int:
    """Run the command line as a program; ctrl-C ends it quietly, also while it is being imported."""
    try:
        from layoutkit.commands.main import main

        return main()
    except KeyboardInterrupt:
        return 130  # what a shell reports for a program stopped by ctrl-C


if __name__ == "__main__":
    sys.exit(run())
