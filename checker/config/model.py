"""What configuration files say, and how one is laid over another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from checker.errors import ConfigError, nearest

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

    from checker.accepted.waiver import Waiver
    from checker.process.nodes import Node

_SHOWN = 12  # names to tell where none is near


class Pattern(Struct, frozen=True):
    """Which boards are meant: a path with ``*``, ``?`` and ``**`` that starts from a folder.

    Attributes:
        text: as written, with "/".
        folder: that of the file that says it.
        where: "file:line" that says it.
    """

    text: str
    folder: Path
    where: str


class Config(Struct, frozen=True):
    """One configuration file, or several laid over each other; empty where nothing says anything.

    Attributes:
        files: nearest first.
        boards: which boards a check takes that names none.
        profiles: what it judges by where no profile is named, ready for `load_profile`.
        bits: the profiles of the bits in the drawer, as well.
        layers: role -> patterns of the files that have it; see `layers_of`.
        over: keys laid over every profile: ``severity.<rule>``, ``nets.<net>``, ``drills.sizes``.
        waivers: nearest first.
        places: key -> "file:line", such as "profiles", "stock.bits", "layers.top", "nets.LIVE".
    """

    files: tuple[Path, ...] = ()
    boards: tuple[Pattern, ...] = ()
    profiles: tuple[str | Path, ...] = ()
    bits: tuple[str | Path, ...] = ()
    layers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    over: Mapping[str, Node] = field(default_factory=dict)
    waivers: tuple[Waiver, ...] = ()
    places: Mapping[str, str] = field(default_factory=dict)


def lay(near: Config, far: Config) -> Config:
    """The nearer over the farther: entry by entry, a list whole, waivers one after the other."""
    return Config(
        near.files + far.files,
        near.boards or far.boards,
        near.profiles or far.profiles,
        near.bits or far.bits,
        {**far.layers, **near.layers},
        {**far.over, **near.over},
        near.waivers + far.waivers,
        {**far.places, **near.places},
    )


def layers_of(config: Config, files: Sequence[str]) -> dict[str, list[str]]:
    """Role -> patterns that files of a board fit, ready for `checker.read.read_package`.

    A pattern may fit nothing, as it may be meant for other boards, and so may what is to be
    ignored; a file that is named and not there is an error.

    Args:
        config: what was said.
        files: names of the board's files.

    Raises:
        ConfigError: a file that is named for a role is not there, or several are.
    """
    from checker.read.roles import IGNORE, fits, means_one, role_named

    found: dict[str, list[str]] = {}
    for name, patterns in config.layers.items():
        where, role = f"{config.places[f'layers.{name}']}: layers.{name}", role_named(name)
        for pattern in patterns:
            hits = [file for file in files if fits(file, pattern)]
            if hits:
                found.setdefault(name, []).append(pattern)
            elif name != IGNORE and not any(sign in pattern for sign in "*?["):
                advice = f"{_near(pattern, files)}; a pattern may fit nothing, such as *{pattern}"
                raise ConfigError(where, f"no file {pattern} in the board", advice=advice)
            if len(hits) > 1 and role is not None and means_one(role, pattern):
                raise ConfigError(where, f"several files: {', '.join(hits[:5])}", "one")
    return found


def check_rules(config: Config, rules: Collection[str]) -> None:
    """See that every rule that is named exists.

    Raises:
        ConfigError: one does not.
    """
    said = [
        (f"{node.where}: severity", key.removeprefix("severity."))
        for key, node in config.over.items()
        if key.startswith("severity.")
    ]
    said += [(f"{waiver.where}: waivers.rule", waiver.rule) for waiver in config.waivers]
    for where, rule in said:
        if rule not in rules:
            raise ConfigError(where, f"{rule!r} is no rule", advice=_near(rule, rules))


def _near(word: str, known: Collection[str]) -> str:
    """The nearest of the names, else a few of them."""
    advice = nearest(word, known)
    return advice if advice.startswith("did you mean") else nearest(word, sorted(known)[:_SHOWN])
