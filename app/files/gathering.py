"""What a reader finds in a drawing, gathered: lines, our own marks and stations, the rest."""

from __future__ import annotations

from dataclasses import dataclass, field

from app.files.strokes import LeftOut, Stroke, Strokes
from app.files.told_places import lie_as_told
from geometry.curves import Point
from geometry.outline import Mark, Station

OURS = ("PROFILE", "HOLES")  # the layers of a pattern that are cut; the rest of it is for the eye
MARKS, STATIONS = "MARKS", "STATIONS"
MOVED = (
    "The outline was moved, turned or stretched since this program wrote it; "
    "it no longer lies in the outline frame, and its tip and butt have to be told again."
)
ALL_INKLESS = (
    "Nothing of the drawing is seen: its lines have neither ink nor fill, and were taken all the "
    "same. Check that they are the ones that you mean."
)
MOST_PIECES = 200_000  # more than a drawing of a knife can hold


@dataclass(slots=True)
class Gathering:
    """Takes what a reader comes upon, one thing after another.

    Attributes
    ----------
    name : str
        The outline's name, where the file tells it.
    in_frame : bool
        Whether the file is one of ours, that was written in the outline frame.
    """

    name: str = ""
    in_frame: bool = False
    _lines: list[Stroke] = field(default_factory=list)
    _inkless: list[Stroke] = field(default_factory=list)
    _marks: list[Mark] = field(default_factory=list)
    _stations: list[Station] = field(default_factory=list)
    _left: list[LeftOut] = field(default_factory=list)
    _pieces: int = 0

    def take(self, stroke: Stroke, *, inkless: bool = False) -> None:
        """Take a line, or a mark or station of a file of ours.

        A line drawn without ink counts where there is no other.

        Raises
        ------
        OverflowError
            If there are more than a drawing of a knife can hold.
        """
        self._pieces += len(stroke.chain)
        if self._pieces > MOST_PIECES:
            raise OverflowError("too many lines")
        start = stroke.chain[0].start
        if stroke.layer == MARKS and stroke.label:
            points = (start, *(piece.end for piece in stroke.chain))
            self._marks.append(Mark(kind=stroke.label, points_mm=points))
        elif stroke.layer == STATIONS and stroke.label:
            self.station(stroke.label, start)
        else:
            (self._inkless if inkless else self._lines).append(stroke)

    def station(self, name: str, at: Point) -> None:
        """Take a station of a file of ours."""
        self._stations.append(Station(name=name, x_mm=at[0], y_mm=at[1]))

    def leave(self, what: str, at: Point | None) -> None:
        """Leave a thing out, its kind and place told."""
        self._left.append(LeftOut(what=what, at_mm=at))

    def strokes(self) -> Strokes:
        """Return all of it; in a drawing with a layer PROFILE only that and HOLES are lines."""
        all_inkless = bool(self._inkless) and not self._lines
        lines, others = (self._inkless, []) if all_inkless else (self._lines, self._inkless)
        if any(line.layer.upper() == OURS[0] for line in lines):
            others = others + [line for line in lines if line.layer.upper() not in OURS]
            lines = [line for line in lines if line.layer.upper() in OURS]
        for line in others:
            place = f"of the layer {line.layer}" if line.layer else "without ink or fill"
            self.leave(f"{line.what} {place}", line.chain[0].start)
        edge = [line for line in lines if line.layer.upper() == OURS[0]]
        moved = self.in_frame and not lie_as_told(edge, lines)
        if moved:
            for station in self._stations:
                self.leave("place of the outline frame", (station.x_mm, station.y_mm))
        return Strokes(
            lines=tuple(lines),
            marks=tuple(self._marks),
            stations=() if moved else tuple(self._stations),
            left_out=tuple(self._left),
            in_frame=self.in_frame and not moved,
            name=self.name,
            notes=(ALL_INKLESS,) * all_inkless + (MOVED,) * moved,
        )
