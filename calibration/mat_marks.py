"""The printed mat in a picture: which one it is, where its corners are, and its own map.

Markers tell roughly where the corners are, those beside markers that were not read too.  What
fits one sheet under one lens is kept: a flat one, or if that does not do, one that bends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.adjustment import adjust
from calibration.bend import rise_mm
from calibration.errors import PhotoError
from calibration.mat import MatLayout
from calibration.mat_corners import FIRST_BLUR, Guess, measured
from calibration.mat_markers import read_markers
from calibration.photo import Photo
from calibration.seen import PlacesSeen, Seen
from calibration.sheet_map import SheetMap

Points = NDArray[np.float64]

FEWEST = 8  # corners: a homography and something to check it by
SHAPE = 0.15  # of a rise: a raised cosine is off by that from the parabola through its rim
BENT = 0.7  # of what corners lie off a flat sheet: what they lie off one that bends
TO_START = 4  # corners that lead to the others
PLACE_MM = 0.03  # of a printed place: the printer's steps, the light's saddle
MARKER_MM = 0.2  # of a marker's corner as it is read
DOUBLED = 2.0  # what places lie off that the camera's numbers have not made up for
STRETCH = 0.02  # of a print that nobody measured, as a share, until more is known
ASIDE = 4.0  # usual deviations: a corner farther off is none of this sheet, or was misread
ASIDE_MM = 0.15  # and no nearer than this
LIFTED_MM = 0.5  # a corner farther off counts as this, lest one that was misread outweigh all
LOOKS = 6  # for corners, each with the map by those of the last
AT_ONCE = 0.6  # of the farthest: what is nearer may fit once that is put aside
MEDIAN = math.sqrt(2.0 * math.log(2.0))  # of a distance in the plane, in deviations of x or of y


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MatSeen:
    """A mat as it was seen.

    Parameters
    ----------
    layout : MatLayout
        Which mat it is.
    points_px, places_mm : ndarray, (N, 2)
        Inner corners of its chequer in the picture and on the page, as asked of the printer.
    map : SheetMap
        By the mat alone; of a sheet that bends if it does not lie flat.
    """

    layout: MatLayout
    points_px: Points
    places_mm: Points
    map: SheetMap

    @property
    def bends(self) -> bool:
        """Whether it does not lie flat, by its corners."""
        return bool(len(self.map.bend))

    @property
    def rise_mm(self) -> float:
        """How far the page rises out of a plane, mm; 0 where it does not bend."""
        if not self.bends:
            return 0.0
        sides = self.layout.width_mm, self.layout.height_mm
        page = np.stack(np.meshgrid(*(np.linspace(0, side, 5) for side in sides)), -1)
        return rise_mm(np.array(self.map.bend), page.reshape(-1, 2) - self.map.parameters[4:6])

    @property
    def lifted_share(self) -> float:
        """How much larger or smaller the field may look than its rim, where that is not known.

        A place that lies higher by a share of the lens's height is seen larger by that share.
        """
        return SHAPE * self.rise_mm / self.map.lens_mm[2]

    def seen_px(self, places_mm: ArrayLike) -> Points:
        """Return the pixels in which places on the page, as asked of the printer, are seen."""
        scale, start = _printed(self.map, self.points_px, self.places_mm)
        return self.map.to_px(np.asarray(places_mm, float) * scale + start)

    @property
    def sigma_mm(self) -> float:
        """Deviation of a place in x and in y on its own, by how far all lie off."""
        return max(PLACE_MM, DOUBLED * float(np.median(self.off_mm)) / MEDIAN)

    @property
    def off_mm(self) -> Points:
        """How far each corner lies off its place, whatever the printer's scale."""
        return self.off_of(self.points_px, self.places_mm)

    def off_of(self, points_px: Points, places_mm: Points) -> Points:
        """Return how far other corners lie off their places, (N,), mm."""
        scale, start = _printed(self.map, self.points_px, self.places_mm)
        off = self.map.to_mm(points_px) - places_mm * scale - start
        return np.asarray(np.hypot(*off.T))


