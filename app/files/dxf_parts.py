"""The entities of a DXF one by one, blocks taken apart, hidden ones told, and what each is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ezdxf.document import Drawing as Document
from ezdxf.entities.attrib import AttDef
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.insert import Insert
from ezdxf.layouts.blocklayout import BlockLayout
from ezdxf.math import Matrix44

WORDS = {
    "LINE": "line", "ARC": "arc", "CIRCLE": "circle", "ELLIPSE": "ellipse", "SPLINE": "spline",
    "LWPOLYLINE": "polyline", "POLYLINE": "polyline", "TEXT": "words", "MTEXT": "words",
    "ATTRIB": "words", "ATTDEF": "words", "DIMENSION": "dimension", "ARC_DIMENSION": "dimension",
    "LARGE_RADIAL_DIMENSION": "dimension", "LEADER": "leader", "MULTILEADER": "leader",
    "HATCH": "hatching", "MPOLYGON": "hatching", "POINT": "point", "SOLID": "filled face",
    "TRACE": "filled face", "3DFACE": "face in space", "IMAGE": "picture", "3DSOLID": "solid body",
    "REGION": "solid body", "BODY": "solid body", "MESH": "mesh", "MLINE": "multiple line",
    "XLINE": "construction line", "RAY": "construction line", "TOLERANCE": "words",
    "WIPEOUT": "cover", "ACAD_TABLE": "table", "SHAPE": "sign of a font", "HELIX": "helix",
    "OLE2FRAME": "object of another program", "OLEFRAME": "object of another program",
    "ACAD_PROXY_ENTITY": "object of another program", "PDFUNDERLAY": "page of another file",
    "DWFUNDERLAY": "page of another file", "DGNUNDERLAY": "page of another file",
}  # fmt: skip
LINES = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")
EXTERNAL = 4 | 8  # block flags: it stands in another file, attached or laid over
PROGRAM_S_OWN = ("*", "_")  # blocks that drawing programs make: of dimensions, layouts, arrows
MOST_PARTS = 50_000  # with all blocks taken apart
MOST_NESTED = 32  # blocks within blocks


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """An entity with the layer that decides whether it is seen, and how its blocks place it."""

    entity: DXFEntity
    layer: str
    hidden: bool
    placed: Matrix44 | None = None


def parts_of(entities: Iterable[DXFEntity], off: set[str], frozen: set[str]) -> Iterator[Part]:
    """Yield every entity, blocks taken apart.

    What lies on layer 0 of a block lies on the layer that the block was put on.

    Parameters
    ----------
    entities : iterable of DXFEntity
        A model space.
    off, frozen : set of str
        Layers that are not shown, in small letters; a block on a frozen one is not shown at all.

    Raises
    ------
    OverflowError
        If there are more than a drawing of a knife can hold, or blocks hold themselves.
    """
    count = 0
    stack: list[tuple[Iterator[DXFEntity], str, bool, Matrix44 | None]] = [
        (iter(entities), "0", False, None)
    ]
    while stack:
        inside, above, hidden, placed = stack[-1]
        entity = next(inside, None)
        if entity is None:
            stack.pop()
            continue
        count += 1
        if count > MOST_PARTS:
            raise OverflowError("too many parts")
        layer = str(entity.dxf.get("layer", "0"))
        layer = above if layer == "0" else layer
        unseen = hidden or layer.lower() in frozen or bool(entity.dxf.get("invisible", 0))
        gone = unseen or layer.lower() in off
        if not isinstance(entity, Insert) or not _unfolds(entity):
            if not _is_template(entity, inside_block=len(stack) > 1):
                yield Part(entity=entity, layer=layer, hidden=gone, placed=placed)
            continue
        if len(stack) > MOST_NESTED:
            raise OverflowError("blocks within blocks without end")
        stack += [(parts, layer, unseen, there) for parts, there in _unfolded(entity, placed)]


def _unfolded(
    insert: Insert, placed: Matrix44 | None
) -> Iterator[tuple[Iterator[DXFEntity], Matrix44 | None]]:
    """Yield what a block consists of, and how it is placed in the drawing."""
    if insert.mcount > 1:
        yield insert.multi_insert(), placed
        return
    yield iter(insert.attribs), placed  # words lie beside the block, not in it
    there = insert.matrix44()
    yield iter(insert.block() or ()), there if placed is None else there * placed


def _unfolds(insert: Insert) -> bool:
    """Return whether there is anything in a block or beside it."""
    block = insert.block()
    return bool(insert.attribs) or (block is not None and any(map(_is_drawn, block)))


def _is_drawn(entity: DXFEntity) -> bool:
    """Return whether a block that holds only such an entity shows something."""
    return not _is_template(entity, inside_block=True)


def _is_template(entity: DXFEntity, *, inside_block: bool) -> bool:
    """Return whether an entity only says how others look: windows of pages, forms of words."""
    form = isinstance(entity, AttDef) and inside_block and not entity.is_const
    return form or entity.dxftype() == "VIEWPORT"


def word_for(entity: DXFEntity) -> str:
    """Return what an entity is, in words."""
    if isinstance(entity, Insert):
        block = entity.block()
        if block is None:
            return "block that is not there"
        return "drawing of another file" if _is_elsewhere(block) else "empty block"
    return WORDS.get(entity.dxftype(), entity.dxftype().lower())


def _is_elsewhere(block: BlockLayout) -> bool:
    return block.block is not None and bool(int(block.block.dxf.get("flags", 0)) & EXTERNAL)


def unused_blocks(document: Document) -> list[str]:
    """Return the blocks with lines in them that are put nowhere, by name."""
    put = {
        str(insert.dxf.get("name", "")).lower()
        for holder in document.blocks
        for insert in holder
        if isinstance(insert, Insert)
    }
    return [
        block.name
        for block in document.blocks
        if not block.name.startswith(PROGRAM_S_OWN)
        and block.name.lower() not in put
        and any(entity.dxftype() in LINES for entity in block)
    ]
