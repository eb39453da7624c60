"""A stroke font for legends: our own capitals, drawn on a grid two wide and four high."""

from __future__ import annotations

# Each glyph: strokes parted by blanks; a stroke is a run of points "xy" in grid units.
_GLYPHS = {
    " ": "",
    "+": "1311 0222",
    "-": "0222",
    ".": "1011",
    "/": "0024",
    "0": "01031423211001 0123",
    "1": "031410 0020",
    "2": "0314230020",
    "3": "042412211000",
    "4": "10140121",
    "5": "24040212211000",
    "6": "2414020110211202",
    "7": "042410",
    "8": "120314231201102112",
    "9": "0010222314031222",
    "A": "0003142320 0222",
    "B": "000414231202 12211000",
    "C": "241403011020",
    "D": "00041423211000",
    "E": "24040020 0212",
    "F": "000424 0212",
    "G": "2414030110202212",
    "H": "0004 2024 0222",
    "I": "0424 1410 0020",
    "J": "24211001",
    "K": "0004 240220",
    "L": "040020",
    "M": "0004122420",
    "N": "00042024",
    "O": "01031423211001",
    "P": "000414231202",
    "Q": "01031423211001 1120",
    "R": "000414231202 1220",
    "S": "241403211000",
    "T": "0424 1410",
    "U": "0401102124",
    "V": "041024",
    "W": "0400122024",
    "X": "0024 0420",
    "Y": "041224 1210",
    "Z": "04240020",
}


def strokes_of(text: str) -> list[tuple[tuple[float, float], ...]]:
    """The text's strokes for a letter height of 1, starting at the origin.

    Raises:
        KeyError: a letter that the font does not have.
    """
    strokes = []
    for place, letter in enumerate(text.upper()):
        for run in _GLYPHS[letter].split():
            grid = zip(run[::2], run[1::2], strict=True)
            strokes.append(tuple((place * 0.75 + int(x) / 4, int(y) / 4) for x, y in grid))
    return strokes
