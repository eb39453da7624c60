"""What the command line may say: its parser, what several commands take, a line for each fault.

What one command alone takes is said by its module in `checker.commands`.
"""

from __future__ import annotations

import argparse
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TypeAlias

from checker.config.above import NAME
from checker.errors import UsageError, nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

PROG = "cutworthy"
COMMANDS = (  # modules of `checker.commands`, as the help lists them
    *("check", "compare", "relieve", "measure", "reach", "profiles", "explain"),
    *("coupon", "calibrate", "config", "baseline", "cache", "schema", "completion"),
)
SEVERITIES = ("error", "warning", "note")  # heaviest first
FORMATS = (  # of a check
    *("text", "concise", "json", "sarif", "junit", "github"),
    *("html", "svg", "png", "gerber"),
)
CONFIG = NAME
SHELLS = ("bash", "zsh", "fish")
SCHEMAS = (  # of what a person writes, then of documents
    *("profile", "config"),
    *("report", "comparison", "limits", "facts", "calibration", "relief", "configured"),
)

_ABOUT = """\
Tells, before any copper is cut, whether a circuit board can be isolation-milled at home, and if
not, where, why and what to change. Reads Gerber layers, Excellon or XNC drill files and IPC-D-356
netlists; changes none of them.
"""
_HELP = f"see {PROG} --help"
STATUS = """\
exit status: 0 clean, 1 findings at or above --fail-on, 2 could not run
"""
_EXAMPLES = """\
examples:
  cutworthy check samples/boards/coop-door
  cutworthy check board.zip --profile cone-20-0.1 --profile flat-0.4
  cutworthy compare samples/boards/hive-scale -p cone-20-0.1 -p cone-60-0.2
  cutworthy check top.gbr holes.drl --layer top=top.gbr --format json --output report.json

"""
ONE_BOARD = "one folder, one zip archive, or the files of one board"


class _Parser(argparse.ArgumentParser):
    """An argparse parser whose faults are one line that names the nearest known word."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(_command(self), message, advice=f"see {self.prog} --help")

    def _check_value(self, action: argparse.Action, value: object) -> None:
        if action.choices is not None and value not in action.choices:
            of_command = "command" if self.prog == PROG else _command(self)
            what = "/".join(action.option_strings) or of_command
            advice = nearest(str(value), action.choices)
            raise UsageError(f"{what} {value}", "not known", advice=advice)


Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"


class _Version(argparse.Action):
    """Looks the version up only when it is asked for: that costs more than all the rest."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from checker import __version__

        print(f"{PROG} {__version__}")
        parser.exit()


def parse(argv: Sequence[str]) -> argparse.Namespace:
    """The words after the command's name, as `argparse` values.

    Raises:
        UsageError: a word is not known, missing, or one too many.
    """
    named = argv[0] if argv and argv[0] in COMMANDS else None
    parser, commands = parsers(COMMANDS if named is None else (named,))
    args, rest = parser.parse_known_args(argv)
    command = commands.get(args.command, parser)
    for word in rest:
        if word.startswith("-") and word != "-":
            option = word.partition("=")[0]
            known = [name for name in command._option_string_actions if name.startswith("--")]
            where = f"{_command(command)} {option}"
            raise UsageError(where, "no such option", advice=nearest(option, known))
    if args.command is None:
        raise UsageError("command line", "no command", f"one of {', '.join(commands)}", _HELP)
    if rest and not hasattr(args, "board"):
        raise UsageError(_command(command), f"{rest[0]} is one word too many")
    if rest:  # files named after an option are files of the board too
        args.board += rest
    return args


def parsers(names: Sequence[str] = COMMANDS) -> tuple[_Parser, dict[str, _Parser]]:
    """The parser of a line with these commands, and that of each; no other is loaded."""
    parser = _Parser(
        PROG,
        description=_ABOUT,
        epilog=_EXAMPLES + STATUS,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name in names:
        import_module(f"checker.commands.{name}").options(commands)
    return parser, dict(commands.choices)


def add_profiles(parser: _Parser, several: str, default: str) -> None:
    """The processes; ``several`` says what for one names more than one."""
    parser.add_argument(
        "-p",
        "--profile",
        metavar="NAME|FILE",
        action="append",
        default=[],
        help="the process: a built-in name (see: cutworthy profiles) or a YAML file; "
        f"{several} (default: what {CONFIG} says, else {default})",
    )


def add_board(parser: _Parser, *formats: str, what: str = ONE_BOARD, least: str = "+") -> None:
    """The board, and what to do with the answer."""
    add_files(parser, what, least)
    add_output(parser, *(formats or ("text", "json")))


def add_files(parser: _Parser, what: str = ONE_BOARD, least: str = "+") -> None:
    """The board, and what is known of it."""
    parser.add_argument("board", metavar="BOARD", nargs=least, help=what)
    parser.add_argument(
        "--layer",
        metavar="ROLE=FILE",
        type=_layer,
        action="append",
        default=[],
        help="say what a file is where its name and content do not, as top=board.gtl; ROLE is "
        "top, bottom, inner1 and so on, outline, drill, plated-drill, unplated-drill, mask-top, "
        "legend-top, parts-top, the same with bottom, netlist, job, note or ignore; repeatable",
    )
    parser.add_argument("--no-config", action="store_true", help=f"pass over every {CONFIG}")


def add_output(parser: _Parser, *formats: str) -> None:
    """The answer's form, the usual one first, and where it goes."""
    default, *others = formats
    parser.add_argument(
        "--format",
        metavar="FORMAT",
        choices=formats,
        default=default,
        help=f"{default} (default), {', '.join(others)}",
    )
    parser.add_argument(
        "-o",
        "--output",
        metavar="PATH",
        type=Path,
        help="write to a file, whole or not at all, instead of standard output",
    )


def _layer(text: str) -> tuple[str, str]:
    role, _, file = (part.strip() for part in text.partition("="))
    if not (role and file):
        raise argparse.ArgumentTypeError(f"{text} is not ROLE=FILE, such as top=board.gtl")
    return role, file


def length_up_to(most: float) -> Callable[[str], float]:
    """What reads an option's length in mm, above 0 and up to ``most``."""

    def read(text: str) -> float:
        try:
            length = float(text)
        except ValueError:
            length = 0.0
        if not 0.0 < length <= most:
            raise argparse.ArgumentTypeError(
                f"{text} is no length; expected millimetres, above 0 and up to {most:g}"
            )
        return length

    return read


def _command(parser: argparse.ArgumentParser) -> str:
    return parser.prog.removeprefix(PROG).strip() or "command line"
