"""The keys of a profile: one table from which reading, messages and documentation come.

To add a key, add its row and read it in `checker.process.load`; nothing else lists keys. A key is
named by its path: ``bit.depth`` stands under ``bit:``. `GROUPS` are the maps; the keys of
``severity`` (names of rules) and ``nets`` (names of nets, see `checker.process.ratings`) are not in
the table.
"""

from __future__ import annotations

import enum

from msgspec import Struct

from checker.methods import CUTTING, ETCHING, LASER, METHODS, MILLING, PERFBOARD
from checker.process.units import (
    ANGLE,
    AREA,
    FEED,
    FOIL,
    LENGTH,
    RISE,
    SHARE,
    TIME,
    TURNS,
    WAY,
    Measure,
)

GROUPS = (
    "bit", "measured", "drills", "outline", "machine", "stock", "joints", "feeds", "hand",
    "legend", "grid", "nets", "severity",
)  # fmt: skip
SEVERITIES = ("error", "warning", "note")
RULE_NAME = "[a-z]+(-[a-z]+)*"
SHAPES_OF = {MILLING: ("cone", "flat", "ball"), LASER: ("beam",)}


class Kind(enum.Enum):
    """What a key's value is, with the words in which messages ask for it."""

    TEXT = "text"
    CHOICE = "one of"
    COUNT = "a whole number"
    ANGLE = "an angle such as 30 deg"
    LENGTH = "a length such as 0.1 mm"
    SPREAD = "a length such as 0.1 mm or 0.1 mm ± 0.02 mm"
    FOIL = "a thickness such as 35 um or 1 oz ± 10 %"
    LENGTHS = "a list of lengths such as [0.8 mm, 1 mm]"
    SIZE = "two lengths such as [100 mm, 160 mm]"
    AREA = "an area such as 1.5 mm2"
    FEED = "a feed such as 200 mm/min"
    TURNS = "a spindle speed such as 10000 rpm"
    WAY = "a way such as 10 m"
    TIME = "a time such as 2 h, 90 min or 5 s"
    SHARE = "a share such as 40 %"
    RISE = "a rise of temperature such as 10 K"
    DATE = "a date such as 2026-03-31"


_UNITS = {
    Kind.ANGLE: ANGLE, Kind.FOIL: FOIL, Kind.AREA: AREA, Kind.FEED: FEED, Kind.TURNS: TURNS,
    Kind.WAY: WAY, Kind.TIME: TIME, Kind.SHARE: SHARE, Kind.RISE: RISE,
}  # fmt: skip
QUANTITIES = (*_UNITS.keys() - {Kind.FOIL}, Kind.LENGTH)
LISTS = (Kind.LENGTHS, Kind.SIZE)


class Key(Struct, frozen=True):
    """One key.

    Attributes:
        name: path, such as "bit.depth".
        kind: what its value is.
        meaning: one phrase for people.
        plausible: bounds in mm or degrees (of a count: its least and most).
        choices: the words of a choice.
        methods: where the key applies.
        shapes: the bits it applies to; empty for all, and for none.
        required: whether a profile must have it where it applies.
        default: the value where it is left out.
        spread_required: whether the value must say by how much it varies.
        hint: what helps people who write a value that cannot be meant.
    """

    name: str
    kind: Kind
    meaning: str
    plausible: tuple[float, float] = (0.0, 0.0)
    choices: tuple[str, ...] = ()
    methods: tuple[str, ...] = METHODS
    shapes: tuple[str, ...] = ()
    required: bool = False
    default: float | str | None = None
    spread_required: bool = False
    hint: str = ""

    @property
    def group(self) -> str:
        """The map the key stands in, "" at the margin."""
        return self.name.rpartition(".")[0]

    @property
    def word(self) -> str:
        """The key as written there."""
        return self.name.rpartition(".")[2]

    @property
    def expected(self) -> str:
        """What the value should be, in words."""
        return ", ".join(self.choices) if self.kind is Kind.CHOICE else self.kind.value

    @property
    def measure(self) -> Measure:
        """Units and bounds of the quantity."""
        nought = "write none where it is not known" if self.may_be_none else ""
        return Measure(_UNITS.get(self.kind, LENGTH), self.plausible, self.hint, nought)

    @property
    def may_be_none(self) -> bool:
        """Whether ``none`` unsets what the profile it is based on sets."""
        number = self.kind in (*QUANTITIES, *LISTS, Kind.COUNT)
        return number and self.default is None and not self.required

    def applies(self, method: str, shape: str | None) -> bool:
        """Whether the key means anything for a method and a shape of bit."""
        return method in self.methods and (not self.shapes or shape in self.shapes)


