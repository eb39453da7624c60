"""The Gerber layer format: text to drawn objects, drawn objects to islands of copper."""

from checker.read.gerber.curves import TOLERANCE
from checker.read.gerber.file import GerberFile, parse_gerber
from checker.read.gerber.flatten import flatten

__all__ = ["TOLERANCE", "GerberFile", "flatten", "parse_gerber"]
