from __future__ import annotations

import io
import re
from collections.abc import Sequence

import pytest
from msgspec.structs import replace

from checker.board import Note, Unchecked
from checker.findings import Report, State
from checker.methods import METHODS
from checker.report import text, words
from checker.report.facts_text import facts_text
from tests.report import made


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def plain(*reports: Report) -> str:
    return text.render(text.reports_text(reports, 0.42), None)


def many(count: int) -> Report:
    return made.report(made.board(), tuple(made.finding(i) for i in range(count)))


def test_verdict_comes_first_with_board_profile_and_cut_width() -> None:
    lines = plain(many(1)).splitlines()

    assert lines[0] == "Not makeable: tiny with cone"
    assert lines[1].startswith("Cut 0.300 mm wide; 0.250 to 0.350 at the worst")


def test_cause_is_told_with_count_state_worst_limit_and_remedy() -> None:
    row = next(line for line in plain(many(5)).splitlines() if line.startswith("1 "))

    assert re.split(r" {2,}", row)[1:] == [
        "Gap 0.25 mm between pads of",
        "5",
        "not makeable",
        "0.250",
        "0.300",
        "Widen the gap to 0.300 mm",
    ]


def test_places_beyond_the_first_are_counted() -> None:
    shown = plain(many(5))

    assert shown.count("x    1.125  y    0.500") == 3
    assert "and 2 more places; --all shows them" in shown


def test_what_is_not_checked_for_one_reason_is_told_together() -> None:
    reason = "no drill file"
    unchecked = (
        Unchecked("holes", reason),
        Unchecked("time", "no feed is set"),
        Unchecked("rings", reason),
    )

    shown = plain(replace(many(1), unchecked=unchecked))

    assert "   holes, rings: no drill file\n   time: no feed is set\n" in shown


def test_every_place_is_shown_where_all_are_asked_for() -> None:
    shown = text.render(text.reports_text([many(40)], 0.42, every=True), None)

    assert shown.count("x    1.125  y    0.500") == 40
    assert "shows them" not in shown


def test_a_place_says_where_how_much_and_which_nets_and_pins() -> None:
    shown = plain(many(1))

    assert "   top     x    1.125  y    0.500  Gap 0.250 mm, cut 0.300 mm" in shown
    assert "U1.1 and U1.2 [GND; VCC]" in shown


def test_names_that_the_message_holds_are_not_told_twice() -> None:
    finding = made.finding(1, message="Gap between U1.1 (GND) and U1.2 (VCC)")

    assert "Gap between U1.1 (GND) and U1.2 (VCC)\n" in plain(made.report(made.board(), (finding,)))


def test_finding_on_the_whole_board_needs_no_place() -> None:
    finding = made.finding(1, side=None, x=None, y=None, measured=None, limit=None)

    shown = plain(made.report(made.board(), (finding,)))

    assert "   whole board  Gap" in shown
    assert re.search(r"not makeable +- +- ", shown)


def test_clean_board_says_so_with_what_was_examined() -> None:
    shown = " ".join(plain(made.report(made.board())).split())

    assert shown.startswith("Makeable: tiny with cone Cut")
    assert "Examined: board 2.2 x 1.0 mm; copper on top and bottom; 2 narrow gaps, 2 holes" in shown
    assert "nets from drawn connectivity" in shown


def test_unchecked_is_never_a_plain_pass() -> None:
    shown = plain(made.report(made.board(), unchecked=(Unchecked("edges", "there is no outline"),)))

    assert shown.startswith("Makeable: tiny with cone, as far as it was checked\n")
    assert "Not checked\n   edges: there is no outline\n" in shown


def test_what_the_reader_ignored_is_told_with_its_line() -> None:
    shown = plain(made.report(made.board()))

    assert "Remarks on the files\n   top.gbr:3: unknown code ignored\n" in shown


def test_causes_beyond_what_a_person_reads_are_counted() -> None:
    causes = tuple(
        replace(many(1).causes[0], cause=f"cause number {number}") for number in range(40)
    )

    shown = plain(replace(many(1), causes=causes))

    assert "and 25 more causes; --all shows them" in shown
    assert "Places of the other causes: --all shows them" in shown
    assert len(shown.splitlines()) < 80


def test_next_step_is_named() -> None:
    assert "More on a rule: cutworthy explain uncuttable-gap\n" in plain(many(1))


def test_joined_nets_are_listed_by_side() -> None:
    assert "stay joined at the nominal width\n   top: GND; VCC\n" in plain(many(1))


# Hazards: NIOSH on glass fibre; IEC 60825-1, class 4 above 500 mW; data sheets of ferric chloride
# (signal word Danger; H290, H302, H315, H318), chlorine from it with persulfate.
@pytest.mark.parametrize(
    ("method", "said"),
    [
        ("milling", ["dust", "lungs", "mask", "spindle"]),
        ("laser", ["class 4", "blinds", "FR-4", "toxic", "dust"]),
        ("etching", ["Danger", "eyes", "swallowed", "chlorine", "hazardous waste", "dust"]),
        ("perfboard", ["fumes", "dust", "mains"]),
    ],
)
def test_each_method_has_its_cautions_and_all_have_mains(method: str, said: list[str]) -> None:
    cautions = " ".join(words.cautions(method))

    assert [word for word in said if word not in cautions] == []
    assert "local code and licensed practice" in cautions
    assert not re.search(r"\bsafe", cautions)


