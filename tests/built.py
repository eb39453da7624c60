"""Values of a class drawn from what its fields are drawn from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from hypothesis import strategies as st

if TYPE_CHECKING:
    from collections.abc import Callable

_T = TypeVar("_T")


def built(
    of: Callable[..., _T], *given: st.SearchStrategy[Any], **named: st.SearchStrategy[Any]
) -> st.SearchStrategy[_T]:
    """Like Hypothesis's own ``builds``, which wants the types of fields while it runs."""
    return st.builds(lambda *values, **rest: of(*values, **rest), *given, **named)
