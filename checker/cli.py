"""The command line. Results go to standard output, everything else to standard error.

Exit status: 0 clean, 1 findings at or above ``--fail-on``, 2 could not run.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from checker.errors import CheckerError, UsageError, nearest

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.comparison import Row
    from checker.findings import Report

CLEAN, FOUND, FAILED = 0, 1, 2
PROG = "cutworthy"
SEVERITIES = ("error", "warning", "note")  # heaviest first

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


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; the exit status. Never raises, never prints a traceback unasked."""
    if hasattr(sys.stdout, "reconfigure"):  # a console that can't show a letter gets its number
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        args = _parse(sys.argv[1:] if argv is None else argv)
        status: int = args.run(args)
        sys.stdout.flush()
    except SystemExit as stop:  # argparse, after --help and --version
        return stop.code if isinstance(stop.code, int) else FAILED
    except CheckerError as error:
        return _fail(str(error))
    except KeyboardInterrupt:
        return _fail("stopped before the end")
    except BrokenPipeError:
        _drop_output()
        return _fail("the reader of the output closed it before the end")
    except MemoryError:
        return _fail("the board needs more memory than there is")
    except RecursionError:
        return _fail("a file is nested too deeply to be read")
    except OSError as error:
        _drop_output()
        where = f"{error.filename}: " if error.filename else ""
        return _fail(f"{where}{error.strerror or error}")
    except Exception as error:
        if os.environ.get("CUTWORTHY_DEBUG") == "1":
            raise
        return _fail(_unexpected(error))
    return status


def _fail(message: str) -> int:
    line = "".join(c if c.isprintable() else repr(c)[1:-1] for c in message)
    print(f"{PROG}: {line}", file=sys.stderr)
    return FAILED


def _drop_output() -> None:
    """Let go of what standard output won't take; the interpreter would try again at its end."""
    try:
        sys.stdout.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _unexpected(error: Exception) -> str:
    from checker import __version__

    return (
        f"a fault of version {__version__} itself, please report it with the board if you may "
        f"({type(error).__name__}: {error}); CUTWORTHY_DEBUG=1 shows where"
    )


# --- commands -------------------------------------------------------------------------------


def _check(args: argparse.Namespace) -> int:
    from checker.engine import check, reach_for
    from checker.measure import measure
    from checker.process import DEFAULT_PROFILE, load_profile
    from checker.read import read_board
    from checker.report import output

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, _inputs(args))
    processes = [load_profile(name) for name in dict.fromkeys(args.profile or [DEFAULT_PROFILE])]
    board = read_board(args.board, _layers(args.layer))
    facts = measure(board, reach_for(processes))
    reports = [check(board, process, facts=facts) for process in processes]
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report import json

        output.write(json.dumps(json.reports_document(reports)), target)
    else:
        from checker.report import text

        content = text.reports_text(reports, seconds, every=args.all)
        output.write(text.render(content, None if target else sys.stdout), target)
    if target:
        _tell(reports, args.output)
    return _status(reports, args.fail_on)


def _tell(judged: Iterable[Report | Row], output: Path) -> None:
    """Every verdict on standard error, where the answer itself goes to a file."""
    for one in judged:
        verdict = one.verdict.value.replace("-", " ")
        print(f"{PROG}: {verdict} with {one.process.name}; see {output}", file=sys.stderr)


def _compare(args: argparse.Namespace) -> int:
    from checker.comparison import compare
    from checker.findings import Verdict
    from checker.process import load_profile, profile_names
    from checker.read import read_board
    from checker.report import output

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, _inputs(args))
    processes = [load_profile(name) for name in dict.fromkeys(args.profile or profile_names())]
    board = read_board(args.board, _layers(args.layer))
    found = compare(board, processes, odds=args.odds)
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report import comparison_json, json

        output.write(json.dumps(comparison_json.comparison_document(found)), target)
    else:
        from checker.report import comparison_text, text

        content = comparison_text.comparison_text(found, seconds, every=args.all)
        output.write(text.render(content, None if target else sys.stdout), target)
    if target:
        _tell(found.rows[:1], args.output)
    best = found.rows[0].verdict
    if all(row.verdict is Verdict.NOT_CHECKED for row in found.rows):
        return _fail("nothing was there to judge, which is no pass")
    return CLEAN if best in (Verdict.MAKEABLE, Verdict.MARGINAL) else FOUND


