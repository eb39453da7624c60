"""What a profile resolves to: layers, long and short forms, and back to text."""

from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checker.errors import ProfileError
from checker.process import Process, Spread, load_profile
from checker.process.keys import GROUPS
from checker.process.nodes import read_nodes
from checker.process.shop import Measured
from checker.severity import Severity

steady = settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
WHOLE = """\
method: milling
title: Mine
laminate: FR-4, 1.6 mm
foil: {value: 0.5 oz ± 10 %, source: the packet}
bed_error: 0.02
bit:
  shape: cone
  tip_width: {least: 0.08, nominal: 0.1, most: 5 mil}
  angle: 20 deg
  diameter: 1/8 in
  depth: 0.08 ± 0.01
  runout: {value: 0.02, sd: 2 um, source: dial indicator}
minimum_trace: 8 mil
severity:
  thin-copper: warning
  tight-gap: note
"""


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def ends(spread: Spread | None) -> tuple[float, float, float]:
    assert spread is not None
    return spread.least, spread.nominal, spread.most


def test_profile_that_stands_alone(tmp_path: Path) -> None:
    process = load_profile(written(tmp_path, "mine.yaml", WHOLE))

    assert (process.name, process.method, process.title) == ("mine", "milling", "Mine")
    assert process.bit is not None
    assert (process.bit.shape, process.bit.angle, process.bit.diameter) == ("cone", 20, 3.175)
    assert ends(process.bit.tip_width) == pytest.approx((0.08, 0.1, 0.127))
    assert ends(process.bit.depth) == pytest.approx((0.07, 0.08, 0.09))
    assert ends(process.bit.runout) == pytest.approx((0.016, 0.02, 0.024))
    assert ends(process.foil) == pytest.approx((0.015435, 0.01715, 0.018865))
    assert ends(process.reached) == pytest.approx((0.05, 0.08, 0.11))
    assert process.minimum_trace == pytest.approx(0.2032)
    assert not process.measured


def test_what_is_left_out_takes_its_default(tmp_path: Path) -> None:
    process = load_profile(written(tmp_path, "mine.yaml", WHOLE))

    assert (process.short_neck, process.pad_clearance, process.bite) == (0, None, 0)
    assert process.layer_count == 2


def test_sources_and_places_are_kept(tmp_path: Path) -> None:
    path = written(tmp_path, "mine.yaml", WHOLE)

    process = load_profile(path)

    assert process.limits_from == {"foil": "the packet", "bit.runout": "dial indicator"}
    assert process.places["bit.depth"] == f"{path}:11"


def test_severities_and_where_they_stand(tmp_path: Path) -> None:
    path = written(tmp_path, "mine.yaml", WHOLE)

    process = load_profile(path)

    assert process.severity == {"thin-copper": Severity.WARNING, "tight-gap": Severity.NOTE}
    assert process.rules_named == {"thin-copper": f"{path}:15", "tight-gap": f"{path}:16"}


def test_nearer_profile_wins_key_by_key(tmp_path: Path) -> None:
    written(tmp_path, "shop.yaml", WHOLE)
    near = written(
        tmp_path, "bits/fine.yaml",
        "based_on: ../shop.yaml\nbit: {angle: 10}\nseverity: {tight-gap: error}\n",
    )  # fmt: skip

    process = load_profile(near)

    assert process.bit is not None
    assert process.bit.angle == 10
    assert ends(process.bit.depth) == pytest.approx((0.07, 0.08, 0.09))
    assert process.severity["tight-gap"] is Severity.ERROR
    assert process.severity["thin-copper"] is Severity.WARNING


def test_overridden_limit_does_not_keep_the_old_source(tmp_path: Path) -> None:
    path = written(tmp_path, "mine.yaml", "based_on: cone-30-0.1\nminimum_trace: 0.3\n")

    process = load_profile(path)

    assert process.minimum_trace == 0.3
    assert "minimum_trace" not in process.limits_from
    assert "foil" in process.limits_from


def test_none_unsets_a_limit(tmp_path: Path) -> None:
    path = written(tmp_path, "mine.yaml", "based_on: cone-30-0.1\npad_clearance: none\n")

    assert load_profile(path).pad_clearance is None


