"""Footprints. Lengths in mm; the origin is the middle of the lands unless said otherwise.

Land patterns and holes are those that makers of the parts publish; each function names its
source. "Trade practice" marks what is usual but was found in no maker's text.
"""

from __future__ import annotations

from samples.layout import Footprint, Land


def dip(pins: int, wide: float = 1.6) -> Footprint:
    """Dual in-line, rows 7.62 apart; lead diagonal 0.677 at most (TI drawing NTD, MS-011-AB)."""
    half = pins // 2
    lands = []
    for k in range(pins):
        row, place = divmod(k, half)
        y = (half - 1) * 1.27 - place * 2.54
        x, y = (-3.81, y) if row == 0 else (3.81, -y)
        # 1.6 wide in the row is trade practice and leaves 0.94; hole 0.9 is level A of IPC-2222.
        # On two sides that meet only roughly a wider pad keeps its ring.
        shape = "rect" if k == 0 else "obround"
        lands.append(Land(str(k + 1), x, y, 2.4, wide, shape, 0.9))
    return Footprint(tuple(lands), (-3.2, -half * 1.27, 3.2, half * 1.27))


def soic(pins: int) -> Footprint:
    """Small outline, pitch 1.27: pads 0.60 x 1.55, rows 3.85 apart (Clare IXD_609, page 11)."""
    return _two_rows(pins, 1.27, 0.60, 1.55, 3.85, 1.95)


def tssop(pins: int) -> Footprint:
    """Thin shrink outline, pitch 0.65: pads 0.36 x 1.26, rows 4.54 apart (onsemi case 948E)."""
    return _two_rows(pins, 0.65, 0.36, 1.26, 4.54, 2.2)


def _two_rows(
    pins: int, pitch: float, width: float, length: float, between: float, body: float
) -> Footprint:
    half = pins // 2
    x = (between + length) / 2
    lands = []
    for k in range(pins):
        row, place = divmod(k, half)
        y = ((half - 1) / 2 - place) * pitch
        at = (-x, y) if row == 0 else (x, -y)
        lands.append(Land(str(k + 1), *at, length, width, function="SMDPad,CuDef"))
    return Footprint(tuple(lands), (-body, -half * pitch / 2, body, half * pitch / 2))


def qfn(pins: int) -> Footprint:
    """Quad flat without leads, pitch 0.40: pads 0.20 x 0.80 (Microchip C04-23380).

    The centre pad is the last pin and 0.20 from the others.
    """
    side = pins // 4
    reach = (side - 1) * 0.2 + 0.7
    lands = []
    for k in range(pins):
        edge, place = divmod(k, side)
        along = ((side - 1) / 2 - place) * 0.4
        x, y = [(-reach, along), (-along, -reach), (reach, -along), (along, reach)][edge]
        size = (0.8, 0.2) if edge % 2 == 0 else (0.2, 0.8)
        lands.append(Land(str(k + 1), x, y, *size, function="SMDPad,CuDef"))
    centre = 2 * (reach - 0.4 - 0.2)
    lands.append(Land(str(pins + 1), 0, 0, centre, centre, function="HeatsinkPad"))
    body = reach + 0.1
    return Footprint(tuple(lands), (-body, -body, body, body))


def usb_c() -> Footprint:
    """USB-C receptacle, 16 contacts, USB 2.0; origin in the row of contacts, mouth towards +y.

    Contacts 0.30 (power 0.60) x 1.15, so that 0.20 is between any two; shell posts in slots of
    0.6 within pads 1.0 wide at 4.32 from the middle (three open part libraries agree on these).
    Each pair of contacts that lies together carries the name of its contact of row A or B4.
    """
    row = (
        ("A1", -3.2), ("A4", -2.4), ("B8", -1.75), ("A5", -1.25), ("B7", -0.75), ("A6", -0.25),
        ("A7", 0.25), ("B6", 0.75), ("A8", 1.25), ("B5", 1.75), ("B4", 2.4), ("B1", 3.2),
    )  # fmt: skip
    lands = [
        Land(pin, x, 0, 0.6 if abs(x) > 2 else 0.3, 1.15, function="SMDPad,CuDef") for pin, x in row
    ]
    for x in (-4.32, 4.32):
        lands.append(Land("S1", x, 0.92, 1.0, 2.1, "obround", 0.6, 1.7))
        lands.append(Land("S1", x, 5.10, 1.0, 1.6, "obround", 0.6, 1.2))
    pegs = ((-2.89, 1.45, 0.65), (2.89, 1.45, 0.65))
    return Footprint(tuple(lands), (-4.47, 0.75, 4.47, 7.9), pegs)


