"""The frame of a page drawn round everything: no edge of a piece.

A level rectangle is a page's frame for sure only where it is shaped as a page, all else lies in it,
nothing like a hole of a plate lies in it beside a piece, and that piece has openings of its own:
steel with an opening cannot float in another opening. What may as well be a plate is kept, and
doubted in words, whatever its shape: a sheet with round corners, one that was scanned askew, a
guide circle, stock that the piece touches. All is judged by shape alone, so that the unit of a
drawing changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, affinity

from app.files.doubled_edge import apart_mm
from app.files.nesting import apart, polygons_of
from app.files.strokes import Points

STRAIGHT = 1e-4  # of a rectangle's longer side: how far its lines may bend or lean
LONGEST_PAGE = 1.85  # length over width: Legal paper less ISO 5457's margins has 1.81
WITHIN = 0.5  # a rectangle with more of another's area than this may be a second frame in it
MOST_FRAMES = 4  # a sheet's edge and its borders; more are offset copies
LEAST_LENGTH = 0.25  # of the frame's longer side; what is shorter is lettering, a hole, a symbol
SLENDER = 2.0  # length over width of any knife
ALIKE = 0.9  # overlap with itself turned half round: slots and windows have more, knives less
HOLLOW = 0.5  # an opening with more of a shape's area than this is its edge drawn again
EMPTY = 0.5  # a frame is: a piece without openings takes less of its area
OVERHANG = 0.1  # of its area: a piece with openings may reach out of its frame by less
REACH = 0.05  # of a frame's longer side: how far it may
PIERCED_LENGTH = 0.1  # of it: a slender piece with two openings or more may be as short as this
AGAIN = 0.01  # of a shape's length: what lies as near to it all round is its edge drawn again
MOST_OTHERS = 3  # loops offered instead
MOST_LOOKED_AT = 100  # loops as long as a piece; more are hatching or offset copies
COARSE = 1e-3  # of a shape's length: fine enough to see its symmetry


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Which loop is the edge of the piece.

    Parameters
    ----------
    number : int
        Of the loop.
    notes : tuple of str
        What to say of that.
    others : tuple of int
        Loops that may be meant instead, the likeliest first.
    """

    number: int
    notes: tuple[str, ...] = ()
    others: tuple[int, ...] = ()


def edge_among(loops: Sequence[Points]) -> Chosen:
    """Return which loop is the edge of the piece: the largest, frames of a page apart.

    Parameters
    ----------
    loops : sequence of (N, 2) arrays
        All that a drawing holds, the largest first, mm.
    """
    nest = _Nest.of(loops)
    across, up = np.ptp(loops[0], axis=0)
    size = f"{across:.1f} x {up:.1f} mm"
    if not _is_level_rectangle(loops[0]):
        what = f"The outline is the largest closed line, {size}; it may be a frame round the piece."
        return _doubted(nest.afloat(), what)
    frames, within = nest.frames()
    pieces = [
        number
        for number in within[-1]
        if nest.is_long(number, frames[-1]) and nest.is_slender(number) and nest.is_lopsided(number)
    ]
    if any(map(nest.has_openings, pieces)) and nest.is_page(frames, within):
        what = f"A rectangle of {size} round the piece was"
        if len(frames) > 1:
            what = f"{len(frames)} rectangles round the piece, the largest of {size}, were"
        said = f"{what} left out as the page's frame."
        return Chosen(number=pieces[0], notes=(said,), others=(*pieces[1:MOST_OTHERS], 0))
    what = f"The outline is a rectangle of {size}; it may be the page's frame round the piece."
    return _doubted(nest.likely_in(frames), what)


