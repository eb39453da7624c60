"""What the command line may say: commands, options, and one line for each fault in it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from checker.errors import UsageError, nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

PROG = "cutworthy"
SEVERITIES = ("error", "warning", "note")  # heaviest first
FORMATS = (  # of a check
    *("text", "concise", "json", "sarif", "junit", "github"),
    *("html", "svg", "png", "gerber"),
)
SHELLS = ("bash", "zsh", "fish")
SCHEMAS = ("profile", "report", "comparison", "limits", "facts")

_ABOUT = """\
Tells, before any copper is cut, whether a circuit board can be isolation-milled at home, and if
not, where, why and what to change. Reads Gerber layers, Excellon or XNC drill files and IPC-D-356
netlists; writes nothing but its report.
"""
_HELP = f"see {PROG} --help"
_STATUS = """\
exit status: 0 clean, 1 findings at or above --fail-on, 2 could not run
"""
_EXAMPLES = """\
examples:
  cutworthy check samples/boards/coop-door
  cutworthy check board.zip --profile cone-20-0.1 --profile flat-0.4
  cutworthy compare samples/boards/hive-scale -p cone-20-0.1 -p cone-60-0.2
  cutworthy check top.gbr holes.drl --layer top=top.gbr --format json --output report.json

"""
WIDEST_REACH = 5.0  # mm; the time a census takes grows with its reach


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
    parser, commands = parsers()
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


def parsers() -> tuple[_Parser, dict[str, _Parser]]:
    """The parser of the whole line, and that of each command."""
    parser = _Parser(
        PROG,
        description=_ABOUT,
        epilog=_EXAMPLES + _STATUS,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    check = commands.add_parser(
        "check",
        help="say whether a board can be made, and if not, why",
        description="Say whether a board can be made with a process, and if not, where, why and "
        "what to change.",
        epilog=_STATUS,
        allow_abbrev=False,
    )
    _add_board(
        check,
        "one board or several: each folder and each zip archive is one, loose files "
        "together are one",
        *FORMATS,
    )
    _add_profiles(check, "repeat it to judge the board for several")
    check.add_argument(
        "--fail-on",
        choices=SEVERITIES,
        default="error",
        help="the least severity that makes the exit status 1 (default: error, a board that "
        "cannot be made as it is; warnings are for a person to weigh)",
    )
    check.add_argument(
        "--all",
        action="store_true",
        help="show every cause and every place in the text, not a handful of each",
    )

    compare = commands.add_parser(
        "compare",
        help="say which bit or method suits a board, in one table",
        description="Judge a board by several processes: which of them make it, at which depth, "
        "with what margin, in what time, and what would help the others. Without --profile all "
        "built-in ones are compared.",
        epilog="exit status: 0 one of them makes the board, 1 none does, 2 could not run\n",
        allow_abbrev=False,
    )
    _add_board(compare)
    _add_profiles(compare, "repeat it for each process to compare (default: all built-in ones)")
    compare.add_argument(
        "--odds",
        action="store_true",
        help="work out how likely the board comes out whole with each, by drawing the errors of "
        "machine and bit many times",
    )
    compare.add_argument(
        "--all",
        action="store_true",
        help="show every cause in the text, not a handful of each process",
    )

    measure = commands.add_parser(
        "measure",
        help="measure a board, whatever the process",
        description="Measure a board, whatever the process: the gaps between islands of copper "
        "with the widest cut that still separates them, and the copper's narrow places.",
        allow_abbrev=False,
    )
    _add_board(measure)
    measure.add_argument(
        "--reach",
        metavar="MM",
        type=_reach,
        default=0.5,
        help="look for gaps and copper up to this width in mm (default: 0.5)",
    )

    limits = commands.add_parser(
        "reach",
        help="say what a process can make, before anything is drawn",
        description="Say what a process can make, before anything is drawn: widths and clearances "
        "to set in a layout editor, vias, traces between pins, land patterns, the largest board.",
        allow_abbrev=False,
    )
    limits.add_argument("process", metavar="PROFILE", help="a built-in name or a YAML file")
    _add_output(limits, "text", "json", "yaml")

    profiles = commands.add_parser(
        "profiles",
        help="list the built-in processes, or show one resolved",
        description="List the built-in processes with the width of their cut, or show all values "
        "of one and where they come from.",
        allow_abbrev=False,
    )
    profiles.add_argument("name", metavar="NAME|FILE", nargs="?", help="the process to show")

    explain = commands.add_parser(
        "explain",
        help="list the rules, or explain one",
        description="List the rules, or explain one: what it measures, why it matters, what to "
        "do, and the limits in force.",
        allow_abbrev=False,
    )
    explain.add_argument("rule", metavar="RULE", nargs="?", help="the rule to explain")
    explain.add_argument(
        "--profile",
        metavar="NAME|FILE",
        help="show the limits that this process sets for the rule (default: those of the default "
        "process)",
    )

    schema = commands.add_parser(
        "schema",
        help="print the JSON Schema of a profile or of a document",
        description="Print the JSON Schema (draft 7) of a profile, for editors, or of a document "
        "that another command prints as JSON.",
        allow_abbrev=False,
    )
    schema.add_argument("of", metavar="NAME", choices=SCHEMAS, help=", ".join(SCHEMAS))

    completion = commands.add_parser(
        "completion",
        help="print a script that completes the command line in a shell",
        description="Print a script that completes commands, options, and the names of processes "
        "and rules in a shell. README says where to put it.",
        allow_abbrev=False,
    )
    completion.add_argument("shell", metavar="SHELL", choices=SHELLS, help=", ".join(SHELLS))
    return parser, dict(commands.choices)


def _add_profiles(parser: _Parser, several: str) -> None:
    parser.add_argument(
        "-p",
        "--profile",
        metavar="NAME|FILE",
        action="append",
        default=[],
        help="the process: a built-in name (see: cutworthy profiles) or a YAML file; " + several,
    )


def _add_board(
    parser: _Parser,
    what: str = "one folder, one zip archive, or the files of one board",
    *formats: str,
) -> None:
    """The board, and what to do with the answer."""
    parser.add_argument(
        "board",
        metavar="BOARD",
        nargs="+",
        help=what,
    )
    parser.add_argument(
        "--layer",
        metavar="ROLE=FILE",
        type=_layer,
        action="append",
        default=[],
        help="say what a file is where its name and content do not, as top=board.gtl; ROLE is "
        "top, bottom, inner1, inner2, outline, drill, plated-drill, unplated-drill, mask-top, "
        "legend-top, netlist, note or ignore; repeatable",
    )
    _add_output(parser, *(formats or ("text", "json")))


def _add_output(parser: _Parser, *formats: str) -> None:
    default, *others = formats
    parser.add_argument(
        "--format",
        metavar="FORMAT",
        choices=formats,
        default=default,
        help=f"{default} (default), {', '.join(others)}",
    )
    parser.add_argument(
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


def _reach(text: str) -> float:
    try:
        reach = float(text)
    except ValueError:
        reach = 0.0
    if not 0.0 < reach <= WIDEST_REACH:
        raise argparse.ArgumentTypeError(
            f"{text} is no width; expected millimetres, above 0 and up to {WIDEST_REACH:g}"
        )
    return reach


def _command(parser: argparse.ArgumentParser) -> str:
    return parser.prog.removeprefix(PROG).strip() or "command line"