def fpc(pins: int) -> Footprint:
    """Flat cable connector, pitch 0.50: pads 0.30 wide, as the families of that pitch have."""
    span = (pins - 1) * 0.25
    lands = [
        Land(str(k + 1), k * 0.5 - span, 0, 0.3, 1.2, function="SMDPad,CuDef") for k in range(pins)
    ]
    # The hold-down pads are trade practice.
    lands += [Land("S1", x, 2.4, 1.8, 2.2, function="SMDPad,CuDef") for x in (-span - 2, span + 2)]
    return Footprint(tuple(lands), (-span - 1.8, 0.8, span + 1.8, 5.4))


def chip(size: str) -> Footprint:
    """Two-terminal chip: pads and gap for reflow (Vishay Beyschlag 28745)."""
    width, length, gap = {
        "0402": (0.55, 0.60, 0.25),
        "0603": (0.95, 0.95, 0.50),
        "0805": (1.40, 1.10, 0.65),
        "1206": (1.75, 1.25, 1.50),
    }[size]
    x = (gap + length) / 2
    lands = tuple(
        Land(pin, at, 0, length, width, function="SMDPad,CuDef")
        for pin, at in (("1", -x), ("2", x))
    )
    reach, half = x + length / 2 + 0.2, width / 2 + 0.2
    return Footprint(lands, (-reach, -half, reach, half))


def sot23() -> Footprint:
    """Three leads: pads 0.80 x 0.90, pitch 1.90, rows 1.10 apart (onsemi case 318-08)."""
    places = (("1", -0.95, -1.0), ("2", 0.95, -1.0), ("3", 0.0, 1.0))
    lands = tuple(Land(*place, 0.8, 0.9, function="SMDPad,CuDef") for place in places)
    return Footprint(lands, (-1.45, -0.45, 1.45, 0.45))


def sot223() -> Footprint:
    """Three leads and a tab: pads 1.20 x 2.20, pitch 2.30, rows 4.00 apart (Bourns MD-SOT223)."""
    lands = [
        Land(str(k + 1), (k - 1) * 2.3, -3.1, 1.2, 2.2, function="SMDPad,CuDef") for k in range(3)
    ]
    lands.append(Land("4", 0, 3.1, 3.5, 2.2, function="SMDPad,CuDef"))
    return Footprint(tuple(lands), (-3.25, -1.75, 3.25, 1.75))


def crystal_smd() -> Footprint:
    """Crystal 3.2 x 2.5, four pads (trade practice); 1 and 3 are the crystal, 2 and 4 ground."""
    places = (("1", -1.1, -0.85), ("2", 1.1, -0.85), ("3", 1.1, 0.85), ("4", -1.1, 0.85))
    lands = tuple(Land(*place, 1.4, 1.15, function="SMDPad,CuDef") for place in places)
    return Footprint(lands, (-2.0, -1.65, 2.0, 1.65))


def header(pins: int) -> Footprint:
    """Posts 0.64 square, pitch 2.54: hole 1.0, pad 1.70 (trade practice)."""
    span = (pins - 1) * 1.27
    lands = tuple(
        Land(str(k + 1), k * 2.54 - span, 0, 1.7, 1.7, "circle" if k else "rect", 1.0)
        for k in range(pins)
    )
    return Footprint(lands, (-span - 1.27, -1.27, span + 1.27, 1.27))


