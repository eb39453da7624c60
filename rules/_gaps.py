"""What the rules on gaps have in common: faulty places in a person's words, sorted by cause."""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from string import ascii_letters
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from checker.alike import alike, spoken, worst_rows
from checker.board import Kind
from checker.causes import levels_of, worst_of
from checker.exact import TIE, tie
from checker.findings import Observation, State
from checker.isolation import Fate, fates
from checker.labels import KIND_WORD, UNKNOWN, at_rows, kinds_of, labels_of, natural
from checker.measure.copper.adrift import counted_nets
from checker.remedy import Remedies, up

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from checker.board import Floats, Ints
    from checker.measure import Facts
    from checker.process.model import Process

_AT_LIMIT = "gaps right at the limit, too near to it to tell"
_MOST_PARTS = 3  # so many are named in a cause, the rest is counted

# Pattern of a place: kinds of both sides as first * _PAIR + second, or what two pads share.
_PAIR = UNKNOWN + 1
_DIFFERENT_PARTS = _PAIR * _PAIR
_ONE_PART = _DIFFERENT_PARTS + 1  # and up: a number per sort of part


class Place(Struct, frozen=True):
    """A gap at fault.

    Attributes:
        distance: between the two islands, mm.
        fits: width of the cut it is judged by, mm.
        between: what stands on both sides, "U1.3 (GND) and the trace CLK".
        where: ", near U1.3" where neither side has a name, else "".
        net_numbers: of the two islands.
        remedy: changes of the setting or the tool, then of the layout, that open it; the layout's
            by name.
        together: the same for every place with its cause.
        redraw: of that, the layout's alone.
    """

    fate: Fate
    side: str
    x: float
    y: float
    distance: float
    fits: float
    between: str
    where: str
    nets: tuple[str, ...]
    pins: tuple[str, ...]
    net_numbers: tuple[int, int]
    cause: str
    remedy: str
    together: str
    redraw: str

    @property
    def opening(self) -> str:
        """How wide it is, and how wide a cut passes where that is more."""
        gap = f"Gap {self.distance:.3f} mm"
        wider = self.fits - self.distance > TIE
        return f"{gap}, where a cut of {self.fits:.3f} mm passes" if wider else gap

    def seen(self, needs: str, outcome: str, limit: float) -> Observation:
        """What a rule says of it: what the tool needs, what becomes of the gap, against a limit."""
        return Observation(
            message=f"{self.opening}, {needs}: {outcome}{self.where}",
            remedy=self.remedy,
            cause=self.cause,
            state=State.NOT_MAKEABLE if self.fate is Fate.JOINED else State.MARGINAL,
            measured=self.fits,
            limit=limit,
            side=self.side,
            x=self.x,
            y=self.y,
            nets=self.nets,
            pins=self.pins,
            together=self.together,
            redraw=self.redraw,
        )


def either(*options: str | None) -> str:
    """Remedies, cheapest first, as one sentence."""
    text = ", or ".join(option for option in options if option)
    return text[:1].upper() + text[1:]


def tool(process: Process) -> str:
    """What cuts, at the start of "... cuts 0.190 mm"."""
    return {"laser": "the beam cuts", "etching": "etching needs"}.get(
        process.method, "the bit cuts"
    )


class Speech(Struct, frozen=True):
    """What a rule on gaps says of one process: of which fates against which limits, and how."""

    limits: dict[Fate, float]
    of: Callable[[Place], Observation]


def told(facts: Facts, process: Process, speech: Speech | None) -> Iterator[Observation]:
    """What a rule says of every gap with one of its fates, layer by layer."""
    if speech is None:
        return
    faults = _faults(facts, process, speech)
    every = np.arange(len(faults.row))
    yield from map(speech.of, _described(facts, process, faults, every))


def tallied(
    facts: Facts, process: Process, speech: Speech | None
) -> Iterator[tuple[Observation, int]]:
    """Of every cause what it says of the worst place, and how many places there are."""
    if speech is None:
        return
    faults, levels = _faults(facts, process, speech), levels_of(facts.board.sides)
    level = np.array([levels[layer.side] for layer in facts.board.copper])
    together: dict[str, list[Ints]] = {}
    for text, members in faults.causes:
        together.setdefault(text, []).append(members)
    for parts in together.values():
        members = np.concatenate(parts)
        fate = Fate(faults.fate[members].max())
        worst = members[faults.fate[members] == fate]
        first = worst_rows(
            faults.fits[worst], speech.limits[fate], level[faults.layer[worst]], faults.at[worst]
        )
        spot = map(speech.of, _described(facts, process, faults, worst[first]))
        yield worst_of(spot, levels), len(members)


