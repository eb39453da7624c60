"""What fuzzing starts from: short pieces of the samples, and of open boards where they are.

Pieces of open boards stay in memory: nothing of them is kept in this repository.
"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from checker.errors import ReadError
from checker.read.package import board_format, decode, open_package
from tests.fuzz.targets import MARK, files_of
from tests.read.made import two_sided

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
SHARED = ROOT.parent / "shared"
LARGEST = 1024  # bytes of a seed
_MOST = 400  # files of one format
_KIND = {"parts": "gerber", "edge": "gerber", "drilling": "drill", "nets": "netlist"}


def seeds(target: str) -> list[bytes]:
    """Pieces for one target, in order; but for archives none is longer than `LARGEST`."""
    if target == "profile":
        found = _yaml("rules/profiles/*.yaml", "samples/rules/*/profile.yaml")
    elif target in ("note", "config"):
        found = [*_yaml("samples/**/board-note.yaml", "samples/**/.cutworthy.yaml"), *_OWN]
    elif target == "board":
        found = _bundles()
    elif target == "archive":
        found = [packed(files_of(bundle)) for bundle in _bundles()]
    else:
        wanted = _KIND.get(target, target)
        texts = [text for text in _texts() if board_format(text[:4096]) == wanted]
        found = [_piece(text) for text in texts[:_MOST]] + _RECORDS * (wanted == "netlist")
    return sorted(set(found))


def packed(files: dict[str, bytes]) -> bytes:
    """A zip archive of these files."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    return stream.getvalue()


def _texts() -> Iterator[str]:
    """The board files of the samples, then of the open boards and conformance files."""
    for folder in (ROOT / "samples", SHARED / "conformance", SHARED / "boards"):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.suffix != ".zip":
                yield decode(path.read_bytes())


def _piece(text: str) -> bytes:
    """The head of a text and what stands in its middle and at its end, cut between lines."""
    content = text.encode()
    if len(content) <= LARGEST:
        return content
    part = LARGEST // 3
    middle = len(content) // 2
    parts = (content[:part], content[middle : middle + part], content[-part:])
    return b"\n".join(piece[: piece.rfind(b"\n") + 1] or piece for piece in parts)[:LARGEST]


def _yaml(*patterns: str) -> list[bytes]:
    paths = sorted(path for pattern in patterns for path in ROOT.glob(pattern))
    return [_piece(path.read_text(encoding="utf-8")) for path in paths]


def _bundles() -> list[bytes]:
    """Boards small enough to be one seed: a made one, and parts of others."""
    made = b"".join(_entry(name, text) for name, text in two_sided().items())
    found = [made]
    for folder in sorted((ROOT / "samples" / "rules").glob("*/*")):
        if folder.is_dir():
            small = sorted(open_package([folder]).files, key=lambda file: len(file.text))
            found.append(b"".join(_entry(file.name, file.text) for file in small)[:LARGEST])
    for path in sorted(SHARED.glob("boards/*")) if SHARED.is_dir() else ():
        try:
            files = open_package([path]).files
        except ReadError:
            continue
        short = [
            _entry(file.name, decode(_piece(file.text)[:600])) for file in files if file.format
        ]
        found.append(b"".join(short[:8])[:LARGEST])
    return found


def _entry(name: str, text: str) -> bytes:
    return MARK + name.encode() + b"\n" + text.encode() + b"\n"


_OWN = [
    b"nets:\n  LIVE: {voltage: 230 V ac, cleared: 3 mm}\n  12V: {voltage: 12 V, current: 2 A}\n"
    b"  GND: 0 V\n",
    b'top: true\nboards: ["hardware/*", "b/**"]\nprofiles: [cone-30-0.1, flat-0.4]\n'
    b"severity: {tight-gap: error}\nlayers: {top: '*.gtl', ignore: [a.txt, b.txt]}\n"
    b"nets: {LIVE: 230 V ac}\nstock: {drills: [0.8 mm, 1.0 mm], bits: [flat-0.8]}\n",
    b"waivers:\n  - {rule: tight-gap, reason: seen to, board: a, side: top, nets: [A, B],\n"
    b"     pins: [R1.1, R2.1], at: [12.3, 40.1], within: 2 mm, until: 2031-01-02}\n",
]
_RECORDS = [
    b"C  IPC-D-356\nP  UNITS CUST 1\nP  NNAME1 A-LONG-NAME\n"
    b"317NNAME1           U1    -1    D0800PA00X+010000Y+010000X1500Y0000R000S0\n"
    b"327GND              R1    -2          A01X+020000Y 010000X0900Y0950R090S2\n999\n",
    b"P  UNITS SI\n367N/C              MH1         D3200UA00X 003000Y-003000S3\n"
    b"317VCC              VIA   -     M0300PA00X 030000Y 020000\n378NET L1 X100Y200 X300Y400\n",
]
