"""Which file is which layer, by the strongest evidence there is, and what contradicts it.

In falling order: the user's word; the file function a file states of itself; the job file;
comments and image names inside the file; its name. Where a weaker source disagrees, a note says
so; nothing is swapped in silence, and a file that cannot be told apart is named as such.
"""

from __future__ import annotations

import re
from fnmatch import fnmatch
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from checker.errors import ReadError
from checker.read.names import SIDED, UNUSED, Role, by_ending, by_words, shared_prefix
from checker.read.package import NOTE_NAME
from checker.remarks import Note

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from checker.read.jobfile import JobFile
    from checker.read.package import SourceFile

IGNORE = "ignore"
_FIXED = {
    **{side: Role("copper", side) for side in ("top", "bottom")},
    "outline": Role("outline"),
    "drill": Role("drill"),
    "plated-drill": Role("drill", plated=True),
    "unplated-drill": Role("drill", plated=False),
    **{f"{kind}-{side}": Role(kind, side) for kind in SIDED for side in ("top", "bottom")},
    "netlist": Role("netlist"),
    "job": Role("job"),
    "note": Role("note"),
    IGNORE: UNUSED,
}
ROLES = (*_FIXED, "inner1")  # inner2, inner3 ... count on
HINT = "name it with --layer ROLE=FILE"

# What a layer or drill file is named, and hardly anything else.
_LAYER_ENDINGS = (".gbr", ".ger", ".gtl", ".gbl", ".gts", ".gbs", ".gto", ".gbo", ".gko", ".gm1")
_DRILL_ENDINGS = (".drl", ".xln", ".xnc", ".exc")
# The same of what a board can be read without.
_SPARE_ENDINGS = {".gbrjob": "job file", ".ipc": "netlist", ".d356": "netlist"}

_FUNCTION = re.compile(r"TF\.FileFunction,([^*%\n]+)")
_COMMENT = re.compile(
    r"%(?:IN|LN)([^*%\n]{2,80})\*"
    r"|G0?4\s*(?:Layer(?: name)?|Film Name|Title)\s*:\s*([^*\n]{2,80})\*",
    re.IGNORECASE,
)
_PHYSICAL_ORDER = re.compile(r"G0?4\s*Layer_Physical_Order\s*=\s*(\d{1,3})\b")
_HEAD = 20_000  # layer comments stand at the start of a file


class Identified(Struct, frozen=True):
    """A file with its role and the evidence for it; role None where it is not identified.

    ``promised`` is the role that the job file or the name gives a file that cannot be read as one.
    """

    file: SourceFile
    role: Role | None
    evidence: str
    rank: int
    promised: Role | None = None

    @property
    def label(self) -> str:
        """The role as shown to the user."""
        if self.role is None:
            return "not identified"
        return "not used" if self.role.kind == "unused" else self.role.label


def parse_function(value: str) -> Role | None:
    """The role of a file function such as "Copper,L1,Top"; matched without regard to capitals.

    None for an empty value and for copper that names neither layer nor side.

    Source: Gerber layer format, attribute .FileFunction. L1 is the top layer always.
    """
    name, *fields = (part.strip().lower() for part in value.split(","))
    if not name:
        return None
    side = next((s for s, start in _SIDE_FIELDS if any(f.startswith(start) for f in fields)), "")
    if name == "copper":
        number = next((int(f[1:]) for f in fields if re.fullmatch(r"l\d{1,3}", f)), 0)
        return Role("copper", side, number) if side or number else None
    if name in ("plated", "nonplated", "mixedplating"):
        return Role("drill", plated={"plated": True, "nonplated": False}.get(name))
    if name == "profile":
        return Role("outline")
    if name in _SIDED_FUNCTIONS and side in ("top", "bottom"):
        return Role(_SIDED_FUNCTIONS[name], side)
    return UNUSED


_SIDED_FUNCTIONS = {"soldermask": "mask", "legend": "legend", "component": "parts"}
_SIDE_FIELDS = (("top", "top"), ("bottom", "bot"), ("inner", "inr"))


def identify(
    files: Sequence[SourceFile], jobs: Sequence[JobFile], layers: Mapping[str, str | Sequence[str]]
) -> tuple[list[Identified], list[Note]]:
    """Give each file a role.

    Returns:
        The files in order, each once, and notes on conflicts.

    Raises:
        ReadError: an override that names no role or no file; two files for one copper layer.
    """
    notes: list[Note] = []
    chosen = _overrides(files, layers)
    stems = [PurePosixPath(f.name).name for f in files if f.format in ("gerber", "drill")]
    prefix = shared_prefix(stems)
    functions = {name: value for job in jobs for name, value in job.functions.items()}
    found = []
    for file in files:
        if file.name in chosen:
            found.append(Identified(file, chosen[file.name], "command line", 0))
        else:
            found.append(_identify(file, prefix, functions, notes))
    return _single(_layer_sides(found), notes), notes


