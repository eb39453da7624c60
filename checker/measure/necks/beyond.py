"""What of a graph can be reached through each edge of a vertex when the vertex is taken out."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from checker.board import Floats, Ints


def most_beyond(vertex: Ints, neighbour: Ints, value: Floats) -> Floats:
    """(k,) the greatest value in reach of ``neighbour[i]`` without ``vertex[i]``.

    A depth-first walk numbers the vertices, so that each subtree is a range of numbers. Taking a
    vertex out parts those subtrees of its children from which no edge leads back past it; all else
    still hangs together (Hopcroft and Tarjan 1973). Time and memory are linear in the edges.

    Args:
        vertex: (k,) one vertex of each edge.
        neighbour: (k,) the other; no vertex is its own neighbour.
        value: (n,) of the vertices.
    """
    tree = _Tree(vertex, neighbour, len(value))
    values = value[tree.order].tolist()
    count = len(values)
    subtree = values.copy()
    for at in reversed(range(count)):
        subtree[at] = max([values[at], *(subtree[child] for child in tree.children[at])])
    before, after = [-np.inf] * count, [-np.inf] * (count + 1)  # in the same connected part
    for at in range(count):
        if tree.top[at] < at:
            before[at] = max(before[at - 1], values[at - 1])
    for at in reversed(range(count)):
        more = at + 1 < count and tree.top[at + 1] == tree.top[at]
        after[at] = max(values[at], after[at + 1]) if more else values[at]

    rest = before
    for at in range(count):
        last = tree.last[at]
        if last < count and tree.top[last] == tree.top[at]:
            rest[at] = max(rest[at], after[last])
        for child in tree.children[at]:
            if tree.lowest[child] < at:
                rest[at] = max(rest[at], subtree[child])
    found = np.empty(len(vertex))
    for row, (a, b) in enumerate(zip(vertex.tolist(), neighbour.tolist(), strict=True)):
        here, there = tree.number[a], tree.number[b]
        found[row] = rest[here]
        if here < there < tree.last[here]:
            children = tree.children[here]
            child = children[bisect_right(children, there) - 1]
            if tree.lowest[child] >= here:
                found[row] = subtree[child]
    return found


class _Tree:
    """A depth-first walk of a graph; everything by the number a vertex gets on the way.

    Attributes:
        order: the vertex of each number; ``number`` the number of each vertex.
        top: the first number of the connected part.
        last: one more than the last number of the subtree.
        lowest: the least number an edge from the subtree leads to.
        children: numbers of the children, ascending.
    """

    def __init__(self, vertex: Ints, neighbour: Ints, count: int) -> None:
        links: list[list[int]] = [[] for _ in range(count)]
        for a, b in zip(vertex.tolist(), neighbour.tolist(), strict=True):
            links[a].append(b)
            links[b].append(a)
        self.order: list[int] = []
        self.number = [-1] * count
        self.top, self.last, self.lowest = [0] * count, [0] * count, [0] * count
        self.children: list[list[int]] = [[] for _ in range(count)]
        for first in range(count):
            if self.number[first] < 0:
                self._walk(links, first)

    def _walk(self, links: list[list[int]], first: int) -> None:
        number, lowest, start = self.number, self.lowest, len(self.order)
        path = [(self._enter(first, start), iter(links[first]))]
        while path:
            here, rest = path[-1]
            for there in rest:
                if number[there] < 0:
                    child = self._enter(there, start)
                    self.children[here].append(child)
                    path.append((child, iter(links[there])))
                    break
                lowest[here] = min(lowest[here], number[there])
            else:
                path.pop()
                self.last[here] = len(self.order)
                if path:
                    lowest[path[-1][0]] = min(lowest[path[-1][0]], lowest[here])

    def _enter(self, vertex: int, start: int) -> int:
        number = len(self.order)
        self.order.append(vertex)
        self.number[vertex] = self.lowest[number] = number
        self.top[number] = start
        return number
