"""`python -m gui [JOB]`."""

import sys

from gui.app import main

if __name__ == "__main__":
    sys.exit(main())
