"""Aperture macros: from the text of an AM statement to primitives with numbers.

Statements are compiled to reverse Polish notation without recursion, so that no depth of
parentheses can exhaust the stack.
"""

from __future__ import annotations

import math
import re
from functools import cached_property
from typing import NamedTuple

from msgspec import Struct

from checker.read.gerber.words import StatementError, quoted

_TOKEN = re.compile(r"\s*(?:(\d+\.?\d*(?:[eE][+-]?\d+)?|\.\d+)|(\$\d+)|([-+xX/()]))")
_VARIABLE = re.compile(r"\$(\d{1,9})\s*=")
_BINDING = {"+": 1, "-": 1, "x": 2, "/": 2, "~": 3}

# Reverse Polish: numbers, "$n", the four operators, "~" for the sign change.
Expression = tuple[float | str, ...]


class Primitive(NamedTuple):
    """One primitive of a macro: its code and its parameters, in the unit of the file."""

    code: int
    values: tuple[float, ...]


def compile_expression(text: str) -> Expression:
    """Reverse Polish form of an arithmetic expression (shunting yard)."""
    out: list[float | str] = []
    waiting: list[str] = []
    operand = False  # whether the last token ended an operand
    place = 0
    text = text.rstrip()
    while place < len(text):
        match = _TOKEN.match(text, place)
        if match is None:
            raise StatementError(
                f"macro expression {quoted(text)}", "numbers, $n, + - x / and parentheses"
            )
        place = match.end()
        digits, variable, sign = match.groups()
        if sign is None or sign == "(":
            if operand:
                raise StatementError(
                    f"macro expression {quoted(text)}", "an operator between two values"
                )
            if sign is None:
                out.append(float(digits) if digits else variable)
                operand = True
            else:
                waiting.append("(")
        elif not operand:
            if sign == "-":
                waiting.append("~")
            elif sign != "+":
                raise StatementError(f"macro expression {quoted(text)}", f'a value before "{sign}"')
        elif sign == ")":
            while waiting and waiting[-1] != "(":
                out.append(waiting.pop())
            if not waiting:
                raise StatementError(f"macro expression {quoted(text)}", 'a "(" for each ")"')
            waiting.pop()
        else:
            sign = sign.lower()
            while waiting and waiting[-1] != "(" and _BINDING[waiting[-1]] >= _BINDING[sign]:
                out.append(waiting.pop())
            waiting.append(sign)
            operand = False
    if not operand or "(" in waiting:
        raise StatementError(f"macro expression {quoted(text)}", "a complete expression")
    return (*out, *reversed(waiting))


def evaluate(expression: Expression, variables: dict[str, float]) -> float:
    """Value of an expression; a variable never set is 0, as the format says."""
    stack: list[float] = []
    for item in expression:
        if isinstance(item, float):
            stack.append(item)
        elif item[0] == "$":
            stack.append(variables.get(item[1:].lstrip("0"), 0.0))
        elif item == "~":
            stack.append(-stack.pop())
        else:
            right, left = stack.pop(), stack.pop()
            if item == "/" and right == 0:
                raise StatementError("division by zero in a macro", "a divisor other than 0")
            stack.append(_OPERATORS[item](left, right))
    value = stack.pop()
    if not math.isfinite(value):
        raise StatementError("number overflow in a macro", "finite numbers")
    return value


_OPERATORS = {
    "+": float.__add__,
    "-": float.__sub__,
    "x": float.__mul__,
    "/": float.__truediv__,
}


class _Statement(NamedTuple):
    """An assignment to ``variable``, or a primitive where that is ""."""

    variable: str
    expressions: tuple[Expression, ...]


class Macro(Struct, frozen=True, dict=True):
    """An AM statement: its name and the texts between its asterisks."""

    name: str
    texts: tuple[str, ...]

    @cached_property
    def _statements(self) -> tuple[_Statement, ...]:
        statements = []
        for text in self.texts:
            text = text.strip()
            if not text or (text[0] == "0" and not text[1:2].isdigit() and text[1:2] != "."):
                continue  # primitive 0 is a comment
            variable = ""
            if match := _VARIABLE.match(text):
                variable = match[1].lstrip("0")
                fields = [text[match.end() :]]
            else:
                # A comma at the end of a statement says nothing.
                fields = text.removesuffix(",").split(",")
            statements.append(_Statement(variable, tuple(map(compile_expression, fields))))
        return tuple(statements)

    def primitives(self, parameters: tuple[float, ...]) -> tuple[Primitive, ...]:
        """The primitives for the parameters of one aperture."""
        variables = {str(i): value for i, value in enumerate(parameters, start=1)}
        found = []
        for variable, expressions in self._statements:
            values = tuple(evaluate(expression, variables) for expression in expressions)
            if variable:
                variables[variable] = values[0]
            else:
                found.append(Primitive(round(values[0]), values[1:]))
        return tuple(found)

    @cached_property
    def size(self) -> int:
        """Terms of all its expressions: what one aperture made of it costs."""
        return sum(len(e) for statement in self._statements for e in statement.expressions)