def terminal(pins: int, pitch: float = 5.08) -> Footprint:
    """Screw terminal: pin 1.0, hole 1.3 (screw connector series 940-T); pads trade practice."""
    span = (pins - 1) * pitch / 2
    lands = tuple(
        Land(str(k + 1), k * pitch - span, 0, 2.6, 2.6, "circle" if k else "rect", 1.3)
        for k in range(pins)
    )
    return Footprint(lands, (-span - pitch / 2, -4.0, span + pitch / 2, 4.0))


def axial(pitch: float = 10.16, hole: float = 0.9, pad: float = 2.0) -> Footprint:
    """Resistor or diode lying between two holes; hole = lead + 0.25 (IPC-2222 level A)."""
    x = pitch / 2
    lands = (
        Land("1", -x, 0, pad, pad, "rect", hole),
        Land("2", x, 0, pad, pad, "circle", hole),
    )
    return Footprint(lands, (-pitch / 2 + 1.6, -1.25, pitch / 2 - 1.6, 1.25))


def radial(pitch: float, diameter: float, hole: float = 0.9, pad: float = 2.0) -> Footprint:
    """Standing capacitor or light-emitting diode; leads 0.6 (Chengx sheet for 10 mm cans)."""
    x = pitch / 2
    lands = (
        Land("1", -x, 0, pad, pad, "rect", hole),
        Land("2", x, 0, pad, pad, "circle", hole),
    )
    half = diameter / 2
    return Footprint(lands, (-half, -half, half, half))


def to92() -> Footprint:
    """Transistor with its leads spread to 2.54; leads 0.4 to 0.56 (trade practice)."""
    lands = tuple(
        Land(str(k + 1), (k - 1) * 2.54, 0, 1.6, 2.0, "obround" if k else "rect", 0.9)
        for k in range(3)
    )
    return Footprint(lands, (-2.5, -1.5, 2.5, 2.5))


def trimmer() -> Footprint:
    """Trimming resistor, three pins in line at 2.54, the wiper in the middle (trade practice)."""
    lands = tuple(
        Land(str(k + 1), (k - 1) * 2.54, 0, 1.6, 2.2, "obround" if k else "rect", 0.9)
        for k in range(3)
    )
    return Footprint(lands, (-4.8, -2.4, 4.8, 2.4))


def crystal() -> Footprint:
    """Crystal in a standing can, leads 4.88 apart (trade practice)."""
    lands = (
        Land("1", -2.44, 0, 1.6, 1.6, "circle", 0.9),
        Land("2", 2.44, 0, 1.6, 1.6, "circle", 0.9),
    )
    return Footprint(lands, (-5.4, -2.3, 5.4, 2.3))


def relay() -> Footprint:
    """Power relay 29 x 12.7, one changeover contact; the coil is at one end, 15 from the contacts.

    Pins in doubled rows 7.5 apart, contacts 5.0 apart (trade practice). Origin between the coil's
    pins; pins: A1, A2 the coil, 12 the break, 11 the common, 14 the make contact.
    """
    lands = [
        Land("A1", 0, -3.75, 2.4, 2.4, "rect", 1.3),
        Land("A2", 0, 3.75, 2.4, 2.4, "circle", 1.3),
    ]
    for pin, x in (("12", 15.16), ("11", 20.16), ("14", 25.16)):
        for y in (-3.75, 3.75):
            lands.append(Land(pin, x, y, 2.0, 3.0, "obround", 1.3))
    return Footprint(tuple(lands), (-1.9, -6.35, 27.1, 6.35))


def fuse() -> Footprint:
    """Holder for a fuse of 5 x 20 mm: two clips 22.6 apart (trade practice)."""
    lands = (
        Land("1", -11.3, 0, 3.0, 3.0, "circle", 1.3),
        Land("2", 11.3, 0, 3.0, 3.0, "circle", 1.3),
    )
    return Footprint(lands, (-13.0, -4.8, 13.0, 4.8))
