"""``blankwright contour``: a billet's edge becomes a chain of lines and arcs."""

from __future__ import annotations

import datetime
from pathlib import Path

from app.cli.options import check_apart
from app.cli.terminal import say
from app.document.contour import contour_chains, contour_drawing
from app.document.drawing import Polyline, TitleBlock
from app.document.job import PatternFacts
from app.document.lengths import parse_positive_mm
from app.document.paper import paper_named
from app.exports.dxf import write_bare_dxf
from app.exports.write import write_pattern
from app.files.atomic import make_folder
from app.files.billet_file import read_billet
from geometry.arc_fit import strayed_mm
from geometry.billet import Billet
from geometry.curves import Arc, Chain
from geometry.editing.edges import rings_of
from geometry.errors import InputError

MOST_MM = 1.0  # beyond, chains are no nearer to the piece than an eye


def run_contour(billet: Path, *, out: Path, tolerance: str, paper: str) -> int:
    """Write the edge of a billet as lines and arcs; return the exit status."""
    tolerance_mm = parse_positive_mm(tolerance, where="--tolerance")
    if tolerance_mm > MOST_MM:
        raise InputError(
            f"a line {tolerance_mm:g} mm off the steel's edge is no contour of it.",
            where="--tolerance",
            remedy=f"Give {MOST_MM:g} mm or less; 0.1mm is what a saw follows.",
        )
    paper_named(paper)
    check_apart(out, (billet,))
    piece = read_billet(billet)
    chains = contour_chains(piece, tolerance_mm=tolerance_mm)
    title = TitleBlock(
        name=billet.stem, date=datetime.date.today(), thickness_mm=piece.thickness_mm
    )
    drawing = contour_drawing(piece, chains, title, tolerance_mm=tolerance_mm)
    make_folder(out.parent)
    if out.suffix.lower() == ".dxf":
        edges = [i for i in drawing.items if isinstance(i, Polyline) and i.closed]
        write_bare_dxf(edges, out)
    else:
        write_pattern(drawing, out, PatternFacts(paper=paper))
    for line in summary(piece, chains):
        say(line)
    say(f"written   {out}")
    return 0


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def summary(billet: Billet, chains: list[Chain]) -> list[str]:
    """Return what the edge and each hole became, a line each."""
    lines = []
    for number, (ring, chain) in enumerate(zip(rings_of(billet), chains, strict=True)):
        arcs = sum(isinstance(piece, Arc) for piece in chain)
        apart_mm, beyond_mm = strayed_mm(chain, ring.points_mm)
        name = f"hole {number}" if number else "edge"
        lines.append(
            f"{name:9s} {_count(len(chain) - arcs, 'line')} and {_count(arcs, 'arc')} for "
            f"{len(ring.points_mm)} straight pieces; within {apart_mm:.3f} mm of the measured "
            f"edge, beyond the steel by {beyond_mm:.3f} at most"
        )
    return lines
