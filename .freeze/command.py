"""Starts the command line in the folder to carry."""

import sys

from layoutkit.__main__ import run

sys.exit(run())
