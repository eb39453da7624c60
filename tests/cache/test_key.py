from __future__ import annotations

import ast
import enum
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from checker.board import Note, Unchecked
from checker.cache import key
from checker.cache.key import keys_of, preimage
from checker.process import load_profile, profile_names
from checker.process.bit import Bit, Spread
from checker.process.model import Process
from checker.read.package import Package, SourceFile, open_package
from checker.severity import Severity

ROOT = Path(__file__).parents[2]
TOP = SourceFile("top.gbr", "gerber", "%FSLAX46Y46*%\nM02*\n")
EDGE = SourceFile("edge.gbr", "gerber", "%MOMM*%\nM02*\n")
BOARD = Package("lamp", (EDGE, TOP), (Note("lamp.zip", 0, "this archive is read"),))
CONE = load_profile("cone-30-0.1")
LAYERS = {"top": ["top.gbr"], "outline": ["edge.gbr"]}

# Each differs from the first in one thing.
INPUTS: dict[str, tuple[Package, str | None, Any, Process]] = {
    "as it is": (BOARD, None, LAYERS, CONE),
    "name": (replace(BOARD, name="lamps"), None, LAYERS, CONE),
    "text": (replace(BOARD, files=(EDGE, replace(TOP, text="M02*\n"))), None, LAYERS, CONE),
    "name of a file": (
        replace(BOARD, files=(EDGE, replace(TOP, name="t.gbr"))), None, LAYERS, CONE,
    ),
    "format": (replace(BOARD, files=(EDGE, replace(TOP, format="drill"))), None, LAYERS, CONE),
    "named": (replace(BOARD, files=(EDGE, replace(TOP, named=True))), None, LAYERS, CONE),
    "order of files": (replace(BOARD, files=(TOP, EDGE)), None, LAYERS, CONE),
    "one file less": (replace(BOARD, files=(EDGE,)), None, LAYERS, CONE),
    "something left out": (
        replace(BOARD, unchecked=(Unchecked("../a.gbr", "left out"),)),
        None,
        LAYERS,
        CONE,
    ),
    "no note": (replace(BOARD, notes=()), None, LAYERS, CONE),
    "another note": (replace(BOARD, notes=(Note("lamp.zip", 1, "read"),)), None, LAYERS, CONE),
    "title": (BOARD, "lamp", LAYERS, CONE),
    "empty title": (BOARD, "", LAYERS, CONE),
    "no layers": (BOARD, None, {}, CONE),
    "a layer less": (BOARD, None, {"top": ["top.gbr"]}, CONE),
    "another role": (BOARD, None, {"top": ["top.gbr"], "ignore": ["edge.gbr"]}, CONE),
    "another file": (BOARD, None, {"top": ["edge.gbr"], "outline": ["edge.gbr"]}, CONE),
    "two files": (BOARD, None, {"top": ["top.gbr", "t.gbr"], "outline": ["edge.gbr"]}, CONE),
    "process": (BOARD, None, LAYERS, load_profile("cone-30-0.2")),
    "severity": (
        BOARD, None, LAYERS, replace(CONE, severity={"tight-gap": Severity.ERROR}),
    ),
}  # fmt: skip

PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False)
    | st.text(st.characters(exclude_categories=()), max_size=4)
    | st.binary(max_size=4)
    | st.dates()
    | st.sampled_from(Severity)
    | st.builds(Spread, *[st.floats(allow_nan=False)] * 3),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=6,
)


def spelled(*values: object) -> bytes:
    return b"".join(preimage(*values))


def key_of(package: Package, title: str | None, layers: Any, process: Process) -> str:
    (found,) = keys_of(package, title, layers, [process])
    return found


def test_the_same_inputs_have_the_same_key() -> None:
    again = Package("lamp", (replace(EDGE), replace(TOP)), tuple(BOARD.notes))

    found = key_of(again, None, dict(LAYERS), load_profile("cone-30-0.1"))

    assert found == key_of(*INPUTS["as it is"])
    assert len(found) == 64
    assert set(found) <= set("0123456789abcdef")


@pytest.mark.parametrize("what", [what for what in INPUTS if what != "as it is"])
def test_another_input_has_another_key(what: str) -> None:
    assert key_of(*INPUTS[what]) != key_of(*INPUTS["as it is"])


def test_no_two_of_these_inputs_share_a_key() -> None:
    assert len({key_of(*inputs) for inputs in INPUTS.values()}) == len(INPUTS)


def test_each_process_of_a_board_has_a_key_whatever_their_order() -> None:
    coarse = load_profile("flat-0.8")

    one = keys_of(BOARD, None, LAYERS, [CONE, coarse])
    other = keys_of(BOARD, None, LAYERS, [coarse, CONE])

    assert one == other[::-1]
    assert one[0] != one[1]


def test_a_process_beside_others_has_another_key_than_alone() -> None:
    coarse, fine = load_profile("flat-0.8"), load_profile("cone-20-0.1")  # measured farther

    alone = key_of(*INPUTS["as it is"])
    beside = keys_of(BOARD, None, LAYERS, [CONE, coarse])[0]
    beside_another = keys_of(BOARD, None, LAYERS, [CONE, fine])[0]

    assert len({alone, beside, beside_another}) == 3


