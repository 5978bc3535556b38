"""How often the true edge lies within two stated standard deviations, by what was told.

19 places in 20 is what two deviations promise; 90 to 99 in 100 is aimed at. The photos' references
are drawn without error, which no hand does: "as by hand" tells lengths that are off by what a ruler
and a paper mill leave, one standard deviation each, so that the told doubt has something to cover.

"random lines" are sheets with one line of a usual length anywhere, at any angle, under a camera
that leans any way: the geometry alone, without a picture.
"""

from dataclasses import dataclass, replace

import numpy as np

from calibration.references import LineReference, RectangleReference, Reference, SheetReference
from tests.benchmarks.truth import TruePhoto, true_photos
from tests.calibration.tilted_lines import random_errors

RULED_MM = 0.25  # each end of a ruled line (trade practice)
CUT_MM = 0.5  # a side of copy paper; ISO 216 allows 2
HANDS = 3  # draws of those errors
TILTS_DEG = (0.0, 5.0, 10.0, 15.0, 20.0)
SCENES = 60  # random lines at each of these tilts
WAYS = ("sheet told", "drawing told", "as by hand", "one line, no edges")


@dataclass(frozen=True, kw_only=True)
class Share:
    """A share of places within two stated deviations."""

    what: str
    errors: np.ndarray
    sigmas: np.ndarray

    def __str__(self) -> str:
        z = self.errors / self.sigmas
        p95_mm, stated_mm = np.quantile(self.errors, 0.95), 2.0 * np.median(self.sigmas)
        return (
            f"{self.what:34} covered {np.mean(z <= 2.0):6.1%}  error p95 {p95_mm:6.3f} mm  "
            f"stated 2 s {stated_mm:6.3f} mm  rms z {np.sqrt(np.mean(z**2)):.2f}"
        )


def rows() -> list[Share]:
    shares: dict[str, list[Share]] = {way: [] for way in WAYS}
    for true in true_photos():
        for way, found in shares.items():
            found += [
                share
                for seed in range(HANDS if way == "as by hand" else 1)
                if (share := _share(true, way, seed)) is not None
            ]
    every = [share for found in shares.values() for share in found]
    pooled = [_pooled(f"all photos, {way}", found) for way, found in shares.items() if found]
    together = [_pooled("all photos, all ways", every)] if every else []
    lines = [_random_lines(tilt_deg) for tilt_deg in TILTS_DEG]
    return [*every, *pooled, *together, *lines, _pooled("random lines, all tilts", lines)]


def _random_lines(tilt_deg: float) -> Share:
    random = np.random.default_rng(int(tilt_deg))
    errors, sigmas = np.hstack([random_errors(random, tilt_deg) for _ in range(SCENES)])
    return Share(what=f"random lines, tilt {tilt_deg:.0f}", errors=errors, sigmas=sigmas)


def _share(true: TruePhoto, way: str, seed: int) -> Share | None:
    references = true.drawn()
    if way == "one line, no edges":
        references = list(true.one_line())
    elif way != "drawing told":
        references.append(true.sheet())
    if way == "as by hand":
        references = _as_by_hand(references, np.random.default_rng([seed, int(true.name[1:])]))
    if not references:
        return None
    found = true.captured(references, recognise_sheet=way != "one line, no edges")
    errors, sigmas = true.errors(found)
    return Share(what=f"{true.name} {way}", errors=errors, sigmas=sigmas)


def _as_by_hand(references: list[Reference], random: np.random.Generator) -> list[Reference]:
    """Return the references told as if they were drawn and cut with usual errors."""

    def off(sigma_mm: float) -> float:
        return float(random.normal(0.0, sigma_mm))

    told: list[Reference] = []
    for one in references:
        if isinstance(one, LineReference):
            told.append(replace(one, length_mm=one.length_mm + off(RULED_MM * 2**0.5)))
        elif isinstance(one, RectangleReference | SheetReference):
            sigma_mm = CUT_MM if isinstance(one, SheetReference) else RULED_MM * 2**0.5
            told.append(
                replace(
                    one,
                    width_mm=one.width_mm + off(sigma_mm),
                    height_mm=one.height_mm + off(sigma_mm),
                )
            )
    return told


def _pooled(what: str, shares: list[Share]) -> Share:
    return Share(
        what=what,
        errors=np.concatenate([share.errors for share in shares]),
        sigmas=np.concatenate([share.sigmas for share in shares]),
    )
