"""One configuration file, from its text to a `Config`. Lengths in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from checker.config.above import near, seen
from checker.config.model import Config, Pattern
from checker.config.patterns import check_pattern
from checker.config.waivers import read_waiver
from checker.config.words import inner, items, text
from checker.errors import ConfigError, ProfileError, nearest
from checker.process.build import read_severity
from checker.process.keys import GROUPS, KEYS
from checker.process.load import flat_nodes, named_profile
from checker.process.nodes import Node, read_nodes
from checker.process.ratings import read_ratings
from checker.process.values import read_value
from checker.read.roles import ROLES, role_named

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

WORDS = ("top", "boards", "profiles", "severity", "layers", "nets", "stock", "waivers")
STOCK = ("drills", "bits")
_WHAT = "a configuration file"
_SUCH_AS = ("profiles: [cone-30-0.1]", 'boards: ["hardware/*"]')
_HINT = "it is a link that leads nowhere"
_DRILLS = KEYS["drills.sizes"]


def read_config(path: Path) -> tuple[Config, bool]:
    """What a file says, and whether it is the top: nothing above it counts.

    Raises:
        ConfigError: not a configuration file, or a value that cannot be meant.
    """
    try:
        root = read_nodes(path, seen(path), _HINT, _WHAT, _SUCH_AS)
        return _config(root, path), _is_top(root)
    except ProfileError as fault:
        raise ConfigError(*fault.args) from None


def _config(root: Mapping[str, Node], path: Path) -> Config:
    for word, node in root.items():
        if word not in WORDS:
            is_of_profile = word in KEYS or word in GROUPS
            advice = "a profile says that" if is_of_profile else nearest(word, WORDS)
            raise ProfileError(f"{node.where}: {word}", "unknown key", advice=advice)
    stock = inner(root["stock"], "stock", STOCK) if "stock" in root else {}
    folder, over, layers = path.parent, _over(root, stock), _layers(root)
    places = {word: root[word].where for word in ("boards", "profiles") if word in root}
    places |= {f"stock.{word}": node.where for word, node in stock.items()}
    places |= {f"layers.{role}": node.where for role, (node, _) in layers.items()}
    places |= {key: node.where for key, node in over.items() if key != _DRILLS.name}
    return Config(
        (path,),
        _boards(root, folder),
        _profiles(root, "profiles", "profiles", folder),
        _profiles(stock, "bits", "stock.bits", folder),
        {role: patterns for role, (_, patterns) in layers.items()},
        over,
        tuple(read_waiver(node, folder) for node in items(root.get("waivers"), "waivers")),
        places,
    )


def _is_top(root: Mapping[str, Node]) -> bool:
    if "top" not in root:
        return False
    node = root["top"]
    if node.value not in ("true", "false"):
        raise ProfileError(f"{node.where}: top", "is neither", "true or false")
    return node.value == "true"


def _boards(root: Mapping[str, Node], folder: Path) -> tuple[Pattern, ...]:
    return tuple(
        Pattern(check_pattern(text(node, "boards"), f"{node.where}: boards"), folder, node.where)
        for node in items(root.get("boards"), "boards")
    )


def _profiles(
    nodes: Mapping[str, Node], word: str, key: str, folder: Path
) -> tuple[str | Path, ...]:
    return tuple(
        named_profile(text(node, key), f"{node.where}: {key}", near(folder))
        for node in items(nodes.get(word), key)
    )


def _over(root: Mapping[str, Node], stock: Mapping[str, Node]) -> dict[str, Node]:
    """The keys that are laid over every profile, each of them read once to see that it can be."""
    groups = {word: root[word] for word in ("severity", "nets") if word in root}
    over = dict(flat_nodes(groups))
    for key, node in over.items():
        if key.startswith("severity."):
            read_severity(key, node)
    read_ratings({k.removeprefix("nets."): n for k, n in over.items() if k.startswith("nets.")})
    if "drills" in stock:
        node = stock["drills"]
        read_value(replace(_DRILLS, name="stock.drills"), node)
        over[_DRILLS.name] = node if isinstance(node.value, dict) else _sourced(node)
    return over


def _sourced(node: Node) -> Node:
    """With the place that says it as its source, as a profile page shows it."""
    source = Node(f"stock.drills in {node.where}", node.where)
    return Node({"value": node, "source": source}, node.where)


def _layers(root: Mapping[str, Node]) -> dict[str, tuple[Node, tuple[str, ...]]]:
    found = {}
    for role, node in inner(root["layers"], "layers").items() if "layers" in root else ():
        key = f"layers.{role}"
        if role_named(role) is None or role != role.strip().lower():
            advice = nearest(role, ROLES)
            raise ProfileError(f"{node.where}: {key}", "is no role", advice=advice)
        found[role] = node, tuple(text(one, key) for one in items(node, key))
    return found
