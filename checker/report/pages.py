"""Lists and pages about profiles and rules, as plain lines."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from checker.process.keys import KEYS, Kind
from checker.process.units import TIME
from checker.report import words

if TYPE_CHECKING:
    from checker.findings import Rule
    from checker.process.model import Process

_WIDTH = 100
_ROUNDED = 1e-6  # h; resolved values have six decimals


def profile_list(profiles: Iterable[Process]) -> Iterator[str]:
    """One line each: name, widths of the cut and title.

    The widths are least, nominal and most at the worst, and between which they lie if errors are
    added as root sum of squares.
    """
    what = "what it is (widths of the cut in mm; likely: errors don't all add up)"
    rows = [("profile", "least", "nominal", "most", "likely", what)]
    for profile in profiles:
        cut, likely = profile.cut, profile.cut_rss
        widths = map(words.mm, (cut.least, cut.nominal, cut.most)) if cut else "---"
        between = f"{words.mm(likely.least)}-{words.mm(likely.most)}" if likely else "-"
        rows.append((profile.name, *widths, between, profile.title))
    widest = max(len(row[0]) for row in rows)
    for name, least, nominal, most, between, title in rows:
        yield f"{name:{widest}}  {least:>6}  {nominal:>7}  {most:>6}  {between:>11}  {title}"


def profile_page(process: Process) -> Iterator[str]:
    """Every value of a resolved profile, and below it what the profile names as its source."""
    yield f"{words.plain(process.name)}: {words.plain(process.title, 200)}"
    told = (
        words.cut_width,
        words.measured_when,
        words.foot_width,
        words.no_margin,
        words.probing,
    )
    yield from (words.first_up(text) for tell in told if (text := tell(process)))
    yield f"From {words.plain(process.source, 200)}"
    yield ""
    yield from _with_sources(process, list(_flat(process.resolved)))


def _with_sources(process: Process, rows: Sequence[tuple[str, str]]) -> Iterator[str]:
    widest = max((len(words.plain(key)) for key, _ in rows), default=0)
    indent = " " * (widest + 2)
    for key, value in rows:
        yield f"{words.plain(key):{widest}}  {words.plain(value, 200)}"
        source = words.plain(process.limits_from.get(key, ""), 500)
        yield from textwrap.wrap(
            f"({source})" if source else "", _WIDTH, initial_indent=indent, subsequent_indent=indent
        )


def rule_list(rules: Iterable[Rule]) -> Iterator[str]:
    """One line each: name, severity, summary."""
    rows = list(rules)
    widest = max((len(rule.name) for rule in rows), default=0)
    for rule in rows:
        yield f"{rule.name:{widest}}  {rule.severity.value:7}  {rule.summary}"


def rule_page(rule: Rule, process: Process) -> Iterator[str]:
    """The rule's name, severity and page, then what a profile sets for it."""
    weight = f"{rule.severity.value} unless a profile says otherwise"
    yield f"{rule.name} ({weight}{'; it decides no verdict' if rule.remarks else ''})"
    yield ""
    yield rule.page.replace("``", "")
    named = set(re.findall(r"``([a-z_.]+)``", rule.page))
    limits = [
        (key, value)
        for key, value in _flat(process.resolved)
        if key in named or key.partition(".")[0] in named
    ]
    unset = sorted(key for key in named & set(KEYS) - {key for key, _ in limits})
    set_by = process.severity.get(rule.name)
    if not (limits or unset or set_by):
        return
    title = f"In force with {words.plain(process.name)}"
    yield from ("", title, "-" * len(title))
    if set_by:
        yield f"severity  {set_by.value}"
    yield from _with_sources(process, [*limits, *((key, "not set") for key in unset)])


def _flat(values: Mapping[str, object], prefix: str = "") -> Iterator[tuple[str, str]]:
    """The leaves of nested mappings with their units, the keys joined by dots."""
    for word, value in values.items():
        key = prefix + word
        match value:
            case {"least": least, "nominal": nominal, "most": most}:
                spread = "" if least == most else f" ({least} to {most})"
                yield key, f"{nominal} mm{spread}"
            case Mapping():
                yield from _flat(value, f"{key}.")
            case list() | tuple():
                yield key, f"{', '.join(map(str, value))} mm" if value else "none"
            case float() if KEYS[key].kind is Kind.TIME:
                yield key, _time(value)
            case float():
                yield key, f"{value} {KEYS[key].measure.bare}".rstrip()
            case _:
                yield key, str(value)


def _time(hours: float) -> str:
    """In the largest unit of which it is one or more."""
    units = sorted(TIME.items(), key=lambda unit: -unit[1])
    name, size = next((unit for unit in units if hours >= unit[1] - _ROUNDED), units[-1])
    return f"{hours / size:.3g} {name}"
