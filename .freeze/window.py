"""Starts the window in the folder to carry."""

import sys

from layoutkit.window import main

sys.exit(main())
