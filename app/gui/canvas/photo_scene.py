"""The photo with what was found on it, in photo pixels; y points down here as in the photo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import ArrayLike
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QImage, QPainterPath, QPixmap
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPixmapItem, QGraphicsScene

from app.document.lengths import Unit, format_length
from app.gui.canvas.axes import plain_path
from app.gui.canvas.tag import HaloPath, Tag
from app.gui.places import Place, numbered
from app.gui.size_field import size_words
from calibration.references import (
    PAPER_LABELS,
    PAPERS,
    CrossReference,
    LineReference,
    RectangleReference,
    SheetReference,
)

if TYPE_CHECKING:
    from calibration.calibrate import FoundReference
    from calibration.capture import Capture
    from calibration.photo import Photo

MOST_SHOWN_PX = 16_000_000  # a larger photo is shown at half its size; it is measured in full
CROSS_PX = 9.0
CONTOUR_PX = 2.6  # at a whole width a level line shows every pixel row that it crosses
THIN_PX = 0.2  # photo pixels that the drawn contour may leave the measured one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShownPhoto:
    """A photo made ready for the screen, away from the window's thread.

    Parameters
    ----------
    photo : Photo
        The photo itself.
    image : QImage
        What is shown, in the format that the screen takes as it is.
    factor : int
        Photo pixels for one pixel of the image.
    """

    photo: Photo
    image: QImage
    factor: int


def shown_photo(photo: Photo) -> ShownPhoto:
    """Return a photo ready to be shown; takes a tenth of a second for twelve megapixels."""
    rgb = photo.rgb
    height, width = rgb.shape[:2]
    factor = 2 if width * height > MOST_SHOWN_PX else 1
    if factor > 1:
        import cv2  # here: the window opens without it

        size = (width // factor, height // factor)
        rgb = np.ascontiguousarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA))
    view = QImage(rgb.data, rgb.shape[1], rgb.shape[0], rgb.strides[0], QImage.Format.Format_RGB888)
    image = view.convertToFormat(QImage.Format.Format_RGB32)  # its own memory, not the array's
    return ShownPhoto(photo=photo, image=image, factor=factor)


class PhotoScene(QGraphicsScene):
    """Photo, found references, contour, and marks that the person is setting."""

    def __init__(self) -> None:
        super().__init__()
        self._found: list[QGraphicsItem] = []
        self._marks: list[QGraphicsItem] = []
        self._picture: QGraphicsPixmapItem | None = None
        self.size_px = (0, 0)

    def show_picture(self, shown: ShownPhoto | None) -> None:
        """Show a photo, or none."""
        self.show_capture(None, "mm")
        self.show_marks([])
        if self._picture is not None:
            self.removeItem(self._picture)
            self._picture = None
        if shown is None:
            return
        height, width = shown.photo.rgb.shape[:2]
        self.size_px = (width, height)
        item = QGraphicsPixmapItem(QPixmap.fromImage(shown.image))
        item.setScale(shown.factor)
        item.setPos(-0.5, -0.5)  # pixel centres stand at whole numbers
        self._picture = item
        self.addItem(item)
        self.setSceneRect(QRectF(-width, -height, 3 * width, 3 * height))

    def picture_rect(self) -> QRectF:
        """Return the photo's box."""
        return QRectF(0, 0, *self.size_px)

    def found_rect(self) -> QRectF:
        """Return the box of what was found; the whole photo's when nothing was."""
        boxes = [item.sceneBoundingRect() for item in self._found if isinstance(item, HaloPath)]
        box = QRectF()
        for one in boxes:
            box = box.united(one)
        return box.intersected(self.picture_rect()) if boxes else self.picture_rect()

    def show_capture(self, capture: Capture | None, unit: Unit) -> None:
        """Draw what was understood: contour, holes, mended gaps, references with numbers."""
        for item in self._found:
            self.removeItem(item)
        self._found = []
        if capture is None:
            return
        contour = capture.contour
        path = _thinned(contour.outer_px)
        for hole in contour.holes_px:
            path.addPath(_thinned(hole))
        self._add(HaloPath(path, "accent", CONTOUR_PX))
        for bridge in contour.bridges_px:
            self._add(HaloPath(plain_path(bridge), "doubt", 3.0))
        for found in capture.calibration.found:
            self._show_reference(found, unit)
        self._show_places(numbered(capture.notes)[1])

    def show_places(self, places: Sequence[Place]) -> None:
        """Show places that words beside the photo number, and nothing else."""
        self.show_capture(None, "mm")
        self._show_places(places)

    def _show_places(self, places: Sequence[Place]) -> None:
        for number, place in enumerate(places, start=1):
            self._add(_cross(), QPointF(*place))
            self._add(Tag((str(number),), "doubt", (0.0, -22.0)), QPointF(*place))

    def show_marks(self, places: list[tuple[float, float]]) -> None:
        """Draw the places that are being pointed at, joined."""
        self.show_pairs([tuple(places)])

    def show_pairs(self, pairs: Sequence[Sequence[tuple[float, float]]]) -> None:
        """Draw places that were pointed at, each with its fellow joined."""
        for item in self._marks:
            self.removeItem(item)
        self._marks = []
        for places in pairs:
            if len(places) > 1:
                self._mark(HaloPath(plain_path(places), "blank", 2.0), QPointF(0, 0))
            for x, y in places:
                self._mark(_cross(), QPointF(x, y))

    def _show_reference(self, found: FoundReference, unit: Unit) -> None:
        points = np.asarray(found.points_px, float).reshape(-1, 2)
        apart = isinstance(found.reference, CrossReference)
        for chain in np.split(points, 2) if apart else [points]:
            self._add(HaloPath(plain_path(chain, closed=len(chain) > 2), "blank", 2.0))
        sheet = isinstance(found.reference, SheetReference)
        if not sheet:
            for x, y in points.tolist():
                self._add(_cross(), QPointF(x, y))
        words = (reference_name(found, unit), off_words(found.residual_mm, unit))
        at = points[:2].mean(axis=0)
        self._add(Tag(words, "blank", (0.0, 34.0)), QPointF(*at.tolist()))

    def _add(self, item: QGraphicsItem, at: QPointF | None = None) -> None:
        item.setZValue(item.zValue() + 1)
        if at is not None:
            item.setPos(at)
        self._found.append(item)
        self.addItem(item)

    def _mark(self, item: QGraphicsItem, at: QPointF) -> None:
        item.setPos(at)
        item.setZValue(30)
        self._marks.append(item)
        self.addItem(item)


