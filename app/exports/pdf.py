"""A pattern as a PDF at true size, which asks the print dialog not to scale it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from app.document.drawing import LAYERS, Circle, Cross, Drawing, Item, Polyline, Text
from app.document.paper import Paper
from app.document.print_scale import stretch_for, stretch_line
from app.exports.labels import with_labels_settled
from app.exports.lettering import drawable, em_mm, registered_font
from app.exports.pages import Page, Pages, laid_out
from app.exports.strokes import cross_arms
from app.files.atomic import write_atomically

PT_PER_MM = 72.0 / 25.4  # ISO 32000-1, 8.3.2.3: a unit of user space is 1/72 in


def write_pdf(
    drawing: Drawing,
    path: Path | str,
    *,
    paper: Paper,
    correct_x: float = 1.0,
    correct_y: float = 1.0,
) -> int:
    """Write a pattern and return its number of pages.

    Parameters
    ----------
    drawing : Drawing
        The pattern.
    path : Path or str
        Where to write.
    paper : Paper
        Every page is exactly this size, upright or lying.
    correct_x, correct_y : float
        Printed over asked length of the bars of an earlier print: everything drawn is stretched by
        its inverse, the page is not.

    Raises
    ------
    InputError
        If a correction is not that of a printer, or the paper is too small.
    FileError
        If the file cannot be written.
    """
    data, count = pdf_bytes(drawing, paper=paper, correct_x=correct_x, correct_y=correct_y)
    write_atomically(path, data)
    return count


def pdf_bytes(
    drawing: Drawing, *, paper: Paper, correct_x: float = 1.0, correct_y: float = 1.0
) -> tuple[bytes, int]:
    """Return a pattern's PDF and its number of pages; as `write_pdf`."""
    stretch = (
        stretch_for(correct_x, "Correction across"),
        stretch_for(correct_y, "Correction up"),
    )
    line = stretch_line(*stretch)
    pages = laid_out(drawing, paper, stretch=stretch, extra=(line,) if line else ())
    return _written(pages, drawing.title.name, stretch), len(pages.pages)


def write_page(drawing: Drawing, path: Path | str, *, paper: Paper) -> None:
    """Write a drawing that is a page as it stands, in mm from the paper's lower left corner.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    write_atomically(path, page_bytes(drawing, paper=paper))


def page_bytes(drawing: Drawing, *, paper: Paper) -> bytes:
    """Return the PDF of a drawing that is a page as it stands; as `write_page`."""
    return sheets_bytes((drawing,), paper=paper)


def sheets_bytes(drawings: Sequence[Drawing], *, paper: Paper, scale: str = "1:1") -> bytes:
    """Return the PDF of drawings that are a page each as they stand, their labels settled.

    Parameters
    ----------
    drawings : sequence of Drawing
        In mm from the paper's lower left corner; at least one.
    paper : Paper
        Every page is exactly this size.
    scale : str
        What the document says of its scale.
    """
    window = (0.0, 0.0, paper.width_mm, paper.height_mm)
    settled = (with_labels_settled(drawing) for drawing in drawings)
    pages = tuple(Page(content=d.items, window_mm=window, furniture=()) for d in settled)
    all_of_them = Pages(paper=paper, turn_rad=0.0, corner_mm=(0.0, 0.0), pages=pages)
    return _written(all_of_them, drawings[0].title.name, (1.0, 1.0), scale)


def _written(pages: Pages, title: str, stretch: tuple[float, float], scale: str = "1:1") -> bytes:
    """Return laid out pages as a PDF."""
    size_pt = (pages.paper.width_mm * PT_PER_MM, pages.paper.height_mm * PT_PER_MM)
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=size_pt, invariant=1, pageCompression=1, pdfVersion=(1, 6))
    canvas.setTitle(title)
    canvas.setSubject(f"Scale {scale}: print without scaling")
    canvas.setCreator("Blankwright")
    canvas.setViewerPreference("PrintScaling", "None")
    pen = _Pen(canvas=canvas, corner_mm=pages.corner_mm, stretch=stretch)
    for page in pages.pages:
        pen.page(page)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pen:
    """Draws items given in mm from the usable area's corner."""

    canvas: Canvas
    corner_mm: tuple[float, float]
    stretch: tuple[float, float]

    def page(self, page: Page) -> None:
        """Draw one page: the content cut to its window, the rest whole."""
        self.canvas.saveState()
        left, bottom, right, top = page.window_mm
        (x0, y0), (x1, y1) = self._at(left, bottom), self._at(right, top)
        window = self.canvas.beginPath()
        window.rect(x0, y0, x1 - x0, y1 - y0)
        self.canvas.clipPath(window, stroke=0, fill=0)
        self._items(page.content)
        self.canvas.restoreState()
        self._items(page.furniture)

    def _at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return a point of the page in points."""
        return (
            (self.corner_mm[0] + self.stretch[0] * x_mm) * PT_PER_MM,
            (self.corner_mm[1] + self.stretch[1] * y_mm) * PT_PER_MM,
        )

    def _items(self, items: tuple[Item, ...]) -> None:
        self.canvas.setLineCap(0)  # butt: a bar ends where its length ends
        self.canvas.setLineJoin(1)  # round: a tip is not drawn longer than it is
        for layer in LAYERS.values():
            self.canvas.setLineWidth(layer.width_mm * PT_PER_MM)
            self.canvas.setDash([length * PT_PER_MM for length in layer.dash_mm])
            for item in items:
                if item.layer == layer.name:
                    self._item(item)

    def _item(self, item: Item) -> None:
        if isinstance(item, Polyline):
            self._path(item)
        elif isinstance(item, Circle):
            half = item.diameter_mm / 2
            corner = self._at(item.x_mm - half, item.y_mm - half)
            self.canvas.ellipse(*corner, *self._at(item.x_mm + half, item.y_mm + half))
        elif isinstance(item, Cross):
            for (x0, y0), (x1, y1) in cross_arms(item):
                self.canvas.line(*self._at(x0, y0), *self._at(x1, y1))
        elif isinstance(item, Text):
            self._words(item)
        else:
            raise ValueError("labels are settled before they are drawn")

    def _path(self, line: Polyline) -> None:
        filled = LAYERS[line.layer].filled
        path = self.canvas.beginPath()
        path.moveTo(*self._at(*line.points_mm[0]))
        for point in line.points_mm[1:]:
            path.lineTo(*self._at(*point))
        if line.closed:
            path.close()
        self.canvas.drawPath(path, stroke=not filled, fill=filled)

    def _words(self, words: Text) -> None:
        self.canvas.setFont(registered_font(), em_mm(words.height_mm) * PT_PER_MM)
        draw = {
            "start": self.canvas.drawString,
            "middle": self.canvas.drawCentredString,
            "end": self.canvas.drawRightString,
        }[words.align]
        draw(*self._at(words.x_mm, words.y_mm), drawable(words.text))