def _overrides(
    files: Sequence[SourceFile], layers: Mapping[str, str | Sequence[str]]
) -> dict[str, Role]:
    chosen: dict[str, Role] = {}
    for name, patterns in layers.items():
        role = role_named(name)
        if role is None:
            raise ReadError(f"--layer {name}", "is no role", ", ".join((*ROLES, "inner2, ...")))
        for pattern in [patterns] if isinstance(patterns, str) else patterns:
            hits = [file.name for file in files if fits(file.name, pattern)]
            if not hits:
                known = ", ".join(f.name for f in files if f.format)[:300]
                raise ReadError(f"--layer {name}={pattern}", "no such file in the board", known)
            if len(hits) > 1 and means_one(role, pattern):
                raise ReadError(
                    f"--layer {name}={pattern}", f"several files: {', '.join(hits[:5])}", "one"
                )
            chosen.update(dict.fromkeys(hits, role))
    return chosen


def role_named(name: str) -> Role | None:
    """The role that a user calls by one of `ROLES`, or by inner2, inner3 and so on."""
    key = name.strip().lower()
    inner = re.fullmatch(r"inner([1-9]\d?)", key)
    return Role("copper", "inner", inner=int(inner[1])) if inner else _FIXED.get(key)


def means_one(role: Role, pattern: str) -> bool:
    """Whether a pattern for a role is the name of one file, and no more than one may fit it."""
    return role.kind in ("copper", "outline") and "*" not in pattern


def fits(name: str, pattern: str) -> bool:
    """Whether a pattern names a file, by its whole name or its end after a folder."""
    name, pattern = name.lower(), pattern.replace("\\", "/").lower()
    return fnmatch(name, pattern) or fnmatch(name, f"*/{pattern}") or pattern.endswith(f"/{name}")


def _identify(
    file: SourceFile, prefix: str, functions: Mapping[str, str], notes: list[Note]
) -> Identified:
    name = PurePosixPath(file.name).name
    by_name = _named(name, prefix)
    if file.format in ("netlist", "job"):
        return Identified(file, Role(file.format), "content", 1)
    if file.format == "note":
        if name.lower() == NOTE_NAME:
            return Identified(file, Role("note"), "its name", 1)
        text = f"lists nets as a board note does; not used: call it {NOTE_NAME} or {HINT}"
        notes.append(Note(file.name, 0, text.replace("ROLE", "note")))
        return Identified(file, UNUSED, "content", 9)
    if file.format == "":
        promised = parse_function(functions.get(name.lower(), ""))
        if promised is None and name.lower().endswith((*_LAYER_ENDINGS, *_DRILL_ENDINGS)):
            promised = by_name
        _note_spare(file, notes)
        return Identified(file, UNUSED, "content", 9, promised)
    if file.format == "empty":
        if by_name is None or by_name.kind not in ("copper", "drill", "outline"):
            _note_spare(file, notes)
            return Identified(file, UNUSED, "content", 9)
        notes.append(Note(file.name, 0, f"is empty: no {by_name.label} is taken from it"))
        return Identified(file, UNUSED, "content", 9, by_name)
    evidence: list[tuple[str, Role, int]] = []
    match = _FUNCTION.search(file.text)
    stated = parse_function(match[1]) if match else None
    if stated is not None:
        evidence.append(("its file function", stated, 1))
    listed = parse_function(functions.get(name.lower(), ""))
    if listed is not None:
        evidence.append(("the job file", listed, 2))
    comment = _commented(file.text[:_HEAD], prefix)
    if comment is not None and file.format == "gerber":
        evidence.append(("its comments", comment, 3))
    if by_name is not None:
        # A keep-out layer often holds the edge, but a profile beside it counts for more.
        weak = by_name.kind == "outline" and name.lower().endswith((".gko", "keepout.gbr"))
        evidence.append(("its name", by_name, 5 if weak else 4))
    if file.format == "drill":
        evidence = [e for e in evidence if e[1].kind == "drill"] or [("content", Role("drill"), 1)]
    if not evidence:
        return Identified(file, None, "", 9)
    source, role, rank = evidence[0]
    for other, weaker, _ in evidence[1:]:
        if _conflict(role, weaker):
            text = f"{source} says {role.label}, {other} says {weaker.label}: taken as {role.label}"
            notes.append(Note(file.name, 0, text))
        else:
            role = _merge(role, weaker)
    return Identified(file, _ordered(role, file.text), source, rank)


