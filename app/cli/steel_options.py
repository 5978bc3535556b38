"""What was typed about sizes of the steel and about the pen, read into values."""

from __future__ import annotations

from app.cli.options import pixels
from app.document.job import Edge
from app.document.lengths import parse_length_mm, parse_positive_mm
from app.files.pens_file import pen_named
from calibration.pens import Pen
from calibration.sizes import SteelSize
from geometry.errors import InputError


def sizes_of(between: tuple[str, ...], length: str, width: str) -> tuple[SteelSize, ...]:
    """Return the sizes of the steel that were typed; InputError for one that is none."""
    found = [_between(text) for text in between]
    if length:
        length_mm = parse_positive_mm(length, where="--length")
        found.append(SteelSize(kind="length", true_mm=length_mm))
    if width:
        width_mm = parse_positive_mm(width, where="--width")
        found.append(SteelSize(kind="width", true_mm=width_mm))
    return tuple(found)


def pen_of(name: str, offset: str, edge: Edge) -> Pen | None:
    """Return the pen that was typed, by its name or its offset; InputError for both, or none."""
    if name and offset:
        raise InputError(
            "the pen's offset is given twice.",
            where="--pen-offset",
            remedy="Give --pen or --pen-offset, not both.",
        )
    if name:
        return pen_named(name)
    if not offset:
        return None
    return Pen(name="", offset_mm=parse_length_mm(offset, where="--pen-offset"), edge=edge)


def _between(text: str) -> SteelSize:
    """Return the size of ``38.1mm@X1,Y1,X2,Y2``; ``mm`` behind the places: on the billet."""
    read, sign, places = text.partition("@")
    on_billet = places.strip().endswith("mm")
    if not sign:
        raise InputError(
            f"“{text}” does not say where the jaws were.",
            where="--size",
            remedy="Write it like 38.1mm@1200,800,1210,1130; the whole piece: --length, --width.",
        )
    x1, y1, x2, y2 = pixels(places.strip().removesuffix("mm"), 4, "--size")
    ends = ((x1, y1), (x2, y2))
    true_mm = parse_positive_mm(read, where="--size")
    if on_billet:
        return SteelSize(kind="between", true_mm=true_mm, ends_mm=ends)
    return SteelSize(kind="between", true_mm=true_mm, ends_px=ends)
