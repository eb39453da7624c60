"""The configuration of a hardware repository: files called ``.cutworthy.yaml`` at or above a board.

What stands nearer to the board is laid over what stands farther, key by key. A board without such
a file costs a few looks at the folders above it: what reads the file is loaded when there is one.
"""

from checker.config.above import NAME
from checker.config.found import boards_named, config_of
from checker.config.model import Config, check_rules, lay, layers_of

__all__ = ["NAME", "Config", "boards_named", "check_rules", "config_of", "lay", "layers_of"]
