"""What a file name or a layer comment says of a file's role: endings and words of many exporters.

Endings and words are conventions of the trade, not of one program; a name that says two things
at once says nothing, and a name that says half of it (a mask of no side) says nothing either.
"""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Callable

SIDED = ("mask", "legend", "parts")  # beside copper, the kinds that need a side


class Role(Struct, frozen=True):
    """What a file is for.

    Attributes:
        kind: "copper", "outline", "drill", "mask", "legend", "parts", "netlist", "job",
            "note" or "unused".
        side: "top", "bottom" or "inner"; "" where the kind has none or it is not known.
        position: of copper, counted from 1 at the top over all layers; 0 not known.
        inner: of inner copper, counted from 1 below the top; 0 not known.
        plated: of a drill file, None not known.
        negative: copper is left where nothing is drawn.
    """

    kind: str
    side: str = ""
    position: int = 0
    inner: int = 0
    plated: bool | None = None
    negative: bool = False

    @property
    def label(self) -> str:
        """The name of the role on the command line."""
        if self.kind == "copper":
            number = self.position - 1 if self.position else self.inner
            return f"inner{number or ''}" if self.side == "inner" else self.side or "copper"
        if self.kind == "drill":
            return {None: "drill", True: "plated-drill", False: "unplated-drill"}[self.plated]
        if self.kind in SIDED:
            return f"{self.kind}-{self.side}"
        return "ignore" if self.kind == "unused" else self.kind

    @property
    def complete(self) -> bool:
        """Whether nothing that decides its use is missing."""
        if self.kind == "copper":
            return bool(self.side or self.position)
        return self.kind not in SIDED or self.side in ("top", "bottom")


UNUSED = Role("unused")

T = TypeVar("T")


def _index(table: dict[T, str]) -> dict[str, T]:
    """Each of the words in a table's values to the key it stands under."""
    return {word: key for key, listed in table.items() for word in listed.split()}


_ENDINGS = _index(
    {
        Role("copper", "top"): "gtl cmp top",
        Role("copper", "bottom"): "gbl sol bot",
        Role("mask", "top"): "gts stc smt",
        Role("mask", "bottom"): "gbs sts smb",
        Role("legend", "top"): "gto plc sst",
        Role("legend", "bottom"): "gbo pls ssb",
        Role("outline"): "gko gm1 gml gm dim oln bor",
        UNUSED: "gtp gbp crc crs spt spb tsp bsp gpt gpb gdd gdl fab ast asb gta gba",
    }
)
_NUMBERED_ENDINGS: tuple[tuple[str, Callable[[int], Role]], ...] = (
    (r"g(\d{1,2})", lambda n: Role("copper", "inner", inner=n)),
    (r"in(\d{1,2})", lambda n: Role("copper", "inner", inner=n)),
    (r"ly(\d{1,2})", lambda n: Role("copper", "inner", position=n)),
    # Internal planes of this convention are plotted as what is cleared.
    (r"gp(\d{1,2})", lambda n: Role("copper", "inner", inner=n, negative=True)),
    # Drill drawings, and mechanical layers beyond the first, which hold anything.
    (r"(?:g[dg]|gm)(\d{1,2})", lambda n: UNUSED),
)

_SIDES = _index(
    {
        "top": "top front upper primary component comp smc",
        "bottom": "bottom bot btm back lower secondary solder sms",
        "inner": "inner inr internal in mid",
    }
)
_KINDS = _index(
    {
        "unused": "paste pastemask solderpaste cream stencil glue adhesive adhes adhesives fab "
        "fabrication assembly assy courtyard crtyd drawing drawings dwgs comment comments cmts cmt "
        "document documentation doc map drillmap guide ident chart eco margin positions vcut pads",
        "mask": "mask soldermask stop stopmask solderstop solderstopmask resist solderresist smask "
        "smc sms",
        "legend": "silk silks silkscreen legend overlay nomenclature placement placementprint posi",
        "parts": "components parts",
        "outline": "outline outlines profile edge edges edgecuts cuts dimension dimensions contour "
        "contours border milling keepout mechanical boardoutline boardshape cutout cutouts",
        "drill": "drill drills drl hole holes pth npth plated unplated nonplated drilling excellon "
        "rout router slots",
        "copper": "copper cu etch signal conductor plane electrical",
    }
)
# Where a name holds words of several kinds, the first of these is what the file is: a "drill
# drawing" is a drawing, "bottom copper (resist)" is the mask over the copper.
_PRECEDENCE = ("unused", "mask", "legend", "parts", "drill", "outline", "copper")
_LAYER_WORDS = ("layer", "lyr", "lay", "l")
_INNER_WORDS = ("layer", "lyr", "lay", "copper", "cu", "plane", "signal")
_FILLERS = ("layer", "side", "non", "pcb", "board", "through", "thru", "tented")
_VOCABULARY = {*_SIDES, *_KINDS, *_FILLERS, "lyr"} - {"in"}
_COMPOUND = re.compile("|".join(sorted(_VOCABULARY, key=len, reverse=True)))
_WORD = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+|\d+")
# The short names of one side and one kind written in one: F_Cu, B.Mask, F.SilkS.
_SHORT = re.compile(
    r"(?<![A-Za-z0-9])([FB])[ ._-]?"
    r"(Cu|Mask|SilkS|Silkscreen|Paste|Adhesive|Adhes|Fab|CrtYd|Courtyard)(?![a-z])",
    re.IGNORECASE,
)


