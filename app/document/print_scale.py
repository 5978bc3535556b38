"""A printer's own error in x and y, told from a print that was scaled by mistake."""

from __future__ import annotations

import math

from geometry.errors import InputError

LOWEST, HIGHEST = 0.97, 1.03  # beyond, a print was scaled: no machine is this far off
LETTER_MM, A4_MM = (215.9, 279.4), (210.0, 297.0)


def _fitted(page: tuple[float, float], sheet: tuple[float, float], margin_mm: float = 0.0) -> float:
    """Return the ratio by which a page shrinks to lie inside a sheet's margins."""
    return min((room - 2 * margin_mm) / side for side, room in zip(page, sheet, strict=True))


MARGINS_IN = ((3.175, "1/8"), (25.4 / 6, "1/6"), (6.35, "1/4"))
# Printed over asked length, and what makes it.
CAUSES: tuple[tuple[float, str], ...] = (
    *(
        (_fitted(sheet, sheet, margin_mm), f"the page was fitted inside margins of {inch} in")
        for sheet in (LETTER_MM, A4_MM)
        for margin_mm, inch in MARGINS_IN
    ),
    (_fitted(A4_MM, LETTER_MM), "an A4 page was fitted on Letter paper"),
    (_fitted(LETTER_MM, A4_MM), "a Letter page was fitted on A4 paper"),
    (72 / 96, "72 and 96 dots to the inch were confused"),
    (96 / 72, "72 and 96 dots to the inch were confused"),
    (25.4, "inches and millimetres were confused"),
    (1 / 25.4, "inches and millimetres were confused"),
)
CLOSE = 0.0012  # a 100 mm bar is read to about 0.1 mm


def likely_causes(ratio: float) -> tuple[str, ...]:
    """Return what makes prints come out at a ratio of printed to asked length, nearest first.

    Examples
    --------
    >>> likely_causes(0.75)
    ('72 and 96 dots to the inch were confused',)
    """
    near = sorted((abs(ratio / cause - 1.0), words) for cause, words in CAUSES)
    return tuple(words for off, words in near if off <= CLOSE)


def stretch_for(ratio: float, where: str) -> float:
    """Return by how much to stretch a drawing for a printer that prints lengths at a ratio.

    Parameters
    ----------
    ratio : float
        Printed over asked length of a bar of an earlier print.
    where : str
        The field or option, for the message.

    Returns
    -------
    float
        Asked over printed.

    Raises
    ------
    InputError
        If the ratio is not the error of a printer; the message names the likely cause.

    Examples
    --------
    >>> round(stretch_for(0.99, "--correct-x"), 6)
    1.010101
    """
    if LOWEST <= ratio <= HIGHEST:
        return 1.0 / ratio
    causes = likely_causes(ratio) if math.isfinite(ratio) else ()
    guess = f"Most likely {causes[0]}." if causes else "The print dialog scaled it."
    raise InputError(
        f"a bar printed at {100 * ratio:.2f} % of its length is not a printer's own error, which "
        f"stays within {100 * LOWEST:.0f} and {100 * HIGHEST:.0f} %. {guess}",
        where=where,
        remedy="Print again at 100 %, with no fitting to the page, and measure again.",
    )


def stretch_line(stretch_x: float, stretch_y: float) -> str:
    """Return what the sheet says of its corrections; nothing when there are none.

    Examples
    --------
    >>> stretch_line(1.0, 1.0), stretch_line(1.004, 1.0)
    ('', 'Drawn × 1.00400 across and × 1.00000 up to correct this printer.')
    """
    if stretch_x == 1.0 and stretch_y == 1.0:
        return ""
    return f"Drawn × {stretch_x:.5f} across and × {stretch_y:.5f} up to correct this printer."
