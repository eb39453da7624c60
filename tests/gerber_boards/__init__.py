"""Random boards as text, and what they are in truth.

A board is drawn twice from one plan: `text` writes it as Gerber and XNC files, which only the
reader can understand, and `truth` builds its copper with shapely alone. Neither knows the other.
"""
