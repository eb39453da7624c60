"""The keys of a profile: one table from which reading, messages and documentation come.

To add a key, add its row and read it in `checker.process.load`; nothing else lists keys. A key is
named by its path: ``bit.depth`` stands under ``bit:``. `GROUPS` are the maps; ``severity`` is the
one group whose keys (names of rules) are not in the table.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass

from checker.process.units import ANGLE, FOIL, LENGTH, Measure

GROUPS = ("bit", "severity")
SEVERITIES = ("error", "warning", "note")
MILLING, LASER, ETCHING, PERFBOARD = METHODS = ("milling", "laser", "etching", "perfboard")
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


@dataclass(frozen=True, slots=True)
class Key:
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

    @property
    def expected(self) -> str:
        """What the value should be, in words."""
        return ", ".join(self.choices) if self.kind is Kind.CHOICE else self.kind.value

    @property
    def measure(self) -> Measure:
        """Units and bounds of the quantity."""
        units = {Kind.ANGLE: ANGLE, Kind.FOIL: FOIL}.get(self.kind, LENGTH)
        return Measure(units, self.plausible)

    @property
    def may_be_none(self) -> bool:
        """Whether ``none`` unsets what the profile it is based on sets."""
        return self.kind is Kind.LENGTH and self.default is None and not self.required

    def applies(self, method: str, shape: str | None) -> bool:
        """Whether the key means anything for a method and a shape of bit."""
        return method in self.methods and (not self.shapes or shape in self.shapes)


_TOOL = (MILLING, LASER)
_COPPER = (MILLING, LASER, ETCHING)
_TURNING = SHAPES_OF[MILLING]

KEYS: dict[str, Key] = {
    key.name: key
    for key in (
        Key("based_on", Kind.TEXT, "profile whose values hold where this one is silent"),
        Key("method", Kind.CHOICE, "how the board is made", choices=METHODS, required=True),
        Key("title", Kind.TEXT, "one line for people"),
        Key(
            "bit.shape", Kind.CHOICE, "shape of the tool, or beam",
            choices=(*_TURNING, "beam"), methods=_TOOL, required=True,
        ),
        Key(
            "bit.tip_width", Kind.SPREAD, "flat at the end of a cone",
            (0.01, 1.5), methods=_TOOL, shapes=("cone",), required=True,
        ),
        Key(
            "bit.angle", Kind.ANGLE, "included angle of a cone, twice the taper",
            (3, 150), methods=_TOOL, shapes=("cone",), required=True,
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
        Key("pad_clearance", Kind.LENGTH, "gap wished round pads to solder; shown, not judged yet",
            (0.05, 5), methods=_COPPER),
        Key("bite", Kind.LENGTH, "how far the path may run into drawn copper to pass a gap",
            (0, 0.5), methods=_TOOL, default=0.0),
        Key("layer_count", Kind.COUNT, "how many layers of copper can be made", (1, 64),
            default=2),
    )
}  # fmt: skip


def describe_keys() -> tuple[tuple[str, str, str], ...]:
    """Every key of a profile: its path, what it means, what its value should be."""
    return tuple((key.name, key.meaning, key.expected) for key in KEYS.values())
