"""What of an SVG's tree is never drawn by itself, in words: nothing goes without one."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from collections import Counter
from collections.abc import Iterable, Iterator

Element = ElementTree.Element

WORDS = {"path": "path", "rect": "rectangle", "circle": "circle", "ellipse": "ellipse",
         "line": "line", "polyline": "polyline", "polygon": "polygon", "image": "picture",
         "text": "words"}  # fmt: skip
NEVER_SHOWN = {  # and what is lost with it, where that is more than a definition that nothing uses
    "defs": "", "symbol": "", "style": "", "metadata": "", "filter": "", "linearGradient": "",
    "radialGradient": "", "font": "", "script": "", "clipPath": "clip path that is not followed",
    "mask": "mask that is not followed", "marker": "arrow head or marker",
    "pattern": "pattern of a fill", "foreignObject": "page of another kind", "flowRoot": "words",
    "textPath": "words",
}  # fmt: skip
BY_NAME = (
    "clipPath",
    "mask",
    "marker",
    "pattern",
)  # where nothing points at them, what they hold is named
POINTED = re.compile(r"url\(\s*['\"]?#([^'\")\s]+)")
NOT_THERE, ELSEWHERE = "use of something that is not there", "use of another file"


def kind_of(element: Element) -> str:
    """Return an element's name without its namespace; empty for a comment."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def pointed_at(root: Element) -> set[str]:
    """Return the names that fills, clips and the like of a drawing point at."""
    texts = (text for e in root.iter() for text in (*e.attrib.values(), e.text or ""))
    return {name for text in texts if "url(" in text for name in POINTED.findall(text)}


def lost_in(element: Element, used: set[int], pointed: set[str]) -> Iterator[str]:
    """Yield what is lost with an element that is taken out of a drawing, in words.

    Parameters
    ----------
    element : Element
        Of a kind that is never shown, with all that it holds.
    used : set of int
        Identities of the elements that stand elsewhere by a ``use``.
    pointed : set of str
        As `pointed_at` returns them.
    """
    kind = kind_of(element)
    word = NEVER_SHOWN.get(kind, "")
    if word and (kind not in BY_NAME or element.get("id") in pointed):
        yield word
    elif kind in WORDS:
        if id(element) not in used:
            yield f"{WORDS[kind]} that is defined and not used"
    else:
        for child in element:
            yield from lost_in(child, used, pointed)


def not_drawn(root: Element, drawn: Iterable[str]) -> list[str]:
    """Return, in words, the shapes of a plain tree that came to nothing, as those without a size.

    Parameters
    ----------
    root : Element
        All that is to be drawn.
    drawn : iterable of str
        The words of the shapes that were.
    """
    asked = Counter(WORDS.get(kind_of(element), "") for element in root.iter())
    missing = asked - Counter(drawn)
    return [
        f"{word} without size"
        for word, count in missing.items()
        if word not in ("", WORDS["text"])  # words that are none, or in pieces
        for _ in range(count)
    ]
