"""A process measured on a coupon: from a file of measurements to a profile that is one's own."""

from checker.calibration.calibrate import calibrate
from checker.calibration.changes import Change, changes
from checker.calibration.measurements import Measurements
from checker.calibration.model import Calibration
from checker.calibration.reading import read_measurements

__all__ = [
    "Calibration",
    "Change",
    "Measurements",
    "calibrate",
    "changes",
    "read_measurements",
]
