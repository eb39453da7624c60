"""Slow, plain computations that answer what the checker answers, by other ways.

They use shapely, numpy, scipy and another reader of Gerber files (gerbonara), and nothing of
``checker``. Lengths in mm.
"""