SHOP = """\
based_on: cone-30-0.1
drills:
  sizes: {value: [1/32 in, 1 mm, 0.6 mm, 0.6 mm], source: the drawer}
machine:
  travel: [300, 180 mm]
joints: {pad_area_hole: 2 mm2, most: 12}
feeds: {cut: 5 mm/s, overlap: 30 %, evening: 90 min}
"""


def test_what_a_shop_has(tmp_path: Path) -> None:
    process = load_profile(written(tmp_path, "mine.yaml", SHOP))

    assert process.drills.sizes == (0.6, 0.79375, 1.0)  # each once, ascending
    assert process.machine.travel == (300.0, 180.0)  # as written: width and depth
    assert (process.joints.pad_area_hole, process.joints.most) == (2.0, 12)
    assert process.feeds.cut == 300.0
    assert process.feeds.overlap == pytest.approx(0.3)
    assert process.feeds.evening == pytest.approx(1.5)
    assert process.limits_from["drills.sizes"] == "the drawer"
    assert process.places["drills.sizes"].endswith("mine.yaml:3")


def test_groups_are_laid_over_each_other_key_by_key(tmp_path: Path) -> None:
    process = load_profile(written(tmp_path, "mine.yaml", SHOP))

    assert process.drills.tolerance == 0.05  # of the built-in shop
    assert process.joints.wire == 0.5


def test_one_drill_needs_no_brackets_and_none_unsets_them(tmp_path: Path) -> None:
    one = written(tmp_path, "one.yaml", "based_on: cone-30-0.1\ndrills: {sizes: 0.8 mm}\n")
    none = written(tmp_path, "none.yaml", "based_on: cone-30-0.1\ndrills: {sizes: none}\n")

    assert load_profile(one).drills.sizes == (0.8,)
    assert load_profile(none).drills.sizes is None
    assert load_profile(none).drills.most_sizes == 6


@pytest.mark.parametrize(
    "value", ["0.2 ± 0.05", "{least: 0.15, nominal: 0.2, most: 0.25}", "0.2 +- 25 %"]
)
def test_measured_width_replaces_geometry(value: str, tmp_path: Path) -> None:
    path = written(
        tmp_path, "mine.yaml", f"based_on: cone-30-0.1\nbit:\n  measured_width: {value}\n"
    )

    process = load_profile(path)

    assert process.measured
    assert ends(process.cut) == pytest.approx((0.15, 0.2, 0.25))
    assert process.depth_for_width(0.2) == pytest.approx(0.09)


# JCGM 100:2008, 6.3.3: an expanded uncertainty is the standard one times a coverage factor, 2 for
# about 95 %.
@pytest.mark.parametrize(
    "value", ["{value: 0.2 mm, sd: 10 um}", "0.2 mm sd 10 um", "0.2 sd 0.01", "0.2 mm sd 5 %"]
)
def test_two_standard_deviations_are_the_ends(value: str, tmp_path: Path) -> None:
    path = written(
        tmp_path, "mine.yaml", f"based_on: cone-30-0.1\nbit:\n  measured_width: {value}\n"
    )

    assert ends(load_profile(path).cut) == pytest.approx((0.18, 0.2, 0.22))


def test_standard_deviation_of_nought_is_said(tmp_path: Path) -> None:
    path = written(
        tmp_path, "mine.yaml", "based_on: cone-30-0.1\nbit: {measured_width: 0.2 mm sd 0 mm}\n"
    )

    assert ends(load_profile(path).cut) == pytest.approx((0.2, 0.2, 0.2))


MEASURED = """
based_on: cone-30-0.1
bit: {measured_width: 0.2 ± 0.02}
measured: {date: 2026-03-01, bit: "number 3", readings: 24, residual: 6 um, cut_before: 2 m}
"""


def test_a_profile_tells_of_its_measurement(tmp_path: Path) -> None:
    written(tmp_path, "coupon.yaml", MEASURED)
    mine = written(tmp_path, "mine.yaml", "based_on: coupon.yaml\nmachine: {flip: 0.2}\n")

    process = load_profile(mine)

    assert process.measurement == Measured("2026-03-01", "number 3", 24, 0.006, 2.0)
    assert process.measured


