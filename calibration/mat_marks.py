"""The printed mat in a picture: which one it is, where its corners are, and its own map.

Markers tell roughly where the corners are, those beside markers that were not read too.  What
fits one flat sheet under one lens is kept.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.adjustment import adjust
from calibration.errors import PhotoError
from calibration.mat import MatLayout
from calibration.mat_corners import FIRST_BLUR, Guess, measured
from calibration.mat_markers import read_markers
from calibration.photo import Photo
from calibration.seen import PlacesSeen, Seen
from calibration.sheet_map import SheetMap

Points = NDArray[np.float64]

FEWEST = 8  # corners: a homography and something to check it by
BOWED = 30.0  # share by height of the page over what its corners lie off; from rendered sheets
MOST_BOWED = 0.012  # share: a rise of 5 mm seen from 400
TO_START = 4  # corners that lead to the others
PLACE_MM = 0.03  # of a printed place: the printer's steps, the light's saddle
MARKER_MM = 0.2  # of a marker's corner as it is read
DOUBLED = 2.0  # what places lie off that the camera's numbers have not made up for
STRETCH = 0.02  # of a print that nobody measured, as a share, until more is known
ASIDE = 4.0  # usual deviations: a corner farther off is none of this sheet, or was misread
ASIDE_MM = 0.15  # and no nearer than this
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
        By the mat alone.
    bent_mm : float
        How far all clear corners lie off it, those too that were put aside (root mean square).
    """

    layout: MatLayout
    points_px: Points
    places_mm: Points
    map: SheetMap
    bent_mm: float = 0.0

    @property
    def bow_share(self) -> float:
        """How much larger or smaller the field may look than its rim, as it lies higher or lower.

        By how far the corners lie off: sheets that bow by 3 to 5 mm show 0.14 to 0.34 mm of it.
        """
        off_mm = math.sqrt(max(self.bent_mm**2 - PLACE_MM**2, 0.0))
        return min(BOWED * off_mm / self.layout.height_mm, MOST_BOWED)

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
        seen = _fitted(photo, markers.layout, points, _at(markers.layout, kept))
        if kept == before:
            break
        before = kept
    if len(seen.points_px) < FEWEST:
        raise _too_little(seen.layout, len(seen.points_px))
    off_mm = seen.off_of(points, _at(markers.layout, kept))
    return dataclasses.replace(seen, bent_mm=float(np.sqrt(np.mean(off_mm**2))))


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
) -> MatSeen:
    """Return the mat by those of its places that fit one flat sheet under one lens."""
    while len(points) >= TO_START:
        sheet_map = _map(photo, points, places, sigma_mm)
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


def _map(photo: Photo, points: Points, places: Points, sigma_mm: float) -> SheetMap:
    figure = PlacesSeen(
        points_px=points, places_mm=places, sigma_mm=sigma_mm, stretch_sigma=(STRETCH, STRETCH)
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
