"""What `check` and `compare` say relief would do, against what `relieve --dry-run` does."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from msgspec import Struct

from checker.engine import reach_for
from checker.measure import measure
from checker.process import load_profile
from checker.read import read_package
from checker.read.package import open_package
from checker.relief import told
from checker.relief.files import contents_of
from checker.relief.make import Made, make
from checker.relief.model import Options
from checker.relief.plan import planned, too_narrow, width_of
from checker.relief.told import mention_of
from tests.examples import quick
from tests.read.made import BOARDS, needs_boards
from tests.relief.made import drawn_texts, layout_texts, package_of, relieved, texts_after

if TYPE_CHECKING:
    from pathlib import Path

OPENED, OPENED_IN_PART = 5, 6  # seeds of drawn boards whose gaps a cone of 20 degrees leaves closed


class Both(Struct, frozen=True):
    """How many closed gaps are said to open, of how many, and what became of them."""

    said: tuple[int, int] | None
    made: Made

    @property
    def done(self) -> tuple[int, int]:
        """How many opened, of how many."""
        return sum(place.shut for place in self.made.relief.opened), self.made.relief.closed


def both(folder: Path, profile: str = "cone-20-0.1") -> Both:
    """A board mentioned as a check does, from what it has measured, and relieved."""
    package, process = open_package([folder]), load_profile(profile)
    facts = measure(read_package(package, {}), reach_for(process))
    made = make(package, contents_of([folder], package), {}, process)
    return Both(mention_of(facts, process), made)


def written(folder: Path, texts: dict[str, str], encoding: str = "utf-8") -> Path:
    for name, text in texts.items():
        (folder / name).write_bytes(text.encode(encoding))
    return folder


def in_format(text: str, whole: int, decimals: int, unit: float = 1.0) -> str:
    """A file of `tests.relief.made` in another number format and unit, given in mm."""

    def place(match: re.Match[str]) -> str:
        x, y = (round(int(digits) / 1e6 / unit * 10**decimals) for digits in match.groups())
        return f"X{x}Y{y}D"

    def size(match: re.Match[str]) -> str:
        return f"{float(match[0]) / unit:.8f}"

    text = re.sub(r"X(-?\d+)Y(-?\d+)D", place, re.sub(r"\d+\.\d+", size, text))
    text = text.replace("X46Y46", f"X{whole}{decimals}Y{whole}{decimals}")
    return text if unit == 1.0 else text.replace("%MOMM*%", "%MOIN*%")


@pytest.mark.parametrize(
    ("seed", "profile"), [(OPENED, "cone-20-0.1"), (7, "cone-20-0.1"), (12, "flat-0.4")]
)
def test_what_is_said_is_what_is_done(seed: int, profile: str, tmp_path: Path) -> None:
    found = both(written(tmp_path, drawn_texts(seed)), profile)

    assert found.said == found.done
    assert found.done[0] > 0


def test_no_more_is_done_than_said_where_the_proof_gives_up_places(tmp_path: Path) -> None:
    found = both(written(tmp_path, drawn_texts(56)), "flat-0.4")

    assert found.said is not None
    assert found.said[1] == found.done[1]
    assert found.said[0] > found.done[0] > 0
    assert found.made.rounds


@pytest.mark.parametrize(
    ("whole", "decimals", "unit", "fine"),
    quick(
        [(4, 6, 1.0, True), (3, 3, 1.0, True), (4, 2, 1.0, False), (2, 4, 25.4, True),
         (2, 6, 25.4, True), (2, 3, 25.4, False)],
        [(3, 3, 1.0, True), (4, 2, 1.0, False), (2, 6, 25.4, True), (2, 3, 25.4, False)],
    ),
)  # fmt: skip
def test_a_gap_is_said_to_open_where_coordinates_are_fine_enough(
    whole: int, decimals: int, unit: float, fine: bool, tmp_path: Path
) -> None:
    text = in_format(drawn_texts(OPENED)["top.gbr"], whole, decimals, unit)

    found = both(written(tmp_path, drawn_texts(OPENED) | {"top.gbr": text}))

    assert found.said == found.done
    assert (found.done[0] > 0) is fine
    assert found.done[1] > 0


def test_a_side_with_a_coarse_file_is_left_out_and_the_other_is_not(tmp_path: Path) -> None:
    texts = layout_texts("ordinary", 3)
    fine = both(written(tmp_path, texts))

    coarse = both(written(tmp_path, texts | {"top.gbr": in_format(texts["top.gbr"], 4, 2)}))

    assert coarse.said == coarse.done
    assert fine.said == fine.done
    assert 0 < coarse.done[0] < fine.done[0]


def test_a_board_that_was_relieved_is_said_to_give_nothing_more(tmp_path: Path) -> None:
    texts = drawn_texts(OPENED_IN_PART)

    found = both(written(tmp_path, texts_after(texts, relieved(texts))))

    assert found.said == found.done == (0, 1)


def test_a_board_that_was_relieved_is_said_to_give_more_for_a_wider_cut(tmp_path: Path) -> None:
    texts = drawn_texts(OPENED_IN_PART)

    found = both(written(tmp_path, texts_after(texts, relieved(texts))), "flat-0.4")

    assert found.said == found.done
    assert found.done[0] > 0


def test_a_file_with_a_checksum_is_said_to_stay_as_it_is(tmp_path: Path) -> None:
    text = drawn_texts(OPENED)["top.gbr"].replace("M02*", "%TF.MD5,6ab9e892830469cd*%\nM02*")

    found = both(written(tmp_path, drawn_texts(OPENED) | {"top.gbr": text}))

    assert found.said == found.done == (0, 19)


def test_a_file_of_wide_letters_is_said_to_stay_as_it_is(tmp_path: Path) -> None:
    found = both(written(tmp_path, {"top.gbr": drawn_texts(OPENED)["top.gbr"]}, "utf-16"))

    assert found.said == found.done == (0, 19)


@pytest.mark.parametrize(("most", "said"), [(18, None), (19, (19, 19))])
def test_a_board_with_more_to_plan_for_is_not_spoken_of(
    most: int, said: tuple[int, int] | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(told, "MOST", most)
    process, board = load_profile("cone-20-0.1"), read_package(package_of(drawn_texts(OPENED)), {})

    found = mention_of(measure(board, reach_for(process)), process)

    assert found == said


def test_gaps_of_a_file_that_stays_as_it_is_are_nothing_to_plan_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(told, "MOST", 0)
    text = drawn_texts(OPENED)["top.gbr"].replace("M02*", "%TF.MD5,6ab9e892830469cd*%\nM02*")
    process = load_profile("cone-20-0.1")
    board = read_package(package_of(drawn_texts(OPENED) | {"top.gbr": text}), {})

    found = mention_of(measure(board, reach_for(process)), process)

    assert found == (0, 19)


@needs_boards
@pytest.mark.parametrize(
    ("name", "profile"),
    [
        ("usbtinyisp-ss", "flat-0.4"),
        pytest.param("ds3231-breakout", "flat-0.4", marks=pytest.mark.long),
        pytest.param("librepcb-test", "flat-0.4", marks=pytest.mark.long),
        pytest.param("precadsr-aux", "flat-0.4", marks=pytest.mark.long),
    ],
)
def test_what_is_said_of_an_open_board_is_done(name: str, profile: str) -> None:
    found = both(BOARDS / name, profile)

    assert found.said == found.done


@pytest.mark.parametrize("seed", [4, 5, 13])
def test_no_gap_is_given_up_for_what_solder_wants(seed: int) -> None:
    process, board = load_profile("cone-20-0.1"), read_package(package_of(drawn_texts(seed)), {})
    facts, width = measure(board, reach_for(process)), width_of(board, process)
    [(index, _, rows)] = too_narrow(facts, process, width)
    work = planned(facts, index, process, Options(), width, rows)
    opened = dict(work.of)

    work.clear_for_solder()

    assert work.of == opened
    assert any(stroke.further for stroke in work.strokes.values())