def _doubted(likely: Sequence[int], said: str) -> Chosen:
    """Return the largest loop, doubted in words where there are likely ones."""
    notes = (said,) if likely else ()
    return Chosen(number=0, notes=notes, others=tuple(likely[:MOST_OTHERS]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Nest:
    """All loops, as polygons, and their boxes: (N, 4) of x0, y0, x1, y1."""

    loops: Sequence[Points]
    polygons: NDArray[np.object_]
    boxes: Points

    @classmethod
    def of(cls, loops: Sequence[Points]) -> _Nest:
        polygons = polygons_of(loops)
        return cls(loops=loops, polygons=polygons, boxes=shapely.bounds(polygons))

    def frames(self) -> tuple[list[int], list[list[int]]]:
        """Return the rectangles within each other, the largest first, and what lies in each."""
        frames, within = [0], [self._directly_in(0)]
        while within[-1] and len(frames) < MOST_FRAMES:
            largest = within[-1][0]
            share = self.polygons[largest].area / self.polygons[frames[-1]].area
            if share < WITHIN or not _is_level_rectangle(self.loops[largest]):
                break
            frames.append(largest)
            within.append(self._directly_in(largest))
        return frames, within

    def is_page(self, frames: Sequence[int], within: Sequence[Sequence[int]]) -> bool:
        """Return whether frames are shaped as a page's, round everything, and without holes."""
        sides = np.sort(self.boxes[frames, 2:] - self.boxes[frames, :2], axis=1)
        if (sides[:, 1] > LONGEST_PAGE * sides[:, 0]).any():
            return False
        (x0, y0), (x1, y1) = self.boxes[:, :2].min(axis=0), self.boxes[:, 2:].max(axis=0)
        slack = STRAIGHT * sides[0, 1]
        outer = self.boxes[frames[0]]
        if np.abs(outer - (x0, y0, x1, y1)).max() > slack:
            return False
        others = {number for beside in within for number in beside}.difference(frames)
        return all(
            self.is_lopsided(number) or _is_level_rectangle(self.loops[number]) for number in others
        )

    def likely_in(self, frames: Sequence[int]) -> list[int]:
        """Return the loops anywhere in frames that may be a piece, the likeliest first."""
        boxed = self._boxed_in(frames[0])
        long = self._long(boxed, frames)
        lopsided = [number for number in long if self.is_lopsided(number)]
        touching = [
            n
            for n in self._long(self._near(frames[0]) & ~boxed, frames)
            if self.is_slender(n)
            and self.is_lopsided(n)
            and (self._lies_in(n, frames[0]) or self._hangs_over(n, frames[0]))
        ]
        slender = [n for n in long if n not in lopsided and self.is_slender(n)]
        return lopsided + touching + [n for n in slender if not self._is_again(n, frames[0])]

    def afloat(self) -> list[int]:
        """Return the loops in the largest one that are shaped as a piece, and no openings of it.

        They have openings of their own, or leave most of what is no knife's shape empty.
        """
        if not self.polygons[0].is_valid:
            return []
        is_knife = self.is_slender(0) and self.is_lopsided(0)
        inside = self._boxed_in(0) if is_knife else self._near(0)
        most = 0.0 if is_knife else EMPTY * self.polygons[0].area
        found = [n for n in self._long(inside, (0,)) if self._floats(n, most)]
        others = [n for n in found if not self._is_again(n, 0)]
        return sorted(others, key=lambda number: not self.is_lopsided(number))

    def _floats(self, number: int, most: float) -> bool:
        """Return whether a loop in the largest, or partly in it, cannot be an opening of it.

        One that is shaped as a knife and has no openings has to have a smaller area than ``most``.
        """
        slender, lopsided = self.is_slender(number), self.is_lopsided(number)
        if not (slender or lopsided) or not self.polygons[number].is_valid:
            return False
        if self._lies_in(number, 0):
            is_small = slender and lopsided and self.polygons[number].area < most
            return is_small or self.has_openings(number)
        return most > 0.0 and slender and lopsided and self._hangs_over(number, 0)

    def _long(self, usable: NDArray[np.bool_], frames: Sequence[int]) -> list[int]:
        """Return the loops among those that are usable which are as long as a piece in frames."""
        numbers = [n for n in np.flatnonzero(usable).tolist() if n not in frames]
        long = list(islice((n for n in numbers if self.is_long(n, frames[0])), MOST_LOOKED_AT))
        shorter = (n for n in numbers if n not in long and self.is_slender(n))
        shorter = (n for n in shorter if self.is_long(n, frames[0], PIERCED_LENGTH))
        pierced = [n for n in islice(shorter, MOST_LOOKED_AT) if self.has_openings(n, least=2)]
        return long + pierced

    def _near(self, number: int) -> NDArray[np.bool_]:
        """Return which loops lie in the box of one, or hardly reach out of it."""
        x0, y0, x1, y1 = self.boxes[number]
        slack = REACH * max(x1 - x0, y1 - y0)
        low, high = (x0 - slack, y0 - slack), (x1 + slack, y1 + slack)
        return np.asarray(((self.boxes[:, :2] >= low) & (self.boxes[:, 2:] <= high)).all(axis=1))

    def _lies_in(self, number: int, outer: int) -> bool:
        """Return whether a loop lies in another one; it may touch it."""
        slack = STRAIGHT * float(np.ptp(self.loops[outer], axis=0).max())
        return bool(self.polygons[outer].buffer(slack).covers(self.polygons[number]))

    def _hangs_over(self, number: int, outer: int) -> bool:
        """Return whether a loop with openings lies in another one but for a little of it."""
        shape = self.polygons[number]
        if not shape.is_valid or not self.has_openings(number):
            return False
        return bool(shape.difference(self.polygons[outer]).area <= OVERHANG * shape.area)

    def _is_again(self, number: int, outer: int) -> bool:
        """Return whether a loop is the other side of the line of another one."""
        near = AGAIN * _sides(self.polygons[outer])[0]
        return apart_mm(self.polygons[outer], self.polygons[number]) <= near

    def is_long(self, number: int, frame: int, share: float = LEAST_LENGTH) -> bool:
        """Return whether a loop is as long as a piece in a frame: a share of its longer side."""
        least = share * float(np.ptp(self.loops[frame], axis=0).max())
        if np.hypot(*np.ptp(self.loops[number], axis=0)) < least:
            return False
        return _sides(self.polygons[number])[0] >= least

    def is_slender(self, number: int) -> bool:
        """Return whether a loop is as slender as a knife."""
        long, wide = _sides(self.polygons[number])
        return long >= SLENDER * wide

    def is_lopsided(self, number: int) -> bool:
        """Return whether a loop turned half round is another shape, as no slot or window is."""
        whole = self.polygons[number]
        shape = whole.simplify(COARSE * _sides(whole)[0])
        if not shape.is_valid:
            return False
        middle = shapely.minimum_rotated_rectangle(shape).centroid
        both = shape.intersection(affinity.rotate(shape, 180.0, origin=middle)).area
        return bool(both < ALIKE * (2 * shape.area - both))

    def has_openings(self, number: int, least: int = 1) -> bool:
        """Return whether a loop holds others, and not its own edge drawn again."""
        shape, near = self.polygons[number], self.polygons[self._boxed_in(number)]
        shapely.prepare(shape)
        inside = near[shapely.contains_properly(shape, near)]
        if len(inside) < least:
            return False
        return bool(shapely.area(inside).max() <= HOLLOW * shape.area)

    def _directly_in(self, frame: int) -> list[int]:
        """Return the loops in a level rectangle and in none in it, the largest first."""
        return apart(self.polygons, self._boxed_in(frame))

    def _boxed_in(self, number: int) -> NDArray[np.bool_]:
        """Return which loops lie in the box of one."""
        x0, y0, x1, y1 = self.boxes[number]
        inside = (self.boxes[:, :2] > (x0, y0)) & (self.boxes[:, 2:] < (x1, y1))
        return np.asarray(inside.all(axis=1))


def _sides(shape: Polygon) -> tuple[float, float]:
    """Return length and width of the narrowest box round a shape, turned any way."""
    box = shapely.minimum_rotated_rectangle(shape)
    corners = shapely.get_coordinates(box)[:3]
    if len(corners) < 3:
        return float(box.length), 0.0
    first, second = np.hypot(*np.diff(corners, axis=0).T).tolist()
    return max(first, second), min(first, second)


def _is_level_rectangle(loop: Points) -> bool:
    """Return whether a loop of (N, 2) points is a rectangle that lies level."""
    sides = np.ptp(loop, axis=0)
    slack = STRAIGHT * float(sides.max())
    shape = Polygon(loop)
    if not shape.is_valid or shapely.get_num_coordinates(shape.simplify(slack)) != 5:
        return False
    return bool(shape.area >= np.prod(sides - 2 * slack))
