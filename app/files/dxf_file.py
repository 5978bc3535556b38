"""An outline from a DXF that was drawn anywhere.

A DXF of an outline that this program wrote (`app.exports.outline_dxf`) carries extended data of
the application ``BLANKWRIGHT``: pairs of strings, a word and its value. The first entity of the
layer PROFILE has ``outline`` and the name, which also says that the numbers are those of the
outline frame; each circle or opening of the layer HOLES has ``kind``; each line of the layer MARKS
``kind``; each point of the layer STATIONS ``name``. What is of PROFILE and HOLES has ``at`` and
some of its corners, so that one that was moved since is known (`app.files.told_places`). Without
them it is read as any other drawing.
"""

from __future__ import annotations

import logging
import re
from dataclasses import replace
from pathlib import Path

import ezdxf
from ezdxf import recover
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.insert import Insert
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.xclip import XClip

from app.files.atomic import read_bytes
from app.files.drawing_units import known_scale
from app.files.dxf_lines import chain_of, place_of
from app.files.dxf_parts import LINES, Part, parts_of, unused_blocks, word_for
from app.files.errors import FileError
from app.files.foreign import guarded
from app.files.gathering import STATIONS, Gathering
from app.files.likely_size import at_likely_size
from app.files.loops import outline_from_strokes
from app.files.strokes import Imported, Stroke, Strokes
from app.files.told_places import places_in

LARGEST_BYTES = 40_000_000
MM_PER_CODE = {  # DXF reference, $INSUNITS; 0 is none
    1: 25.4, 2: 304.8, 3: 1_609_344.0, 4: 1.0, 5: 10.0, 6: 1e3, 7: 1e6, 8: 25.4e-6, 9: 0.0254,
    10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3, 14: 100.0, 15: 1e4, 16: 1e5, 17: 1e12,
    18: 149_597_870_700e3, 19: 9_460_730_472_580_800e3, 20: 3.085_677_581_491_3673e19,
    21: 1200e3 / 3937, 22: 100e3 / 3937, 23: 3600e3 / 3937, 24: 6_336_000e3 / 3937,
}  # fmt: skip
APPLICATION = "BLANKWRIGHT"
IN_SPACE = "line that rises out of the plane"
END = re.compile(  # group code 0 and the word EOF, as text or binary; no words, which have code 1
    rb"(?:[\r\n][ \t]*0[ \t]*[\r\n]+[ \t]*|\0\0)EOF[ \t]*(?:[\r\n\0\x1a]|\Z)", re.IGNORECASE
)
STRING = 1000  # group code of a string of extended data

logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # else it talks to the terminal


def read_dxf(path: Path | str, *, unit: str | None = None, loop: int = 0) -> Imported:
    """Return the largest closed loop of a drawing, a page's frame apart, and the holes in it.

    Lines, arcs, splines and polylines may come in blocks, mirrored, in pieces and in any order;
    doubled lines count once. Words, dimensions, hatches, switched-off layers and whatever else is
    no line of the outline are left out, and named. In a drawing with a layer PROFILE only that
    and HOLES are read. The outline is moved so that its box has its lower left corner at the
    origin; one that this program wrote stays in its frame.

    Parameters
    ----------
    path : Path or str
        The file, text or binary, any version.
    unit : str, optional
        What one unit of the drawing is, of `drawing_units.MM_PER_UNIT`; by itself the file's
        ``$INSUNITS`` counts.
    loop : int
        Which closed loop is the edge, 1 the largest; 0 to choose by itself.

    Raises
    ------
    FileError
        If it cannot be read, is no DXF, ends too early, or holds no closed outline.
    UnitQuestion
        If its unit is not known.
    InputError
        If the outline crosses itself.
    """
    data = read_bytes(path, limit_bytes=LARGEST_BYTES)
    where = Path(path).name
    if b"SECTION" not in data:
        raise FileError(
            "this is not a DXF drawing.", where=where, remedy="Save the outline as DXF first."
        )
    cut_off = _check_end(data, where)
    document, notes = guarded(lambda: _document(Path(path)), where)
    stated_mm, metric = _stated(document, data)
    scale = known_scale(unit, stated_mm, metric=metric)
    found = guarded(lambda: _strokes(document, scale.mm_per_unit), where)
    found, scale = at_likely_size(found, scale)
    if not found.lines and _is_on_a_page(document):
        raise _on_a_page(where)
    try:
        read = outline_from_strokes(
            found,
            name=Path(path).stem,
            where=where,
            agree=lambda width, height: scale.agree(width, height, where),
            loop=loop,
        )
    except FileError as error:
        if any(left.what == IN_SPACE for left in found.left_out):
            raise _in_space(where) from error
        raise
    return replace(read, notes=(*cut_off, *notes, *read.notes))


