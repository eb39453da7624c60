"""What every rule owes its reader: one module, a page, a bad and a good sample, a test file."""

from __future__ import annotations

import ast
import inspect
import pkgutil
import re
import sys
from pathlib import Path
from typing import cast

import pytest

import rules as rules_package
from checker.engine import reach_for
from checker.findings import Rule
from checker.measure import measure
from checker.process import load_profile
from checker.process.keys import KEYS
from checker.process.load import DEFAULT_PROFILE, profile_names
from checker.process.model import Process
from checker.registry import load_rules
from checker.severity import Severity
from tests.rule_samples import FOLDER, board_of, process_of, report_of

ROOT = Path(__file__).parents[1]
RULES = load_rules()
SECTIONS = ("Measures", "Why", "Fix", "Limits", "Sources", "See")
# Copper is bitten into only where a gap is too narrow: these faults do not come without that one.
FOLLOWS = {"severed-net": {"trimmed-gap"}, "shrunk-pad": {"trimmed-gap"}}
# What no shop has in common: the blank at hand, skew, a bite, an engraved legend, a measured width.
MAKERS_OWN = {
    "stock.clad_sides", "stock.size", "machine.skew", "legend.depth", "bit.measured_width", "bite",
    "measured.cut_before",
}  # fmt: skip
each_rule = pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.name)


def module_of(rule: Rule) -> str:
    return rule.check.__module__


def test_each_module_is_exactly_one_rule() -> None:
    modules = {
        module.name.replace("_", "-")
        for module in pkgutil.iter_modules(rules_package.__path__)
        if not module.name.startswith("_")
    }

    assert modules == set(RULES)


@each_rule
def test_name_is_that_of_its_module_in_kebab_case(rule: Rule) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.name)
    assert module_of(rule) == f"rules.{rule.name.replace('-', '_')}"


@each_rule
def test_page_has_its_sections_in_order(rule: Rule) -> None:
    heads = re.findall(r"^(\w+)\n-+$", rule.page, re.MULTILINE)

    assert heads == list(SECTIONS)


@each_rule
def test_no_section_is_empty_and_each_rule_line_is_as_long_as_its_head(rule: Rule) -> None:
    parts = re.split(r"^(\w+)\n(-+)$", rule.page, flags=re.MULTILINE)[1:]
    heads, lines, texts = parts[0::3], parts[1::3], parts[2::3]

    assert [len(line) for line in lines] == [len(head) for head in heads]
    assert [head for head, text in zip(heads, texts, strict=True) if not text.strip()] == []


@each_rule
def test_summary_is_one_sentence_that_names_the_fault(rule: Rule) -> None:
    lead = rule.page.split("\n\n")[0]

    assert lead == rule.summary
    assert lead.endswith(".")
    assert ". " not in lead


@each_rule
def test_page_points_to_rules_that_exist(rule: Rule) -> None:
    see = rule.page.partition("See\n---")[2]

    assert set(re.findall(r"``([a-z-]+)``", see)) <= set(RULES) - {rule.name}


@each_rule
def test_limits_that_a_page_names_are_set_by_the_default_profile(rule: Rule) -> None:
    process = load_profile(DEFAULT_PROFILE)
    named = [key for key in KEYS.values() if f"``{key.name}``" in rule.page]
    applying = [key for key in named if key.applies("milling", "cone")]

    unset = {key.name for key in applying} - set(process.places) - MAKERS_OWN
    assert {name for name in unset if KEYS[name].default is None} == set()


@each_rule
def test_a_rule_that_only_remarks_says_so(rule: Rule) -> None:
    states = set(re.findall(r"\bState\.([A-Z_]+)", inspect.getsource(sys.modules[module_of(rule)])))

    assert rule.remarks == (states == {"REMARK"})
    assert rule.severity is Severity.NOTE or not rule.remarks  # as its findings are


NAMED = {*KEYS, *(key.partition(".")[0] for key in KEYS)}
# A remedy may follow from what decides nothing.
REMEDY_ALONE = {"overlapping-holes": {"web"}}


class Watched:
    """Stands for a process and notes what of it is looked at."""

    def __init__(self, process: Process) -> None:
        self.process, self.looked = process, set[str]()

    def __getattr__(self, name: str) -> object:
        self.looked.add(name)
        return getattr(self.process, name)


