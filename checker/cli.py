"""The command line. Results go to standard output, everything else to standard error.

Exit status: 0 clean, 1 findings at or above ``--fail-on``, 2 could not run.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from checker.errors import CheckerError, ReadError, UsageError, nearest
from checker.options import PROG, SEVERITIES, parse

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from checker.board import Board
    from checker.comparison import Row
    from checker.findings import Report, Rule
    from checker.process.model import Process
    from checker.report.judged import Judged

CLEAN, FOUND, FAILED = 0, 1, 2


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; the exit status. Never raises, never prints a traceback unasked."""
    if hasattr(sys.stdout, "reconfigure"):  # a console that can't show a letter gets its number
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        args = parse(sys.argv[1:] if argv is None else argv)
        status = _commands()[args.command](args)
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
    _say(message)
    return FAILED


def _say(message: str) -> None:
    """One line on standard error, whatever the message holds."""
    line = "".join(c if c.isprintable() else repr(c)[1:-1] for c in message)
    print(f"{PROG}: {line}", file=sys.stderr)


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


def _commands() -> Mapping[str, Callable[[argparse.Namespace], int]]:
    return {
        "check": _check,
        "compare": _compare,
        "measure": _measure,
        "reach": _limits,
        "profiles": _profiles,
        "explain": _explain,
        "schema": _schema,
        "completion": _completion,
    }


def _check(args: argparse.Namespace) -> int:
    from checker.process import DEFAULT_PROFILE, load_profile
    from checker.read.boards import boards_of, titles_of
    from checker.registry import load_rules
    from checker.report import documents, output
    from checker.report.progress import progress

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, _inputs(args))
    processes = [load_profile(name) for name in dict.fromkeys(args.profile or [DEFAULT_PROFILE])]
    boards = boards_of(args.board)
    if args.layer and len(boards) > 1:
        raise UsageError("--layer", f"{len(boards)} boards are named", "one board")
    documents.refuse(args.format, len(boards) * len(processes), target is not None)
    judged: list[Judged] = []
    failed = False
    with progress(len(boards) * (2 + len(processes) * len(load_rules()))) as tell:
        for paths, title in zip(boards, titles_of(boards), strict=True):
            try:
                board = _read(paths, title, _layers(args.layer), tell)
                judged += _judge(board, paths, processes, tell)
            except ReadError as error:
                if len(boards) == 1:
                    raise
                failed = bool(_fail(str(error)))
    if not judged:
        return FAILED
    reports = [one.report for one in judged]
    severities = SEVERITIES[: SEVERITIES.index(args.fail_on) + 1]
    status = FAILED if failed else _status(reports, severities)
    seconds = time.perf_counter() - begin
    run = documents.Run(tuple(judged), severities, status, seconds, args.all)
    answer = documents.document(run, args.format, None if target else sys.stdout)
    output.write(answer, target)
    if target:
        for report in reports:
            _tell([report], args.output, f"{report.board.name}: " if len(boards) > 1 else "")
    if status == FAILED and not failed:
        _fail("nothing was there to judge, which is no pass")
    return status


def _read(
    paths: Sequence[Path],
    title: str | None,
    layers: Mapping[str, Sequence[str]],
    tell: Callable[[str], None],
) -> Board:
    from checker.read import read_board

    tell(f"Reading {paths[0].name}")
    board = read_board(paths, layers)
    return board if title is None else replace(board, name=title)


def _one_board(args: argparse.Namespace, tell: Callable[[str], None]) -> Board:
    from checker.read.boards import boards_of

    paths, *others = boards_of(args.board)
    if others:
        found = f"{1 + len(others)} boards are named"
        raise UsageError(args.command, found, "one board", "check takes several")
    return _read(paths, None, _layers(args.layer), tell)


def _judge(
    board: Board, paths: Sequence[Path], processes: Sequence[Process], tell: Callable[[str], None]
) -> Iterator[Judged]:
    """A board by every process, measured once."""
    from checker.engine import check, reach_for
    from checker.measure import measure
    from checker.report.judged import Judged

    tell(f"Measuring {board.name}")
    facts = measure(board, reach_for(processes))
    for process in processes:

        def before(rule: Rule, name: str = process.name) -> None:
            tell(f"Judging {board.name} with {name}: {rule.name}")

        yield Judged(check(board, process, facts=facts, before=before), facts, tuple(paths))


def _tell(judged: Iterable[Report | Row], output: Path, board: str = "") -> None:
    """Every verdict on standard error, where the answer itself goes to a file."""
    for one in judged:
        verdict = one.verdict.value.replace("-", " ")
        _say(f"{board}{verdict} with {one.process.name}; see {output}")


def _compare(args: argparse.Namespace) -> int:
    from checker.comparison import compare
    from checker.findings import Verdict
    from checker.process import load_profile, profile_names
    from checker.report import output
    from checker.report.progress import progress

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, _inputs(args))
    processes = [load_profile(name) for name in dict.fromkeys(args.profile or profile_names())]
    with progress() as tell:
        board = _one_board(args, tell)
        tell(f"Comparing {len(processes)} processes for {board.name}")
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
    from checker.report import output
    from checker.report.progress import progress

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, _inputs(args))
    with progress() as tell:
        board = _one_board(args, tell)
        tell(f"Measuring {board.name}")
        facts = measure(board, Reach(cut=args.reach, copper=args.reach))
    seconds = time.perf_counter() - begin
    if args.format == "json":
        from checker.report import facts_document, json

        output.write(json.dumps(facts_document.facts_document(facts)), target)
    else:
        from checker.report import facts_text, text

        content = facts_text.facts_text(facts, seconds)
        output.write(text.render(content, None if target else sys.stdout), target)
    return CLEAN


def _limits(args: argparse.Namespace) -> int:
    from checker.limits import limits_of
    from checker.process import load_profile
    from checker.report import output

    begin = time.perf_counter()
    target = args.output and output.writable(args.output, [Path(args.process)])
    limits = limits_of(load_profile(args.process))
    seconds = time.perf_counter() - begin
    if args.format == "text":
        from checker.report import limits_text, text

        content = limits_text.limits_text(limits, seconds)
        output.write(text.render(content, None if target else sys.stdout), target)
    else:
        from checker.report import json, limits_document

        dumps = {"json": json.dumps, "yaml": limits_document.yaml_text}[args.format]
        output.write(dumps(limits_document.limits_document(limits)), target)
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


def _schema(args: argparse.Namespace) -> int:
    import json

    from checker.schema import schema_of

    print(json.dumps(schema_of(args.of), indent=1))
    return CLEAN


def _completion(args: argparse.Namespace) -> int:
    from checker.completion import script

    print(script(args.shell), end="")
    return CLEAN


def _status(reports: Sequence[Report], severities: Sequence[str]) -> int:
    """The worst of all reports; a run that could judge nothing is no pass."""
    if any(found.severity.value in severities for report in reports for found in report.findings):
        return FOUND
    unjudged = all(report.verdict.value == "not-checked" for report in reports)
    return FAILED if unjudged else CLEAN


def _layers(given: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    layers: dict[str, list[str]] = {}
    for role, file in given:
        layers.setdefault(role, []).append(file)
    return layers


def _inputs(args: argparse.Namespace) -> list[Path]:
    """Everything that the command reads and therefore must not write."""
    files = [file for _, file in args.layer] + getattr(args, "profile", [])
    return [*map(Path, args.board), *(Path(file) for file in files if Path(file).is_file())]
