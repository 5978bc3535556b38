"""``blankwright capture --outline``: a traced knife or a drawn design becomes an outline."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli.asked_ends import AskedEnds
from app.cli.options import pixels
from app.cli.outline import FAMILY_ENDING, write_result
from app.cli.outline_frame import PHOTO, Framed, billet_in_frame
from app.document.job import OutlineChoice
from app.document.wording import trust_sentences
from app.exports.write import OUTLINE_ENDINGS
from geometry.billet import Billet
from geometry.curves import Point
from geometry.errors import InputError

if TYPE_CHECKING:
    from calibration.capture import Capture

RESULT_ENDINGS = (*OUTLINE_ENDINGS, FAMILY_ENDING)


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedTrace(AskedEnds):
    """The options on the outline of a photo as typed."""

    out: Path | None = None

    def check(self) -> None:
        """Refuse what cannot be meant, before the photo is measured."""
        self.pointed(_typed)
        if self.out is None and self.ends_typed:
            raise InputError(
                "tip, butt, heel and spine are those of an outline.",
                where="--outline",
                remedy="Give the file to write the outline to.",
            )


def write_traced(asked: AskedTrace, found: Capture, piece: Path | None) -> Framed:
    """Write what was measured as an outline called after its file, and return it.

    The piece's own file, if it is written too, is named where that one is to be used.

    Raises
    ------
    InputError
        For a bad tip or butt.
    """
    assert asked.out is not None
    name = asked.out.stem.replace("_", " ")
    pointed = asked.pointed(lambda text, where: _on_piece(text, where, found))
    made = billet_in_frame(found.billet, pointed, name=name, frame=PHOTO, file=piece)
    write_result(made.outline, OutlineChoice(drawing=made.outline), asked.out)
    return made


def summary(made: Framed, billet: Billet) -> list[str]:
    """Return what the outline became, a line each; how far to trust the piece is told with it."""
    outline, told_before = made.outline, trust_sentences(billet)
    x0, y0, x1, y1 = outline.bounds_mm
    tip = next(station for station in outline.stations if station.name == "tip")
    holes = [f"{hole.diameter_mm:.2f}" for hole in outline.holes]
    told = f", round holes of {', '.join(holes)} mm" if holes else ""
    other = f", {len(outline.cutouts)} other openings" if outline.cutouts else ""
    return [
        f"outline   {x1 - x0:.1f} x {y1 - y0:.1f} mm, {tip.x_mm:.1f} mm from heel to tip, "
        f"{len(outline.chain)} lines and arcs{told}{other}",
        *(f"note      {note}" for note in made.notes if note not in told_before),
    ]


def _typed(text: str, where: str) -> Point:
    x, y = pixels(text.strip().removesuffix("mm"), 2, where)
    return x, y


def _on_piece(text: str, where: str, found: Capture) -> Point:
    """Return a place on the piece in mm: typed so, with mm behind, or in pixels of the photo."""
    place = _typed(text, where)
    if text.strip().endswith("mm"):
        return place
    plane = found.calibration.map
    if found.subject == "steel" and found.billet.thickness_mm:
        plane = plane.raised(found.billet.thickness_mm)
    [(x, y)] = plane.to_mm([place]).tolist()
    return x, y
