"""Arithmetic in family files: parsed once, checked against a short list, never run as code.

Allowed: numbers, names, ``+ - * /``, powers with a small whole exponent, and the functions below.
Anything else is refused when the file is read, so that a hostile file costs one clear message.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from geometry.errors import InputError

MAX_LETTERS = 400  # the longest expression in the built-in families has about 100
MAX_EXPONENT = 4
MAX_DEPTH = 40

Values = Mapping[str, float]
Rule = Callable[[Values], float]

_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}
_FUNCTIONS: dict[str, tuple[Callable[..., float], int, int]] = {  # least and most arguments
    "min": (min, 2, 8),
    "max": (max, 2, 8),
    "abs": (abs, 1, 1),
    "sqrt": (math.sqrt, 1, 1),
    "sin": (lambda deg: math.sin(math.radians(deg)), 1, 1),
    "cos": (lambda deg: math.cos(math.radians(deg)), 1, 1),
    "tan": (lambda deg: math.tan(math.radians(deg)), 1, 1),
    "atan2": (lambda y, x: math.degrees(math.atan2(y, x)), 2, 2),
}
FUNCTIONS = frozenset(_FUNCTIONS)


@dataclass(frozen=True, slots=True)
class Expression:
    """An arithmetic rule over named values; angles in degrees.

    Parameters
    ----------
    text : str
        The rule as written.

    Raises
    ------
    InputError
        If it is more than plain arithmetic.

    Examples
    --------
    >>> Expression("max(width, 20) / 2 + sin(30)").value({"width": 26.0})
    13.5
    """

    text: str
    names: frozenset[str] = field(init=False, compare=False)
    _rule: Rule = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        tree = _parsed(self.text)
        names: set[str] = set()
        rule = _rule_of(tree, names, self.text, 0)
        object.__setattr__(self, "names", frozenset(names))
        object.__setattr__(self, "_rule", rule)

    def value(self, values: Values) -> float:
        """Return the rule's value.

        Raises
        ------
        InputError
            If it has none: division by zero, the root of a negative number, an unknown name.
        """
        try:
            result = float(self._rule(values))
        except KeyError as error:
            raise _refusal(self.text, f"it uses {error.args[0]!r}, which has no value") from error
        except (ArithmeticError, ValueError, TypeError) as error:
            raise _refusal(self.text, f"it has no value here ({error})") from error
        if not math.isfinite(result):
            raise _refusal(self.text, "its value is not a finite number")
        return result


def _parsed(text: str) -> ast.expr:
    if len(text) > MAX_LETTERS:
        raise _refusal(text, f"it is longer than {MAX_LETTERS} letters")
    try:
        return ast.parse(text.strip(), mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        raise _refusal(text, "it is not arithmetic") from error


def _rule_of(node: ast.expr, names: set[str], text: str, depth: int) -> Rule:
    """Return a node as a function of the values; the list of allowed nodes is here."""
    if depth > MAX_DEPTH:
        raise _refusal(text, "it is nested too deeply")
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        number = _number(node.value, text)
        return lambda values: number
    if isinstance(node, ast.Name):
        name = node.id
        names.add(name)
        return lambda values: values[name]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.UAdd):
        inner = _rule_of(node.operand, names, text, depth + 1)
        return (lambda values: -inner(values)) if isinstance(node.op, ast.USub) else inner
    if isinstance(node, ast.BinOp):
        return _binary(node, names, text, depth)
    if isinstance(node, ast.Call):
        return _call(node, names, text, depth)
    raise _refusal(text, "only numbers, names, + - * / ** and plain functions may stand in it")


def _number(value: object, text: str) -> float:
    try:
        return float(value)  # type: ignore[arg-type]
    except OverflowError as error:
        raise _refusal(text, "a number in it is too large") from error


def _binary(node: ast.BinOp, names: set[str], text: str, depth: int) -> Rule:
    left = _rule_of(node.left, names, text, depth + 1)
    if isinstance(node.op, ast.Pow):
        power = node.right
        if not isinstance(power, ast.Constant) or type(power.value) is not int:
            raise _refusal(text, "the exponent has to be a whole number")
        exponent = power.value
        if not 0 <= exponent <= MAX_EXPONENT:
            raise _refusal(text, f"the exponent has to be 0 to {MAX_EXPONENT}")
        return lambda values: left(values) ** exponent
    combine = _OPERATORS.get(type(node.op))
    if combine is None:
        raise _refusal(text, "only + - * / and ** may join numbers")
    right = _rule_of(node.right, names, text, depth + 1)
    return lambda values: combine(left(values), right(values))


def _call(node: ast.Call, names: set[str], text: str, depth: int) -> Rule:
    if not isinstance(node.func, ast.Name) or node.func.id not in _FUNCTIONS:
        raise _refusal(text, f"the functions are {', '.join(sorted(_FUNCTIONS))}")
    function, least, most = _FUNCTIONS[node.func.id]
    if node.keywords or not least <= len(node.args) <= most:
        raise _refusal(text, f"{node.func.id} is given the wrong number of values")
    rules = [_rule_of(argument, names, text, depth + 1) for argument in node.args]
    return lambda values: function(*(rule(values) for rule in rules))


def _refusal(text: str, why: str) -> InputError:
    line = " ".join(text.split())
    shown = line if len(line) <= 60 else f"{line[:57]}..."
    return InputError(
        f"“{shown}” cannot be worked out: {why}.",
        where="Family",
        remedy="Mend the expression in the family's file.",
    )
