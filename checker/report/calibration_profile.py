"""A calibration as a profile: YAML in which every number says where it comes from."""

from __future__ import annotations

import json
import os
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from checker.errors import UsageError
from checker.methods import MILLING
from checker.process import profile_names
from checker.report import words
from checker.report.output import writable, write

if TYPE_CHECKING:
    from collections.abc import Iterator

    from checker.calibration.model import Calibration

_WIDTH = 100


def base_for(profile: str | Path, target: Path) -> str:
    """What ``based_on`` says in a file, so that it finds a profile named from the current folder.

    Args:
        profile: a built-in profile's name or a file, as `load_profile` takes it.
        target: the file to write.
    """
    if str(profile) in profile_names():
        return str(profile)
    path = Path(profile).resolve()
    try:
        relative = Path(os.path.relpath(path, target.resolve().parent)).as_posix()
    except ValueError:  # another drive
        return path.as_posix()
    return relative if "/" in relative else f"./{relative}"


def profile_text(calibration: Calibration, base_name: str) -> str:
    """The profile to write; ``base_name`` is what it is based on, see `base_for`."""
    lines = [*_head(calibration), f"based_on: {json.dumps(base_name, ensure_ascii=False)}"]
    title = f"{calibration.process.title}, as measured"
    lines += [f"title: {json.dumps(title, ensure_ascii=False)}", ""]
    group = ""
    for setting in calibration.settings:
        home, _, word = setting.key.rpartition(".")
        if home and home != group:
            lines.append(f"{home}:")
        group, indent = home, "  " * bool(home)
        lines += textwrap.wrap(
            setting.why, _WIDTH, initial_indent=f"{indent}# ", subsequent_indent=f"{indent}# "
        )
        value = f"{{{setting.value}}}" if ":" in setting.value else setting.value
        lines.append(f"{indent}{word}: {value}")
    return "\n".join([*lines, *_measured(calibration), ""])


def write_profile(
    calibration: Calibration, profile: str | Path, target: Path, force: bool = False
) -> None:
    """Write the profile, whole or not at all.

    Args:
        calibration: of the process that ``profile`` gave.
        profile: as `load_profile` took it.
        target: the file to write.
        force: whether a file that is there may be replaced.

    Raises:
        UsageError: the file can't be written, is there already, or is one that was read.
        OSError: as `checker.report.output.write`.
    """
    read = [Path(calibration.measurements.source)]
    if str(profile) not in profile_names():
        read.append(Path(profile))
    file = writable(target, read)
    if file.exists() and not force:
        raise UsageError(
            f"--output {target}", "is there already", "another name", "--force writes over it"
        )
    write(profile_text(calibration, base_for(profile, file)), file)


def _head(calibration: Calibration) -> Iterator[str]:
    source = Path(calibration.measurements.source).name
    yield f"# Made by cutworthy calibrate from {words.plain(source)}."
    yield "# A new bit, another blank or a bit that has worn asks for a new coupon."
    for warning in calibration.warnings:
        text = f"Mind: {words.plain(warning, 400)}."
        yield from textwrap.wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="#   ")


def _measured(calibration: Calibration) -> Iterator[str]:
    measurements, fit = calibration.measurements, calibration.line.fit
    yield from (
        "",
        "# What the measured width rests on; the report of a check tells it.",
        "measured:",
    )
    if measurements.date is not None:
        yield f'  date: "{measurements.date}"'
    if measurements.bit is not None:
        yield f"  bit: {json.dumps(measurements.bit, ensure_ascii=False)}"
    yield f"  readings: {len(measurements.readings)}"
    yield f"  residual: {min(fit.residual**0.5, 1.0):.4f} mm"
    if measurements.cut_before is not None and calibration.process.method == MILLING:
        yield f"  cut_before: {measurements.cut_before:g} m"
