import pytest

from checker.plural import listed


@pytest.mark.parametrize(
    ("words", "row"),
    [
        (["top"], "top"),
        (["top", "bottom"], "top and bottom"),
        (["top", "inner 1", "bottom"], "top, inner 1 and bottom"),
    ],
)
def test_words_in_a_row(words: list[str], row: str) -> None:
    assert listed(words) == row