def _check_end(data: bytes, where: str) -> tuple[str, ...]:
    """Return what to say of a file that ends too early; it is refused where lines are missing.

    Any DXF ends with the word ``EOF``, whatever follows, and its lines with ``ENDSEC``.
    """
    if END.search(data):
        return ()
    lines_from = data.rfind(b"ENTITIES")
    if lines_from < 0 or b"ENDSEC" not in data[lines_from:]:
        raise FileError(
            "the file ends too early, before the last of its lines.",
            where=where,
            remedy="Copy or save it again, to the end.",
        )
    return ("The file ends too early; all its lines are there.",)


def _document(path: Path) -> tuple[Document, tuple[str, ...]]:
    """Return the drawing, mended where it is damaged, and what to say of that."""
    try:
        return ezdxf.readfile(path), ()  # type: ignore[attr-defined]
    except (ezdxf.DXFError, OSError, ValueError):  # type: ignore[attr-defined]
        document, auditor = recover.readfile(path)
    mended = len(auditor.fixes) + len(auditor.errors)
    if not mended:
        return document, ()
    places = "1 place of it was" if mended == 1 else f"{mended} places of it were"
    return document, (f"The file was damaged; {places} mended or passed over.",)


def _on_a_page(where: str) -> FileError:
    return FileError(
        "its lines lie on a page for printing, and its model space has none.",
        where=where,
        remedy="Save the profile itself, in model space, at its true size.",
    )


def _in_space(where: str) -> FileError:
    return FileError(
        "nothing closes in its plane, and lines rise out of it: it is a drawing in space.",
        where=where,
        remedy="Save a flat view of the profile, seen from above.",
    )


def _is_on_a_page(document: Document) -> bool:
    """Return whether there are lines on a layout for printing."""
    pages = (layout for layout in document.layouts if not layout.is_modelspace)
    return any(entity.dxftype() in LINES for page in pages for entity in page)


def _stated(document: Document, data: bytes) -> tuple[float | None, bool | None]:
    """Return millimetres per unit and whether it is metric, as far as the file itself says.

    The library has a default where the file says nothing, so the file is searched.
    """
    stated = document.header.get("$INSUNITS", 0) if b"$INSUNITS" in data else 0
    metric = bool(document.header.get("$MEASUREMENT", 0)) if b"$MEASUREMENT" in data else None
    return MM_PER_CODE.get(stated), metric


def _strokes(document: Document, scale: float) -> Strokes:
    """Return all that is in a drawing's model space, mm, and what lies elsewhere in it."""
    off = {layer.dxf.name.lower() for layer in document.layers if layer.is_off()}
    frozen = {layer.dxf.name.lower() for layer in document.layers if layer.is_frozen()}
    found = Gathering()
    for part in parts_of(document.modelspace(), off, frozen):
        _take(part, scale, found)
    _leave_elsewhere(document, found)
    return found.strokes()


def _leave_elsewhere(document: Document, found: Gathering) -> None:
    """Name what lies outside of the model space, and what of a block may not be seen."""
    for _ in unused_blocks(document):
        found.leave("block that is put nowhere", None)
    for insert in document.query("INSERT"):
        if isinstance(insert, Insert) and XClip(insert).has_clipping_path:
            found.leave("clip path that is not followed", None)
    for page in (layout for layout in document.layouts if not layout.is_modelspace):
        for entity in page:
            if entity.dxftype() != "VIEWPORT":
                found.leave("thing on a page for printing", None)


def _take(part: Part, scale: float, found: Gathering) -> None:
    """Take one entity for what it is."""
    entity, told = part.entity, _told(part.entity)
    if part.hidden:
        found.leave("thing on a hidden layer", place_of(part, scale))
        return
    if part.layer == STATIONS and "name" in told:
        at = place_of(part, scale)
        if at is not None:
            found.station(told["name"], at)
            return
    chain = chain_of(part, scale) if entity.dxftype() in LINES else ()
    if not chain:
        empty = " without length" if entity.dxftype() in LINES else ""
        what = IN_SPACE if chain is None else f"{word_for(entity)}{empty}"
        found.leave(what, place_of(part, scale))
        return
    if "outline" in told:
        found.name, found.in_frame = told["outline"], True
    found.take(
        Stroke(
            chain=chain,
            what=word_for(entity),
            layer=part.layer,
            label=told.get("kind", ""),
            told=places_in(told.get("at", "")),
        )
    )


def _told(entity: DXFEntity) -> dict[str, str]:
    """Return the words that our own files put beside an entity, with their values."""
    if not entity.has_xdata(APPLICATION):
        return {}
    words = [
        decode_dxf_unicode(str(tag.value))
        for tag in entity.get_xdata(APPLICATION)
        if tag.code == STRING
    ]
    return dict(zip(words[::2], words[1::2], strict=False))
