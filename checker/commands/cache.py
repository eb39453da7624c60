"""``cache``: where answers are kept, and how to drop them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "cache",
        help="say where answers are kept, or drop them",
        description="Say where the answers of check are kept, and how many there are. A board that "
        "has not changed is answered from there.",
        allow_abbrev=False,
    )
    parser.add_argument("--clear", action="store_true", help="drop all of them")


def run(args: argparse.Namespace) -> int:
    """Count them, or drop them."""
    from checker.cache import Store, usual_folder

    store = Store(usual_folder())
    number, size = store.clear() if args.clear else store.size()
    did = "dropped" if args.clear else "kept"
    answers = "1 answer" if number == 1 else f"{number} answers"
    print(f"{answers} {did}, {size / 1e6:.1f} MB, in {store.folder}")
    return CLEAN
