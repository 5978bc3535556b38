"""Does a measured clearance keep the margin: yes, no, or too close to say."""

from __future__ import annotations

from enum import StrEnum

from geometry.errors import InputError


class Verdict(StrEnum):
    """The three answers; the value is the word that people read."""

    FITS = "fits"
    DOUBTFUL = "doubtful"
    DOES_NOT_FIT = "does not fit"


def judge(clearance_mm: float, sigma_mm: float = 0.0, margin_mm: float = 0.0) -> Verdict:
    """Return whether a clearance keeps the margin, two standard deviations allowed for.

    Parameters
    ----------
    clearance_mm : float
        Least signed distance of the blank to the usable edge, negative when it sticks out.
    sigma_mm : float
        One standard deviation of that clearance, >= 0.
    margin_mm : float
        The clearance that is demanded.

    Raises
    ------
    InputError
        If a number is missing (NaN) or the uncertainty is negative.

    Examples
    --------
    >>> str(judge(2.0, 0.1, 1.5)), str(judge(1.6, 0.1, 1.5)), str(judge(1.2, 0.1, 1.5))
    ('fits', 'doubtful', 'does not fit')
    """
    if not (sigma_mm >= 0.0 and clearance_mm == clearance_mm and margin_mm == margin_mm):
        raise InputError(
            f"clearance {clearance_mm}, uncertainty {sigma_mm} and margin {margin_mm} mm "
            "cannot be judged.",
            where="Fit",
            remedy="Give three numbers, the uncertainty not negative.",
        )
    if clearance_mm - 2.0 * sigma_mm >= margin_mm:
        return Verdict.FITS
    if clearance_mm + 2.0 * sigma_mm < margin_mm:
        return Verdict.DOES_NOT_FIT
    return Verdict.DOUBTFUL
