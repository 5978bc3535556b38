"""A traced rectangle with a slanting end, and how far a found edge is from it."""

import numpy as np
import shapely

from calibration.contour import find_contour
from calibration.ink import find_ink
from tests.calibration.strokes_render import Sheet, box

PEN = 6.0
# Blur of 0.8 px, and 0.7 px more against noise, round a sharp corner of bare paper: at a right
# angle the half level lies where Phi(x)^2 = 1/2, x = 0.55 sigma from both sides, 0.82 px from the
# corner; at the piece's corner of 78 degrees farther.
CORNER_PX = 1.4


def piece(left=120, top=100, right=680, bottom=380):
    """Return the corners of a rectangle with a slanting end."""
    return np.array([[left, top], [right, top], [right - 60, bottom], [left, bottom]], float)


def inner(corners):
    return shapely.Polygon(corners).buffer(-PEN / 2, join_style="mitre")


def contour(sheet, **options):
    photo = sheet.photo()
    return find_contour(photo, find_ink(photo), **options)


def worst(points, truth):
    """Return the largest distance of the edge from the true one, both ways, px."""
    there = shapely.distance(shapely.points(points), truth.exterior)
    back = shapely.distance(
        shapely.points(shapely.get_coordinates(shapely.segmentize(truth.exterior, 2.0))),
        shapely.LinearRing(points),
    )
    return max(there.max(), back.max())


def traced(corners=None):
    return Sheet(800, 500).stroke(piece() if corners is None else corners, width=PEN, closed=True)


def two_pieces():
    sheet = Sheet(800, 500).stroke(box(60, 60, 740, 240), width=PEN, closed=True)
    return sheet.stroke(box(60, 300, 420, 440), width=PEN, closed=True)


def area(points):
    return shapely.Polygon(points).area
