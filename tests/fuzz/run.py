"""Fuzzes a target for a while: ``python -m tests.fuzz.run TARGET --seconds 600``.

Inputs are mutated seeds, or with ``--cover`` led by coverage, which takes the library atheris.
Each runs in a child process with no more than 1 GiB; one that takes too long is ended. What fails
is written to the folder ``--found``, once for each place of the program that fails.
"""

from __future__ import annotations

import argparse
import json
import mmap
import os
import resource
import signal
import struct
import sys
import tempfile
import time
import traceback
from importlib import import_module
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

MEMORY = 1 << 30  # bytes of address space
LONGEST = 10.0  # seconds of computing, for one input
ASLEEP = 120.0  # seconds without an end, computing or not
SLOW = 1.0  # seconds of computing from which an input is kept, small as it is
_HEAD = struct.Struct("QI")  # executions begun, bytes of the input
_POLL = 0.5


def main() -> int:
    """Fuzz; the exit status tells whether anything failed."""
    args = _arguments()
    args.found.mkdir(parents=True, exist_ok=True)
    shared = mmap.mmap(-1, _HEAD.size + args.largest)
    begin = time.monotonic()
    executions = lives = 0
    while (left := args.seconds - (time.monotonic() - begin)) > 0 and lives < args.lives:
        with tempfile.TemporaryDirectory(dir=_memory()) as folder:
            child = os.fork()
            if child == 0:
                _live(args, shared, left, lives, Path(folder))
            ended = _watch(child, shared, left)
        lives += 1
        count, size = _HEAD.unpack_from(shared)
        executions += count
        if ended:
            data = shared[_HEAD.size : _HEAD.size + size]
            _keep(args.found / args.target, ended, data, ended)
        shared[: _HEAD.size] = _HEAD.pack(0, 0)
    failed = sorted(path.name for path in (args.found / args.target).glob("*.bin"))
    told = {
        "target": args.target,
        "way": "coverage" if args.cover else "mutation",
        "seed": args.seed,
        "executions": executions,
        "seconds": round(time.monotonic() - begin),
        "failed": failed,
    }
    print(json.dumps(told), flush=True)
    return 1 if failed else 0


def _computed(process: int) -> float:
    """Seconds that a process has computed, as Linux tells."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _arguments() -> argparse.Namespace:
    from tests.fuzz.mutate import TOKENS

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("target", choices=sorted(TOKENS))
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--largest", type=int, default=1024, help="bytes of an input")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--lives", type=int, default=200, help="children that are started at most")
    parser.add_argument("--cover", action="store_true", help="led by coverage")
    parser.add_argument("--found", type=Path, default=Path("found"))
    return parser.parse_args()


def _watch(child: int, shared: mmap.mmap, left: float) -> str:
    """Wait for a child; "hang" or "crash" where its input ended it, else ""."""
    until = time.monotonic() + left + LONGEST
    last, since, computed = -1, time.monotonic(), 0.0
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return "crash" if status else ""
        count, _ = _HEAD.unpack_from(shared)
        now = time.monotonic()
        if count != last:
            last, since, computed = count, now, _computed(child)
        elif count and (_computed(child) - computed > LONGEST or now - since > ASLEEP):
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "hang"
        if now > until:
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return ""
        time.sleep(_POLL)


def _memory() -> str | None:
    """A folder in memory where there is one: nothing goes to the disk."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None


def _live(
    args: argparse.Namespace, shared: mmap.mmap, left: float, life: int, folder: Path
) -> None:
    """The child: runs inputs until its time is up, and never returns."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    status = 1
    try:
        (_cover if args.cover else _mutate)(args, shared, left, life, folder)
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def _mutate(
    args: argparse.Namespace, shared: mmap.mmap, left: float, life: int, folder: Path
) -> None:
    from tests.fuzz.mutate import Mutator
    from tests.fuzz.seeds import seeds

    random = Random(f"{args.seed} {args.target} {life}")
    mutator = Mutator(args.target, seeds(args.target), random, args.largest)
    run = _runner(args, shared, folder)
    until = time.monotonic() + left
    while time.monotonic() < until:
        for _ in range(20):
            run(mutator.next())


def _cover(
    args: argparse.Namespace, shared: mmap.mmap, left: float, life: int, folder: Path
) -> None:
    atheris = import_module("atheris")
    with atheris.instrument_imports(include=["checker"]):
        import_module("tests.fuzz.targets")
    from tests.fuzz.seeds import seeds

    corpus = args.found / "grown" / args.target
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(seeds(args.target)):
        (corpus / f"seed{number}").write_bytes(seed[: args.largest])
    run = _runner(args, shared, folder)
    options = [
        f"-max_len={args.largest}", f"-max_total_time={int(left)}", "-timeout=600",
        f"-seed={args.seed + life}", "-rss_limit_mb=0", "-detect_leaks=0", "-verbosity=0",
    ]  # fmt: skip
    atheris.Setup([sys.argv[0], *options, str(corpus)], run)
    atheris.Fuzz()


def _runner(args: argparse.Namespace, shared: mmap.mmap, folder: Path) -> Callable[[bytes], None]:
    """What runs one input, and keeps it where it fails or is slow."""
    from tests.fuzz.targets import attempt

    place, target, known = args.found / args.target, args.target, set[str]()
    count = 0

    def run(data: bytes) -> None:
        nonlocal count
        count += 1
        shared[_HEAD.size : _HEAD.size + len(data)] = data
        shared[: _HEAD.size] = _HEAD.pack(count, len(data))
        begin = time.process_time()
        name = ""
        try:
            if not attempt(target, data, folder).isprintable():
                raise ValueError("a message that is not printable")
        except Exception as fault:
            name, told = _place_of(fault), traceback.format_exc()
        took = time.process_time() - begin
        if not name and took > SLOW:
            name, told = f"slow-{took:.0f}s", f"{took:.1f} s"
        if name and name not in known:
            known.add(name)
            _keep(place, name, data, told)

    return run


def _place_of(fault: BaseException) -> str:
    """What failed and where in the program: one name for all inputs that fail alike."""
    frames = [f for f in traceback.extract_tb(fault.__traceback__) if "/checker/" in f.filename]
    last = frames[-1] if frames else traceback.extract_tb(fault.__traceback__)[-1]
    return f"{type(fault).__name__}-{Path(last.filename).stem}-{last.lineno}"


def _keep(place: Path, name: str, data: bytes, told: str) -> None:
    place.mkdir(parents=True, exist_ok=True)
    path = place / f"{name}.bin"
    if not path.exists() or len(data) < path.stat().st_size:
        path.write_bytes(data)
        path.with_suffix(".txt").write_text(told, encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
