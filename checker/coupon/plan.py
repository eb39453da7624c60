"""The coupon that a process calls for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.coupon import features, sizes
from checker.coupon.model import ALONG, MIDDLE, Coupon, Groove
from checker.coupon.packing import packed
from checker.errors import UsageError
from checker.methods import ETCHING, LASER, MILLING
from checker.process.vary import bit_at
from checker.process.width import cut_width

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.coupon.model import Block
    from checker.process.model import Process

METHODS = (MILLING, LASER, ETCHING)
# Sheets to try, the smallest first: about 30 x 40 mm, more for a wide bit.
_SHEETS = ((30.0, 40.0), (32.0, 42.0), (34.0, 45.0), (36.0, 48.0), (42.0, 56.0), (50.0, 66.0))
_APART = 0.2  # mm of leftover copper between the cuts of two pieces
_EDGE = 0.5, 1.0  # mm of laminate along the edge: where the process sets none, and at most
_LETTER, _LARGEST = 0.8, 2.0  # mm: height of labels, at least and at most
_STROKES = 4  # a figure is so many times as high as its strokes are wide
_ARROW = 1.6  # mm, its height at least
_PAD_WIDER = 0.2  # mm, pads at the ends of traces than the widest of them
_TARGET = 0.1  # mm that the ring of a target is wider than all errors together


def coupon_of(process: Process) -> Coupon:
    """The coupon for a process: what it holds follows from the profile.

    Raises:
        UsageError: the process isolates nothing, or its cut is too wide for a coupon.
    """
    if process.method not in METHODS or process.cut is None:
        raise UsageError(
            f"coupon {process.name}",
            f"{process.method} cuts no copper: there is nothing to measure",
            f"a process of {', '.join(METHODS[:-1])} or {METHODS[-1]}",
        )
    return _Plan(process).coupon()


class _Plan:
    """What a process calls for, piece by piece."""

    def __init__(self, process: Process) -> None:
        assert process.cut is not None
        self.process = process
        self.missing: list[str] = []
        self.engraves = process.method != ETCHING
        self.gaps = sizes.gap_widths(process.cut_rss or process.cut)
        minimum = process.minimum_trace
        self.traces = () if minimum is None else sizes.trace_widths(minimum)
        if minimum is None:
            self.missing.append("combs of traces: the profile sets no minimum_trace")
        depths = sizes.groove_depths(process) if self.engraves else ()
        self.depths = {_file_of(depth): depth for depth in depths}
        corner = (sizes.corner_depth(depths),) if depths else ()
        self.corner = {_file_of(depth): depth for depth in corner}
        cut = process.cut.nominal
        letter = max(_LETTER, _STROKES * cut)
        self.style = features.Style(
            widest=sizes.up(process.cut.most, sizes.STEP),
            cut=cut,
            sturdy=sizes.up((minimum or 0.0) + 2 * sizes.STEP, sizes.STEP),
            letter=letter if self.engraves and letter <= _LARGEST else None,
        )
        self.targets = 0

    def coupon(self) -> Coupon:
        """All pieces on the smallest sheet that holds them.

        Raises:
            UsageError: none does.
        """
        step = self._vernier_step()
        loose = list(self._combs())
        meander = None
        if self.engraves:
            block, meander = features.serpentine(
                self.style, self.style.sturdy, self.process.foil.nominal
            )
            loose += [block, features.wedge(self.style, self.gaps)]
            if step is not None:
                loose += [features.vernier(self.style, step, along) for along in ("x", "y")]
            loose += self._pads()
        loose.sort(key=lambda block: -max(block.size))
        for size in _SHEETS:
            margin = _little(self.process.outline.edge_clearance)
            blocks = packed(size, margin, _APART, self._fixed(size, margin), loose)
            if blocks is not None:
                return Coupon(
                    process=self.process,
                    size=size,
                    blocks=blocks,
                    depths=self.depths,
                    grooves=tuple(self._readings()),
                    gaps=self.gaps,
                    traces=self.traces,
                    targets=self.targets,
                    vernier_step=step,
                    meander=meander,
                    missing=tuple(dict.fromkeys(self.missing)),
                )
        raise UsageError(
            f"coupon {self.process.name}",
            f"a cut of {self.process.cut.most if self.process.cut else 0:.2f} mm is too wide for a "
            f"coupon of {_SHEETS[-1][0]:g} x {_SHEETS[-1][1]:g} mm",
            advice="measure the cut on a scrap",
        )

    def _vernier_step(self) -> float | None:
        """So that the steps reach twice the backlash counted with; none without axes."""
        if self.process.method != MILLING:
            return None
        return max(0.02, sizes.up(2 * self.process.machine.backlash / features.PLACES, 0.01))

    def _combs(self) -> Iterator[Block]:
        pad = self.traces[-1] + _PAD_WIDER if self.traces else 0.0
        for across in ("x", "y"):
            yield features.gap_comb(self.style, self.gaps, across)
            if self.traces:
                combs = [
                    features.trace_comb(self.style, width, across, pad) for width in self.traces
                ]
                yield features.in_a_row(combs, _APART)

    def _readings(self) -> Iterator[Groove]:
        for depth in self.depths.values():
            yield from (Groove(depth, along, MIDDLE) for along in ALONG)
        for number in range(1, 5) if self.corner else ():
            for depth in self.corner.values():
                yield from (Groove(depth, along, f"corner {number}") for along in ALONG)

    # --- pieces that have their places -------------------------------------------------------

    def _fixed(self, size: tuple[float, float], margin: float) -> list[Block]:
        """Grooves in the middle and at the corners; what lines the second side up, in pairs.

        Targets and dowels lie alike on both sides of the upright middle line, about which the
        coupon is turned over.
        """
        blocks = []
        (width, height), middle = size, (size[0] / 2, size[1] / 2)
        if self.depths:
            centre = self._grooves(MIDDLE, self.depths)
            blocks.append(_centred(centre, middle))
            far = width - margin, height - margin
            for number, (right, up) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1)), 1):
                block = self._grooves(f"corner {number}", self.corner)
                w, h = block.size
                at = (far[0] - w) if right else margin, (far[1] - h) if up else margin
                blocks.append(block.with_corner_at(*at))
            arrow = features.arrow(self.style, max(_ARROW, _STROKES * self.style.cut))
            blocks.append(arrow.with_corner_at(blocks[1].box[2] + _APART, margin))
        if (target := self._target()) is not None:
            half = target.size[1] / 2
            for y in (margin + half, height - margin - half):
                blocks.append(_centred(target, (width / 2, y)))
            self.targets = 2
        if (dowel := self._dowel()) is not None and self.targets:
            half = dowel.size[0] / 2
            blocks += [_centred(dowel, (x, middle[1])) for x in (half, width - half)]
        return blocks

    def _grooves(self, place: str, depths: dict[str, float]) -> Block:
        return features.grooves(
            self.style, place, [(file, self._widest(depth)) for file, depth in depths.items()]
        )

    def _widest(self, depth: float) -> float:
        bit, process = self.process.bit, self.process
        if bit is None or bit.shape == "beam":
            return self.style.widest
        most = cut_width(bit_at(bit, depth), process.bed_error).most
        return sizes.up(most, sizes.STEP)

    def _target(self) -> Block | None:
        if not self.engraves or self.process.layer_count < 2:
            return None
        drill, errors = self._drill(), self._errors() + self.process.machine.flip
        if drill is None:
            self.missing.append("registration targets: the profile names no drills")
            return None
        pad = drill + 2 * sizes.up(errors + _TARGET, sizes.STEP)
        return features.ringed_hole(self.style, "target", "target", drill, pad, ("top", "bottom"))

    def _dowel(self) -> Block | None:
        process = self.process
        least, edge = process.machine.dowels, process.outline
        if least is None:
            return None
        if not edge.goes_round(least) and process.drills.serving(least) is None:
            wider = [size for size in process.drills.sizes or () if size >= least]
            if not wider:
                self.missing.append("holes for dowels: no drill at hand is wide enough")
                return None
            least = wider[0]
        return features.dowel(least, _little(edge.hole_clearance))

    # --- others ------------------------------------------------------------------------------

    def _pads(self) -> Iterator[Block]:
        """Pads about as small as the process holds, and rings about as narrow."""
        area = self.process.joints.pad_area_surface
        if area:
            least = sizes.up(math.sqrt(area), sizes.STEP)
            for width in (least - sizes.STEP, least):
                yield features.surface_pad(self.style, round(width, 6))
        drill, ring = self._drill(), self.process.ring
        if drill is None or ring is None:
            self.missing.append("rings round holes: the profile names no drills or no ring")
            return
        least = sizes.up(ring + self._errors(), sizes.STEP)
        for wide in (least - sizes.STEP, least):
            net = f"ring-{wide * 1000:.0f}"
            pad = round(drill + 2 * wide, 6)
            yield features.ringed_hole(self.style, "rings", net, drill, pad, ("top",))

    def _drill(self) -> float | None:
        """The one in the middle of the set."""
        drills = self.process.drills.sizes or ()
        return drills[len(drills) // 2] if drills else None

    def _errors(self) -> float:
        """How far a hole may lie off its pad on the first side."""
        return self.process.machine.registration + self.process.drills.wander


def _little(clearance: float | None) -> float:
    """What is kept clear along the edge: a coupon is not handled like a board."""
    least, most = _EDGE
    return least if clearance is None else min(clearance, most)


def _file_of(depth: float) -> str:
    return f"groove-{depth:.2f}" if depth else "groove"


def _centred(block: Block, at: tuple[float, float]) -> Block:
    w, h = block.size
    return block.with_corner_at(at[0] - w / 2, at[1] - h / 2)
