"""What a page carries for its script: columns of findings, gaps and necks, packed.

Places are whole micrometres in the drawing's own coordinates. What is compared with the width of a
cut keeps every bit of it.
"""

from __future__ import annotations

import base64
import json
import zlib
from typing import TYPE_CHECKING, Any

import numpy as np

from checker.isolation import parts_nets, widest_cut
from checker.labels import labels_of
from checker.measure.copper.adrift import counted_nets
from checker.report import words
from checker.report.drawing import outer_layers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from checker.board import Floats, Ints
    from checker.findings import Report
    from checker.measure import Facts
    from checker.report.drawing import Frame
    from checker.report.html.crops import Places

_NOWHERE = -1
_OF_GAPS = ("one", "other", "gap", "fits", "bitten")
_WIDE = 1e6  # mm, stands for no limit


def packed(document: dict[str, Any]) -> str:
    """A document as JSON, deflated, in base64: what the page's script unpacks."""
    text = json.dumps(document, separators=(",", ":"), allow_nan=False)
    return base64.b64encode(zlib.compress(text.encode(), 9)).decode()


def unpacked(text: str) -> dict[str, Any]:
    """The document again."""
    document: dict[str, Any] = json.loads(zlib.decompress(base64.b64decode(text)))
    return document


class Columns:
    """One report's columns. Gaps are those between two nets; findings stand cause by cause."""

    def __init__(self, report: Report, facts: Facts, wide: Facts, frame: Frame) -> None:
        self.report, self.facts, self.wide, self.frame = report, facts, wide, frame
        self.layers = [index for index, _ in outer_layers(facts.board)]
        labels = labels_of(facts.board)
        numbers = np.unique(np.concatenate([facts.board.copper[i].net for i in self.layers]))
        self._net = {int(net): index for index, net in enumerate(numbers.tolist())}
        self.nets = [words.plain(labels.net_at(int(net)), 40) for net in numbers]
        self.rows: dict[tuple[int, int], int] = {}

    def document(self, places: Places) -> dict[str, Any]:
        """Everything but the settings."""
        copper = self.facts.board.copper
        return {
            "frame": [self.frame.left, self.frame.top, *self.frame.size],
            "sides": [copper[i].side for i in self.layers],
            "nets": self.nets,
            "islands": [[self._net[net] for net in copper[i].net.tolist()] for i in self.layers],
            "gaps": self._gaps(),
            "necks": self._necks(),
            "minimum": self.report.process.minimum_trace,
            "findings": self._findings(places),
        }

    def _gaps(self) -> dict[str, list[Any]]:
        """The gaps of the report's facts and of those that reach farther, each once.

        ``census`` says which of the two hold a row as it stands: 0 both, 1 the report's, 2 the
        others. Where several places of two islands are equally narrow, each may speak of another.
        """
        columns: dict[str, list[Any]] = {
            name: [] for name in (*("census", "side", "x", "y", "ax", "ay"), *_OF_GAPS)
        }
        for number, index in enumerate(self.layers):
            near = self._rows_of(self.facts, index)
            far = near if self.wide is self.facts else self._rows_of(self.wide, index)
            for census, rows in (
                (0, {key: row for key, row in near.items() if key in far}),
                (1, {key: row for key, row in near.items() if key not in far}),
                (2, {key: row for key, row in far.items() if key not in near}),
            ):
                self._add(columns, (census, number, index), rows)
        return columns

    def _rows_of(self, facts: Facts, index: int) -> dict[tuple[float, ...], int]:
        """What tells a gap from any other -> its row, for those that some width closes."""
        gaps = facts.gaps[index]
        etched = self.report.process.method == "etching"
        fits = gaps.distance if etched else gaps.widest_cut[0.0]
        bitten = fits if etched else widest_cut(gaps, self.report.process.bite)
        islands = gaps.islands
        rows = np.flatnonzero(parts_nets(facts.board, index, islands) & np.isfinite(fits))
        columns = np.column_stack([islands, gaps.a, gaps.b, fits, np.minimum(bitten, _WIDE)])
        return dict(zip(map(tuple, columns[rows].tolist()), rows.tolist(), strict=True))

    def _add(
        self,
        columns: dict[str, list[Any]],
        where: tuple[int, int, int],
        rows: dict[tuple[float, ...], int],
    ) -> None:
        if not rows:
            return
        (census, number, index), count = where, len(columns["x"])
        net = counted_nets(self.facts.board, index)
        known = np.array(list(rows))
        a, b = known[:, 2:4], known[:, 4:6]
        if census < 2:
            self.rows |= {(index, row): count + i for i, row in enumerate(rows.values())}
        columns["census"] += [census] * len(rows)
        columns["side"] += [number] * len(rows)
        _extend(columns, "x", "y", self.frame.whole((a + b) / 2))
        _extend(columns, "ax", "ay", np.rint((b - a) * (500.0, -500.0)).astype(np.int64))
        for name, column in (("one", 0), ("other", 1)):
            nets = net[known[:, column].astype(np.int64)].tolist()
            columns[name] += [self._net[one] for one in nets]
        distance = (self.facts if census < 2 else self.wide).gaps[index].distance
        columns["gap"] += np.rint(distance[list(rows.values())] * 1e4).astype(np.int64).tolist()
        columns["fits"] += known[:, 6].tolist()
        columns["bitten"] += _differing(known[:, 7], known[:, 6])

    def _necks(self) -> dict[str, list[Any]]:
        columns: dict[str, list[Any]] = {name: [] for name in ("side", "x", "y", "width")}
        for number, index in enumerate(self.layers):
            necks = self.facts.necks[index]
            rows = np.flatnonzero(necks.carries)
            _extend(columns, "x", "y", self.frame.whole(necks.at[rows]))
            columns["side"] += [number] * len(rows)
            columns["width"] += necks.width[rows].tolist()
        return columns

    def _findings(self, places: Places) -> dict[str, list[Any]]:
        sides = {self.facts.board.copper[i].side: n for n, i in enumerate(self.layers)}
        columns: dict[str, list[Any]] = {
            name: []
            for name in ("id", "cause", "state", "side", "x", "y", "gap", "message", "remedy")
        }
        for number, cause in enumerate(self.report.causes):
            for found in cause.findings:
                seen, at = found.seen, None
                if seen.x is not None and seen.y is not None:
                    at = self.frame.at(seen.x, seen.y)
                gap = places.gap(found)
                columns["id"].append(found.id)
                columns["cause"].append(number)
                columns["state"].append(seen.state.value)
                side = seen.side or ""
                columns["side"].append(sides.get(side, side or _NOWHERE))
                columns["x"].append(at and at[0])
                columns["y"].append(at and at[1])
                columns["gap"].append(_NOWHERE if gap is None else self.rows.get(gap, _NOWHERE))
                columns["message"].append(words.message(found))
                columns["remedy"].append(words.plain(seen.remedy, 300))
        return columns


def _extend(columns: dict[str, list[Any]], x: str, y: str, points: Ints) -> None:
    columns[x] += points[:, 0].tolist()
    columns[y] += points[:, 1].tolist()


def _differing(values: Floats, usual: Floats) -> Sequence[float | None]:
    """Each value, None where it is the usual one."""
    return [None if a == b else a for a, b in zip(values.tolist(), usual.tolist(), strict=True)]
