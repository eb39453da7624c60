"""Slow, plain computations that answer what the checker answers, by other ways.

They use shapely, numpy and scipy only and nothing of ``checker``. Lengths in mm.
"""
