"""``explain``: the rules, or one with the limits in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN
from checker.errors import UsageError, nearest

if TYPE_CHECKING:
    import argparse

    from checker.options import Commands


def options(commands: Commands) -> None:
    """What its line may say."""
    parser = commands.add_parser(
        "explain",
        help="list the rules, or explain one",
        description="List the rules, or explain one: what it measures, why it matters, what to "
        "do, and the limits in force.",
        allow_abbrev=False,
    )
    parser.add_argument("rule", metavar="RULE", nargs="?", help="the rule to explain")
    parser.add_argument(
        "-p",
        "--profile",
        metavar="NAME|FILE",
        help="show the limits that this process sets for the rule (default: those of the default "
        "process)",
    )


def run(args: argparse.Namespace) -> int:
    """List the rules, or explain one."""
    from checker.process import DEFAULT_PROFILE, load_profile
    from checker.registry import load_rules
    from checker.report import pages

    rules = load_rules()
    if args.profile is not None and args.rule is None:
        raise UsageError("explain --profile", "no rule is named", "explain RULE --profile NAME")
    if args.rule is None:
        lines = pages.rule_list(rules.values())
    elif args.rule in rules:
        lines = pages.rule_page(rules[args.rule], load_profile(args.profile or DEFAULT_PROFILE))
    else:
        raise UsageError(f"explain {args.rule}", "no such rule", advice=nearest(args.rule, rules))
    print("\n".join(lines))
    return CLEAN
