"""From a profile's name or file to a `Process`: find it, lay it over what it is based on, build."""

from __future__ import annotations

import importlib.util
import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.errors import ProfileError, nearest
from checker.process.build import build
from checker.process.keys import GROUPS, KEYS, RULE_NAME
from checker.process.nodes import Node, read_nodes
from checker.process.values import COMMA, read_value

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from checker.process.model import Process

# The finest cone that an ordinary shop can hold; the profile argues it.
DEFAULT_PROFILE = "cone-30-0.1"
_PACKAGE = "rules"  # by name: the engine does not import its rules
_ASKED = "profile"  # where a name comes from that no file gives
_DEEPEST = 16
_SUFFIXES = (".yaml", ".yml")
_SETTING = {"bit.depth", "bit.runout", "bit.measured_width"}  # another value is the same bit still
_KNOWN = {(key.group, key.word) for key in KEYS.values()}
_FREE = {"severity": "rule names and severities", "nets": "names of nets with voltages or currents"}


class _File(Struct, frozen=True):
    """A profile's file; ``shown`` is how people call it, ``hint`` helps where it is missing."""

    path: Path
    shown: str
    name: str
    hint: str = ""


@lru_cache(maxsize=1)
def profile_names() -> tuple[str, ...]:
    """Names of the built-in profiles in order; those that begin with _ are bases, not profiles."""
    names = (name for name in _built_in() if not name.startswith("_"))
    return tuple(sorted(names, key=_by_number))


def load_profile(
    name_or_path: str | Path, base: Path | None = None, over: Mapping[str, Node] | None = None
) -> Process:
    """Load a profile together with what it is based on.

    Args:
        name_or_path: a built-in profile's bare name, or a file: a `Path`, or text that ends in
            .yaml or .yml or holds a slash.
        base: folder that a relative path starts from; None for the current one.
        over: keys by their path that are laid over all that the profile says, where they apply;
            each must be known (see `flat_nodes`).

    Raises:
        ProfileError: not there, not a profile, or a value that cannot be meant.
    """
    file = _find(name_or_path, _ASKED, base or Path())
    nodes, own = _layered(file)
    if over:
        _forget(nodes, over)
        nodes, own = {**nodes, **over}, own & nodes.keys() - over.keys()
    return build(file.name, file.shown, nodes, own)


# --- finding --------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _folder() -> Path:
    spec = importlib.util.find_spec(_PACKAGE)
    for place in (spec.submodule_search_locations or ()) if spec else ():
        if (folder := Path(place) / "profiles").is_dir():
            return folder
    from checker.packages import rule_package

    rule_package(_PACKAGE)  # says what is wrong with the package, if that is it
    raise ProfileError(_PACKAGE, "holds no folder of profiles", advice="install it again")


@lru_cache(maxsize=1)
def _built_in() -> frozenset[str]:
    """Names of the files in the folder of profiles."""
    return frozenset(path.stem for path in _folder().glob("*.yaml"))


def _by_number(name: str) -> list[tuple[float, str]]:
    """cone-10-0.1 before cone-30-0.1, words before numbers."""
    parts = name.split("-")
    return [(float(p), "") if p.replace(".", "", 1).isdecimal() else (-1.0, p) for p in parts]


def named_profile(text: str, where: str, folder: Path) -> str | Path:
    """What `load_profile` takes for a profile that another file names; paths start from its folder.

    Raises:
        ProfileError: at ``where``: no such built-in profile, no such file.
    """
    file = _find(text, where, folder)
    if not _is_path(text):
        return text
    if not file.path.is_file():
        advice = file.hint if file.name in profile_names() else ""
        raise ProfileError(where, f"no such file {text[:80]!r}", advice=advice)
    return file.path


def _is_path(text: str) -> bool:
    return "/" in text or "\\" in text or text.lower().endswith(_SUFFIXES)


def _find(wanted: str | Path, where: str, base: Path) -> _File:
    text = str(wanted)
    if isinstance(wanted, Path) or _is_path(text):
        path = base / text
        name = path.stem if path.suffix.lower() in _SUFFIXES else path.name
        hint = "" if where == _ASKED else f"{where.rpartition(': ')[0]} is based on it"
        if name in profile_names():
            hint = f"the built-in profile is called {name}"
        return _File(path, str(path), name, hint)
    folder = _folder()
    if text not in _built_in():
        advice = f"the name of your own file ends in .yaml; {nearest(text[:80], profile_names())}"
        raise ProfileError(where, f"no built-in profile {text[:80]!r}", advice=advice)
    return _File(folder / f"{text}.yaml", f"{_PACKAGE}/profiles/{text}.yaml", text)


