from __future__ import annotations

from math import inf

import pytest

from checker.depth import Span, Window
from checker.process import load_profile
from checker.report import words
from checker.report.json import window_document


def window(
    deepest: float, flatness: float = 0.05, beyond: bool = False, shallowest: float = 0.0776
) -> Window:
    return Window(Span(shallowest, deepest), Span(0.035, deepest), flatness, 0.25, beyond)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (window(0.1189), "0.078 to 0.118 mm goes through the foil and opens every gap"),
        (window(0.1189, beyond=True), "0.078 to at least 0.118 mm goes"),
        (window(inf), "0.078 mm and deeper goes"),
        (
            window(0.0625, 0.0129),
            "the foil asks for 0.078 mm, the tightest gap for 0.062 mm or less; that takes a "
            "surface flat to ±0.012 mm, that is a probed grid of 14.0 mm or closer",
        ),
        (window(0.0011, -0.02), "the tightest passes a cut of 0.250 mm"),
        (window(-inf, -inf), "the tightest passes a cut of 0.250 mm"),
    ],
    ids=["both ends", "as far as measured", "any depth", "flatter bed", "no bed", "bit too wide"],
)
def test_depths_are_said_on_the_careful_side(found: Window, said: str) -> None:
    assert said in words.depths(found, load_profile("cone-30-0.1"))


def test_document_has_null_where_no_depth_is_too_deep() -> None:
    document = window_document(window(inf))

    assert document is not None
    assert document["deepest_mm"] is None
    assert document["empty"] is False
    assert document["best_mm"] == 0.08


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(None, "-"), (0.4, "24 s"), (12.4, "12 min"), (59.6, "1 h 00"), (65, "1 h 05")],
)
def test_durations_read_as_people_say_them(minutes: float | None, said: str) -> None:
    assert words.duration(minutes) == said