def test_a_process_that_is_named_twice_is_as_if_once() -> None:
    assert keys_of(BOARD, None, LAYERS, [CONE, CONE]) == (key_of(*INPUTS["as it is"]),) * 2


@pytest.mark.parametrize("name", Process.__struct_fields__)
def test_each_field_of_a_process_counts(name: str) -> None:
    changes: dict[str, Any] = {name: "something else"}

    assert spelled(replace(CONE, **changes)) != spelled(CONE)


@pytest.mark.parametrize("name", Bit.__struct_fields__)
def test_each_field_of_a_bit_counts(name: str) -> None:
    changes: dict[str, Any] = {name: "something else"}
    assert CONE.bit is not None

    assert spelled(replace(CONE, bit=replace(CONE.bit, **changes))) != spelled(CONE)


def test_every_built_in_process_has_a_key_of_its_own() -> None:
    keys = {key_of(BOARD, None, {}, load_profile(name)) for name in profile_names()}

    assert len(keys) == len(profile_names())


@given(st.lists(PLAIN, max_size=3), st.lists(PLAIN, max_size=3))
@settings(max_examples=60)
def test_values_that_differ_are_spelled_otherwise(one: list[Any], other: list[Any]) -> None:
    assert (spelled(*one) == spelled(*other)) == (repr(one) == repr(other))


@given(PLAIN, st.lists(PLAIN, max_size=3))
@settings(max_examples=60)
def test_a_value_is_spelled_the_same_in_any_company(one: Any, more: list[Any]) -> None:
    assert spelled(one, *more) == spelled(one) + spelled(*more)


class Ends(enum.Enum):
    DEEP = "error"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("ab", ["a", "b"]),
        ([["a"], "b"], [["a", "b"]]),
        ("1", 1),
        (1, True),
        (0, False),
        (1, 1.0),
        (0.0, -0.0),
        ("", None),
        (b"a", "a"),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}),  # a report shows maps in their order
        ({"a": 1}, ["a", 1]),
        ("\ud83d\ude00", "\U0001f600"),
        (date(2026, 3, 31), "2026-03-31"),
        (Severity.ERROR, "error"),
        (Severity.ERROR, Ends.DEEP),
        (Spread(1.0, 2.0, 3.0), {"least": 1.0, "nominal": 2.0, "most": 3.0}),
    ],
)
def test_values_that_look_alike_are_told_apart(one: object, other: object) -> None:
    assert spelled(one) != spelled(other)


@pytest.mark.parametrize("value", [{1, 2}, object(), Path("a"), 1j])
def test_what_is_not_plain_is_refused_and_never_guessed(value: object) -> None:
    with pytest.raises(TypeError, match="is no plain value"):
        spelled(value)