def _measure(args: argparse.Namespace) -> int:
    from checker.measure import Reach, measure
    from checker.read import read_board
    from checker.report import output

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, _inputs(args))
    board = read_board(args.board, _layers(args.layer))
    facts = measure(board, Reach(cut=args.reach, copper=args.reach))
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report import json

        output.write(json.dumps(json.facts_document(facts)), target)
    else:
        from checker.report import facts_text, text

        content = facts_text.facts_text(facts, seconds)
        output.write(text.render(content, None if target else sys.stdout), target)
    return CLEAN


def _profiles(args: argparse.Namespace) -> int:
    from checker.process import load_profile, profile_names
    from checker.report import pages

    if args.name is None:
        lines = pages.profile_list(map(load_profile, profile_names()))
    else:
        lines = pages.profile_page(load_profile(args.name))
    print("\n".join(lines))
    return CLEAN


def _explain(args: argparse.Namespace) -> int:
    from checker.process import DEFAULT_PROFILE, load_profile
    from checker.registry import load_rules
    from checker.report import pages

    rules = load_rules()
    if args.profile is not None and args.rule is None:
        raise UsageError("explain --profile", "no rule is named", "explain RULE --profile NAME")
    if args.rule is None:
        lines = pages.rule_list(rules.values())
    elif args.rule in rules:
        lines = pages.rule_page(rules[args.rule], load_profile(args.profile or DEFAULT_PROFILE))
    else:
        raise UsageError(f"explain {args.rule}", "no such rule", advice=nearest(args.rule, rules))
    print("\n".join(lines))
    return CLEAN


def _status(reports: Sequence[Report], fail_on: str) -> int:
    from checker.findings import Verdict

    heavy = SEVERITIES[: SEVERITIES.index(fail_on) + 1]
    if any(found.severity.value in heavy for report in reports for found in report.findings):
        return FOUND
    if all(report.verdict is Verdict.NOT_CHECKED for report in reports):
        return _fail("nothing was there to judge, which is no pass")
    return CLEAN


def _layers(given: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    layers: dict[str, list[str]] = {}
    for role, file in given:
        layers.setdefault(role, []).append(file)
    return layers


def _inputs(args: argparse.Namespace) -> list[Path]:
    """Everything that the command reads and therefore must not write."""
    files = [file for _, file in args.layer] + getattr(args, "profile", [])
    return [*map(Path, args.board), *(Path(file) for file in files if Path(file).is_file())]


# --- parsing --------------------------------------------------------------------------------


class _Parser(argparse.ArgumentParser):
    """An argparse parser whose faults are one line that names the nearest known word."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(_command(self), message, advice=f"see {self.prog} --help")

    def _check_value(self, action: argparse.Action, value: object) -> None:
        if action.choices is not None and value not in action.choices:
            what = "/".join(action.option_strings) or "command"
            advice = nearest(str(value), action.choices)
            raise UsageError(f"{what} {value}", "not known", advice=advice)


class _Version(argparse.Action):
    """Looks the version up only when it is asked for: that costs more than all the rest."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from checker import __version__

        print(f"{PROG} {__version__}")
        parser.exit()


def _parse(argv: Sequence[str]) -> argparse.Namespace:
    parser, commands = _parsers()
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


def _parsers() -> tuple[_Parser, dict[str, _Parser]]:
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
    _add_board(check)
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
    check.set_defaults(run=_check)

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
    compare.set_defaults(run=_compare)

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
    measure.set_defaults(run=_measure)

    profiles = commands.add_parser(
        "profiles",
        help="list the built-in processes, or show one resolved",
        description="List the built-in processes with the width of their cut, or show all values "
        "of one and where they come from.",
        allow_abbrev=False,
    )
    profiles.add_argument("name", metavar="NAME|FILE", nargs="?", help="the process to show")
    profiles.set_defaults(run=_profiles)

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
    explain.set_defaults(run=_explain)
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


def _add_board(parser: _Parser) -> None:
    """The board, and what to do with the answer."""
    parser.add_argument(
        "board",
        metavar="BOARD",
        nargs="+",
        help="one folder, one zip archive, or the files of one board",
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
    parser.add_argument("--format", choices=("text", "json"), default="text", help="default: text")
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