@pytest.mark.parametrize(
    ("bit", "measurement"),
    [
        ("depth: 0.12", Measured(cut_before=2.0)),
        ("measured_width: 0.3 ± 0.02", Measured(cut_before=2.0)),
        ("tip_width: 0.15", Measured()),
    ],
)
def test_a_measurement_does_not_outlive_its_bit_nor_what_it_had_cut(
    bit: str, measurement: Measured, tmp_path: Path
) -> None:
    written(tmp_path, "coupon.yaml", MEASURED)
    mine = written(tmp_path, "mine.yaml", f"based_on: coupon.yaml\nbit: {{{bit}}}\n")

    assert load_profile(mine).measurement == measurement


@pytest.mark.parametrize("day", ["2026-02-30", "20260301", "1 March", "2026-3-1", "26-03-01"])
def test_a_date_is_one_of_the_calendar(day: str, tmp_path: Path) -> None:
    mine = written(tmp_path, "mine.yaml", f"based_on: cone-30-0.1\nmeasured: {{date: {day}}}\n")

    with pytest.raises(ProfileError) as caught:
        load_profile(mine)

    assert str(caught.value) == (
        f"{mine}:2: measured.date: {day!r} is no date; expected a date such as 2026-03-31"
    )


def test_measured_width_does_not_outlive_its_depth(tmp_path: Path) -> None:
    written(tmp_path, "coupon.yaml", "based_on: cone-30-0.1\nbit: {measured_width: 0.2 ± 0.02}\n")
    path = written(tmp_path, "deeper.yaml", "based_on: coupon.yaml\nbit: {depth: 0.15 ± 0.01}\n")

    process = load_profile(path)

    assert not process.measured
    assert process.cut is not None
    assert process.cut.nominal == pytest.approx(0.1 + 2 * 0.15 * 0.267949 + 0.02, abs=1e-6)


def test_relative_path_starts_from_the_folder_given(tmp_path: Path) -> None:
    written(tmp_path, "mine.yaml", WHOLE)

    assert load_profile("mine.yaml", base=tmp_path).title == "Mine"
    assert load_profile(Path("mine.yaml"), base=tmp_path).title == "Mine"


def test_same_file_twice_in_a_chain_is_no_cycle_by_name_alone(tmp_path: Path) -> None:
    written(tmp_path, "a/mine.yaml", WHOLE)
    path = written(tmp_path, "mine.yaml", "based_on: a/mine.yaml\ntitle: Outer\n")

    assert load_profile(path).title == "Outer"


def test_byte_order_mark_and_windows_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())

    assert load_profile(path).title == "Mine"


@pytest.mark.parametrize("word", ["no", "1:30", "2024-01-01", "0x10", "~"])
def test_text_stays_text(word: str, tmp_path: Path) -> None:
    path = written(tmp_path, "mine.yaml", f"based_on: etch\ntitle: {word}\n")

    assert load_profile(path).title == word


# --- round trips and hostile text -----------------------------------------------------------


def sizes(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda length: round(length, 6))


def spread_forms(low: float, high: float) -> st.SearchStrategy[object]:
    """A spread as it may be written: short text or the long form."""
    short = st.tuples(sizes(low, high), st.integers(0, 99)).map(lambda v: f"{v[0]} ± {v[1]} %")
    long = st.lists(sizes(low, high), min_size=3, max_size=3).map(
        lambda three: dict(zip(("least", "nominal", "most"), sorted(three), strict=True))
    )
    return short | long


