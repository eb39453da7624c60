from __future__ import annotations

from pathlib import Path

import shapely
from msgspec.structs import replace

from checker.engine import check
from checker.findings import State
from checker.measure import Facts
from checker.process import load_profile
from checker.process.load import DEFAULT_PROFILE
from checker.read import read_board
from samples import parts
from samples.layout import Layout
from tests.handmade import on_board, seen
from tests.holed import holed, unchecked
from tests.joined import VIA, facts_of, joining, leap, without_parts, without_words

NAME = "joint-under-part"
BAD = Path(__file__).parents[2] / "samples" / "rules" / NAME / "bad"


def pins(facts: Facts) -> list[str]:
    return sorted(pin for one in seen(NAME, facts, joining(head=1.0)) for pin in one.pins)


# "Leads can't always be soldered on the side of the part": design rules of PCB services, Michigan
# State University, electrical and computer engineering.
def test_a_trace_on_the_top_to_a_header_cannot_be_soldered(tmp_path: Path) -> None:
    found = seen(NAME, facts_of(leap(over_vias=False), tmp_path), joining(head=1.0))

    assert [one.state for one in found] == [State.NOT_MAKEABLE] * 2
    assert sorted(one.pins for one in found) == [("J1.1",), ("J2.1",)]
    assert {one.side for one in found} == {"top"}


def test_the_message_tells_how_deep_and_the_remedy_how_far(tmp_path: Path) -> None:
    found = seen(NAME, facts_of(leap(over_vias=False), tmp_path), joining(head=1.0))

    # A header's body reaches 1.27 mm from its post.
    one = next(one for one in found if one.pins == ("J1.1",))
    assert one.message == (
        "J1.1 is to be soldered on the top, 1.27 mm inside the edge of its own body: the pad is "
        "hidden whole: LINE"
    )
    assert one.remedy == (
        "Bring the net to J1.1 on the bottom, or join the sides by a wire 1.77 mm or more from "
        "its middle, outside the body"
    )
    assert (one.x, one.y, one.cause) == (5.0, 12.0, "joints of J1 under its body")


def test_vias_beside_the_header_mend_it(tmp_path: Path) -> None:
    assert pins(facts_of(leap(), tmp_path)) == []


def test_a_lead_whose_copper_of_that_side_is_reached_otherwise_needs_no_joint(
    tmp_path: Path,
) -> None:
    layout = leap()
    layout.track("top", 0.8, "LINE", (5.0, 12.0), (13.0, 12.0))

    assert pins(facts_of(layout, tmp_path)) == []


def test_a_wire_that_joins_only_one_of_two_leads_leaves_the_other(tmp_path: Path) -> None:
    layout = leap(over_vias=False)
    layout.via(13.0, 12.0, "LINE", *VIA)
    layout.track("bottom", 0.8, "LINE", (5.0, 12.0), (13.0, 12.0))

    assert pins(facts_of(layout, tmp_path)) == ["J2.1"]


def test_leads_outside_the_body_can_be_soldered(tmp_path: Path) -> None:
    layout = Layout("resistor", (30.0, 12.0))
    layout.place(parts.axial(), "R1", 8.0, 6.0, ["A", "B"])
    layout.place(parts.axial(), "R2", 22.0, 6.0, ["B", "C"])
    layout.track("top", 0.8, "B", (13.08, 6.0), (16.92, 6.0))

    assert pins(facts_of(layout, tmp_path)) == []


def test_a_pad_that_comes_out_a_little_is_marginal(tmp_path: Path) -> None:
    facts = facts_of(leap(over_vias=False), tmp_path)
    narrow = tuple(
        replace(part, body=shapely.box(part.x - 0.5, part.y - 3, part.x + 0.5, part.y + 3))
        for part in facts.board.parts or ()
    )

    found = seen(NAME, on_board(facts, replace(facts.board, parts=narrow)), joining(head=1.0))

    assert {one.state for one in found} == {State.MARGINAL}
    assert all("comes out by 0.35 mm" in one.message for one in found)  # pads are 1.70 mm wide


def test_a_part_on_the_copper_of_a_board_of_one_side(tmp_path: Path) -> None:
    layout = Layout("link", (30.0, 12.0), sides=("top",), plated=False)
    for part, x in (("J1", 6.0), ("J2", 24.0)):
        layout.place(parts.header(1), part, x, 6.0, ["LINE"])
    layout.track("top", 0.8, "LINE", (6.0, 6.0), (24.0, 6.0))

    assert pins(facts_of(layout, tmp_path)) == ["J1.1", "J2.1"]
    layout.sides = ("bottom",)
    layout.tracks = [replace(track, side="bottom") for track in layout.tracks]
    layout.pads = [replace(pad, sides=("bottom",)) for pad in layout.pads]
    other = tmp_path / "bottom"
    other.mkdir()
    assert pins(facts_of(layout, other)) == []


def test_without_parts_it_is_unchecked(tmp_path: Path) -> None:
    layout = leap()

    (one,) = unchecked(NAME, facts_of(layout, tmp_path, without_parts(layout)), joining())
    assert one.why == "no component layer names the parts' bodies"


def test_parts_without_a_body_are_named_as_unchecked(tmp_path: Path) -> None:
    facts = facts_of(leap(over_vias=False), tmp_path)
    bare = tuple(
        replace(part, body=None, courtyard=part.body) if part.name == "J1" else part
        for part in facts.board.parts or ()
    )
    board = on_board(facts, replace(facts.board, parts=bare))

    assert [one.why for one in unchecked(NAME, board, joining())] == ["no body is given of J1"]
    assert pins(board) == ["J2.1"]


def test_parts_that_no_layer_names_are_unchecked(tmp_path: Path) -> None:
    facts = facts_of(leap(over_vias=False), tmp_path)
    board = on_board(facts, replace(facts.board, parts=()))

    (one,) = unchecked(NAME, board, joining())
    assert one.why == "no body is given of J1, J2, J3 and 1 more"


def test_where_holes_do_not_say_whose_they_are_it_is_unchecked(tmp_path: Path) -> None:
    layout = leap(over_vias=False)
    facts = facts_of(layout, tmp_path, without_words(layout))
    board = on_board(facts, replace(facts.board, parts=()))

    (one,) = unchecked(NAME, board, joining())
    assert one.why == "the files do not tell which part a hole is for"


def test_without_a_drill_file_it_is_unchecked() -> None:
    assert [one.why for one in unchecked(NAME, holed(read=False), joining())] == ["no drill file"]


def test_a_board_without_joints_says_nothing() -> None:
    assert unchecked(NAME, holed(), joining()) == []


def test_the_sample_tells_both_posts() -> None:
    report = check(read_board([BAD]), load_profile(DEFAULT_PROFILE))

    places = {(one.seen.x, one.seen.y, one.seen.pins) for one in report.findings}
    assert places == {(5.0, 12.0, ("J1.1",)), (35.0, 12.0, ("J2.1",))}
    assert report.verdict.value == "not-makeable"
