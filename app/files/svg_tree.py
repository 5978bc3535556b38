"""The tree of an SVG made safe and plain before it is read: no traps and no pointers."""

from __future__ import annotations

import copy
import re
import xml.etree.ElementTree as ElementTree
from xml.parsers import expat

from app.files.errors import FileError

SVG = "http://www.w3.org/2000/svg"
HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
NEVER_SHOWN = ("defs", "style", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient",
               "radialGradient", "filter", "metadata", "foreignObject")  # fmt: skip
ZERO = {"rect": ("x", "y"), "image": ("x", "y"), "circle": ("cx", "cy"), "ellipse": ("cx", "cy"),
        "line": ("x1", "y1", "x2", "y2"), "text": ("x", "y")}  # fmt: skip
IMPORTANT = re.compile(r"!\s*important", re.IGNORECASE)  # the reading library stumbles over it
MOST_NESTED = 200  # groups within groups; editors write a few dozen at most
MOST_ELEMENTS = 50_000  # with all that is pointed at put in its place
MOST_LETTERS = 3_000_000  # of all paths together: a traced picture has a few hundred thousand
MOST_ENTITY = 1000  # letters of a name that stands for others; namespaces have a few dozen

NO_MORE = (*HREFS, "width", "height")  # of a use, once what it points at stands in it

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


def kind_of(element: Element) -> str:
    """Return an element's name without its namespace; empty for a comment."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def made_plain(root: Element, where: str) -> None:
    """Take out of a tree what is never shown, and put what ``use`` points at in its place.

    Afterwards a shape stands where it is seen, its own place told, and styles come first.

    Raises
    ------
    FileError
        If uses go round in a circle or unfold to more than a drawing of a knife can hold.
    """
    named = {element.get("id", ""): element for element in root.iter() if element.get("id")}
    styles = [element for element in root.iter() if kind_of(element) == "style"]
    try:
        _Unfolding(named).into(root, (), 0)
    except _TrapError as trap:
        raise FileError(
            f"{trap}.", where=where, remedy="Save it as plain SVG, the profile alone."
        ) from trap
    for style in reversed(styles):
        style.text = IMPORTANT.sub("", style.text or "")
        root.insert(0, style)
    for element in root.iter():
        if "!" in element.get("style", ""):
            element.set("style", IMPORTANT.sub("", element.get("style", "")))
        for name in ZERO.get(kind_of(element), ()):
            element.attrib.setdefault(name, "0")


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
                parent[place] = Element(f"{{{SVG}}}desc")
            elif kind == "use":
                parent[place] = self._unfolded(child, above, depth)
            else:
                if kind == "svg" and not child.get("viewBox"):
                    _only_moved(child)
                self.into(child, above, depth + 1)

    def _unfolded(self, use: Element, above: tuple[str, ...], depth: int) -> Element:
        """Return a use that holds a copy of what it pointed at."""
        holder = Element(f"{{{SVG}}}use")
        holder.attrib.update({k: v for k, v in use.attrib.items() if k not in NO_MORE})
        name = next((use.get(h, "") for h in HREFS if use.get(h)), "").removeprefix("#")
        if name in above:
            raise _TrapError(f"“{name[:40]}” is made of itself")
        target = self.named.get(name)
        if target is None:
            return holder
        shown = copy.deepcopy(target)
        if kind_of(target) in ("symbol", "svg"):
            shown.tag = f"{{{SVG}}}svg"
            for side in ("width", "height"):
                shown.set(side, use.get(side, target.get(side, "100%")))
        holder.append(shown)
        self.into(holder, (*above, name), depth + 1)
        return holder


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
