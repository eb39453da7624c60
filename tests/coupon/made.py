"""Coupons of the built-in processes, made and read once for all tests."""

from __future__ import annotations

from functools import cache

from checker.board import Board
from checker.coupon import Coupon, board_of, coupon_of
from checker.process import load_profile, profile_names

MILLING = tuple(name for name in profile_names() if load_profile(name).method == "milling")
ALL = tuple(name for name in profile_names() if load_profile(name).method != "perfboard")

FEW = ("cone-30-0.1", "flat-0.8", "laser", "etch")
"""One of each kind."""


@cache
def built_in(name: str) -> Coupon:
    """Of a profile by its name."""
    return coupon_of(load_profile(name))


@cache
def board(name: str) -> Board:
    """The same, read from its files."""
    return board_of(built_in(name))
