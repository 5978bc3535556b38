"""The proven roomiest pose and largest scale of every instance beside the project.

CPU seconds, set-up and proof included, beside what general methods take merely to find a pose, each
on the same objective, its set-up left out, and measured exactly at the end. Nelder-Mead may stop
within 0.02 mm of what it would end with if started at the proven pose: the objective is a little
blunt, and that is not held against it. Run with one thread: ``OMP_NUM_THREADS=1``.
"""

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from shapely import Polygon

from geometry.clearance import UsableRegion
from geometry.largest import largest
from geometry.placement import Placement, roomiest
from geometry.pose import Pose
from tests.benchmarks.rival_poses import RIVALS, Found, Objective, climbed, found_by

FITS = Path(__file__).resolve().parent.parent.parent.parent / "shared" / "fits"
QUICK = ("f03_", "f07_", "f12_", "f15_", "f19_", "scale_square_in_hexagon")
NEAR_MM = 0.02
AIM = "aimed at: ordinary median 0.15, worst 0.5; bars 1; round plates 5 s; never worse; ratio <= 3"


def rows() -> Iterator[str]:
    yield from _rows(sorted(FITS.glob("*.json")))


def quick_rows() -> Iterator[str]:
    paths = sorted(FITS.glob("*.json"))
    yield from _rows([path for path in paths if path.name.startswith(QUICK)])


def _rows(paths: list[Path]) -> Iterator[str]:
    if not paths:
        yield "the placement instances are not beside the project"
        return
    given = [json.loads(path.read_text(encoding="utf-8")) for path in paths]
    yield from _largest([one for one in given if one["problem"] == "largest_scale"])
    ours, rivals, worse = [], [], []
    yield (
        f"{'roomiest':32} {'s':>6} {'boxes':>7} {'clearance':>9} {'bound':>8} {'gap':>6}  "
        + " ".join(f"{name:>20}" for name in RIVALS)
    )
    for one in [one for one in given if one["problem"] == "roomiest"]:
        seconds, found, others = _compared(one)
        ours.append(seconds)
        rivals.append(others["Nelder-Mead"].seconds)
        best_mm = max(each.clearance_mm for each in others.values())
        worse.append(best_mm - found.clearance.value_mm)
        yield _line(one["name"], seconds, found, others)
    ratios = np.array(ours) / np.array(rivals)
    yield (
        f"median {np.median(ours):.2f} s, worst {max(ours):.2f} s; against Nelder-Mead's time to "
        f"find it, median of the ratios {np.median(ratios):.2f}, worst {ratios.max():.2f}; "
        f"a rival's pose was better by {max(worse):.4f} mm at most"
    )
    yield AIM


def _shapes(given: dict[str, Any]) -> tuple[Polygon, Polygon]:
    region = given["region"]
    return Polygon(given["outline"]), Polygon(region["outer"], region["holes"])


def _largest(given: list[dict[str, Any]]) -> Iterator[str]:
    yield f"{'largest':32} {'s':>6} {'boxes':>7} {'scale':>9} {'bound':>8} {'known':>8}"
    for one in given:
        outline, steel = _shapes(one)
        start = time.process_time()
        found = largest(outline, steel, margin_mm=one["margin_mm"], mirror=one["mirror_allowed"])
        seconds = time.process_time() - start
        yield (
            f"{one['name']:32} {seconds:6.2f} {found.boxes:7d} {found.pose.scale:9.4f} "
            f"{found.upper_bound_scale:8.4f} {one['known']['scale']:8.4f}"
            f"{'' if found.proven else '  NOT PROVEN'}"
        )


def _compared(given: dict[str, Any]) -> tuple[float, Placement, dict[str, Found]]:
    outline, steel = _shapes(given)
    mirror = given["mirror_allowed"]
    start = time.process_time()
    found = roomiest(outline, steel, mirror=mirror)
    seconds = time.process_time() - start
    region = UsableRegion(steel)

    def exact_mm(pose: Pose) -> float:
        return region.clearance(pose.shape(outline)).value_mm

    faces = [False, True] if mirror else [False]
    objectives = [Objective(outline, steel, mirrored=face) for face in faces]
    own = objectives[int(found.pose.mirrored)]
    blunt_mm = exact_mm(own.pose(climbed(own, own.numbers(found.pose))))
    enough_mm = min(blunt_mm, found.clearance.value_mm) - NEAR_MM
    others = {name: found_by(name, objectives, exact_mm, enough_mm) for name in RIVALS}
    return seconds, found, others


def _line(name: str, seconds: float, found: Placement, others: dict[str, Found]) -> str:
    value, bound = found.clearance.value_mm, found.upper_bound_mm
    rest = " ".join(
        f"{each.seconds:7.2f} s {each.clearance_mm:8.3f} mm" for each in others.values()
    )
    return (
        f"{name:32} {seconds:6.2f} {found.boxes:7d} {value:9.3f} {bound:8.3f} "
        f"{bound - value:6.3f}  {rest}{'' if found.proven else '  NOT PROVEN'}"
    )
