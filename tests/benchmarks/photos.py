"""Whole captures of the photos with known truth: their error, their stated doubt, their time.

The error is what the scorer beside the photos says (95th percentile of the distance between the
measured and the true edge, registered without scale, and its mean with its sign); covered is the
share of the edge whose true place is within two stated standard deviations. The rival is reading
the file's pixels.
"""

import time

import numpy as np

from calibration.references import Reference
from tests.benchmarks.timing import Row, least_seconds
from tests.benchmarks.truth import TruePhoto, true_photos


def rows() -> list[Row]:
    return [
        _row(true, told, references)
        for true in true_photos()
        for told, references in (
            ("sheet told", [*true.drawn(), true.sheet()]),
            ("line only", true.drawn()),
        )
    ]


def _row(true: TruePhoto, told: str, references: list[Reference]) -> Row:
    start = time.perf_counter()
    found = true.captured(references)
    seconds = time.perf_counter() - start
    p95, bias = true.score(found)
    errors, sigmas = true.errors(found)
    covered = float(np.mean(errors <= 2 * sigmas))
    return Row(
        what=f"{true.name} {told}: p95 {p95:.3f} bias {bias:+.3f} mm, covered {covered:.0%}",
        seconds=seconds,
        rival_seconds=least_seconds(true.load, calls=1),
        aim="p95 <= 0.2 mm, steel 0.4",
    )
