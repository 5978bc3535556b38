"""The unit of a drawing made elsewhere: believed where it says one, asked for where not."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from app.document.lengths import MM_PER, MM_PER_INCH, SPELLINGS
from geometry.errors import InputError

SHORTEST_MM, LONGEST_MM = 20.0, 1500.0  # a knife and its tang; beyond, the unit is doubted
USUAL_MM = (60.0, 600.0)  # most knives; a unit that makes such a size is proposed
MOST_USUAL_MM = 220.0  # overall, of a knife for the belt; common practice, no source
AGAINST = 0.5  # what dashes of the other system count for: as much as 1.6 times the length
ASK = "Say which with --unit mm, --unit in"

PIXELS = {"px": MM_PER_INCH / 96, "px90": MM_PER_INCH / 90, "pt": MM_PER_INCH / 72}
ALIKE = ("px", "px90")
MM_PER_UNIT = {**MM_PER, **PIXELS}
WORDS = {
    "mm": "mm", "cm": "cm", "m": "metres", "in": "inches", "ft": "feet",
    "px": "pixels at 96 to the inch", "px90": "pixels at 90 to the inch",
    "pt": "points, 72 to the inch",
}  # fmt: skip
PLAIN = ("mm", "in", "cm", "m")

Told = Literal["file", "person", "nobody"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Millimetres for one unit of a drawing, and who said so.

    Parameters
    ----------
    mm_per_unit : float
        1, or by what is likely, where nobody said it.
    told : {"file", "person", "nobody"}
        Who said it.
    metric : bool, optional
        What a DXF's ``$MEASUREMENT`` hints at; it sets dashes, not lengths.
    units : tuple of str
        Those that a drawing of its kind may be in.
    pixels_per_unit : float
        Of a drawing whose frame is told in pixels.
    """

    mm_per_unit: float
    told: Told
    metric: bool | None = None
    units: tuple[str, ...] = PLAIN
    pixels_per_unit: float = 1.0

    def mm_by(self, unit: str) -> float:
        """Return millimetres for one unit of the drawing, if it is drawn in a unit."""
        return MM_PER_UNIT[unit] * (self.pixels_per_unit if unit in PIXELS else 1.0)

    def likeliest(self, longer: float) -> Scale:
        """Return the scale by which a length in the drawing's own units is the most usual one."""
        units = sorted(self.units, key=lambda unit: _unusual(longer * self.mm_by(unit)))
        return replace(self, mm_per_unit=self.mm_by(units[0]))

    def agree(self, width_mm: float, height_mm: float, where: str) -> tuple[str, ...]:
        """Make sure of the unit by the size that it gives to an outline.

        Returns
        -------
        tuple of str
            A doubt in words, where the file's unit makes it longer than most knives are and
            another one would not.

        Raises
        ------
        UnitQuestion
            If nobody said the unit, or the file says one that makes no knife.
        """
        longer = max(width_mm, height_mm)
        if self.told == "person":
            return ()
        width, height = width_mm / self.mm_per_unit, height_mm / self.mm_per_unit
        if self.told == "nobody" or not self._credible(longer):
            raise question(width, height, self, where)
        return self._doubt(width, height) if longer > USUAL_MM[1] else ()

    def _doubt(self, width: float, height: float) -> tuple[str, ...]:
        """Return what to say of the units that would make a shorter knife: a sentence at most."""
        sizes = {unit: (width * self.mm_by(unit), height * self.mm_by(unit)) for unit in self.units}
        others = [u for u, size in sizes.items() if SHORTEST_MM <= max(size) <= USUAL_MM[1]]
        if not others:
            return ()
        stated = _size(width * self.mm_per_unit, height * self.mm_per_unit)
        shorter = " or ".join(f"{_size(*sizes[unit])} if in {WORDS[unit]}" for unit in others)
        return (
            f"By the unit that the file states, the outline is {stated}, longer than most knives; "
            f"it is {shorter}. If so, save it with that unit, or read it with --unit {others[0]}.",
        )

    def _credible(self, longer_mm: float) -> bool:
        """Return whether a stated unit makes a knife, a usual one where the unit is doubtful.

        It is where dashes of the other system speak against it, or where it is none that makers
        draw in: metres are what some programs write that were told nothing.
        """
        inches = self.mm_per_unit in (MM_PER_UNIT["in"], MM_PER_UNIT["ft"])
        doubtful = self.metric == inches if self.metric is not None else False
        if doubtful or self.mm_per_unit > MM_PER_UNIT["in"]:
            return USUAL_MM[0] <= longer_mm <= USUAL_MM[1]
        return SHORTEST_MM <= longer_mm <= LONGEST_MM


