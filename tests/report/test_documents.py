from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from checker.options import FORMATS

ROOT = Path(__file__).parents[2]
DIGESTS = """
import hashlib, sys
from tests.report.judging import sample
from checker.options import FORMATS
from checker.report.documents import Run, document
run = Run((sample("boards/coop-door", "flat-0.8"),), ("error",), 1, 0.5)
for form in FORMATS:
    answer = document(run, form, None)
    content = answer if isinstance(answer, bytes) else answer.encode()
    print(form, hashlib.sha256(content).hexdigest())
"""


def digests(seed: str) -> list[str]:
    """Every format's digest, from a process with this order of hashes."""
    ended = subprocess.run(
        [sys.executable, "-c", DIGESTS],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    return ended.stdout.splitlines()


def test_no_byte_of_any_format_depends_on_the_run() -> None:
    first, second = digests("1"), digests("2")

    assert [line.split()[0] for line in first] == list(FORMATS)
    assert first == second
