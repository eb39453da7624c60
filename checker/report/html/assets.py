"""What pages are made of: files of a package, the template engine, and what a page may load."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files
from typing import TYPE_CHECKING

from checker.report import words

if TYPE_CHECKING:
    from jinja2 import Environment


_HERE = "checker.report.html"


def asset(name: str, package: str = _HERE) -> str:
    """A template, style or script that lies in a package."""
    return (files(package) / name).read_text(encoding="utf-8")


def environment(template: str, package: str = _HERE) -> Environment:
    """The engine with one template: everything is escaped, nothing may be missing."""
    from jinja2 import DictLoader, Environment, StrictUndefined

    made = Environment(
        loader=DictLoader({template: asset(template, package)}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["plain"] = words.plain
    return made


def policy(style: str, script: str = "") -> str:
    """Only this style and this script, and nothing from anywhere."""
    scripts = f"script-src {_digest(script)}; " if script else ""
    return (
        f"default-src 'none'; {scripts}style-src {_digest(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
