from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from msgspec import Struct, field

from checker import watch as watching
from checker.changes import Change
from checker.errors import ReadError, UsageError
from checker.findings import Report
from checker.report import text
from checker.report.changes_text import changes_text
from checker.watch import WAITING, changes, profile_files, signature, watch, watched
from tests.report import made
from tests.report.judging import SAMPLES, judge

Plan = dict[float, Callable[[], object]]


class TimeIsUpError(Exception):
    """The time of a test is up."""


class Clock(Struct):
    """A clock that runs on by being slept by, and on which things happen."""

    plan: Plan = field(default_factory=dict)
    end: float = 30.0
    ends_with: type[BaseException] = TimeIsUpError
    now: float = 0.0
    slept: list[float] = field(default_factory=list)

    def __call__(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        self.now += seconds
        for due in sorted(time for time in self.plan if time <= self.now):
            self.plan.pop(due)()
        if self.now > self.end:
            raise self.ends_with


def seen(clock: Clock, *paths: Path, without: Sequence[Path] = ()) -> list[float]:
    """When a watcher that looks every half second says that there is something to do."""
    times = []
    try:
        for _ in changes(
            lambda: paths,
            without=without,
            poll=0.5,
            still=1.0,
            longest=10.0,
            clock=clock,
            sleep=clock.sleep,
        ):
            times.append(clock.now)
    except TimeIsUpError:
        return times
    raise AssertionError("a watcher never ends by itself")


@pytest.fixture
def board(tmp_path: Path) -> Path:
    folder = tmp_path / "board"
    shutil.copytree(SAMPLES / "rules" / "uncuttable-gap" / "good", folder)
    return folder


def writes(path: Path, letters: int) -> Callable[[], object]:
    return lambda: path.write_text("x" * letters)


def test_first_check_waits_for_nothing_and_without_a_change_it_is_the_only_one(board: Path) -> None:
    assert seen(Clock(), board) == [0.0]


def test_file_that_is_written_counts_once_it_has_been_left_alone(board: Path) -> None:
    clock = Clock({5.0: writes(board / "copper-bottom.gbr", 1)})

    assert seen(clock, board) == [0.0, 6.0]


def test_files_written_one_after_the_other_are_one_change(board: Path) -> None:
    clock = Clock({5.0 + 0.7 * i: writes(board / f"{i}.gbr", i + 1) for i in range(4)})

    assert seen(clock, board) == [0.0, 8.5]


def test_file_of_the_same_size_in_the_place_of_another_is_a_change(board: Path) -> None:
    copper = board / "copper-bottom.gbr"
    beside = Path(shutil.copy2(copper, board / "copper-bottom.gbr.part"))

    clock = Clock({5.0: lambda: beside.replace(copper)})

    assert len(seen(clock, board)) == 2


def test_change_that_is_taken_back_at_once_is_none(board: Path) -> None:
    away = board.with_name("away")
    clock = Clock({5.0: lambda: board.rename(away), 5.5: lambda: away.rename(board)})

    assert seen(clock, board) == [0.0]


def test_folder_that_goes_and_comes_back_changes_twice(board: Path) -> None:
    away = board.with_name("away")
    clock = Clock({5.0: lambda: board.rename(away), 15.0: lambda: away.rename(board)})

    assert seen(clock, board) == [0.0, 6.0, 16.0]


def test_file_that_is_not_there_yet_is_waited_for(tmp_path: Path) -> None:
    clock = Clock({5.0: writes(tmp_path / "mine.yaml", 3)})

    assert seen(clock, tmp_path / "mine.yaml") == [0.0, 6.0]


def test_file_that_never_rests_is_checked_all_the_same(board: Path) -> None:
    clock = Clock({5.0 + 0.5 * i: writes(board / "log.txt", i + 1) for i in range(24)})

    assert seen(clock, board) == [0.0, 15.0, 17.5]


def test_what_changes_during_a_check_counts(board: Path) -> None:
    clock = Clock()
    watcher = changes(lambda: [board], clock=clock, sleep=clock.sleep)
    next(watcher)
    writes(board / "new.gbr", 1)()

    next(watcher)

    assert clock.now < 3.0


@pytest.mark.parametrize("name", ["report.html", ".report.html.1.part", "copper.gbr~", "top.bak"])
def test_own_answers_and_copies_of_editors_are_no_change(board: Path, name: str) -> None:
    clock = Clock({5.0: writes(board / name, 3)})

    assert seen(clock, board, without=[board / "report.html"]) == [0.0]


def test_links_that_lead_in_a_circle_are_not_followed(board: Path) -> None:
    (board / "loop").symlink_to(board)
    (board / "self.gbr").symlink_to(board / "self.gbr")
    clock = Clock({5.0: writes(board / "new.gbr", 1)})

    assert seen(clock, board, board / "self.gbr") == [0.0, 6.0]


def test_slow_disk_is_given_rest(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    clock = Clock()

    def slow(*given: object) -> watching.Signature:
        clock.now += 1.0
        return ()

    monkeypatch.setattr(watching, "signature", slow)

    seen(clock, board)

    assert min(clock.slept) == 9.0


def test_no_more_files_are_looked_at_than_a_reader_looks_at(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(watching, "MAX_ENTRIES", 3)

    assert len(signature([board])) == 4


def test_profiles_bases_and_configurations_that_may_come_are_watched(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(board.parent)
    (board / "mine.yaml").write_text("based_on: shop/base.yaml\n")
    (board / "shop").mkdir()
    (board / "shop" / "base.yaml").write_text("based_on: flat-0.4\n")

    paths = watched(["board"], ["board/mine.yaml", "cone-30-0.1"])

    assert paths[0] == Path("board")
    assert {
        *(board / ".cutworthy.yaml", board.parent / ".cutworthy.yaml"),
        *(Path("board/mine.yaml"), Path("board/shop/base.yaml")),
    } <= set(paths)


def test_every_board_of_a_tree_may_have_a_configuration(tmp_path: Path) -> None:
    for name in ("a", "b"):
        shutil.copytree(SAMPLES / "rules" / "uncuttable-gap" / "good", tmp_path / "tree" / name)

    paths = watched([str(tmp_path / "tree")], [])

    assert {tmp_path / "tree" / name / ".cutworthy.yaml" for name in "ab"} <= set(paths)


def test_boards_and_profiles_that_a_configuration_names_are_watched(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(board.parent)
    (board.parent / ".cutworthy.yaml").write_text("boards: ['board']\nprofiles: [./mine.yaml]\n")
    (board.parent / "mine.yaml").write_text("based_on: flat-0.4\n")

    paths = watched([], [])

    assert {Path("board"), board.parent / ".cutworthy.yaml"} <= set(paths)
    assert board.parent / "mine.yaml" in [path.resolve() for path in paths]


def test_configuration_at_fault_is_watched_till_it_is_mended(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(board.parent)
    (board.parent / ".cutworthy.yaml").write_text("boards: [")

    assert board.parent / ".cutworthy.yaml" in watched([], [])
    assert board.parent / ".cutworthy.yaml" in watched(["board"], [])


@pytest.mark.parametrize(
    "base", ["mine.yaml", "missing.yaml", "[a, list]"], ids=["itself", "missing", "no name"]
)
def test_profile_whose_base_is_at_fault_is_watched_all_the_same(tmp_path: Path, base: str) -> None:
    profile = tmp_path / "mine.yaml"
    profile.write_text(f"based_on: {base}\n")

    assert profile in profile_files(profile)


def test_base_that_is_not_there_yet_is_watched_too(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text("based_on: base.yaml\n")

    assert tmp_path / "base.yaml" in profile_files(tmp_path / "mine.yaml")


Told = Callable[[Sequence[Report]], None]


class Checks:
    """Checks whose reports, exit statuses and faults are known beforehand."""

    def __init__(self, *results: tuple[int, list[Report]] | BaseException) -> None:
        self.results = results
        self.said: list[object] = []

    def watch(self) -> int:
        left: Iterator[tuple[int, list[Report]] | BaseException] = iter(self.results)

        def run(told: Told) -> int:
            result = next(left)
            if isinstance(result, BaseException):
                raise result
            told(result[1])
            self.said.append("report")
            return result[0]

        def show(found: Sequence[Change]) -> None:
            self.said.append([len(change.new) for change in found])

        return watch(run, (None for _ in self.results), show)


CLEAN = made.report(made.board())
FOUND = made.report(made.board(), (made.finding(1),))
OTHER = made.report(made.board("other"), (made.finding(1), made.finding(2)))


def test_what_has_changed_is_shown_before_the_report_and_not_by_the_first_check() -> None:
    checks = Checks((0, [CLEAN]), (1, [FOUND]))

    checks.watch()

    assert checks.said == ["report", [1], "report"]


def test_fault_is_a_line_and_the_next_check_is_compared_with_the_last_that_went_through(
    capsys: pytest.CaptureFixture[str],
) -> None:
    fault = ReadError("top.gbr", "ends in the middle")
    checks = Checks((0, [CLEAN]), fault, (1, [FOUND]))

    status = checks.watch()

    assert checks.said == ["report", [1], "report"]
    assert status == 1
    assert capsys.readouterr().err.splitlines() == [
        f"cutworthy: {WAITING}",
        "cutworthy: top.gbr: ends in the middle",
        f"cutworthy: {WAITING}",
        f"cutworthy: {WAITING}",
    ]


def test_board_that_is_missing_from_one_check_is_compared_with_what_it_was_before() -> None:
    checks = Checks((0, [CLEAN, OTHER]), (2, [OTHER]), (1, [FOUND, OTHER]))

    checks.watch()

    assert checks.said == ["report", [0], "report", [1, 0], "report"]


@pytest.mark.parametrize("status", [0, 1, 2])
def test_interrupt_ends_with_the_status_of_the_last_check(
    status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert Checks((status, [CLEAN]), KeyboardInterrupt()).watch() == status
    assert capsys.readouterr().err == f"cutworthy: {WAITING}\n"


def test_interrupt_before_the_end_of_the_first_check_is_no_pass() -> None:
    assert Checks(KeyboardInterrupt()).watch() == 2


def test_fault_is_the_status_until_a_check_goes_through() -> None:
    assert Checks((0, [CLEAN]), ReadError("a", "b"), KeyboardInterrupt()).watch() == 2


def test_command_line_that_asks_for_what_is_not_there_is_not_waited_for() -> None:
    with pytest.raises(UsageError):
        Checks(UsageError("--layer", "2 boards are named"), (0, [CLEAN])).watch()


def test_command_line_that_fits_no_more_is_a_fault_like_others() -> None:
    fault = UsageError("--layer", "2 boards are named")

    assert Checks((0, [CLEAN]), fault, (1, [FOUND])).watch() == 1


WORSE_AND_BACK = """\
makeable
Since the last run: 2 new findings; makeable -> not makeable
   New
      bottom  x    9.655  y    7.500  Gap 0.150 mm, the bit cuts 0.168 mm: J1.1 (IN) and the trace
                                      LINE stay joined, 3 nets in one piece
      bottom  x   10.345  y    7.500  Gap 0.149 mm, where a cut of 0.153 mm passes, the bit cuts
                                      0.168 mm: J1.2 (OUT) and the trace LINE stay joined, 3 nets in
                                      one piece
not-makeable
Since the last run: 2 findings gone; not makeable -> makeable
makeable
"""


def test_layout_that_is_drawn_worse_is_told_before_its_report(
    board: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = SAMPLES / "rules" / "uncuttable-gap" / "bad"
    clock = Clock(
        {
            5.0: lambda: (board / "copper-bottom.gbr").write_text("G04 half a fi"),
            10.0: lambda: shutil.copy(bad / "copper-bottom.gbr", board),
            20.0: lambda: shutil.copy(bad.with_name("good") / "copper-bottom.gbr", board),
        },
        ends_with=KeyboardInterrupt,
    )

    def run(told: Told) -> int:
        report = judge(board).report
        told([report])
        print(report.verdict.value)
        return 0

    status = watch(
        run,
        changes(lambda: [board], clock=clock, sleep=clock.sleep),
        lambda found: print(text.render(changes_text(found), None), end=""),
    )

    assert status == 0
    assert capsys.readouterr().out == WORSE_AND_BACK
