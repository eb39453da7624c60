"""What a shop has besides the bit that isolates: drills, outline cutter, machine, stock, hands.

Lengths in mm, angles in degrees, areas in mm2. None wherever the profile says nothing.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

_EXACT = 1e-6  # mm; sizes in inches are no round binary fractions
# A cutter goes round in a hole that is this much wider than itself (common trade practice).
_MILLING_ROOM = 0.2


class Drills(Struct, frozen=True):
    """Holes.

    Attributes:
        sizes: diameters of the drills at hand, ascending.
        tolerance: how far a drill may differ from the hole asked for.
        wander: how far a drill may run off its place, ±.
        most_sizes: how many sizes one will change drills for.
    """

    sizes: tuple[float, ...] | None = None
    tolerance: float = 0.0
    wander: float = 0.0
    most_sizes: int | None = None

    def serving(self, diameter: float) -> float | None:
        """The drill at hand for a hole: the nearest within the tolerance, of two the wider."""
        return _nearest(self.sizes or (), self.tolerance, diameter)


@lru_cache(maxsize=1024)  # a board has hundreds of holes of a few sizes, and many rules ask
def _nearest(sizes: tuple[float, ...], tolerance: float, diameter: float) -> float | None:
    near = [size for size in sizes if abs(size - diameter) <= tolerance + _EXACT]
    return min(near, key=lambda size: (round(abs(size - diameter), 6), -size), default=None)


class EdgeWork(Struct, frozen=True):
    """Cutting out the board.

    Attributes:
        cutter: diameter of the outline cutter; None where the board is cut otherwise.
        edge_clearance: least distance of copper to the board's edge.
        hole_clearance: least laminate between a hole and the board's edge.
        tab_width, tab_count: tabs that hold the board till the end.
        pass_depth: depth per pass of the outline cutter.
    """

    cutter: float | None = None
    edge_clearance: float | None = None
    hole_clearance: float | None = None
    tab_width: float | None = None
    tab_count: int | None = None
    pass_depth: float | None = None

    def goes_round(self, diameter: float) -> bool:
        """Whether the cutter makes a hole of a diameter by going round in it."""
        return self.cutter is not None and diameter >= self.cutter + _MILLING_ROOM - _EXACT


class Machine(Struct, frozen=True):
    """The machine and how well it finds a place again.

    Attributes:
        travel: width and depth of what it reaches.
        margin: room for clamps or tape round the board, on each side.
        registration: how far holes may lie off the copper of the first side, ±.
        flip: how far the second side may lie off the first, ±.
        backlash: play of an axis on reversing.
        skew: how far the axes are off square.
        bow: how far the blank, as held down, bows over 100 mm of it.
        probe_spacing: grid of the probed surface; None where none is probed.
        wave: how far along the bed its unevenness stays alike: over it the correlation falls to
            1/e; None where the profile says nothing.
        dowels: least diameter of holes that may take dowels for the second side.
    """

    travel: tuple[float, ...] | None = None
    margin: float = 0.0
    registration: float = 0.0
    flip: float = 0.0
    backlash: float = 0.0
    skew: float = 0.0
    bow: float | None = None
    probe_spacing: float | None = None
    wave: float | None = None
    dowels: float | None = None


class Stock(Struct, frozen=True):
    """The blank.

    Attributes:
        thickness: of the laminate with its copper.
        clad_sides: 1 or 2 sides with copper.
        size: width and height of the blank.
    """

    thickness: float | None = None
    clad_sides: int | None = None
    size: tuple[float, ...] | None = None


class Joints(Struct, frozen=True):
    """Joints made by hand.

    Attributes:
        method: "wire" or "rivet", what joins the two sides at a via.
        wire: diameter of that wire, or outer diameter of the rivet.
        play: how much wider a hole must be.
        head: diameter of the solder lump or of the rivet's head.
        most: how many such joints one will make on a board.
        pad_area_hole, pad_area_surface: least copper that holds a pad with a hole, or without.
        plane_area: copper from which a pad without thermal spokes is hard to solder.
        screw_room: copper-free ring round a hole for a screw.
    """

    method: str = "wire"
    wire: float | None = None
    play: float = 0.0
    head: float | None = None
    most: int | None = None
    pad_area_hole: float | None = None
    pad_area_surface: float | None = None
    plane_area: float | None = None
    screw_room: float | None = None


class Feeds(Struct, frozen=True):
    """Speed and endurance.

    Attributes:
        cut: feed while isolating, mm/min.
        spindle: revolutions per minute.
        flutes: cutting edges.
        chip: most that one edge may take, mm.
        overlap: share of the cut's width by which neighbouring passes overlap, 0 to 1.
        life: metres that a tip cuts before it is blunt.
        evening: hours that one board may take at the machine.
        outline: feed of the outline cutter, mm/min.
        hole: hours to drill a hole and move to the next.
        lift: hours to lift the bit, move to the next ring and plunge.
        probe: hours to probe a point of the surface.
    """

    cut: float | None = None
    spindle: float | None = None
    flutes: int = 1
    chip: float | None = None
    overlap: float = 0.0
    life: float | None = None
    evening: float | None = None
    outline: float | None = None
    hole: float | None = None
    lift: float | None = None
    probe: float | None = None


class Hand(Struct, frozen=True):
    """How long work by hand takes, in hours.

    Attributes:
        setup: to fix the blank and find its zero.
        change: to change a tool and find its depth.
        flip: to line up the second side.
        etch: to transfer the layout, etch and strip a board.
        hole: to drill a hole.
        outline: to saw out a board and file its edge.
        joint: to put a wire or a rivet through the board and solder it on both sides.
        lead: to solder a lead on its second side too.
        wire: to cut, strip and solder a wire on a perfboard.
        bridge: to join neighbouring holes of a perfboard.
    """

    setup: float | None = None
    change: float | None = None
    flip: float | None = None
    etch: float | None = None
    hole: float | None = None
    outline: float | None = None
    joint: float | None = None
    lead: float | None = None
    wire: float | None = None
    bridge: float | None = None


class Measured(Struct, frozen=True):
    """Where the measured width of the cut comes from.

    Attributes:
        date: when it was measured, as 2026-03-31.
        bit: which bit, in its owner's words.
        readings: how many widths were read.
        residual: standard deviation of single readings about the fitted line.
        cut_before: metres that the bit had cut before.
    """

    date: str | None = None
    bit: str | None = None
    readings: int | None = None
    residual: float | None = None
    cut_before: float | None = None


class HoleGrid(Struct, frozen=True):
    """The holes of a perfboard.

    Attributes:
        pitch: from hole to hole, in rows and columns.
        hole: diameter of the holes.
        pad: diameter of the copper round each.
        play: how much wider than its lead a layout makes a hole.
        bend: how far any lead is bent to reach its hole.
        forced_bend: how far the leads of any part are bent with pliers.
        free_leads: parts of up to so many leads have leads that bend to any hole nearby.
        most_wires: how many wires one will solder on a board.
    """

    pitch: float | None = None
    hole: float | None = None
    pad: float | None = None
    play: float = 0.0
    bend: float | None = None
    forced_bend: float | None = None
    free_leads: int | None = None
    most_wires: int | None = None
