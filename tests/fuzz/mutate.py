"""Mutations of a file: bytes, tokens, numbers, lines, and splices with another file."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from random import Random

_NUMBER = re.compile(rb"[-+]?\d+\.?\d*")
NUMBERS = (
    *(b"0", b"-0", b"1", b"-1", b"2", b"3", b"00", b".", b"-", b"+", b"0.0000001", b"1e400"),
    *(b"127", b"255", b"65536", b"2147483648", b"-9223372036854775809", b"4294967295"),
    *(b"9" * 12, b"9" * 30, b"9" * 400, b"0.5", b"45", b"90", b"360", b"1000", b"100000"),
)
TOKENS = {
    **dict.fromkeys(("gerber", "parts", "edge"), "gerber"),
    **dict.fromkeys(("drill", "drilling"), "drill"),
    **dict.fromkeys(("netlist", "nets"), "netlist"),
    **dict.fromkeys(("note", "profile", "config"), "yaml"),
    **{name: name for name in ("job", "archive", "board")},
}


def tokens(target: str) -> tuple[bytes, ...]:
    """What is put into the files of a target: one a line, with Python's escapes."""
    path = Path(__file__).parent / "tokens" / f"{TOKENS[target]}.txt"
    lines = path.read_text(encoding="ascii").splitlines()
    return tuple(line.encode().decode("unicode_escape").encode("latin-1") for line in lines)


class Mutator:
    """Makes one input after the other from seeds."""

    def __init__(self, target: str, seeds: Sequence[bytes], random: Random, largest: int) -> None:
        self.seeds = list(seeds)
        self.tokens = tokens(target)
        self.random = random
        self.largest = largest
        self.ways: tuple[Callable[[bytes], bytes], ...] = (
            self._byte, self._token, self._token, self._number, self._number, self._cut,
            self._again, self._line_away, self._line_twice, self._lines_swapped, self._splice,
        )  # fmt: skip

    def next(self) -> bytes:
        """A seed, changed one to eight times."""
        data = self.random.choice(self.seeds)
        for _ in range(1 + int(self.random.random() ** 2 * 8)):
            data = self.random.choice(self.ways)(data)
        return data[: self.largest]

    def _place(self, data: bytes) -> int:
        return self.random.randrange(len(data) + 1)

    def _byte(self, data: bytes) -> bytes:
        at = self._place(data)
        return (
            data[:at] + bytes([self.random.randrange(256)]) + data[at + self.random.randrange(2) :]
        )

    def _token(self, data: bytes) -> bytes:
        at = self._place(data)
        if self.random.random() < 0.6:  # between two lines
            at = data.find(b"\n", at) + 1
        return data[:at] + self.random.choice(self.tokens) + data[at:]

    def _number(self, data: bytes) -> bytes:
        found = _NUMBER.search(data, self._place(data))
        if found is None:
            return data
        return data[: found.start()] + self.random.choice(NUMBERS) + data[found.end() :]

    def _cut(self, data: bytes) -> bytes:
        at = self._place(data)
        return data[:at] + data[at + self.random.randrange(1, 64) :]

    def _again(self, data: bytes) -> bytes:
        at = self._place(data)
        part = data[at : at + self.random.randrange(1, 32)]
        return data[:at] + part * self.random.randrange(2, 12) + data[at:]

    def _line_away(self, data: bytes) -> bytes:
        lines = data.split(b"\n")
        del lines[self.random.randrange(len(lines))]
        return b"\n".join(lines)

    def _line_twice(self, data: bytes) -> bytes:
        lines = data.split(b"\n")
        at = self.random.randrange(len(lines))
        lines[at:at] = [lines[at]] * self.random.choice((1, 1, 2, 20))
        return b"\n".join(lines)

    def _lines_swapped(self, data: bytes) -> bytes:
        lines = data.split(b"\n")
        a, b = self.random.randrange(len(lines)), self.random.randrange(len(lines))
        lines[a], lines[b] = lines[b], lines[a]
        return b"\n".join(lines)

    def _splice(self, data: bytes) -> bytes:
        other = self.random.choice(self.seeds)
        at, place = data.find(b"\n", self._place(data)), other.rfind(b"\n", 0, self._place(other))
        return data[: max(at, 0)] + other[max(place, 0) :]
