"""A land pattern as the files of a board: Gerber X2 copper and profile, an XNC drill file.

Written from the fields of the row alone, so that what is read shares nothing with the specimens.
"""

from __future__ import annotations

from pathlib import Path

from checker.limits.published import Land

WIDTH, HEIGHT = 60.0, 50.0

# On a board without a lead nothing decides whether perfboard will do.
POST = [
    "%TA.AperFunction,ComponentPad*%",
    "%ADD50C,2.0*%",
    "%TD.AperFunction*%",
    "%TO.N,POST*%",
    "%TO.P,J1,1*%",
    "D50*",
    "X50000000Y40000000D03*",
]

Place = tuple[float, float, float, float, str]  # x, y, width, length, pin


def places(land: Land) -> list[Place]:
    """Every pad of the pattern, the first of them 20 mm off the corner of the board."""
    width, length = land.size
    if land.pitch is None:
        step = length + land.gap
        return [(20.0, 20.0 + number * step, width, length, str(number + 1)) for number in (0, 1)]
    row = [(20.0 + number * land.pitch, 20.0) for number in range(land.count)]
    pads = [(x, y, width, length, f"A{number}") for number, (x, y) in enumerate(row)]
    if land.across is None:
        return pads
    if land.facing is None:
        above = 20.0 + length + land.across
        return pads + [(x, above, width, length, f"B{number}") for number, (x, _) in enumerate(row)]
    middle = 20.0 + (land.count - 1) * land.pitch / 2
    above = 20.0 + length / 2 + land.across + land.facing[1] / 2
    return [*pads, (middle, above, *land.facing, "B")]


def write(land: Land, folder: Path) -> Path:
    """The folder with the board's files."""
    folder.mkdir()
    (folder / "copper-top.gbr").write_text(copper(land))
    (folder / "profile.gbr").write_text(profile())
    (folder / "holes.drl").write_text(drills(land))
    return folder


def copper(land: Land) -> str:
    function = "ComponentPad" if land.hole else "SMDPad,CuDef"
    lines = [
        "%TF.FileFunction,Copper,L1,Top*%",
        "%TF.FilePolarity,Positive*%",
        "%FSLAX46Y46*%",
        "%MOMM*%",
        f"%TA.AperFunction,{function}*%",
    ]
    pads = places(land)
    sizes = list(dict.fromkeys((width, length) for _, _, width, length, _ in pads))
    for number, (width, length) in enumerate(sizes, 10):
        round_pad = isinstance(land.pad, float)
        shape = f"C,{width:.6f}" if round_pad else f"R,{width:.6f}X{length:.6f}"
        lines.append(f"%ADD{number}{shape}*%")
    lines.append("%TD.AperFunction*%")
    for x, y, width, length, pin in pads:
        lines += [
            f"%TO.N,N{pin}*%",
            f"%TO.P,U1,{pin}*%",
            f"D{10 + sizes.index((width, length))}*",
            f"{xy(x, y)}D03*",
        ]
    if not land.hole:
        lines += POST
    return "\n".join([*lines, "M02*", ""])


def profile() -> str:
    corners = [(0.0, 0.0), (WIDTH, 0.0), (WIDTH, HEIGHT), (0.0, HEIGHT), (0.0, 0.0)]
    moves = [f"{xy(*corner)}D0{1 if number else 2}*" for number, corner in enumerate(corners)]
    head = ["%TF.FileFunction,Profile,NP*%", "%FSLAX46Y46*%", "%MOMM*%", "%ADD10C,0.1*%"]
    return "\n".join([*head, "D10*", "G01*", *moves, "M02*", ""])


def drills(land: Land) -> str:
    hits = [f"X{x:.6f}Y{y:.6f}" for x, y, *_ in places(land)]
    diameter = land.hole
    if not land.hole:
        hits, diameter = ["X50.0Y40.0"], 1.0
    head = ["M48", "; #@! TF.FileFunction,Plated,1,2,PTH", "METRIC"]
    tool = ["; #@! TA.AperFunction,Plated,PTH,ComponentDrill", f"T01C{diameter:.4f}"]
    return "\n".join([*head, *tool, "%", "G05", "T01", *hits, "M30", ""])


def xy(x: float, y: float) -> str:
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}"
