"""``python -m checker`` is the command ``cutworthy``."""

import sys

from checker.cli import main

sys.exit(main())
