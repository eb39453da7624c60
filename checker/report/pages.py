"""Lists and pages about profiles and rules, as plain lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from checker.report import words

if TYPE_CHECKING:
    from checker.findings import Rule
    from checker.process import Process


def profile_list(processes: Iterable[Process]) -> Iterator[str]:
    """One line each: name, least, nominal and most width of the cut, title."""
    rows = [("profile", "least", "nominal", "most", "mm; what it is")]
    for process in processes:
        cut = process.cut
        widths = (cut.least, cut.nominal, cut.most) if cut else ()
        shown = [words.mm(width) for width in widths] or ["-", "-", "-"]
        rows.append((process.name, shown[0], shown[1], shown[2], process.title))
    widest = max(len(row[0]) for row in rows)
    for name, least, nominal, most, title in rows:
        yield f"{name:{widest}}  {least:>6}  {nominal:>7}  {most:>6}  {title}"


def profile_page(process: Process) -> Iterator[str]:
    """Every value of a resolved profile, one a line, with what the profile names as its source."""
    yield f"{words.plain(process.name)}: {words.plain(process.title, 200)}"
    yield words.first_up(words.cut_width(process))
    yield f"From {words.plain(process.source, 200)}"
    yield ""
    rows = list(_flat(process.resolved))
    widest = max((len(key) for key, _ in rows), default=0)
    for key, value in rows:
        source = process.limits_from.get(key)
        line = f"{key:{widest}}  {words.plain(str(value), 200)}"
        yield f"{line}  ({words.plain(source, 200)})" if source else line


def rule_list(rules: Iterable[Rule]) -> Iterator[str]:
    """One line each: name, severity, summary."""
    rows = list(rules)
    widest = max((len(rule.name) for rule in rows), default=0)
    for rule in rows:
        yield f"{rule.name:{widest}}  {rule.severity.value:7}  {rule.summary}"


def rule_page(rule: Rule) -> Iterator[str]:
    """The rule's name, default severity and page."""
    yield f"{rule.name} ({rule.severity.value} unless the profile says otherwise)"
    yield ""
    yield rule.page


def _flat(values: Mapping[str, object], prefix: str = "") -> Iterator[tuple[str, object]]:
    """The leaves of nested mappings, their keys joined by dots."""
    for key, value in values.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{prefix}{key}.")
        elif isinstance(value, list | tuple):
            yield f"{prefix}{key}", ", ".join(map(str, value)) or "none"
        else:
            yield f"{prefix}{key}", value
