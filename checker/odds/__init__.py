"""The odds that a board comes out whole, by drawing set-ups of the machine. Never imports rules."""

from checker.odds.chance import DRAWS, SEED
from checker.odds.result import Odds, Spoiler
from checker.odds.whole import odds_of

__all__ = ["DRAWS", "SEED", "Odds", "Spoiler", "odds_of"]
