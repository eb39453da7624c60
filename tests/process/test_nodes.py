"""Both loaders of PyYAML read a text alike, or the slower one has the word."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.errors import ProfileError
from checker.process import nodes, profile_names

BUILT_IN = Path(__file__).parents[2] / "rules/profiles"
TEXTS = [path.read_text("utf-8") for path in sorted(BUILT_IN.glob("*.yaml"))]
LINES = sorted({line for text in TEXTS for line in text.splitlines()})
PIECES = [
    *"\t\n\r :-?,[]{}#&*!|>'\"%@`~\\=a1±\x85\u2028\ufeff\x07\xa0", "---\n", "...\n", "\n\n", "- ",
    ": ", ">-\n", "|\n", " #", "''", '"a\n  b"', "'\n'", "? ", "&a ", "!!str ", "\r\n", "x" * 1030,
]  # fmt: skip

needs_both = pytest.mark.skipif(nodes._FAST is None, reason="this build of PyYAML has one loader")


def outcome(text: str, fast: Any) -> str:
    """What a text holds, or why it is refused."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(nodes, "_FAST", fast)
        try:
            return repr(nodes.parse_nodes.__wrapped__(text, "lamp.yaml"))
        except ProfileError as error:
            return str(error)


@st.composite
def marred(draw: st.DrawFn) -> str:
    """A few lines of a profile with a few pieces put in or letters taken out."""
    text = "\n".join(draw(st.lists(st.sampled_from(LINES), min_size=1, max_size=6)))
    for _ in range(draw(st.integers(0, 3))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 2)))
        text = text[:start] + draw(st.just("") | st.sampled_from(PIECES)) + text[end:]
    return text


@needs_both
@given(marred())
@settings(max_examples=100)
def test_a_text_is_the_same_whichever_loader_is_there(text: str) -> None:
    assert outcome(text, nodes._FAST) == outcome(text, None)


@needs_both
@pytest.mark.parametrize("text", TEXTS)
def test_built_in_profiles_are_read_fast_and_alike(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = outcome(text, None)
    monkeypatch.setattr(yaml, "SafeLoader", None)

    assert outcome(text, nodes._FAST) == slow
    assert len(TEXTS) > len(profile_names())


@needs_both
@pytest.mark.parametrize(
    "text",
    [
        "|#",  # these the faster one reads, the other refuses
        "feeds: {life: 0.2 m?}",
        "web: é\x85\t",
        "web: [0.2 mm",  # these none reads
        "web: 1\nweb: 2",
        "web: &a 1",
        "",
        "- a",
    ],
)
def test_faults_are_told_in_the_same_words(text: str) -> None:
    told = outcome(text, nodes._FAST)

    assert told == outcome(text, None)
    assert told.startswith("lamp.yaml")