def test_methods_side_by_side_say_nothing_twice() -> None:
    every = [text for method in METHODS for text in words.cautions(method)]

    assert len(dict.fromkeys(every)) == 5
    assert max(map(len, every)) < 350


def test_several_profiles_share_one_set_of_cautions() -> None:
    shown = plain(many(1), made.report(made.board()))

    assert shown.count("tiny with cone") == 2
    assert shown.count("licensed") == 1


@pytest.mark.parametrize("width", [40, 60, 80, 100, 120])
def test_every_line_fits_the_terminal(width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setenv("NO_COLOR", "1")

    shown = text.render(text.reports_text([many(5)], 0.42), Terminal())

    assert max(map(len, shown.splitlines())) <= width
    assert "not makeable" in shown


def test_terminal_wider_than_a_person_reads_is_not_filled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "300")
    monkeypatch.setenv("NO_COLOR", "1")

    shown = text.render(text.reports_text([many(5)], 0.42), Terminal())

    assert max(map(len, shown.splitlines())) <= text.WIDEST


def test_pipe_and_file_have_100_columns_and_no_escapes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")

    for stream in (None, io.StringIO()):
        shown = text.render(text.reports_text([many(5)], 0.42), stream)

        assert max(map(len, shown.splitlines())) == text.PIPED_WIDTH
        assert "\x1b" not in shown


@pytest.mark.parametrize(
    ("settings", "coloured"),
    [
        ({"TERM": "xterm"}, True),
        ({"TERM": "xterm", "NO_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
    ],
    ids=["terminal", "NO_COLOR", "dumb terminal"],
)
def test_colour_only_where_it_is_wanted(
    settings: dict[str, str], coloured: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    for name, value in settings.items():
        monkeypatch.setenv(name, value)

    shown = text.render(text.reports_text([many(1)], 0.42), Terminal())

    assert ("\x1b[" in shown) is coloured


@pytest.mark.parametrize("width", [60, 100])
def test_hostile_names_neither_style_nor_move_anything(
    width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setenv("NO_COLOR", "1")
    evil = made.finding(
        1,
        nets=(made.EVIL,),
        pins=(made.EVIL,),
        cause=made.EVIL,
        remedy=made.EVIL,
        message=made.EVIL,
    )
    board = made.board(made.EVIL, nets=(made.EVIL, made.EVIL))
    report = made.report(board, (evil,), (Unchecked(made.EVIL, made.EVIL),))

    shown = text.render(text.reports_text([report], 0.42), Terminal())
    shown += text.render(facts_text(made.facts(board), 0.1), Terminal())

    assert "[bold]A\\x1b[31m\\nB\\u202e" in shown.replace("\n", "")
    assert all(c.isprintable() or c == "\n" for c in shown)


def test_very_long_names_are_cut() -> None:
    report = made.report(made.board("n" * 10_000))

    assert len(plain(report)) < 2_000


def test_text_draws_with_ascii_alone() -> None:
    assert plain(many(5)).isascii()


def test_last_line_is_the_time() -> None:
    assert plain(many(1)).splitlines()[-1] == "cutworthy took 0.42 s"


def test_states_are_written_out() -> None:
    states: Sequence[State] = list(State)

    shown = [plain(made.report(made.board(), (made.finding(1, state=s),))) for s in states]

    assert [words.state(s.value) in page for s, page in zip(states, shown, strict=True)] == [
        True,
        True,
        True,
    ]


def test_facts_count_the_gaps_that_each_width_leaves_closed() -> None:
    shown = text.render(facts_text(made.facts(made.board()), 0.1), None)

    gaps = shown.partition("Gaps between nets")[2].partition("Places where")[0]
    assert re.findall(r"^ +(0\.\d\d) +(\d) +(\d)$", gaps, re.MULTILINE) == [
        ("0.10", "0", "0"),
        ("0.15", "0", "0"),
        ("0.20", "0", "0"),
        ("0.25", "0", "0"),
        ("0.30", "1", "0"),
        ("0.40", "1", "0"),
        ("0.50", "1", "0"),
    ]
    assert re.search(r"0\.250 +top +1\.125 +0\.500 +U1\.1 \(GND\) and U1\.2", gaps)


def test_facts_name_the_narrowest_copper() -> None:
    shown = text.render(facts_text(made.facts(made.board()), 0.1), None)

    assert re.search(r"0\.123 +top +0\.500 +0\.500 +U1\.1 \(GND\)", shown)


def test_facts_name_what_was_not_read_and_remarks_on_the_files() -> None:
    board = replace(
        made.board(),
        unchecked=(Unchecked("holes", "no drill file"),),
        notes=tuple(Note("a.gbr", line, "odd") for line in range(1, 8)),
    )

    shown = text.render(facts_text(made.facts(board), 0.1), None)

    assert "Not checked\n   holes: no drill file\n\nRemarks on the files\n   a.gbr:1: odd" in shown
    assert "a.gbr:7: odd" in shown


def test_side_that_was_not_measured_is_named_and_not_counted_as_free() -> None:
    shown = text.render(facts_text(made.facts_without_the_bottom(made.board()), 0.1), None)

    assert "Not measured: bottom\n" in shown
    assert re.search(r"^ +0\.30 +1$", shown, re.MULTILINE)
