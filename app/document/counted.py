"""Things of one kind and how many there are, in plain words."""

from __future__ import annotations

import re

REST = re.compile(r" (?:that|with|without|inside|across|beside|around|drawn|put|in|on|of)\b")
MANY = {" that is ": " that are ", " that rises ": " that rise "}
UNCOUNTED = ("words", "hatching")  # nobody says two hatchings


def counted(what: str, count: int) -> str:
    """Return how many things of a kind there are; one is told by its name alone.

    Parameters
    ----------
    what : str
        One thing: a noun, what is said before it, and where it is or what it has.
    count : int
        At least 1.

    Examples
    --------
    >>> counted("picture", 1), counted("closed path inside", 26), counted("solid body", 2)
    ('picture', '26 closed paths inside', '2 solid bodies')
    >>> counted("block that is put nowhere", 3), counted("words", 63)
    ('3 blocks that are put nowhere', 'words, 63 times')
    """
    if count == 1:
        return what
    found = REST.search(what)
    noun, rest = (what[: found.start()], what[found.start() :]) if found else (what, "")
    if noun.split()[-1] in UNCOUNTED:
        return f"{what}, {count} times"
    for one, many in MANY.items():
        if rest.startswith(one):
            rest = many + rest.removeprefix(one)
    return f"{count} {_plural(noun)}{rest}"


def _plural(noun: str) -> str:
    """Return more than one of what English forms by rule.

    Examples
    --------
    >>> [_plural(one) for one in ("mesh", "helix", "ellipse", "body", "layer")]
    ['meshes', 'helixes', 'ellipses', 'bodies', 'layers']
    """
    if re.search(r"[^aeiou]y$", noun):
        return f"{noun[:-1]}ies"
    return f"{noun}{'es' if re.search(r'(s|x|z|sh|ch)$', noun) else 's'}"
