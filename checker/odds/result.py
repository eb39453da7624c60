"""What the odds of a board are told as."""

from __future__ import annotations

from msgspec import Struct


class Spoiler(Struct, frozen=True):
    """Something that spoils the board in some of the draws.

    Attributes:
        what: in words, measured first: "gap 0.203 mm between U1.3 (GND) and the trace CLK".
        kind: "film", "gap", "neck" or "ring".
        side: "top" or "bottom"; x, y: where it is, or where it is most often, mm.
        nets: names of what stands there.
        share: share of all draws that it spoils, alone or with others.
        others: how many more of the places looked at are of its kind and spoil half as many or
            more; of gaps and necks the tightest 200 of a side are looked at.
    """

    what: str
    kind: str
    side: str
    x: float
    y: float
    nets: tuple[str, ...]
    share: float
    others: int


class Odds(Struct, frozen=True):
    """How likely a board comes out whole.

    Attributes:
        share: share of the draws in which it did.
        error: standard error of that share. Where no draw or every draw was whole it is the rule
            of three: with 95 % confidence the odds are not farther off than 3 / draws.
        draws: how many set-ups were drawn.
        spoilers: at most three, the most frequent first. Each after the first is the one that
            explains most of what those before it leave unexplained.
        assumed: in sentences, what the odds rest on.
    """

    share: float
    error: float
    draws: int
    spoilers: tuple[Spoiler, ...]
    assumed: tuple[str, ...]
