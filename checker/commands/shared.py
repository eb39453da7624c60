"""What several commands have in common."""

from __future__ import annotations

from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from checker.console import say
from checker.errors import UsageError
from checker.options import CONFIG

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from checker.board import Board
    from checker.comparison import Row
    from checker.config import Config
    from checker.findings import Report
    from checker.process import Process
    from checker.read.package import Package

Layers = dict[str, "Sequence[str]"]


def target_of(args: argparse.Namespace) -> Path | None:
    """Where the answer goes if not to standard output, once it is sure that it may go there.

    Raises:
        UsageError: a folder, a file that the command reads, or one that is not its own.
    """
    from checker.report import output

    return args.output and output.writable(args.output, _inputs(args))


def _inputs(args: argparse.Namespace) -> list[Path]:
    """Everything that the command reads and therefore must not write."""
    files = [file for _, file in getattr(args, "layer", [])] + getattr(args, "profile", [])
    named = [*getattr(args, "board", []), *(file for file in files if Path(file).is_file())]
    # A configuration is read without being named, a baseline by another command.
    if args.output:
        from checker.accepted.place import NAME

        named += [args.output] if args.output.name.endswith((CONFIG, NAME)) else []
    return [Path(name) for name in named]


@contextmanager
def board_of(
    args: argparse.Namespace, meanwhile: Callable[[Config], None] = lambda _: None
) -> Iterator[tuple[Board, Config, Callable[[str], None]]]:
    """The one board that is named, what is configured for it, and how to tell what is done.

    ``meanwhile`` is done with what is configured, while another process reads where one can be had.
    """
    from checker.hands import both_hands
    from checker.read import read_package
    from checker.read.package import open_package
    from checker.report.progress import progress

    paths = only_board(args)
    config = config_for(paths, args)
    with progress() as tell:
        tell(f"Reading {paths[0].name}")
        package = open_package(paths)
        layers = layers_of(args.layer, config, package)
        if both_hands():
            board = read_package(package, layers, meanwhile=partial(meanwhile, config))
        else:
            meanwhile(config)
            board = read_package(package, layers)
        yield board, config, tell


def only_board(args: argparse.Namespace) -> tuple[Path, ...]:
    """The paths of the one board that is named.

    Raises:
        UsageError: several are.
    """
    from checker.read.boards import boards_of

    paths, *others = boards_of(args.board)
    if others:
        found = f"{1 + len(others)} boards are named"
        raise UsageError(args.command, found, "one board", "check takes several")
    return paths


def config_for(paths: Sequence[Path], args: argparse.Namespace) -> Config:
    """What is configured for a board; nothing where the line wants none."""
    from checker import config

    return config.Config() if args.no_config else config.config_of(paths)


def layers_of(given: Iterable[tuple[str, str]], config: Config, package: Package) -> Layers:
    """Roles with their files: the configuration's, and over them those of the line."""
    from checker.config import layers_of

    said: Layers = dict(layers_of(config, [file.name for file in package.files]))
    own: dict[str, list[str]] = {}
    for role, file in given:
        own.setdefault(role, []).append(file)
    return {**said, **own}


def processes_of(names: Iterable[str | Path], config: Config) -> list[Process]:
    """The processes of these names, with what the configuration lays over each."""
    from checker.process import load_profile

    return [load_profile(name, over=config.over) for name in dict.fromkeys(names)]


def tell_verdicts(judged: Iterable[Report | Row], output: Path, board: str = "") -> None:
    """Every verdict on standard error, where the answer itself goes to a file."""
    from checker.report import words

    for one in judged:
        said = f"{words.state(one.verdict.value)} with {one.process.name}{words.how_far(one)}"
        say(f"{board}{said}; see {output}")


def write_text(content: object, target: Path | None) -> None:
    """A text for people, laid out for the terminal or for a file."""
    import sys

    from checker.report import output, text

    output.write(text.render(content, None if target else sys.stdout), target)  # type: ignore[arg-type]


def write_json(document: Mapping[str, object], target: Path | None) -> None:
    """A document for machines."""
    from checker.report import json, output

    output.write(json.dumps(dict(document)), target)