def words(text: str) -> tuple[str, ...]:
    """Lower-case words of a name: split at signs, capitals and digits, and inside compounds."""
    found: list[str] = []
    for token in _WORD.findall(text):
        token = token.lower()
        parts = _COMPOUND.findall(token)
        found += parts if "".join(parts) == token else [token]
    return tuple(found)


def shared_prefix(names: list[str]) -> str:
    """What all names begin with up to the last sign, hence the project's own name."""
    if len(names) < 2:
        return ""
    low, high = min(names), max(names)
    length = next((i for i, c in enumerate(low) if i >= len(high) or c != high[i]), len(low))
    while length and low[length - 1].isalnum():
        length -= 1
    return low[:length]


@lru_cache(maxsize=1024)
def by_ending(ending: str) -> Role | None:
    """The role a file name's ending gives, without its dot."""
    ending = ending.lower()
    if ending in _ENDINGS:
        return _ENDINGS[ending]
    for pattern, build in _NUMBERED_ENDINGS:
        match = re.fullmatch(pattern, ending)
        if match:
            return build(int(match[1]))
    return None


@lru_cache(maxsize=1024)
def by_words(text: str) -> Role | None:
    """The role the words of a text give, or None where they give none or contradict."""
    short = _SHORT.search(text)
    if short:
        role = by_words(f"{'top' if short[1].lower() == 'f' else 'bottom'} {short[2]}")
        if role is not None:
            return role
    found = words(text)
    kinds = {_KINDS[w] for w in found if w in _KINDS}
    kind = next((k for k in _PRECEDENCE if k in kinds), "")
    if kind in ("unused", "outline"):
        return Role(kind)
    if kind == "drill":
        return Role(kind, plated=_plated(found))
    sides = set(_sides(found))
    position, inner = _numbers(found)
    if inner and not position:
        sides.add("inner")
    if len(sides) > 1 or (kind in SIDED and "inner" in sides):
        return None
    side = next(iter(sides), "")
    if not kind and not side and not position:
        return None
    role = Role(kind or "copper", side, position, inner)
    return role if role.complete else None


def _sides(found: tuple[str, ...]) -> list[str]:
    sides = []
    for word, following in pairwise((*found, "")):
        if word == "in" and not following.isdigit():
            continue
        if word == "solder" and _KINDS.get(following) in ("mask", "unused"):
            continue  # a solder mask has no side yet
        if word in _SIDES:
            sides.append(_SIDES[word])
    return sides


def _numbers(found: tuple[str, ...]) -> tuple[int, int]:
    """(position over all layers, position among the inner layers), 0 where not said."""
    inner_said = bool({"inner", "inr", "internal", "mid"} & set(found))
    for word, following in pairwise(found):
        if not following.isdigit() or not 1 <= int(following) <= 64:
            continue
        if _SIDES.get(word) == "inner" or (inner_said and word in _INNER_WORDS):
            return 0, int(following)
        if word in _LAYER_WORDS:
            return int(following), 0
    return 0, 0


def _plated(found: tuple[str, ...]) -> bool | None:
    joined = " ".join(found)
    bare = re.search(r"\b(npth|unplated|nonplated|non plated|not plated|no plated)\b", joined)
    rest = re.sub(r"\b(npth|unplated|nonplated|(non|not|no) plated)\b", "", joined)
    plated = re.search(r"\b(pth|plated)\b", rest)
    return None if bool(bare) == bool(plated) else bool(plated)