milling = st.fixed_dictionaries(
    {
        "method": st.just("milling"),
        "foil": spread_forms(0.005, 0.2),
        "bed_error": sizes(0, 0.2),
        "bit": st.fixed_dictionaries(
            {
                "shape": st.just("cone"),
                "tip_width": spread_forms(0.01, 1),
                "angle": sizes(3, 150),
                "diameter": sizes(2, 6),
                "depth": spread_forms(0.21, 0.4),  # through any foil, its spread below itself
                "runout": spread_forms(0.001, 0.3),
            },
            optional={"measured_width": spread_forms(0.01, 2)},
        ),
    },
    optional={
        "title": st.text("abc ±:#'\"-{}[],&*!?|>%@`0", min_size=1).filter(str.strip),
        "minimum_trace": sizes(0.02, 1),
        "short_neck": sizes(0, 5),
        "pad_clearance": sizes(0.05, 1),
        "bite": sizes(0, 0.5),
        "layer_count": st.integers(1, 64),
        "smallest_leftover": sizes(0, 100),
        "web": sizes(0, 3),
        "drills": st.fixed_dictionaries(
            {},
            optional={
                "sizes": st.lists(sizes(0.05, 20), min_size=1, max_size=5),
                "tolerance": sizes(0, 1),
                "most_sizes": st.integers(1, 99),
            },
        ),
        "machine": st.fixed_dictionaries(
            {},
            optional={
                "travel": st.lists(sizes(10, 3000), min_size=2, max_size=2),
                "skew": sizes(0, 5),
            },
        ),
        "feeds": st.fixed_dictionaries(
            {},
            optional={
                "cut": sizes(1, 20000),
                "overlap": st.integers(0, 95).map(lambda percent: f"{percent} %"),
                "evening": sizes(3, 6000).map(lambda minutes: f"{minutes} min"),
            },
        ),
        "severity": st.dictionaries(
            st.sampled_from(["thin-copper", "tight-gap"]), st.sampled_from(["error", "note"]),
            min_size=1,
        ),
    },
)  # fmt: skip


def numbers_of(process: Process) -> list[float]:
    spreads = [process.cut, process.cut_rss, process.foot, process.reached, process.foil]
    found = [end for spread in spreads for end in ends(spread)]
    limits = [process.minimum_trace, process.pad_clearance]
    found += [-1.0 if limit is None else limit for limit in limits]
    return [*found, process.bed_error, process.short_neck, process.bite, process.layer_count]


@steady
@given(milling, st.booleans())
def test_resolved_profile_is_a_profile(
    tmp_path: Path, document: dict[str, object], in_braces: bool
) -> None:
    text = yaml.safe_dump(document, default_flow_style=in_braces, allow_unicode=True)
    path = written(tmp_path, "mine.yaml", text)
    first = load_profile(path)

    written(tmp_path, "mine.yaml", yaml.safe_dump(dict(first.resolved), allow_unicode=True))
    again = load_profile(path)

    assert again.resolved == first.resolved
    assert again.severity == first.severity
    assert again.title == first.title
    assert again.machine == first.machine
    assert again.drills == first.drills
    assert again.feeds.overlap == pytest.approx(first.feeds.overlap, abs=1e-6)
    assert again.feeds.evening == pytest.approx(first.feeds.evening, abs=1e-6)
    assert numbers_of(again) == pytest.approx(numbers_of(first), abs=2e-5)


@steady
@given(st.binary(max_size=300) | st.text("ab:{}[]-&*!|>'\"#%?, \n\t±0.1", max_size=80))
def test_any_file_is_a_map_or_a_clear_error(tmp_path: Path, content: bytes | str) -> None:
    path = tmp_path / "any.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())

    try:
        told = [node.where for node in read_nodes(path, "any.yaml").values()]
    except ProfileError as error:
        told = [str(error)]

    assert all(text.startswith("any.yaml") and text.isprintable() for text in told)


@steady
@given(st.data())
def test_any_value_is_taken_or_a_clear_error(tmp_path: Path, data: st.DataObject) -> None:
    key = data.draw(st.sampled_from(["foil", "minimum_trace", "title", "bite", *GROUPS]))
    leaf = st.text(max_size=20) | st.floats() | st.integers() | st.none() | st.booleans()
    sizes = st.fixed_dictionaries({"sizes": leaf | st.lists(leaf)})
    value = data.draw(
        sizes | st.recursive(leaf, lambda v: st.lists(v) | st.dictionaries(st.text(), v))
    )
    text = yaml.safe_dump({"based_on": "cone-30-0.1", key: value}, allow_unicode=True)
    path = written(tmp_path, "any.yaml", text)

    try:
        told = load_profile(path).title
    except ProfileError as error:
        told = str(error)

    assert told.isprintable()
