"""``python -m checker`` is the command ``cutworthy``."""

from checker.cli import run

run()