class _Faults(Struct, frozen=True, eq=False):
    """The gaps of all layers with some fates; columns of length n.

    Attributes:
        layer: index of the layer; ``row`` of its gaps.
        at: (n, 2) the middle of the gap.
        fits, fate: as in `checker.isolation.Fates`.
        pattern: what stands on both sides, in a number.
        causes: texts, each with the places it is the cause of; one text may stand more than once.
    """

    layer: Ints
    row: Ints
    at: Floats
    fits: Floats
    fate: NDArray[np.int8]
    pattern: Ints
    causes: list[tuple[str, Ints]]


def _faults(facts: Facts, process: Process, speech: Speech) -> _Faults:
    judged = fates(facts, process)
    hits = [np.flatnonzero(np.isin(one.fate, list(speech.limits))) for one in judged]
    pairs = list(zip(facts.gaps, hits, strict=True))
    known = _patterns(facts)
    at = np.concatenate([(gaps.a[rows] + gaps.b[rows]) / 2 for gaps, rows in pairs])
    fate = np.concatenate([one.fate[rows] for one, rows in zip(judged, hits, strict=True)])
    fits = np.concatenate([one.fits[rows] for one, rows in zip(judged, hits, strict=True)])
    distance = np.concatenate([gaps.distance[rows] for gaps, rows in pairs])
    pattern = np.concatenate([codes[rows] for (codes, _), rows in zip(known, hits, strict=True)])
    subject = np.concatenate([names[rows] for (_, names), rows in zip(known, hits, strict=True)])
    layer = np.repeat(np.arange(len(hits)), list(map(len, hits)))
    causes = []
    # One pattern, fate and size share a cause.
    for key, members in alike(pattern * len(Fate) + fate, distance):
        code, outcome = divmod(key, len(Fate))
        names = sorted(set(subject[members]), key=natural)
        text = _AT_LIMIT if outcome == Fate.AT_LIMIT else _cause(code, names, distance[members])
        causes.append((text, members))
    return _Faults(layer, np.concatenate(hits), at, fits, fate, pattern, causes)


def _described(facts: Facts, process: Process, faults: _Faults, which: Ints) -> Iterator[Place]:
    """Some of the places in words."""
    labels, remedies = labels_of(facts.board), Remedies(process, tie(facts.board))
    cause = np.empty(len(faults.row), dtype=object)
    for text, members in faults.causes:
        cause[members] = text
    columns = zip(
        faults.layer[which].tolist(),
        faults.row[which].tolist(),
        faults.at[which].tolist(),
        faults.fits[which].tolist(),
        faults.fate[which].tolist(),
        faults.pattern[which].tolist(),
        cause[which].tolist(),
        strict=True,
    )
    for i, gap, (x, y), fits, fate, pattern, text in columns:
        gaps, layer = facts.gaps[i], facts.board.copper[i]
        nets = counted_nets(facts.board, i)
        A, B = gaps.islands[gap].tolist()
        distance = float(gaps.distance[gap])
        ends = ((int(gaps.object_a[gap]), A), (int(gaps.object_b[gap]), B))
        # Pads before traces before pours, and names as people count: not by file order.
        first, second = sorted(ends, key=lambda one: labels.rank(i, *one))
        pins = tuple(pin for row, _ in (first, second) if (pin := labels.pin(i, row)))
        near = None if pins else labels.near(x, y, layer.side)
        words = labels.standing(i, *first), labels.standing(i, *second)
        setting, missing = remedies.process(fits), remedies.missing(fits)
        yield Place(
            Fate(fate),
            layer.side,
            x,
            y,
            distance,
            fits,
            _between(*words),
            f", near {near}" if near else "",
            (labels.net(i, first[1]), labels.net(i, second[1])),
            pins,
            (int(nets[A]), int(nets[B])),
            text,
            either(setting, _layout_here(pattern, distance, words, pins, *missing)),
            either(setting, layout := _layout(pattern, distance, *missing)),
            layout,
        )


def _between(one: str, other: str) -> str:
    if one == other and one.startswith("a "):
        return f"two {one.removeprefix('a ')}s"
    return f"{one} and {other}"