# --- what judges ------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A package of two modules, a table, and what is no source."""
    for name in ("__init__.py", "gap.py", "inner/neck.py", "lands.yaml", "page.css"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(f"# {name}\r\n", newline="")
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__/gap.py").write_text("compiled")
    return tmp_path


def test_the_sources_of_a_package_are_its_modules_and_tables(folder: Path) -> None:
    (folder / "later").mkdir()
    (folder / "later/page.py").touch()

    found = list(key.sources_of(folder, ("later",)))

    assert found == [
        ("__init__.py", b"# __init__.py\r\n"),
        ("gap.py", b"# gap.py\r\n"),
        ("inner/neck.py", b"# inner/neck.py\r\n"),
        ("lands.yaml", b"# lands.yaml\r\n"),
    ]


def test_a_module_behind_a_link_counts(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "far.py").write_text("far = 1")
    (folder / "linked").symlink_to(elsewhere)

    found = dict(key.sources_of(folder))

    assert found["linked/far.py"] == b"far = 1"


def test_folders_without_end_are_an_error(folder: Path) -> None:
    (folder / "inner/again").symlink_to(folder)

    with pytest.raises(OSError, match="without end"):
        list(key.sources_of(folder))


def imported_by(path: Path) -> set[str]:
    """The modules that a module names in its imports, wherever they stand in it."""
    nodes = list(ast.walk(ast.parse(path.read_text("utf-8"))))
    plain = {name.name for node in nodes if isinstance(node, ast.Import) for name in node.names}
    homes = [node for node in nodes if isinstance(node, ast.ImportFrom) and node.module]
    inner = {f"{node.module}.{name.name}" for node in homes for name in node.names}
    return plain | {str(node.module) for node in homes} | inner


def files_of(module: str) -> set[Path]:
    """The file of a module of this repository and those of the packages round it."""
    ways = [ROOT.joinpath(*module.split(".")[:end]) for end in range(1, module.count(".") + 2)]
    beside = {way.with_suffix(".py") for way in ways} | {way / "__init__.py" for way in ways}
    return {path for path in beside if path.is_file()}


def all_that_is_imported(start: set[Path]) -> set[Path]:
    found, left = set[Path](), set(start)
    while left:
        path = left.pop()
        found.add(path)
        if path == ROOT / "checker/__init__.py":  # hands on by name, to whoever asks from outside
            continue
        left |= {file for module in imported_by(path) for file in files_of(module)} - found
    return found


def test_all_that_has_a_part_in_an_answer_counts() -> None:
    begin = ("engine.py", "read/__init__.py", "measure/__init__.py", "report/origins.py")
    start = {ROOT / "checker" / name for name in (*begin, "many.py", "process/load.py")}

    needed = all_that_is_imported(start | set((ROOT / "rules").glob("*.py")))
    tool = key.sources_of(ROOT / "checker", key.PACKAGES["checker"])
    counted = {ROOT / "checker" / name for name, _ in tool}

    assert len(needed) > 150
    assert {path for path in needed if path.is_relative_to(ROOT / "checker")} <= counted


def test_the_tables_of_the_rules_count() -> None:
    names = {name for name, _ in key.sources_of(key.folder_of("rules"))}

    assert {"thin_copper.py", "lands.yaml", "profiles/cone-30-0.1.yaml"} <= names


def test_what_judges_is_the_same_each_time(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setattr(key, "folder_of", lambda name: folder)
    monkeypatch.setattr(key, "LIBRARIES", {})

    assert key.judge.__wrapped__() == key.judge.__wrapped__()


def test_another_source_is_another_judge(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setattr(key, "folder_of", lambda name: folder)
    monkeypatch.setattr(key, "LIBRARIES", {})
    states = [key.judge.__wrapped__()]

    (folder / "gap.py").write_text("# other")
    states.append(key.judge.__wrapped__())
    (folder / "gap.py").rename(folder / "gaps.py")
    states.append(key.judge.__wrapped__())
    (folder / "gaps.py").rename(folder / "inner/gaps.py")
    states.append(key.judge.__wrapped__())
    (folder / "lands.yaml").write_text("a: 1")
    states.append(key.judge.__wrapped__())
    (folder / "new.py").touch()
    states.append(key.judge.__wrapped__())
    (folder / "new.py").unlink()
    (folder / "page.css").write_text("changed")  # makes pages, judges nothing

    assert len(set(states)) == 6
    assert key.judge.__wrapped__() == states[-2]


@pytest.mark.parametrize(
    ("home", "name", "value"),
    [
        (key, "FORMAT", key.FORMAT + 1),
        (sys, "version", "3.99.0 (main) [GCC 99]"),
        (sys, "platform", "plan9"),
        (sys, "byteorder", "middle"),
        (key, "build_of", lambda package, name: iter([(f"{name}-99.dist-info", b"")])),
    ],
)
def test_another_surrounding_is_another_judge(
    monkeypatch: pytest.MonkeyPatch, home: object, name: str, value: object
) -> None:
    before = key.judge.__wrapped__()

    with monkeypatch.context() as patch:
        patch.setattr(home, name, value)
        after = key.judge.__wrapped__()

    assert after != before


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A folder of installed packages that holds one for measuring."""
    monkeypatch.setattr(key, "folder_of", lambda name: tmp_path / name)
    (tmp_path / "numpy").mkdir()
    (tmp_path / "Numpy-2.1.0.dist-info").mkdir()
    (tmp_path / "Numpy-2.1.0.dist-info/RECORD").write_text("numpy/core.so,sha256=abc,12\n")
    (tmp_path / "numpy_financial-1.0.dist-info").mkdir()
    (tmp_path / "numpy-notes.txt").touch()
    return tmp_path


def test_a_library_is_told_by_its_version_and_its_list_of_files(installed: Path) -> None:
    found = list(key.build_of("numpy", "numpy"))

    assert found == [("Numpy-2.1.0.dist-info", b"numpy/core.so,sha256=abc,12\n")]


def test_a_library_without_a_list_of_files_is_told_by_its_version(installed: Path) -> None:
    (installed / "Numpy-2.1.0.dist-info/RECORD").unlink()

    assert list(key.build_of("numpy", "numpy")) == [("Numpy-2.1.0.dist-info", b"")]


def test_a_library_installed_elsewhere_is_asked_for_its_version(tmp_path: Path) -> None:
    found = list(key.build_of("checker", "cutworthy"))  # beside its package lies no such thing

    assert [content for _, content in found] == [b""]
    assert found[0][0].count(".") == 2


@pytest.mark.parametrize(("package", "name"), [("nowhere_at_all", "numpy"), ("json", "no-such")])
def test_a_library_that_is_not_there_is_an_error(package: str, name: str) -> None:
    with pytest.raises(FileNotFoundError):
        list(key.build_of(package, name))


def test_a_sample_has_a_key_whatever_is_in_it() -> None:
    samples = Path(__file__).parents[2] / "samples/boards"
    keys = {key_of(open_package([folder]), None, {}, CONE) for folder in samples.iterdir()}

    assert len(keys) == 4
