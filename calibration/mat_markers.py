"""The markers of a printed mat, read only to tell which corner of which mat is where."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.errors import PhotoError
from calibration.mat import DICTIONARY, IDS, MATS, MatLayout, mat_layout
from calibration.resized import at_most

Points = NDArray[np.float64]
Grey = NDArray[np.uint8]

READ_PX = 2000  # long side on which markers are read; their parts are then 3 to 6 px
FEW = 0.3  # of the mat's markers: fewer are looked for again on the whole picture
GLIMPSE_PX = 1200  # long side for a cheap look, a third of the time
GLIMPSED = 0.1  # of the mat's markers: no drawing has so many by chance
BLUR_PX, GAIN = 2.0, 2.0  # of the picture that markers are read on: reads twice as many
LENS_SHARE = 0.02  # of the long side: what a lens bows, beyond which a marker is another's
WINDOWS_APART = 20  # px: two windows for the local level; a third finds hardly any more markers
SMALLEST = 0.02  # of the long side: a marker's outline; the default loses distant ones


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Markers:
    """The markers of one mat as they were read.

    Parameters
    ----------
    layout : MatLayout
        Which mat.
    quads_px : dict of int to ndarray, (4, 2)
        Corners of each marker in the picture by its number, as `MatLayout.marker_mm` orders them.
    """

    layout: MatLayout
    quads_px: dict[int, Points]


def read_markers(grey: Grey) -> Markers:
    """Return the markers of the mat in a picture; of several mats, those of the one seen best.

    Parameters
    ----------
    grey : ndarray of uint8, (h, w)
        The upright picture.

    Raises
    ------
    PhotoError
        If no mat is seen, or only its mirror image.
    """
    sized = _sharpened(_sized(grey))
    found = _one_mat(sized, grey.shape)
    if max(grey.shape) > READ_PX and _share(found) < FEW:
        found = max(found, _one_mat(_sharpened(grey), grey.shape), key=_share)
    if _share(found) < FEW:
        mirrored = _one_mat(np.ascontiguousarray(sized[:, ::-1]), grey.shape)
        if _share(mirrored) > _share(found):
            raise PhotoError(
                "the picture is mirrored.",
                where="Mat",
                remedy="Turn off mirroring in the camera, or use its main lens.",
            )
    if found is None:
        raise PhotoError(
            "no mat is seen in the picture.",
            where="Mat",
            remedy="Photograph all of it, sharp and in even light; "
            "blankwright mat makes one to print.",
        )
    return found


def shows_mat(grey: Grey) -> bool:
    """Return whether a picture (h, w) shows a mat, by a cheap look."""
    sized = _sharpened(at_most(grey, GLIMPSE_PX))
    return _share(_one_mat(sized, grey.shape)) > GLIMPSED


def _share(found: Markers | None) -> float:
    """Return how many of a mat's markers were read; 0 without a mat."""
    return 0.0 if found is None else len(found.quads_px) / found.layout.count


def _sized(grey: Grey) -> Grey:
    """Return the picture with the long side on which markers are read."""
    scale = READ_PX / max(grey.shape)
    if scale <= 1.0:
        return at_most(grey, READ_PX)
    size = (round(grey.shape[1] * scale), round(grey.shape[0] * scale))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_CUBIC), np.uint8)


def _sharpened(grey: Grey) -> Grey:
    """Return the picture with what blur took from its smallest parts given back."""
    blurred = cv2.GaussianBlur(grey, (0, 0), BLUR_PX)
    return np.asarray(cv2.addWeighted(grey, 1.0 + GAIN, blurred, -GAIN, 0.0), np.uint8)


@functools.cache
def _detector() -> cv2.aruco.ArucoDetector:
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = SMALLEST
    parameters.adaptiveThreshWinSizeStep = WINDOWS_APART
    parameters.errorCorrectionRate = 0.0  # numbers differ by few parts: better none than a wrong
    return cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(DICTIONARY), parameters)


def _one_mat(picture: Grey, shape: tuple[int, ...]) -> Markers | None:
    """Return the markers of the mat that most are of, those that lie as on one sheet.

    `shape` is that of the picture in whose pixels they are told.
    """
    corners, numbers, _ = _detector().detectMarkers(picture)
    read = [] if numbers is None else [int(number) for number in np.ravel(numbers)]
    votes = [number // IDS for number in read if number < IDS * len(MATS)]
    if not votes:
        return None
    layout = mat_layout(tuple(MATS)[int(np.bincount(votes).argmax())])
    places = layout.markers_mm
    known = [k for k, number in enumerate(read) if number in places]
    if len(known) < 2:
        return None
    finer = max(shape) / max(picture.shape)
    quads = {k: (np.asarray(corners[k], float).reshape(4, 2) + 0.5) * finer - 0.5 for k in known}
    flat = np.concatenate([places[read[k]] for k in known])
    seen = np.concatenate([quads[k] for k in known])
    _, kept = cv2.findHomography(flat, seen, cv2.RANSAC, LENS_SHARE * max(shape))
    whole = [bool(ring.all()) for ring in np.reshape(kept, (-1, 4))]
    fitting = {read[k]: quads[k] for k, fits in zip(known, whole, strict=True) if fits}
    return Markers(layout=layout, quads_px=fitting) if len(fitting) > 1 else None