def off_words(residual_mm: float, unit: Unit) -> str:
    """Return how far a reference is off what the others say.

    Examples
    --------
    >>> off_words(0.026, "mm"), off_words(0.004, "mm"), off_words(0.004, "in")
    ('off by 0.03 mm', 'agrees', 'agrees')
    """
    off = format_length(residual_mm, unit, decimals=2 if unit == "mm" else 3)
    return f"off by {off}" if float(off.split()[0]) else "agrees"


def reference_name(found: FoundReference, unit: Unit) -> str:
    """Return what a reference is called on the photo: a sheet by its paper where it has one."""
    match found.reference:
        case SheetReference(width_mm=width_mm, height_mm=height_mm):
            sides = sorted((width_mm, height_mm))
            paper = next((key for key, size in PAPERS.items() if sorted(size) == sides), "")
            size = PAPER_LABELS[paper] if paper else size_words((width_mm, height_mm), unit)
            return f"sheet {size}"
        case LineReference(length_mm=length_mm):
            return f"line {format_length(length_mm, unit)}"
        case RectangleReference(width_mm=width_mm, height_mm=height_mm):
            return f"rectangle {size_words((width_mm, height_mm), unit)}"
        case CrossReference(first_mm=first_mm, second_mm=second_mm):
            return f"crossed lines {size_words((first_mm, second_mm), unit)}"
    return found.name


def _thinned(ring_px: ArrayLike) -> QPainterPath:
    """Return a ring without the points that nobody sees; crowded, they make a line look knotted."""
    ring = shapely.LinearRing(np.asarray(ring_px, float))
    return plain_path(shapely.get_coordinates(ring.simplify(THIN_PX))[:-1], closed=True)


def _cross() -> HaloPath:
    path = QPainterPath()
    for dx, dy in ((CROSS_PX, 0.0), (0.0, CROSS_PX)):
        path.moveTo(-dx, -dy)
        path.lineTo(dx, dy)
    cross = HaloPath(path, "blank", 1.5)
    cross.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
    return cross