def _note_spare(file: SourceFile, notes: list[Note]) -> None:
    """Say so where a job file or a netlist is none."""
    kind = _SPARE_ENDINGS.get(PurePosixPath(file.name).suffix.lower())
    if kind is not None:
        notes.append(Note(file.name, 0, f"holds no {kind}; not used"))


def role_by_name(name: str) -> Role | None:
    """The role that the name of a file gives which is a layer or drill file by its ending."""
    whole = PurePosixPath(name).name
    named = whole.lower().endswith((*_LAYER_ENDINGS, *_DRILL_ENDINGS))
    return _named(whole, "") if named else None


def _conflict(a: Role, b: Role) -> bool:
    if a.kind != b.kind:
        # Names such as "legend" are loose where a file function says e.g. "assembly drawing".
        return "copper" in (a.kind, b.kind) or {a.kind, b.kind} == {"mask", "legend"}
    if a.plated is not None and b.plated is not None and a.plated != b.plated:
        return True
    return bool(a.side and b.side and a.side != b.side)


def _merge(a: Role, b: Role) -> Role:
    """What ``a`` leaves open, filled in from ``b``, which does not contradict it."""
    if a.kind != b.kind:
        return a
    return replace(
        a,
        side=a.side or b.side,
        position=a.position or (0 if a.inner else b.position),
        inner=a.inner or (0 if a.position else b.inner),
        plated=b.plated if a.plated is None else a.plated,
        negative=a.negative or b.negative,
    )


def _ordered(role: Role, text: str) -> Role:
    """With the layer's physical order where the file gives it as a comment."""
    order = _PHYSICAL_ORDER.search(text[:_HEAD]) if role.kind == "copper" else None
    return replace(role, position=int(order[1])) if order and not role.position else role


def _named(name: str, prefix: str) -> Role | None:
    """The role a file name gives: its ending, else the words behind the project's own name."""
    stem, _, ending = name.rpartition(".")
    own = stem.removeprefix(prefix) if name.startswith(prefix) else stem
    ended = by_ending(ending)
    worded = by_words(own) or by_words(f"{own} {ending}")
    if ended is None:
        return worded or by_words(stem)
    if ended.kind == "unused":
        return ended
    if worded is not None and worded.kind != "unused" and _conflict(ended, worded):
        return None
    return _merge(ended, worded) if worded is not None else ended


def _commented(head: str, prefix: str) -> Role | None:
    """The role that image names and layer comments give, where all that give one agree."""
    roles = []
    for match in _COMMENT.finditer(head):
        text = (match[1] or match[2]).rpartition(",")[2].strip().removeprefix(prefix)
        role = by_words(text)
        if role is not None:
            roles.append(role)
    agreed = bool(roles) and not any(_conflict(roles[0], other) for other in roles[1:])
    return roles[0] if agreed else None


def _layer_sides(found: list[Identified]) -> list[Identified]:
    """Sides of copper that is only numbered: the first layer is the top, the last the bottom."""
    copper = [i for i in found if i.role is not None and i.role.kind == "copper"]
    positions = [i.role.position for i in copper if i.role is not None]
    have_bottom = any(i.role is not None and i.role.side == "bottom" for i in copper)
    last = max(positions, default=0)
    done = []
    for item in found:
        role = item.role
        if role is not None and role.kind == "copper" and not role.side:
            bottom = role.position == last > 1 and not have_bottom
            side = "top" if role.position == 1 else "bottom" if bottom else "inner"
            item = replace(item, role=replace(role, side=side))
        done.append(item)
    return done


def _single(found: list[Identified], notes: list[Note]) -> list[Identified]:
    """Leave one file for each copper layer: the same file twice counts once, evidence decides."""
    best: dict[str, Identified] = {}
    dropped: set[str] = set()
    for item in sorted(found, key=lambda i: i.rank):
        role = item.role
        if role is None or role.kind != "copper":
            continue
        # Signal layers and internal planes may be numbered each on their own.
        first = best.setdefault(role.label + "-" * role.negative, item)
        if first is item:
            continue
        if first.file.text == item.file.text:
            reason = f"the same as {first.file.name}; read once"
        elif first.rank < item.rank:
            reason = f"left out: {first.file.name} is the {role.label} copper by {first.evidence}"
        else:
            raise ReadError(
                item.file.name,
                f"{first.file.name} looks like the {role.label} copper too",
                advice="give the folder of one board, or " + HINT,
            )
        dropped.add(item.file.name)
        notes.append(Note(item.file.name, 0, reason))
    return [replace(i, role=UNUSED) if i.file.name in dropped else i for i in found]
