"""`python -m layoutkit` is the same as `layoutkit`."""

import sys

from layoutkit.cli import main

sys.exit(main())
