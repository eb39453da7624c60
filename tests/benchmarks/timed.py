"""What the benchmarks of whole commands share: a board of a known size, and processor time."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tests.read.made import at, drill, write

if TYPE_CHECKING:
    from collections.abc import Sequence

ROWS, PITCH = 22, 2.54


def grid_of_leads(folder: Path, rows: int = ROWS) -> Path:
    """A two-sided board of 4 n² + 2 n operations (2 000) that the default profile makes.

    Leads on a grid of 2.54 mm: on the bottom a wire links each column of them, on the top one from
    the first lead of each row to its last goes between the rows.
    """
    pads = [f"{at(PITCH * i, PITCH * k)}D03*" for i in range(rows) for k in range(rows)]
    stubs, wires = [], []
    for k in range(rows):
        low, high = PITCH * (k + 0.5) - 0.02, PITCH * (k + 0.5) + 0.02
        steps = [at(PITCH * (i + 0.5), high if i % 2 else low) for i in range(rows - 1)]
        steps = [at(0, PITCH * k), *steps, at(PITCH * (rows - 1), PITCH * k)]
        wires += [f"{steps[0]}D02*", *(f"{step}D01*" for step in steps[1:])]
        column = [at(PITCH * k, PITCH * i) for i in range(rows)]
        stubs += [f"{column[0]}D02*", *(f"{step}D01*" for step in column[1:])]
    end, m = PITCH * (rows - 1), 6.0
    rim = [(-m, -m), (end + m, -m), (end + m, end + m), (-m, end + m), (-m, -m)]
    edge = [f"{at(*rim[0])}D02*", *(f"{at(*corner)}D01*" for corner in rim[1:])]
    holes = [f"X{PITCH * i:.3f}Y{PITCH * k:.3f}" for i in range(rows) for k in range(rows)]
    dowels = [f"X{place:.3f}Y{place:.3f}" for place in (2 - m, end + m - 2)]
    files = {
        "top.gbr": _layer("Copper,L1,Top", ["D10*", *pads, "D11*", *wires]),
        "bottom.gbr": _layer("Copper,L2,Bot", ["D10*", *pads, "D11*", *stubs]),
        "edge.gbr": _layer("Profile,NP", ["D12*", *edge]),
        "holes.drl": drill(*holes, "T2", *dowels, tools="T1C0.8\nT2C3.0"),
    }
    write(folder, files)
    return folder


def _layer(function: str, lines: Sequence[str]) -> str:
    pens = "%ADD10C,1.6*%\n%ADD11C,0.26*%\n%ADD12C,0.1*%\n"
    body = "\n".join(["G01*", *lines])
    return f"%TF.FileFunction,{function}*%\n%FSLAX46Y46*%\n%MOMM*%\n{pens}{body}\nM02*\n"


# As installed: a clone that may not keep what it compiled would do so at every start.
COMPILED = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


# A process of its own asks, for a large one that asks counts in the memory of what it starts.
_ASK = """
import os, sys, time
begin = time.perf_counter()
pid = os.posix_spawn(sys.executable, [sys.executable, "-m", *sys.argv[1:]], os.environ)
_, status, used = os.wait4(pid, 0)
wall = time.perf_counter() - begin
print(used.ru_utime + used.ru_stime, wall, used.ru_maxrss, os.waitstatus_to_exitcode(status))
"""


class Cost(NamedTuple):
    """Of a command: processor time of all its processes, time on the clock, peak memory of the
    largest of them, exit status."""

    seconds: float
    elapsed: float
    megabytes: float
    status: int


def cost(module: str, *arguments: str) -> Cost:
    """What a module takes that runs as a command; what it prints is passed over."""
    command = [sys.executable, "-c", _ASK, module, *arguments]
    told = subprocess.run(command, capture_output=True, check=True, env=COMPILED, text=True).stdout
    used, wall, kilobytes, status = told.splitlines()[-1].split()
    return Cost(float(used), float(wall), float(kilobytes) / 1024, int(status))


def seconds(*arguments: str) -> tuple[float, int]:
    """Processor time of one command, and its exit status."""
    used = cost("checker", *arguments)
    return used.seconds, used.status
