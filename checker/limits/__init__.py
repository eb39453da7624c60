"""What a process can make before anything is drawn: widths, clearances, pitches, land patterns."""

from checker.limits.limits import Between, Judged, Limits, Via, lands_of, limits_of

__all__ = ["Between", "Judged", "Limits", "Via", "lands_of", "limits_of"]
