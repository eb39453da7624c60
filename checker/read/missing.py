"""What a board can't be judged without, and what to say where it is not there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checker.errors import ReadError
from checker.read.package import A_LINK, NO_FILE
from checker.read.roles import HINT, role_by_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from checker.board import Unchecked
    from checker.read.roles import Identified

_MOST_NAMED = 8  # files


def refuse_unread(items: Iterable[Identified], kind: str) -> None:
    """A file that should hold copper or holes and can't be read: without it, all is guessed.

    An empty drill file passes, for some programs write one where there is nothing to drill.

    Raises:
        ReadError: there is one.
    """
    for item in items:
        role = item.promised
        if role is None or role.kind != kind:
            continue
        if kind == "drill" and item.file.format == "empty":
            continue
        what = f"the {role.label} copper" if kind == "copper" else "a drill file"
        raise ReadError(
            item.file.name,
            "is empty" if item.file.format == "empty" else "holds no layer or drill data",
            f"{what}, as the file's name or the job file says",
            "export it or copy it again, or leave it out with --layer ignore=FILE",
        )


def refuse_unopened(there: Sequence[Identified], left: Iterable[Unchecked], kind: str) -> None:
    """A link or a pipe in place of a file of that kind; not a drill file where one is there.

    Args:
        there: the files of that kind.
        left: what of the package was left out, and why.
        kind: "copper" or "drill".

    Raises:
        ReadError: there is one.
    """
    labels = {item.role.label for item in there if item.role is not None}
    for one in left:
        role = role_by_name(one.what) if one.why in (A_LINK, NO_FILE) else None
        if role is None or role.kind != kind or role.label in labels:
            continue
        if kind == "copper" or not labels:
            raise ReadError(
                one.what,
                one.why,
                f"the {role.label} copper" if kind == "copper" else "a drill file",
                "put the file itself there, or take this away",
            )


def no_copper(items: Sequence[Identified], negative: Sequence[str]) -> ReadError:
    """What is wrong where no file is a copper layer: the one that should be, if one is told.

    ``negative`` names the files that show what is cleared.
    """
    if negative:
        return ReadError(
            negative[0],
            "a negative layer, and no other layer shows copper as it is",
            "at least one positive copper layer",
            "export the layer as positive",
        )
    promised = [i.file.name for i in items if i.promised and i.promised.kind == "copper"]
    listed = [item.file.name for item in items if item.file.format]
    return ReadError(
        ", ".join((promised or listed)[:_MOST_NAMED]),
        "holds no layer data, and no other file is a copper layer"
        if promised
        else "no copper layer is found among these files",
        "a Gerber file of the top or the bottom copper",
        "export it or copy it again" if promised else HINT.replace("ROLE", "top"),
    )
