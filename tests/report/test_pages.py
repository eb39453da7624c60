from __future__ import annotations

from checker.findings import Observation, Rule
from checker.measure import Facts
from checker.process.bit import Spread
from checker.process.model import Process
from checker.report import pages
from checker.severity import Severity
from tests.report import made


def test_profile_list_gives_three_widths_at_the_worst_the_likely_ones_and_the_title() -> None:
    header, cone, perfboard = pages.profile_list(
        [
            made.process(cut_rss=Spread(0.27, 0.3, 0.32)),
            made.process(name="perfboard", cut=None, title="no cut at all"),
        ]
    )

    assert header.split()[:5] == ["profile", "least", "nominal", "most", "likely"]
    assert cone.split() == ["cone", "0.250", "0.300", "0.350", "0.270-0.320", "a", "cone"]
    assert perfboard.split()[:5] == ["perfboard", "-", "-", "-", "-"]


def test_profile_page_shows_every_value_with_its_source() -> None:
    tip = {"least": 0.08, "nominal": 0.1, "most": 0.15}
    even = {"least": 3.175, "nominal": 3.175, "most": 3.175}
    resolved = {
        "bit": {"shape": "cone", "tip_width": tip, "angle": 30.0, "diameter": even},
        "minimum_trace": 0.2,
        "layer_count": 2,
    }

    lines = list(pages.profile_page(made.process(resolved=resolved)))

    assert [line.split(maxsplit=1) for line in lines[5:]] == [
        ["bit.shape", "cone"],
        ["bit.tip_width", "0.1 mm (0.08 to 0.15)"],
        ["bit.angle", "30.0 deg"],
        ["bit.diameter", "3.175 mm"],
        ["minimum_trace", "0.2 mm"],
        ["(a", "table)"],
        ["layer_count", "2"],
    ]


def test_profile_page_shows_times_in_a_unit_that_fits() -> None:
    times = {"evening": 3.0, "hole": 0.002222, "lift": 1.4e-4}
    resolved = {"feeds": times, "hand": {"flip": 0.166667, "joint": 0.025, "setup": 1.5}}

    lines = list(pages.profile_page(made.process(resolved=resolved)))

    assert [line.split(maxsplit=1)[1] for line in lines[5:]] == [
        "3 h", "8 s", "0.504 s", "10 min", "1.5 min", "1.5 h",
    ]  # fmt: skip


def test_profile_page_shows_the_ratings_of_nets_whatever_their_names() -> None:
    nets = {"LIVE": {"voltage": "325 V pk", "cleared": "3 mm"}, "A\x1b[2J": {"current": "2 A"}}

    lines = list(pages.profile_page(made.process(resolved={"nets": nets})))

    assert [line.split(maxsplit=1) for line in lines[5:]] == [
        ["nets.LIVE.voltage", "325 V pk"],
        ["nets.LIVE.cleared", "3 mm"],
        ["nets.A\\x1b[2J.current", "2 A"],
    ]


def test_profile_page_says_whether_the_width_was_measured() -> None:
    page = "\n".join(pages.profile_page(made.process(measured=True)))

    assert "measured" in page


def test_rule_list_and_page() -> None:
    rule = Rule("odd-gap", "Gaps that are odd.", Severity.WARNING, "Gaps that are odd.\n\nWhy", _no)

    assert list(pages.rule_list([rule])) == ["odd-gap  warning  Gaps that are odd."]
    assert list(pages.rule_page(rule, made.process(resolved={}))) == [
        "odd-gap (warning unless a profile says otherwise)",
        "",
        rule.page,
    ]


def test_rule_page_says_that_a_rule_decides_nothing() -> None:
    rule = Rule("odd", "Odd.", Severity.NOTE, "Odd.", _no, remarks=True)

    head, *_ = pages.rule_page(rule, made.process(resolved={}))

    assert head == "odd (note unless a profile says otherwise; it decides no verdict)"


def test_rule_page_ends_with_what_the_profile_sets_for_the_keys_it_names() -> None:
    page = "Gaps that are odd.\n\nAgainst ``minimum_trace`` and ``ring``."
    rule = Rule("odd-gap", "Gaps that are odd.", Severity.WARNING, page, _no)

    lines = list(pages.rule_page(rule, made.process(resolved={"minimum_trace": 0.2, "web": 0.4})))

    assert lines[2] == "Gaps that are odd.\n\nAgainst minimum_trace and ring."
    assert [line.split(maxsplit=1) for line in lines[-5:]] == [
        ["In", "force with cone"],
        ["------------------"],
        ["minimum_trace", "0.2 mm"],
        ["(a", "table)"],
        ["ring", "not set"],
    ]
    assert lines[-1].index("not set") == lines[-3].index("0.2 mm")


def _no(_: Facts, __: Process) -> list[Observation]:
    return []
