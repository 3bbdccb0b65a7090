"""`python -m layoutkit` is the same as `layoutkit`."""

import sys

from layoutkit.commands.main import main

sys.exit(main())
