"""Laying configurations over each other: the nearest that says a thing wins."""

from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from checker.accepted.waiver import Waiver
from checker.config import Config, lay
from checker.config.model import Pattern
from checker.process.nodes import Node
from tests.built import built

PLACES = st.sampled_from(["a:1", "b:2", "c:3"])
FILES = st.sampled_from([Path("a"), Path("b"), Path("c")])
NAMES = st.lists(st.sampled_from(["cone-30-0.1", "flat-0.4"]), max_size=2).map(tuple)


def few(values: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(values, max_size=2).map(tuple)


def maps(values: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.dictionaries(st.sampled_from(["nets.A", "nets.B", "drills.sizes"]), values)


CONFIGS = built(
    Config,
    files=few(FILES),
    boards=few(built(Pattern, st.just("x/*"), FILES, PLACES)),
    profiles=NAMES,
    bits=NAMES,
    layers=maps(NAMES),
    over=maps(built(Node, st.sampled_from(["1", "2"]), PLACES)),
    waivers=few(built(Waiver, st.just("tight-gap"), st.text(), PLACES, FILES)),
    places=maps(PLACES),
)


@given(CONFIGS, CONFIGS, CONFIGS)
def test_it_does_not_matter_which_two_are_laid_first(a: Config, b: Config, c: Config) -> None:
    assert lay(lay(a, b), c) == lay(a, lay(b, c))


@given(CONFIGS)
def test_nothing_over_or_under_it_changes_nothing(a: Config) -> None:
    assert lay(a, Config()) == a == lay(Config(), a)


@given(CONFIGS, CONFIGS)
def test_what_the_nearer_says_stays(near: Config, far: Config) -> None:
    laid = lay(near, far)

    assert {**laid.over, **near.over} == laid.over
    assert {**laid.layers, **near.layers} == laid.layers
    assert {**laid.places, **near.places} == laid.places
    assert laid.profiles == (near.profiles or far.profiles)
    assert laid.boards == (near.boards or far.boards)


@given(CONFIGS, CONFIGS)
def test_no_entry_and_no_waiver_of_the_farther_is_lost(near: Config, far: Config) -> None:
    laid = lay(near, far)

    assert laid.over.keys() == near.over.keys() | far.over.keys()
    assert laid.waivers == near.waivers + far.waivers
    assert laid.files == near.files + far.files