def _layout(pattern: int, distance: float, barely: float, surely: float) -> str:
    """The change of the layout, for whatever stands there."""
    if pattern >= _ONE_PART:
        return f"make the pads {_by(barely, surely, '{} narrower')}"
    if pattern < _DIFFERENT_PARTS and Kind.POUR in divmod(pattern, _PAIR):
        least, most = up(distance + barely), up(distance + surely)
        return f"raise the pour's clearance from {distance:.2f} to {_by(least, most, '{}')}"
    return f"move them {_by(barely, surely, '{} further apart')}"


def _layout_here(
    pattern: int,
    distance: float,
    words: tuple[str, str],
    pins: tuple[str, ...],
    barely: float,
    surely: float,
) -> str:
    """The same, with the names of what stands at the place."""
    if pattern >= _ONE_PART and len(pins) == 2:  # both of one part
        part, numbers = pins[0].partition(".")[0], [pin.partition(".")[2] for pin in pins]
        if all(numbers):
            how = _by(barely, surely, "{} narrower each")
            return f"make pads {numbers[0]} and {numbers[1]} of {part} {how}"
    first, second = words
    if second.startswith("the trace "):
        if first.startswith("the trace "):
            return f"move {first} or {second} by {_by(barely, surely, '{}')}"
        return f"move {second} {_by(barely, surely, '{} away')}"
    return _layout(pattern, distance, barely, surely)


def _by(barely: float, surely: float, how: str) -> str:
    """A length, and the one that leaves a margin where it is another."""
    least, most = f"{barely:.2f} mm", f"{surely:.2f} mm"
    return how.format(least) + (f" ({most} for margin)" if most != least else "")


def _cause(pattern: int, subjects: list[str], distances: Floats) -> str:
    size = spoken(distances)
    if pattern >= _ONE_PART:
        more = len(subjects) - _MOST_PARTS
        named = subjects if more <= 1 else [*subjects[:_MOST_PARTS], f"{more} more"]
        return f"pads of {_listed(named)}, {size} apart"
    if pattern == _DIFFERENT_PARTS:
        return f"pads of different parts {size} apart"
    first, second = (KIND_WORD[kind] for kind in divmod(pattern, _PAIR))
    pours = "the pour " + subjects[0] if len(subjects) == 1 and subjects[0] else "pours"
    if second == "pour" and first != "pour":
        return f"clearance {size} between {first}s and {pours}"
    both = {first + "s", second + "s"} if second != "copper" else {"pieces of copper"}
    return f"{' and '.join(sorted(both))} {size} apart"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


@lru_cache(maxsize=4)  # whatever the process: what stands on both sides does not change
def _patterns(facts: Facts) -> list[tuple[Ints, NDArray[np.object_]]]:
    """Per layer (gaps,) pattern codes, and (gaps,) the part or the pour they are about."""
    sorts: dict[tuple[str, int], int] = {}
    return [_patterns_of(facts, index, sorts) for index in range(len(facts.gaps))]


def _patterns_of(
    facts: Facts, index: int, sorts: dict[tuple[str, int], int]
) -> tuple[Ints, NDArray[np.object_]]:
    """The patterns of one layer.

    ``sorts`` numbers the sorts of parts, by letters of the reference and number of pads, over all
    layers; it grows.
    """
    gaps, layer = facts.gaps[index], facts.board.copper[index]
    objects = layer.objects
    a, b = gaps.object_a, gaps.object_b
    kinds = np.column_stack([kinds_of(layer, a), kinds_of(layer, b)])
    low, high = kinds.min(axis=1), kinds.max(axis=1)
    codes: Ints = low * _PAIR + high
    subject = np.full(len(gaps), "", dtype=object)

    poured = (high == Kind.POUR) & (low != Kind.POUR)
    side = np.where(kinds[poured, 0] == Kind.POUR, 0, 1)
    islands = gaps.islands[poured, side].tolist()
    subject[poured] = [layer.net_name[island] or "" for island in islands]

    part_a, part_b = at_rows(objects.component, a, -1), at_rows(objects.component, b, -1)
    pads = (high == Kind.PAD) & (part_a >= 0) & (part_b >= 0)
    own = pads & (part_a == part_b)
    codes[pads] = _DIFFERENT_PARTS
    count = Counter(objects.component[objects.kind == Kind.PAD].tolist())
    for part in np.unique(part_a[own]).tolist():
        name = objects.names[part]
        letters = name[: len(name) - len(name.lstrip(ascii_letters))]
        sort = sorts.setdefault((letters, count[part]), len(sorts))
        mine = own & (part_a == part)
        codes[mine], subject[mine] = _ONE_PART + sort, name
    return codes, subject
