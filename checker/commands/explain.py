"""``explain``: the rules, or one with the limits in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.console import CLEAN
from checker.errors import UsageError, nearest

if TYPE_CHECKING:
    import argparse


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
