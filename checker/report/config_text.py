"""What is configured for a board and where each value comes from, as text and as a document."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from checker.config.above import NAME, seen
from checker.process.keys import KEYS
from checker.process.values import read_value
from checker.report import words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import date

    from checker.accepted.waiver import Waiver
    from checker.config import Config
    from checker.process import Process
    from checker.process.nodes import Node

SCHEMA = "cutworthy.config/1"
_WIDTH = 100
_DRILLS = "drills.sizes"
_LONGEST = 1000


def config_document(config: Config, processes: Sequence[Process]) -> dict[str, Any]:
    """The configuration of a board; values as written, lengths in mm, "from" null by default.

    Args:
        config: what is said.
        processes: those in force, loaded with what the configuration lays over them.
    """
    places = config.places
    boards = [pattern.text for pattern in config.boards]
    profiles = [str(name) for name in config.profiles] or [one.name for one in processes]
    layers = [
        {"role": role, "files": list(files), "from": places[f"layers.{role}"]}
        for role, files in config.layers.items()
    ]
    severity = [
        {"rule": rule, "severity": node.value, "from": node.where}
        for rule, node in _group(config, "severity.")
    ]
    nets = [
        {"net": net, **_rating(node), "from": node.where} for net, node in _group(config, "nets.")
    ]
    return {
        "schema": SCHEMA,
        "files": [seen(path) for path in config.files],
        "boards": {"patterns": boards, "from": places.get("boards")},
        "profiles": {"names": profiles, "from": places.get("profiles")},
        "drills": {"sizes_mm": _drills(config), "from": places.get("stock.drills")},
        "bits": {"names": [str(name) for name in config.bits], "from": places.get("stock.bits")},
        "layers": layers,
        "severity": severity,
        "nets": nets,
        "overridden": [
            {"profile": one.name, "keys": sorted(_overridden(config, one))} for one in processes
        ],
        "waivers": [_waiver(one) for one in config.waivers],
    }


def config_text(config: Config, processes: Sequence[Process], today: date | None = None) -> str:
    """The same for people, in lines of at most a hundred letters but for names longer than that.

    ``today`` tells the waivers whose last day is over; None leaves that out.
    """
    day = "" if today is None else today.isoformat()
    return "".join(f"{line}\n" for line in _lines(config_document(config, processes), day))


# --- values ---------------------------------------------------------------------------------


def _group(config: Config, prefix: str) -> Iterator[tuple[str, Node]]:
    for key, node in config.over.items():
        if key.startswith(prefix):
            yield key.removeprefix(prefix), node


def _rating(node: Node) -> dict[str, object]:
    if isinstance(node.value, dict):
        return {word: part.value for word, part in node.value.items()}
    return {"voltage": node.value}


def _drills(config: Config) -> list[float] | None:
    """In mm; None where the profiles keep their own, or have none."""
    if _DRILLS not in config.over:
        return None
    sizes = read_value(KEYS[_DRILLS], config.over[_DRILLS]).value
    return list(sizes) if isinstance(sizes, tuple) else None


def _overridden(config: Config, process: Process) -> Iterator[str]:
    """The keys of the configuration that the process takes."""
    for key, node in config.over.items():
        if process.places.get(key) == node.where:
            yield key


def _waiver(waiver: Waiver) -> dict[str, object]:
    place = waiver.at
    return {
        "rule": waiver.rule,
        "reason": waiver.reason,
        "board": waiver.board,
        "side": waiver.side,
        "nets": list(waiver.nets),
        "pins": list(waiver.pins),
        "at_mm": None if place is None else list(place),
        "within_mm": None if place is None else waiver.within,
        "until": None if waiver.until is None else waiver.until.isoformat(),
        "from": waiver.where,
    }


# --- lines ----------------------------------------------------------------------------------


def _lines(document: dict[str, Any], today: str) -> Iterator[str]:
    if document["files"]:
        yield "Files in force, the nearest first"
        yield from (f"   {_plain(name)}" for name in document["files"])
    else:
        yield f"No file {NAME} in the board's folder or above it"
    yield ""
    rows = list(_rows(document))
    widest = max(len(key) for key, _, _ in rows)
    for key, value, where in rows:
        yield from _wrapped(f"{key:{widest}} ", f"{value}  ({_plain(where or 'default')})")
    taken = [one for one in document["overridden"] if one["keys"]]
    if taken:
        yield from ("", "Laid over the profiles")
        widest = max(len(_plain(one["profile"])) for one in taken)
        for one in taken:
            yield from _wrapped(f"   {_plain(one['profile']):{widest}} ", _list(one["keys"]))
    if document["waivers"]:
        yield from ("", "Waivers for this board")
        for waiver in document["waivers"]:
            yield from _waiver_lines(waiver, today)


def _rows(document: dict[str, Any]) -> Iterator[tuple[str, str, str | None]]:
    """Key, value and place of what one line each tells."""
    boards, profiles, bits = (document[word] for word in ("boards", "profiles", "bits"))
    drills = document["drills"]
    yield "profiles", _list(profiles["names"]), profiles["from"]
    yield "boards", _list(boards["patterns"]) or "none", boards["from"]
    yield "stock.bits", _list(bits["names"]) or "none", bits["from"]
    sizes = "none" if drills["from"] else "those of the profile"
    if drills["sizes_mm"]:
        sizes = f"{_list(f'{size:.6g}' for size in drills['sizes_mm'])} mm"
    yield "stock.drills", sizes, drills["from"]
    for one in document["layers"]:
        yield f"layers.{one['role']}", _list(one["files"]), one["from"]
    for one in document["severity"]:
        yield f"severity.{one['rule']}", one["severity"], one["from"]
    for one in document["nets"]:
        said = [f"{word} {one[word]}" for word in one if word not in ("net", "from")]
        yield f"nets.{_plain(one['net'])}", _list(said), one["from"]


def _waiver_lines(waiver: dict[str, Any], today: str) -> Iterator[str]:
    yield f"   {waiver['rule']} ({_plain(waiver['from'])})"
    if where := _list(_meant(waiver)):
        yield from _wrapped("     ", where)
    yield from _wrapped("     ", _plain(waiver["reason"]))
    if waiver["until"]:
        over = " is over: it holds no more" if waiver["until"] < today else ", that day included"
        yield f"      until {waiver['until']}{over}"


def _meant(waiver: dict[str, Any]) -> Iterator[str]:
    """What of the rule's findings is meant."""
    if waiver["board"]:
        yield f"board {waiver['board']}"
    if waiver["side"]:
        yield waiver["side"]
    for what in ("nets", "pins"):
        if waiver[what]:
            yield f"{what} {' and '.join(waiver[what])}"
    if waiver["at_mm"]:
        x, y = waiver["at_mm"]
        yield f"within {waiver['within_mm']:g} mm of x {x:.3f} y {y:.3f}"


def _list(texts: Iterable[str]) -> str:
    return ", ".join(map(_plain, texts))


def _plain(text: str) -> str:
    return words.plain(text, _LONGEST)


def _wrapped(key: str, value: str) -> list[str]:
    indent = " " * (len(key) + 1)
    return textwrap.wrap(
        value,
        _WIDTH,
        initial_indent=f"{key} ",
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