_TOOL = (MILLING, LASER)
_COPPER = CUTTING
_TURNING = SHAPES_OF[MILLING]
_MOMENT, _CHORE = (0.1 / 3600, 5 / 60), (1 / 3600, 10)  # plausible times in h

KEYS: dict[str, Key] = {
    key.name: key
    for key in (
        Key("based_on", Kind.TEXT, "profile whose values hold where this one is silent"),
        Key("method", Kind.CHOICE, "how the board is made", choices=METHODS, required=True),
        Key("title", Kind.TEXT, "one line for people"),
        Key(
            "bit.shape", Kind.CHOICE, "shape of the tool, or beam",
            choices=(*_TURNING, "beam"), methods=_TOOL, required=True,
            hint="V bits are cones, end mills flat",
        ),
        Key(
            "bit.tip_width", Kind.SPREAD, "flat at the end of a cone",
            (0.01, 1.5), methods=_TOOL, shapes=("cone",), required=True,
            hint="the sharpest tip has a flat",
        ),
        Key(
            "bit.angle", Kind.ANGLE, "included angle of a cone, twice the taper",
            (3, 150), methods=_TOOL, shapes=("cone",), required=True,
            hint="it is the angle between the two sides; a bit without taper has shape: flat",
        ),
        Key(
            "bit.diameter", Kind.SPREAD, "widest part of the tool",
            (0.05, 12), methods=_TOOL, shapes=_TURNING, required=True,
        ),
        Key(
            "bit.depth", Kind.SPREAD, "depth of cut, with the spread of setting it",
            (0.01, 1), methods=_TOOL, shapes=_TURNING, required=True,
        ),
        Key(
            "bit.runout", Kind.SPREAD, "total indicated runout at the tip",
            (0, 0.6), methods=_TOOL, shapes=_TURNING, required=True,
        ),
        Key(
            "bit.spot", Kind.SPREAD, "width of a beam's spot",
            (0.005, 0.5), methods=_TOOL, shapes=("beam",), required=True,
        ),
        Key(
            "bit.overcut", Kind.SPREAD, "what a beam burns beyond its spot, both sides together",
            (0, 0.5), methods=_TOOL, shapes=("beam",), required=True,
        ),
        Key(
            "bit.measured_width", Kind.SPREAD, "width of the cut as measured at that depth",
            (0.01, 12), methods=_TOOL, spread_required=True,
        ),
        Key("measured.date", Kind.DATE, "when the cut was measured", methods=_TOOL),
        Key("measured.bit", Kind.TEXT, "which bit was measured", methods=_TOOL),
        Key("measured.readings", Kind.COUNT, "how many widths were read", (1, 9999),
            methods=_TOOL),
        Key("measured.residual", Kind.LENGTH, "how far single readings lie off the fitted line, "
            "one standard deviation", (0, 1), methods=_TOOL),
        Key("measured.cut_before", Kind.WAY, "how far the bit had cut before it was measured",
            (0, 10000), methods=(MILLING,)),
        Key(
            "minimum_gap", Kind.SPREAD, "narrowest gap that etches clean",
            (0.02, 3), methods=(ETCHING,), required=True,
        ),
        Key("foil", Kind.FOIL, "thickness of the copper", (0.003, 0.22), methods=_COPPER,
            required=True),
        Key("laminate", Kind.TEXT, "what the copper is on, for people"),
        Key(
            "bed_error", Kind.LENGTH, "how far the surface may lie off where it is believed, ±",
            (0, 2), methods=(MILLING,), required=True,
        ),
        Key("minimum_trace", Kind.LENGTH, "narrowest copper that survives", (0.02, 3),
            methods=_COPPER),
        Key("short_neck", Kind.LENGTH, "length up to which narrower copper is only marginal",
            (0, 20), methods=_COPPER, default=0.0),
        Key("pad_clearance", Kind.LENGTH, "gap to other copper wished round pads to solder",
            (0.05, 5), methods=_COPPER),
        Key("cleared_width", Kind.LENGTH, "width cleared round every net, in passes side by side",
            (0.05, 20), methods=_TOOL),
        Key("bite", Kind.LENGTH, "how far the path may run into drawn copper to pass a gap",
            (0, 0.5), methods=_TOOL, default=0.0),
        Key("layer_count", Kind.COUNT, "how many layers of copper can be made", (1, 64),
            methods=_COPPER, default=2),
        Key("undercut", Kind.LENGTH, "what etching takes off each edge of the copper", (0, 0.5),
            methods=(ETCHING,), default=0.0),
        Key("lettering", Kind.LENGTH, "narrowest stroke of letters in copper", (0.05, 3),
            methods=_COPPER),
        Key("smallest_leftover", Kind.AREA, "leftover copper smaller than this comes loose",
            (0, 1000), methods=_TOOL),
        Key("ring", Kind.LENGTH, "copper to be left round a hole, all errors counted", (0, 5),
            methods=_COPPER),
        Key("web", Kind.LENGTH, "laminate to be left between two holes", (0, 3),
            methods=_COPPER),
        Key("temperature_rise", Kind.RISE, "how much warmer a trace may get", (1, 100),
            methods=_COPPER),
        Key("drills.sizes", Kind.LENGTHS, "drills at hand", (0.05, 20), methods=_COPPER),
        Key("drills.tolerance", Kind.LENGTH, "how far a drill may differ from the hole asked for",
            (0, 1), methods=_COPPER, default=0.0),
        Key("drills.wander", Kind.LENGTH, "how far a drill may run off its place, ±", (0, 1),
            methods=_COPPER, default=0.0),
        Key("drills.most_sizes", Kind.COUNT, "how many sizes one will change drills for", (1, 99),
            methods=_COPPER),
        Key("outline.cutter", Kind.LENGTH, "diameter of the cutter that cuts out the board",
            (0.2, 6.5), methods=_COPPER),
        Key("outline.edge_clearance", Kind.LENGTH, "copper to the edge of the board", (0, 10),
            methods=_COPPER),
        Key("outline.hole_clearance", Kind.LENGTH, "laminate between a hole and the edge", (0, 10),
            methods=_COPPER),
        Key("outline.tab_width", Kind.LENGTH, "width of a tab that holds the board till the end",
            (0.5, 20), methods=_COPPER),
        Key("outline.tab_count", Kind.COUNT, "how many tabs hold the board", (1, 20),
            methods=_COPPER),
        Key("outline.pass_depth", Kind.LENGTH, "depth of one pass of the outline cutter",
            (0.02, 5), methods=_COPPER),
        Key("machine.travel", Kind.SIZE, "what the machine reaches", (10, 3000),
            methods=_COPPER),
        Key("machine.margin", Kind.LENGTH, "room for clamps or tape on each side", (0, 100),
            methods=_COPPER, default=0.0),
        Key("machine.registration", Kind.LENGTH, "how far holes may lie off the copper, ±",
            (0, 2), methods=_COPPER, default=0.0),
        Key("machine.flip", Kind.LENGTH, "how far the second side may lie off the first, ±",
            (0, 3), methods=_COPPER, default=0.0),
        Key("machine.backlash", Kind.LENGTH, "play of an axis when it turns round", (0, 1),
            methods=_COPPER, default=0.0),
        Key("machine.skew", Kind.ANGLE, "how far the axes are off square", (0, 5),
            methods=_COPPER, default=0.0),
        Key("machine.bow", Kind.LENGTH, "how far the blank, as held down, bows over 100 mm", (0, 5),
            methods=(MILLING,)),
        Key("machine.probe_spacing", Kind.LENGTH, "grid of the probed surface", (0.5, 200),
            methods=(MILLING,)),
        Key("machine.wave", Kind.LENGTH, "how far along the bed its unevenness stays alike",
            (5, 1000), methods=(MILLING,)),
        Key("machine.dowels", Kind.LENGTH, "least diameter of holes that can take dowels",
            (0.5, 10), methods=_COPPER),
        Key("stock.thickness", Kind.LENGTH, "thickness of the blank", (0.1, 6), methods=_COPPER),
        Key("stock.clad_sides", Kind.COUNT, "sides of the blank that have copper; none: as many "
            "as the board uses", (1, 2), methods=_COPPER),
        Key("stock.size", Kind.SIZE, "size of the blank", (10, 3000)),
        Key("joints.method", Kind.CHOICE, "what joins the two sides at a via",
            choices=("wire", "rivet"), methods=_COPPER, default="wire"),
        Key("joints.wire", Kind.LENGTH, "diameter of that wire, or of the rivet", (0.1, 3),
            methods=_COPPER),
        Key("joints.play", Kind.LENGTH, "how much wider than the wire its hole must be", (0, 1),
            methods=_COPPER, default=0.0),
        Key("joints.head", Kind.LENGTH, "diameter of the solder lump or of the rivet's head",
            (0.2, 6), methods=_COPPER),
        Key("joints.most", Kind.COUNT, "how many wires and two-sided joints one will make",
            (1, 9999), methods=_COPPER),
        Key("joints.pad_area_hole", Kind.AREA, "least copper that holds a pad with a hole",
            (0, 50), methods=_COPPER),
        Key("joints.pad_area_surface", Kind.AREA, "least copper that holds a surface pad",
            (0, 50), methods=_COPPER),
        Key("joints.plane_area", Kind.AREA, "copper that an iron hardly heats through a pad",
            (1, 100000), methods=_COPPER),
        Key("joints.screw_room", Kind.LENGTH, "copper-free ring round a hole for a screw", (0, 10),
            methods=_COPPER),
        Key("feeds.cut", Kind.FEED, "feed while isolating", (1, 20000), methods=_TOOL),
        Key("feeds.spindle", Kind.TURNS, "speed of the spindle", (500, 200000),
            methods=(MILLING,)),
        Key("feeds.flutes", Kind.COUNT, "cutting edges of the bit", (1, 12), methods=(MILLING,),
            default=1),
        Key("feeds.chip", Kind.LENGTH, "most that one edge may take at a time", (0.001, 0.5),
            methods=(MILLING,)),
        Key("feeds.overlap", Kind.SHARE, "share of the cut by which passes overlap", (0, 0.95),
            methods=_TOOL, default=0.0),
        Key("feeds.life", Kind.WAY, "how far a tip cuts before it is blunt", (0.1, 10000),
            methods=(MILLING,)),
        Key("feeds.evening", Kind.TIME, "time one board may take at the machine", (0.05, 100),
            methods=_TOOL),
        Key("feeds.outline", Kind.FEED, "feed of the outline cutter", (1, 20000),
            methods=(MILLING,)),
        Key("feeds.hole", Kind.TIME, "time to drill a hole, from one to the next", _MOMENT,
            methods=(MILLING,)),
        Key("feeds.lift", Kind.TIME, "time to lift the bit, move on and plunge", _MOMENT,
            methods=(MILLING,)),
        Key("feeds.probe", Kind.TIME, "time to probe a point of the surface", _MOMENT,
            methods=(MILLING,)),
        Key("hand.setup", Kind.TIME, "time to fix the blank and find its zero", _CHORE,
            methods=_TOOL),
        Key("hand.change", Kind.TIME, "time to change a tool and find its depth", _CHORE,
            methods=(MILLING,)),
        Key("hand.flip", Kind.TIME, "time to line up the second side", _CHORE, methods=_COPPER),
        Key("hand.etch", Kind.TIME, "time to transfer, etch and strip a board", _CHORE,
            methods=(ETCHING,)),
        Key("hand.hole", Kind.TIME, "time to drill a hole by hand", _CHORE,
            methods=(LASER, ETCHING)),
        Key("hand.outline", Kind.TIME, "time to saw out a board and file its edge", _CHORE,
            methods=(LASER, ETCHING, PERFBOARD)),
        Key("hand.joint", Kind.TIME, "time for a wire or rivet through the board", _CHORE,
            methods=_COPPER),
        Key("hand.lead", Kind.TIME, "time to solder a lead on its second side too", _CHORE,
            methods=_COPPER),
        Key("hand.wire", Kind.TIME, "time to cut, strip and solder a wire", _CHORE,
            methods=(PERFBOARD,)),
        Key("hand.bridge", Kind.TIME, "time to join two neighbouring holes", _CHORE,
            methods=(PERFBOARD,)),
        Key("legend.depth", Kind.LENGTH, "depth at which the bit engraves the legend; none: it "
            "does not", (0.001, 1), methods=_TOOL),
        Key("grid.pitch", Kind.LENGTH, "from hole to hole of a perfboard", (2, 5.08),
            methods=(PERFBOARD,)),
        Key("grid.hole", Kind.LENGTH, "diameter of a perfboard's holes", (0.5, 2),
            methods=(PERFBOARD,)),
        Key("grid.pad", Kind.LENGTH, "diameter of the copper round a perfboard's holes", (1, 4),
            methods=(PERFBOARD,)),
        Key("grid.play", Kind.LENGTH, "how much wider than its lead a layout makes a hole", (0, 1),
            methods=(PERFBOARD,), default=0.0),
        Key("grid.bend", Kind.LENGTH, "how far any lead is bent to reach its hole", (0, 0.5),
            methods=(PERFBOARD,)),
        Key("grid.forced_bend", Kind.LENGTH, "how far the leads of any part are bent with pliers",
            (0, 1.5), methods=(PERFBOARD,)),
        Key("grid.free_leads", Kind.COUNT, "parts of up to so many leads have leads that bend to "
            "any hole nearby", (1, 9), methods=(PERFBOARD,)),
        Key("grid.most_wires", Kind.COUNT, "how many wires one will solder", (1, 9999),
            methods=(PERFBOARD,)),
    )
}  # fmt: skip


def describe_keys() -> tuple[tuple[str, str, str], ...]:
    """Every key of a profile: its path, what it means, what its value should be."""
    return tuple((key.name, key.meaning, key.expected) for key in KEYS.values())
