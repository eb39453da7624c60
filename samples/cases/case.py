"""What a case is: a board that shows a fault and one that does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from samples.draw import files

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from samples.layout import Layout


class Case(Struct, frozen=True):
    """The two boards of a rule.

    Attributes:
        bad, good: the boards.
        extra: files by path below the rule's folder, such as "profile.yaml" or
            "bad/board-note.yaml".
        retouch: changes the bad board's files, name -> text, for faults that no layout has.
    """

    bad: Layout
    good: Layout
    extra: Mapping[str, str] = field(default_factory=dict)
    retouch: Callable[[dict[str, str]], dict[str, str]] | None = None

    def files(self) -> dict[str, str]:
        """Path below the rule's folder -> text."""
        bad = files(self.bad)
        if self.retouch is not None:
            bad = self.retouch(bad)
        texts = {f"bad/{name}": text for name, text in bad.items()}
        texts |= {f"good/{name}": text for name, text in files(self.good).items()}
        return texts | dict(self.extra)