@each_rule
def test_a_page_that_names_no_key_is_of_a_rule_that_looks_at_no_process(rule: Rule) -> None:
    if any(f"``{key}``" in rule.page for key in NAMED):
        return
    process = process_of(rule.name)
    facts = measure(board_of(rule.name), reach_for(process))
    watched = Watched(process)

    list(rule.check(facts, cast("Process", watched)))

    assert watched.looked == REMEDY_ALONE.get(rule.name, set())


@pytest.mark.parametrize(
    ("name", "deciding"),
    [
        ("crowded-rivet", {"bit", "minimum_gap", "joints.method", "joints.head"}),
        ("hot-copper", {"undercut", "bite", "foil", "short_neck", "temperature_rise"}),
        ("legend-through-copper", {"bit", "foil", "legend.depth"}),
        ("thin-web", {"web"}),
        ("voltage-gap", {"bit", "cleared_width"}),
    ],
)
def test_a_page_names_the_keys_that_decide_and_no_others(name: str, deciding: set[str]) -> None:
    page = load_rules()[name].page

    assert {key for key in NAMED if f"``{key}``" in page} == deciding


def unnamed_lengths(tree: ast.Module) -> list[float]:
    """Fractions that stand in code without a name of their own."""
    named = {
        id(part)
        for statement in tree.body
        if isinstance(statement, ast.Assign)
        and all(
            isinstance(target, ast.Name) and target.id.isupper() for target in statement.targets
        )
        for part in ast.walk(statement.value)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, float)
        and node.value
        and id(node) not in named
    ]


@pytest.mark.parametrize(
    "path", sorted(Path(str(rules_package.__file__)).parent.glob("*.py")), ids=lambda p: p.stem
)
def test_no_length_in_a_rule_but_named_tolerances(path: Path) -> None:
    assert unnamed_lengths(ast.parse(path.read_text(encoding="utf-8"))) == []


def test_the_search_for_lengths_finds_one() -> None:
    tree = ast.parse("_TOLERANCE = 0.001\ndef check(): return gap < 0.2")

    assert unnamed_lengths(tree) == [0.2]


@each_rule
def test_rule_that_may_call_a_board_not_makeable_is_an_error(rule: Rule) -> None:
    """Else such a board would pass with exit status 0."""
    text = inspect.getsource(sys.modules[module_of(rule)])

    assert rule.severity is Severity.ERROR or "NOT_MAKEABLE" not in text


@each_rule
def test_module_stays_small(rule: Rule) -> None:
    assert len(inspect.getsource(sys.modules[module_of(rule)]).splitlines()) <= 120


def test_samples_rules_and_tests_line_up() -> None:
    tests = {
        path.stem.removeprefix("test_").replace("_", "-")
        for path in (ROOT / "tests" / "rules").glob("test_*.py")
    }

    assert tests == set(RULES)
    assert {path.name for path in FOLDER.iterdir() if path.is_dir()} == set(RULES)


@each_rule
def test_bad_sample_shows_this_fault_and_no_other(rule: Rule) -> None:
    found = report_of(rule.name, "bad").findings

    assert {finding.rule for finding in found} == {rule.name} | FOLLOWS.get(rule.name, set())


@each_rule
def test_good_sample_is_makeable_without_a_word(rule: Rule) -> None:
    report = report_of(rule.name, "good")

    assert report.findings == ()
    assert report.verdict.value == "makeable"


@each_rule
@pytest.mark.parametrize("which", ["bad", "good"])
def test_samples_are_read_without_a_remark(rule: Rule, which: str) -> None:
    board = board_of(rule.name, which)

    assert board.notes == ()
    assert board.unchecked == ()


@each_rule
def test_every_finding_is_worded_as_the_house_words_them(rule: Rule) -> None:
    for finding in report_of(rule.name, "bad").findings:
        for text in (finding.seen.message, finding.seen.remedy):
            assert text[0] == text[0].upper()
            assert text[-1] not in ".!"
            assert text.isprintable()
        assert re.search(r"\d", finding.seen.message)


@pytest.mark.parametrize("name", profile_names())
def test_built_in_profiles_set_severities_of_real_rules(name: str) -> None:
    assert set(load_profile(name).severity) <= set(RULES)
