"""A coupon: a small board to mill and to measure, so that a profile tells of one's own machine."""

from __future__ import annotations

from checker.coupon.judging import board_of, minutes_of, predicted
from checker.coupon.layers import layers
from checker.coupon.model import Coupon
from checker.coupon.output import write
from checker.coupon.plan import coupon_of
from checker.coupon.readings import measurements
from checker.coupon.sheet import sheet

__all__ = [
    "Coupon",
    "board_of",
    "coupon_of",
    "layers",
    "measurements",
    "minutes_of",
    "predicted",
    "sheet",
    "write",
]
