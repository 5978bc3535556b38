"""The tree of an SVG made safe and plain before it is read: no traps and no pointers."""

from __future__ import annotations

import copy
import re
import xml.etree.ElementTree as ElementTree
from xml.parsers import expat

from app.files.errors import FileError
from app.files.svg_unseen import (
    ELSEWHERE,
    NEVER_SHOWN,
    NOT_THERE,
    WORDS,
    kind_of,
    lost_in,
    pointed_at,
)

SVG = "http://www.w3.org/2000/svg"
HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
ZERO = {"rect": ("x", "y"), "image": ("x", "y"), "circle": ("cx", "cy"), "ellipse": ("cx", "cy"),
        "line": ("x1", "y1", "x2", "y2"), "text": ("x", "y")}  # fmt: skip
IMPORTANT = re.compile(r"!\s*important", re.IGNORECASE)  # the reading library stumbles over it
HIDDEN = "data-display"  # under its own name the library drops things without a word
DISPLAY = re.compile(r"(?<![-\w.#])display(?=\s*:)", re.IGNORECASE)
NUMBER = re.compile(r"\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?", re.IGNORECASE)
FLAWED = "transform with a flaw, passed over: check the size"
MOVES = "matrix|translate[xy]?|scale[xy]?|rotate|skew[xy]?"
TRANSFORM = re.compile(rf"(?:[\s,]*(?:{MOVES})\s*\([^()]*\))*[\s,]*|\s*none\s*", re.IGNORECASE)
MOST_NESTED = 200  # groups within groups; editors write a few dozen at most
MOST_ELEMENTS = 50_000  # with all that is pointed at put in its place
MOST_LETTERS = 3_000_000  # of all paths together: a traced picture has a few hundred thousand
MOST_ENTITY = 1000  # letters of a name that stands for others; namespaces have a few dozen

VIEW = ("left", "top", "width", "height")  # of a view box
NO_MORE = (*HREFS, "width", "height", "viewBox")  # of a use, once what it points at stands in it

Element = ElementTree.Element


def safe_root(data: bytes, where: str) -> Element:
    """Return the root of an SVG that is no trap.

    Raises
    ------
    FileError
        If it is no SVG, or nests or repeats itself without sense.
    """
    try:
        _look_for_traps(data)
        root = ElementTree.fromstring(data)
    except _TrapError as trap:
        raise FileError(
            f"{trap}, which may make a small file grow without end.",
            where=where,
            remedy="Save it as plain SVG, the profile alone.",
        ) from trap
    except (ElementTree.ParseError, expat.ExpatError, ValueError, LookupError) as error:
        raise _no_svg(f"({error})", where) from error
    if kind_of(root) != "svg":
        raise _no_svg(f"(its root is “{root.tag}”)", where)
    return root


def made_plain(root: Element, where: str) -> list[str]:
    """Take out of a tree what is never shown, and put what ``use`` points at in its place.

    Afterwards a shape stands where it is seen, its own place told, styles come first, and what is
    not displayed says so by the attribute `HIDDEN` of its own.

    Returns
    -------
    list of str
        What was taken out and stands nowhere, a thing each, in words.

    Raises
    ------
    FileError
        If uses go round in a circle or unfold to more than a drawing of a knife can hold.
    """
    named = {element.get("id", ""): element for element in root.iter() if element.get("id")}
    styles = [element for element in root.iter() if kind_of(element) == "style"]
    pointed = pointed_at(root)
    unfolding = _Unfolding(named)
    try:
        unfolding.into(root, (), 0)
    except _TrapError as trap:
        raise FileError(
            f"{trap}.", where=where, remedy="Save it as plain SVG, the profile alone."
        ) from trap
    for style in reversed(styles):
        style.text = _plain_style(style.text or "")
        root.insert(0, style)
    for element in root.iter():
        if not TRANSFORM.fullmatch(element.get("transform", "")):
            unfolding.lost.append(FLAWED)
            element.attrib.pop("transform")
        if element.get("style"):
            element.set("style", _plain_style(element.get("style", "")))
        if "display" in element.attrib:
            element.set(HIDDEN, element.attrib.pop("display"))
        for name in ZERO.get(kind_of(element), ()):
            element.attrib.setdefault(name, "0")
    gone = [word for element in unfolding.out for word in lost_in(element, unfolding.used, pointed)]
    return gone + unfolding.lost


def _plain_style(text: str) -> str:
    """Return a style that the reading library gets right: nothing important, nothing dropped."""
    return DISPLAY.sub(HIDDEN, IMPORTANT.sub("", text))


class _TrapError(Exception):
    """A file that is made to hang whoever reads it."""


