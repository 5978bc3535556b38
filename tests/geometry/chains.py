"""Closed chains whose area, length and centroid are known in closed form."""

import math
from itertools import pairwise

from geometry.curves import Arc, Chain, Cubic, Line, Point
from geometry.outline import Outline


def circle(radius_mm: float, centre: Point = (3.0, 4.0), arcs: int = 2) -> Chain:
    """Return a whole circle as equal arcs."""
    x, y = centre
    angles = [2 * math.pi * k / arcs for k in range(arcs)]
    places = [(x + radius_mm * math.cos(a), y + radius_mm * math.sin(a)) for a in angles]
    ends = [*places[1:], places[0]]
    return tuple(
        Arc(start=a, end=b, sweep_rad=2 * math.pi / arcs) for a, b in zip(places, ends, strict=True)
    )


def stadium(straight_mm: float, radius_mm: float) -> Chain:
    """Return two straight sides from the origin along x, with half circles at their ends."""
    a, b = (0.0, -radius_mm), (straight_mm, -radius_mm)
    c, d = (straight_mm, radius_mm), (0.0, radius_mm)
    return (
        Line(start=a, end=b),
        Arc(start=b, end=c, sweep_rad=math.pi),
        Line(start=c, end=d),
        Arc(start=d, end=a, sweep_rad=math.pi),
    )


def ellipse_arc(a_mm: float, b_mm: float, stop_rad: float, pieces: int = 48) -> Chain:
    """Return an ellipse about the origin from its right end on, as cubics.

    Each piece is the image of the usual cubic for an arc of a circle, which is off by less than
    1e-10 of the radius at 7.5 degrees.
    """
    step = stop_rad / pieces
    reach = 4 / 3 * math.tan(step / 4)

    def place(t: float) -> Point:
        return a_mm * math.cos(t), b_mm * math.sin(t)

    def control(t: float, sign: float) -> Point:
        (x, y) = place(t)
        return x - sign * reach * a_mm * math.sin(t), y + sign * reach * b_mm * math.cos(t)

    cubics = []
    for k in range(pieces):
        t, u = k * step, (k + 1) * step
        cubics.append(
            Cubic(start=place(t), control1=control(t, 1), control2=control(u, -1), end=place(u))
        )
    return tuple(cubics)


def ellipse(a_mm: float, b_mm: float) -> Chain:
    """Return a whole ellipse about the origin, closed to the last bit."""
    chain = ellipse_arc(a_mm, b_mm, 2 * math.pi)
    last, start = chain[-1], chain[0].start
    assert isinstance(last, Cubic)
    closed = Cubic(start=last.start, control1=last.control1, control2=last.control2, end=start)
    return (*chain[:-1], closed)


def ellipse_perimeter_mm(a_mm: float, b_mm: float) -> float:
    """Return an ellipse's perimeter by the series of Gauss and Kummer."""
    h = ((a_mm - b_mm) / (a_mm + b_mm)) ** 2
    total, term = 1.0, 1.0
    for n in range(1, 800):
        term *= (0.5 - (n - 1)) / n
        total += term * term * h**n
    return math.pi * (a_mm + b_mm) * total


def parabola(half_mm: float, height_mm: float) -> Chain:
    """Return the region between the x axis and a parabola through its ends, ``height_mm`` high."""
    left, right, top = (-half_mm, 0.0), (half_mm, 0.0), (0.0, 2 * height_mm)

    def third(point: Point) -> Point:  # a parabola's middle control, raised to a cubic's
        return (point[0] + 2 * top[0]) / 3, (point[1] + 2 * top[1]) / 3

    curve = Cubic(start=right, control1=third(right), control2=third(left), end=left)
    return Line(start=left, end=right), curve


def parabola_length_mm(half_mm: float, height_mm: float) -> float:
    """Return the length of that parabola (integral of sqrt(1 + 4 k^2 x^2), k = height / half^2)."""
    m = 2 * height_mm / half_mm  # the slope at the ends
    return half_mm * (math.sqrt(1 + m * m) + math.asinh(m) / m)


def hollow_bar(*turns: tuple[float, float]) -> Outline:
    """A bar with a hollow of arcs in its lower edge, tangent to each other: radius, angle."""
    at, heading = (0.0, 0.0), math.pi / 3
    chain: list[Line | Arc] = []
    for radius, angle in turns:
        centre = (at[0] + radius * math.sin(heading), at[1] - radius * math.cos(heading))
        heading -= angle
        end = (centre[0] - radius * math.sin(heading), centre[1] + radius * math.cos(heading))
        chain.append(Arc(start=at, end=end, sweep_rad=-angle))
        at = end
    corners: list[Point] = [at, (200.0, at[1]), (200.0, 200.0), (-50.0, 200.0), (-50.0, 0), (0, 0)]
    chain += [Line(start=a, end=b) for a, b in pairwise(corners)]
    return Outline(name="bar", chain=tuple(chain))
