"""Closed loops of a drawing's lines, whatever their order, and the curves they were drawn with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from app.files.errors import FileError
from app.files.joining import joined, smallest_gap
from app.files.left_out import Curved
from app.files.strokes import SAME_MM, Chords, Points, Stroke
from app.files.true_curves import Drawn
from geometry.curves import Chain

MOST_MENDED = 20_000  # points of a loop; one with more that crosses itself would take minutes
KNOT = 0.005  # a loop's crossings that hold less of its area are knots in corners, cut off


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A closed line: its points, not repeated at the end, and the one stroke that it is, if so."""

    points: Points
    stroke: int = -1

    @property
    def hull_mm2(self) -> float:
        """The area of its hull: also a measure of a loop that crosses itself."""
        return float(shapely.MultiPoint(self.points).convex_hull.area)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the lines of a drawing make.

    Parameters
    ----------
    loops : list of Loop
        The largest first.
    doubled : set of int
        The lines that another one repeats.
    notes : tuple of str
        What was mended.
    """

    loops: list[Loop]
    doubled: set[int]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLines:
    """The sound lines of a drawing and their chords.

    Parameters
    ----------
    strokes : sequence of Stroke
    flat : sequence of Chords
        One of each stroke.
    loose : tuple of int
        The strokes that are not closed by themselves.
    drawn : Drawn, optional
        The chords of these together; None where there are none.
    """

    strokes: Sequence[Stroke]
    flat: Sequence[Chords]
    loose: tuple[int, ...]
    drawn: Drawn | None

    @classmethod
    def of(cls, strokes: Sequence[Stroke]) -> DrawnLines:
        """Return the lines, cut into chords."""
        flat = [Chords.of(stroke.chain) for stroke in strokes]
        loose = tuple(number for number, stroke in enumerate(strokes) if not stroke.closed)
        chains = [strokes[number].chain for number in loose]
        drawn = Drawn.of(chains, [flat[number] for number in loose]) if loose else None
        return cls(strokes=strokes, flat=flat, loose=loose, drawn=drawn)

    def found(self) -> Found:
        """Return all loops that the lines make.

        Raises
        ------
        OverflowError
            If they cross too often to be the lines of a piece.
        """
        loops = [
            Loop(points=_mended(chords.points[:-1]), stroke=number)
            for number, (stroke, chords) in enumerate(zip(self.strokes, self.flat, strict=True))
            if stroke.closed and len(chords.points) > 3
        ]
        together = joined([self.flat[number].points for number in self.loose])
        loops += [Loop(points=ring) for ring in together.rings]
        sized = [(loop.hull_mm2, loop) for loop in loops if len(loop.points) > 2]
        sized = sorted((pair for pair in sized if pair[0] > SAME_MM), key=lambda pair: -pair[0])
        gaps = together.gaps_mm
        notes: tuple[str, ...] = ()
        if gaps:
            plural = "s" if len(gaps) > 1 else ""
            notes = (f"{len(gaps)} gap{plural} of up to {max(gaps):.3f} mm closed.",)
        return Found(
            loops=[loop for _, loop in sized],
            doubled={self.loose[number] for number in together.doubled},
            notes=notes,
        )

    def curved(self, loop: Loop) -> Curved:
        """Return a loop as the curves that it was drawn with."""
        if loop.stroke >= 0:
            return self._by_itself(loop)
        assert self.drawn is not None  # a loop of several strokes is made of loose ones
        chain, used = self.drawn.curves_along(loop.points)
        made_of = {self.loose[number] for number in used}
        labels = {self.strokes[number].label for number in made_of}
        label = labels.pop() if len(labels) == 1 else ""
        return Curved(points=loop.points, chain=chain, made_of=made_of, label=label)

    def _by_itself(self, loop: Loop) -> Curved:
        """Return a loop that is one stroke."""
        stroke, flat = self.strokes[loop.stroke], self.flat[loop.stroke]
        if len(loop.points) == len(flat.points) - 1:
            chain = _closed(stroke.chain)
        else:
            chain, _ = Drawn.of([stroke.chain], [flat]).curves_along(loop.points)
        return Curved(points=loop.points, chain=chain, made_of={loop.stroke}, label=stroke.label)

    def nothing_closed(self, where: str) -> FileError:
        """Return what to say when no loop closes: where the smallest gap is."""
        ends = [self.flat[number].points[[0, -1]] for number in self.loose]
        if not ends:
            return FileError(
                "there are no lines of an outline in it.",
                where=where,
                remedy="Draw the profile as one closed line, and save it again.",
            )
        return FileError(
            f"there is no closed outline in it{smallest_gap(np.vstack(ends))}.",
            where=where,
            remedy="Join the ends of the profile in the drawing, and save it again.",
        )


def _closed(chain: Chain) -> Chain:
    """Return a chain whose last end is its first start exactly."""
    last = chain[-1]
    if last.end == chain[0].start:
        return chain
    if len(chain) > 1 and last.start == chain[0].start:
        return chain[:-1]
    return (*chain[:-1], replace(last, end=chain[0].start))


def _mended(loop: Points) -> Points:
    """Return a loop without small knots; one that crosses itself in earnest is left as it is."""
    polygon = Polygon(loop)
    if polygon.is_valid or len(loop) > MOST_MENDED:
        return loop
    parts = shapely.get_parts(shapely.make_valid(polygon, method="structure", keep_collapsed=False))
    areas = shapely.area(parts)
    if not len(parts) or areas.max() < (1 - KNOT) * areas.sum():
        return loop
    return shapely.get_coordinates(parts[int(areas.argmax())].exterior)[:-1]
