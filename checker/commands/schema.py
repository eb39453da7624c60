"""``schema``: the JSON Schema of a file or a document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN
from checker.options import SCHEMAS

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "schema",
        help="print the JSON Schema of a profile or of a document",
        description="Print the JSON Schema (draft 7) of a profile, for editors, or of a document "
        "that another command prints as JSON.",
        allow_abbrev=False,
    )
    parser.add_argument("of", metavar="NAME", choices=SCHEMAS, help=", ".join(SCHEMAS))


def run(args: argparse.Namespace) -> int:
    """Print it."""
    import json

    from checker.schema import schema_of

    print(json.dumps(schema_of(args.of), indent=1))
    return CLEAN