def find_mat(photo: Photo) -> MatSeen:
    """Return the mat in a picture.

    Parameters
    ----------
    photo : Photo
        The upright picture.

    Raises
    ------
    PhotoError
        If no mat is seen, too little of it, or only its mirror image.
    """
    grey = np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    markers = read_markers(grey)
    places = markers.layout.markers_mm
    seen = _fitted(
        photo,
        markers.layout,
        np.concatenate(list(markers.quads_px.values())),
        np.concatenate([places[number] for number in markers.quads_px]),
        sigma_mm=MARKER_MM,
    )
    before, blur = list[int](), FIRST_BLUR
    for _ in range(LOOKS):
        kept, points, blur = measured(grey, markers.layout, _guesses(seen), blur)
        seen = _flat_or_bent(photo, markers.layout, points, _at(markers.layout, kept))
        if kept == before:
            break
        before = kept
    if len(seen.points_px) < FEWEST:
        raise _too_little(seen.layout, len(seen.points_px))
    return seen


def _flat_or_bent(photo: Photo, layout: MatLayout, points: Points, places: Points) -> MatSeen:
    """Return the mat by those of its corners that fit one sheet.

    It bends if its corners lie farther off a flat one than they are printed, and less off that.
    """
    flat = _fitted(photo, layout, points, places)
    off = _usually_off(flat, points, places)
    if off <= PLACE_MM:
        return flat
    bent = _fitted(photo, layout, points, places, bends=True)
    return bent if _usually_off(bent, points, places) < BENT * off else flat


def _usually_off(mat: MatSeen, points: Points, places: Points) -> float:
    """Return what corners lie off in x and in y (root mean square), those put aside too."""
    off_mm = np.minimum(mat.off_of(points, places), LIFTED_MM)
    return math.sqrt(0.5 * float((off_mm**2).mean()))


def _at(layout: MatLayout, kept: list[int]) -> Points:
    return np.array(layout.corners_mm)[kept]


def _guesses(mat: MatSeen) -> list[Guess]:
    """Return where the inner corners should be seen by the mat's map.

    All of them: what is printed round a corner tells it from any other thing.
    """
    nodes = np.array(mat.layout.corners_mm)
    here, right, up = (mat.seen_px(nodes + step) for step in ([0, 0], [0.5, 0], [0, 0.5]))
    across = np.stack([right - here, up - here], axis=2) / 0.5
    return [Guess(index=k, point_px=here[k], across=across[k]) for k in range(len(nodes))]


def _fitted(
    photo: Photo,
    layout: MatLayout,
    points: Points,
    places: Points,
    *,
    sigma_mm: float = PLACE_MM,
    bends: bool = False,
) -> MatSeen:
    """Return the mat by those of its places that fit one sheet under one lens."""
    while len(points) >= TO_START:
        sheet_map = _map(photo, points, places, sigma_mm, bends)
        mat = MatSeen(layout=layout, points_px=points, places_mm=places, map=sheet_map)
        off = mat.off_mm
        limit = max(ASIDE * float(np.median(off)) / MEDIAN, ASIDE_MM)
        near = off <= max(limit, AT_ONCE * float(off.max()))
        if off.max() <= limit:
            return mat
        points, places = points[near], places[near]
    raise _too_little(layout, len(points))


def _too_little(layout: MatLayout, count: int) -> PhotoError:
    return PhotoError(
        f"too little of the mat is seen: {count} of {len(layout.corners_mm)} corners "
        "of its chequer are clear and fit a flat sheet.",
        where="Mat",
        remedy="Lay it flat, leave at least half of it uncovered, and photograph it sharp.",
    )


def _map(photo: Photo, points: Points, places: Points, sigma_mm: float, bends: bool) -> SheetMap:
    figure = PlacesSeen(
        points_px=points,
        places_mm=places,
        sigma_mm=sigma_mm,
        stretch_sigma=(STRETCH, STRETCH),
        bends=bends,
    )
    middle = (0.5 * (photo.width_px - 1), 0.5 * (photo.height_px - 1))
    seen = Seen(middle_px=middle, focal_px=photo.focal_px, figures=(figure,))
    return adjust(seen, thorough=True).map


def _printed(sheet_map: SheetMap, points: Points, places: Points) -> tuple[Points, Points]:
    """Return the scale, x and y, and the start of the print in a map's frame."""
    seen = sheet_map.to_mm(points)
    middle = places.mean(axis=0)
    scale = ((places - middle) * seen).sum(axis=0) / ((places - middle) ** 2).sum(axis=0)
    return scale, seen.mean(axis=0) - scale * middle