def _layered(file: _File) -> tuple[dict[str, Node], frozenset[str]]:
    """All keys of a file and of those it is based on, nearest first; and the keys of the file."""
    chain: list[dict[str, Node]] = []
    seen: dict[Path, str] = {}
    where, link = file.shown, file
    while True:
        keys = dict(flat_nodes(read_nodes(link.path, link.shown, link.hint)))
        if (path := link.path.resolve()) in seen:
            round_trip = " -> ".join([*seen.values(), link.shown])
            raise ProfileError(where, f"leads back to itself: {round_trip}")
        if len(chain) == _DEEPEST:
            raise ProfileError(where, f"is more than {_DEEPEST} profiles deep")
        seen[path] = link.shown
        chain.append(keys)
        parent = keys.pop("based_on", None)
        if parent is None:
            break
        where = f"{parent.where}: based_on"
        link = _find(str(read_value(KEYS["based_on"], parent).value), where, link.path.parent)
    layered: dict[str, Node] = {}
    for keys in reversed(chain):
        _forget(layered, keys)
        layered.update(keys)
    return layered, frozenset(chain[0])


def _forget(below: dict[str, Node], above: Mapping[str, Node]) -> None:
    """Drop what the lower profile says of another bit than the one that the upper one names."""
    own = {key for key in above if key.startswith("bit.")}
    shape = above.get("bit.shape")
    if shape and "bit.shape" in below and shape.value != below["bit.shape"].value:
        for key in [key for key in below if key.startswith("bit.")]:
            del below[key]
    if not own:
        return
    # Measured with another bit or at another depth; what the same bit has cut stays cut.
    stays = {"measured.cut_before"} if own <= _SETTING else set()
    stale = {key for key in below if key.startswith("measured.")} - stays
    for key in stale | ({"bit.measured_width"} - own):
        below.pop(key, None)


def flat_nodes(nodes: Mapping[str, Node]) -> Iterator[tuple[str, Node]]:
    """The keys of a profile by their path, such as ``bit.depth``.

    Raises:
        ProfileError: one that is not known.
    """
    for name, node in nodes.items():
        if name not in GROUPS:
            _must_be_known("", name, node)
            yield name, node
            continue
        if not isinstance(node.value, dict):
            expected = _FREE.get(name, "keys and values")
            raise ProfileError(f"{node.where}: {name}", _what(node), expected)
        for inner, child in node.value.items():
            if name not in _FREE:
                _must_be_known(name, inner, child)
            elif name == "severity" and not re.fullmatch(RULE_NAME, inner):
                found, expected = f"{inner!r} is not a rule's name", "one such as uncuttable-gap"
                raise ProfileError(f"{child.where}: severity", found, expected)
            yield f"{name}.{inner}", child


def _must_be_known(group: str, word: str, node: Node) -> None:
    name = f"{group}.{word}" if group else word
    if (group, word) not in _KNOWN:
        halved = node.value == "" and word[:1].isdigit()  # {depth: 0,1 mm}
        advice = COMMA if halved else _advice(group, word)
        raise ProfileError(f"{node.where}: {name}", "unknown key", advice=advice)


def _advice(group: str, word: str) -> str:
    """Where the word belongs, what is like it there, or which keys there are."""
    here = [key.word for key in KEYS.values() if key.group == group]
    near = nearest(word, here if group else [*here, *GROUPS])
    is_near = near.startswith("did you mean")
    last = word.rpartition(".")[2]
    homes = [key for key in KEYS.values() if key.word == last]
    # Of several homes the one that was named, or the one whose key every profile has.
    homes = [k for k in homes if k.name == word] or [k for k in homes if k.required] or homes
    if homes and not (group and is_near):
        named = " or ".join(f"{key.group}:" for key in homes if key.group)
        return f"it belongs under {named}" if named else "it belongs at the margin"
    if group or is_near:
        return near
    return f"no key is like it; cutworthy profiles {DEFAULT_PROFILE} shows them"


def _what(node: Node) -> str:
    if isinstance(node.value, list):
        return "a list"
    if isinstance(node.value, dict):
        return "keys and values"
    return repr(node.value[:40]) if node.value else "nothing stands here"