class UnitQuestion(InputError):
    """A drawing whose unit has to be told.

    Attributes
    ----------
    sizes : dict of str to (float, float)
        Width and height, mm, by the name of each unit that it may be in.
    likely : tuple of str
        Those that make a knife of a usual size, the likeliest first.
    """

    sizes: dict[str, tuple[float, float]]
    likely: tuple[str, ...]


def unit_named(text: str) -> str | None:
    """Return the unit that a person named; None for an empty text.

    Raises
    ------
    InputError
        If it is none that a drawing may be in.

    Examples
    --------
    >>> unit_named("inch"), unit_named("px90"), unit_named("")
    ('in', 'px90', None)
    """
    asked = text.strip().lower()
    if not asked:
        return None
    known = asked if asked in MM_PER_UNIT else SPELLINGS.get(asked)
    if not known:
        others = ", ".join(unit for unit in MM_PER_UNIT if unit not in PLAIN[:2])
        raise InputError(
            f"the unit “{text}” is not known.",
            where="--unit",
            remedy=f"Use mm or in, or one of {others}.",
        )
    return known


def known_scale(
    unit: str | None,
    stated_mm: float | None,
    *,
    metric: bool | None = None,
    units: tuple[str, ...] = PLAIN,
    pixels_per_unit: float = 1.0,
) -> Scale:
    """Return the scale by what the person said, else by what the file states, mm for a unit."""
    scale = Scale(
        mm_per_unit=1.0,
        told="nobody",
        metric=metric,
        units=units,
        pixels_per_unit=pixels_per_unit,
    )
    if unit is not None:
        return replace(scale, mm_per_unit=scale.mm_by(unit), told="person")
    return scale if stated_mm is None else replace(scale, mm_per_unit=stated_mm, told="file")


def question(width: float, height: float, scale: Scale, where: str) -> UnitQuestion:
    """Return what to ask about an outline of a size in the drawing's own units."""
    sizes = {unit: (width * scale.mm_by(unit), height * scale.mm_by(unit)) for unit in scale.units}
    likely = _likely(sizes, scale.metric)
    shown = "; ".join(f"{_size(*sizes[unit])} if in {WORDS[unit]}" for unit in scale.units)
    if scale.told == "file":
        stated = _size(width * scale.mm_per_unit, height * scale.mm_per_unit)
        said = (
            f"by the unit that the file states, the outline is {stated}, which is no knife's size"
        )
    else:
        said = "the file does not say its unit"
    proposed = _proposal([WORDS[unit] for unit in likely])
    others = "".join(f", --unit {unit}" for unit in scale.units if unit not in ("mm", "in"))
    error = UnitQuestion(f"{said}. It is {shown}.{proposed}", where=where, remedy=f"{ASK}{others}.")
    error.sizes, error.likely = sizes, tuple(likely)
    return error


def _likely(sizes: dict[str, tuple[float, float]], metric: bool | None) -> list[str]:
    """Return the units that make a knife of a usual size, the likeliest first.

    That is the one that makes the most usual length; dashes of the other system count a little
    against it. No size tells the two kinds of pixels apart, so that both are named or none.
    """
    low, high = USUAL_MM
    longer = {unit: max(size) for unit, size in sizes.items()}
    likely = {unit for unit, size in longer.items() if low <= size <= high}
    if likely.intersection(ALIKE):
        likely.update(unit for unit in ALIKE if unit in sizes)

    def unusual(unit: str) -> float:
        against = metric is not None and (unit == "in") == metric
        return _unusual(longer[unit]) + (AGAINST if against else 0.0)

    return sorted(likely, key=unusual)


def _unusual(longer_mm: float) -> float:
    """Return how many times a length is off the most usual one, as a logarithm."""
    return abs(math.log(longer_mm / MOST_USUAL_MM))


def _proposal(words: list[str]) -> str:
    """Return a sentence on the likely units, no surer than a size makes one."""
    if not words:
        return ""
    if len(words) == 1:
        return f" By its size it is likely drawn in {words[0]}."
    return f" By its size alone it may be in {', in '.join(words[:-1])} or in {words[-1]}."


def _size(width_mm: float, height_mm: float) -> str:
    """Return a size, in metres or kilometres where it is large."""
    if max(width_mm, height_mm) >= 1e9:
        return f"{width_mm / 1e6:.3g} x {height_mm / 1e6:.3g} km"
    if max(width_mm, height_mm) >= 10_000:
        return f"{width_mm / 1000:.2f} x {height_mm / 1000:.2f} m"
    places = 2 if max(width_mm, height_mm) < 1000 else 1
    return f"{width_mm:.{places}f} x {height_mm:.{places}f} mm"