def _look_for_traps(data: bytes) -> None:
    """Read a file once without keeping anything: names that stand for names, endless nesting."""
    depth = 0

    def opened(_name: str, _attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > MOST_NESTED:
            raise _TrapError(f"its groups are nested more than {MOST_NESTED} deep")

    def closed(_name: str) -> None:
        nonlocal depth
        depth -= 1

    def declared(
        name: str, parameter: bool, value: str | None, _base: object, _system: object,
        _public: object, _notation: object,
    ) -> None:  # fmt: skip
        if parameter or value is None or len(value) > MOST_ENTITY or "&" in value:
            raise _TrapError(f"its document type makes “{name[:40]}” stand for other text")

    reader = expat.ParserCreate()
    reader.StartElementHandler = opened
    reader.EndElementHandler = closed
    reader.EntityDeclHandler = declared
    reader.Parse(data, True)


class _Unfolding:
    """Puts what is pointed at in the place of what points at it, as long as it stays little."""

    def __init__(self, named: dict[str, Element]) -> None:
        self.named = named
        self.count = 0
        self.letters = 0
        self.out: list[Element] = []  # all that was taken out
        self.used: set[int] = set()  # identities of what is shown by a use
        self.lost: list[str] = []  # what was lost otherwise, in words

    def into(self, parent: Element, above: tuple[str, ...], depth: int) -> None:
        """Unfold the children of an element; ``above`` are the names that led here."""
        if depth > MOST_NESTED:
            raise _TrapError(f"its groups and uses are nested more than {MOST_NESTED} deep")
        for place, child in enumerate(list(parent)):
            self.count += 1
            self.letters += len(child.get("d", "")) + len(child.get("points", ""))
            if self.count > MOST_ELEMENTS or self.letters > MOST_LETTERS:
                raise _TrapError("it unfolds to more lines than a drawing of a knife can hold")
            kind = kind_of(child)
            if kind in NEVER_SHOWN:
                self.out.append(child)
                parent[place] = _nothing()
            elif kind == "path" and not child.get("d", "").strip():
                self.lost.append("path without size")
                parent[place] = _nothing()
            elif kind == "svg" and _is_flat(child):
                self.lost += [f"{WORDS[k]} without size" for k in map(kind_of, child.iter())
                              if k in WORDS]  # fmt: skip
                parent[place] = _nothing()
            elif kind == "use":
                parent[place] = self._unfolded(child, above, depth)
            else:
                if kind == "svg" and len(_view_of(child)) != len(VIEW):
                    _only_moved(child)
                self.into(child, above, depth + 1)

    def _unfolded(self, use: Element, above: tuple[str, ...], depth: int) -> Element:
        """Return a use that holds a copy of what it pointed at."""
        holder = Element(f"{{{SVG}}}use")
        holder.attrib.update({k: v for k, v in use.attrib.items() if k not in NO_MORE})
        told = next((use.get(h, "") for h in HREFS if use.get(h)), "").strip()
        name = told.removeprefix("#")
        if name in above:
            raise _TrapError(f"“{name[:40]}” is made of itself")
        target = self.named.get(name)
        if target is None:
            self.lost.append(NOT_THERE if told.startswith("#") or not told else ELSEWHERE)
            return holder
        self.used.update(map(id, target.iter()))
        shown = copy.deepcopy(target)
        if kind_of(target) in ("symbol", "svg"):
            shown.tag = f"{{{SVG}}}svg"
            for side in ("width", "height"):
                shown.set(side, use.get(side, target.get(side, "100%")))
        holder.append(shown)
        self.into(holder, (*above, name), depth + 1)
        return holder


def _nothing() -> Element:
    return Element(f"{{{SVG}}}desc")


def _is_flat(svg: Element) -> bool:
    """Return whether a drawing in the drawing has no width or height, so that nothing is seen."""
    sides = [NUMBER.match(svg.get(side, "100%")) for side in ("width", "height")]
    lengths = [float(side[0]) for side in sides if side is not None] + _view_of(svg)[2:]
    return not all(length > 0.0 for length in lengths)


def _view_of(svg: Element) -> list[float]:
    """Return the numbers of a view box; none where they are not numbers."""
    try:
        return [float(part) for part in re.split(r"[\s,]+", svg.get("viewBox", "").strip())]
    except ValueError:
        return []


def _only_moved(svg: Element) -> None:
    """Make a group that is moved of a drawing in the drawing that has no view box.

    The reading library does not move such a drawing; a use without a target is moved.
    """
    svg.tag = f"{{{SVG}}}use"
    for name in NO_MORE:
        svg.attrib.pop(name, None)


def _no_svg(why: str, where: str) -> FileError:
    return FileError(
        f"this is not an SVG drawing {why}.", where=where, remedy="Save the outline as SVG first."
    )
