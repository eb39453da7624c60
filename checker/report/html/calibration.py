"""A calibration as one page that needs no network and no script."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from checker.report import calibration_words as said
from checker.report import words
from checker.report.calibration_svg import calibration_svg
from checker.report.html.assets import asset, environment, policy

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.calibration import Calibration, Change

_TEMPLATE = "calibration.html.j2"


def calibration_page(
    calibration: Calibration, changes: Sequence[Change] = (), seconds: float = 0.0
) -> str:
    """The page.

    Args:
        calibration: as fitted.
        changes: of boards that were judged before and after.
        seconds: how long it took.
    """
    style, told = asset("page.css") + asset("calibration.css"), list(said.width(calibration))
    tip, *scatter = list(said.shape(calibration))
    facts = [("Scatter", tip)] if not scatter else [("Bit", tip), ("Scatter", scatter[0])]
    return (
        environment(_TEMPLATE)
        .get_template(_TEMPLATE)
        .render(
            head=said.head(calibration),
            width=told[0],
            told=told[1:],
            facts=facts,
            picture=Markup(calibration_svg(calibration)),
            warnings=[words.first_up(words.plain(text, 400)) for text in calibration.warnings],
            directions=list(said.directions(calibration)),
            combs=list(said.combs(calibration)),
            others=list(said.others(calibration)),
            settings=list(said.settings(calibration)),
            kept=said.kept(calibration),
            changes=list(said.changed(changes)),
            cautions=words.cautions(calibration.process.method),
            style=Markup(style),
            policy=policy(style),
            took=words.TOOK,
            seconds=f"{seconds:.2f}",
        )
    )
