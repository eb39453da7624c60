"""The ways of making a board."""

from __future__ import annotations

MILLING, LASER, ETCHING, PERFBOARD = METHODS = ("milling", "laser", "etching", "perfboard")

CUTTING = (MILLING, LASER, ETCHING)
"""The methods that part copper from copper; on perfboard leads and wires do without."""
