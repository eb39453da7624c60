"""A report as one file for a browser: readable as it is, a drawing to walk in where scripts run.

Nothing is fetched: style, script and data are in the file, and its security policy lets nothing
else run or load.
"""

from __future__ import annotations

from checker.report.html.page import html_page

__all__ = ["html_page"]
