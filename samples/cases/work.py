"""Cases of the rules on the work at the machine: time, wear, chips, probing.

One board serves them all; what differs is the profile.
"""

from __future__ import annotations

from samples import parts
from samples.cases.case import Case
from samples.layout import Layout

_HEAD = "# The default bit, {what}.\nbased_on: cone-30-0.1\n"


def cases() -> dict[str, Case]:
    """Rule -> its case."""
    return {
        "long-cut": _case(
            "feeds: {{cut: {}, evening: 5 min}}\n",
            ("fed slowly", "40 mm/min"),
            ("fed well", "200 mm/min"),
        ),
        "blunt-tip": _case(
            "feeds: {{life: {}}}\n",
            ("worn after a few boards", "0.2 m"),
            ("worn after five metres", "5 m"),
        ),
        "heavy-chip": _case(
            "feeds: {{cut: {}, spindle: 8000 rpm}}\n",
            ("fed too fast", "400 mm/min"),
            ("fed as fast as it stands", "240 mm/min"),
        ),
        "coarse-probing": _case(
            "machine: {{probe_spacing: {}}}\n",
            ("over a coarse grid", "25 mm"),
            ("over a fine grid", "12 mm"),
        ),
    }


def _case(line: str, bad: tuple[str, str], good: tuple[str, str]) -> Case:
    board = _divider()
    return Case(
        board,
        board,
        {
            f"{which}/profile.yaml": _HEAD.format(what=what) + line.format(value)
            for which, (what, value) in (("bad", bad), ("good", good))
        },
    )


def _divider() -> Layout:
    """Two resistors between three screws of a terminal, 40 mm long."""
    board = Layout("divider", (40.0, 24.0), sides=("bottom",), plated=False)
    board.place(parts.header(3), "J1", 5.0, 12.0, ["GND", "MIDDLE", "SUPPLY"], turn=1)
    board.place(parts.axial(), "R1", 20.0, 17.0, ["SUPPLY", "MIDDLE"])
    board.place(parts.axial(), "R2", 20.0, 7.0, ["GND", "MIDDLE"])
    left, right = (pad.x for pad in board.pads[-2:])
    low, high = (min(pad.y for pad in board.pads[:3]), max(pad.y for pad in board.pads[:3]))
    board.track("bottom", 0.6, "GND", (5.0, low), (left, 7.0))
    board.track("bottom", 0.6, "SUPPLY", (5.0, high), (left, 17.0))
    board.track("bottom", 0.6, "MIDDLE", (right, 7.0), (right, 17.0))
    board.track("bottom", 0.6, "MIDDLE", (5.0, 12.0), (right, 12.0))
    return board
