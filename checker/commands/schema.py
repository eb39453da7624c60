"""``schema``: the JSON Schema of a file or a document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN

if TYPE_CHECKING:
    import argparse


def run(args: argparse.Namespace) -> int:
    """Print it."""
    import json

    from checker.schema import schema_of

    print(json.dumps(schema_of(args.of), indent=1))
    return CLEAN
