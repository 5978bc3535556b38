"""Photographed chessboards beside the project, as the README in their folder lists them."""

from __future__ import annotations

import dataclasses

SQUARE_MM = 25.0


@dataclasses.dataclass(frozen=True, kw_only=True)
class Board:
    """Inner corners of a chessboard, and what the README says of them, per cent.

    `four` is max and rms of the other corners after a homography from the outermost four,
    `freed` the rms of the same with the lens's distortion taken out before.
    """

    name: str
    corners_px: tuple[tuple[float, float], ...]  # the outermost four, as listed
    inner: tuple[int, int]
    four: tuple[float, float]
    freed: float
    bowed: bool = True  # its lens bows, and four corners do not show that


BOARDS = [
    Board(
        name="ocv_left03",
        corners_px=((544.8, 390.8), (187.6, 257.4), (277.8, 72.1), (604.1, 168.1)),
        inner=(9, 6),
        four=(1.410, 0.901),
        freed=0.059,
    ),
    Board(
        name="ocv_left12",
        corners_px=((198.4, 408.9), (227.2, 81.9), (423.7, 71.2), (449.7, 408.1)),
        inner=(9, 6),
        four=(0.990, 0.729),
        freed=0.075,
    ),
    Board(
        name="ocv_right05",
        corners_px=((100.7, 436.0), (101.6, 115.3), (288.5, 59.8), (363.6, 384.5)),
        inner=(9, 6),
        four=(1.901, 1.259),
        freed=0.111,
    ),
    Board(
        name="lane_calibration3",
        corners_px=((1123.9, 557.5), (134.2, 567.8), (223.4, 79.4), (1022.1, 85.0)),
        inner=(9, 6),
        four=(1.695, 1.017),
        freed=0.166,
    ),
    Board(
        name="lane_calibration6",
        corners_px=((785.5, 428.1), (483.8, 429.3), (482.7, 242.2), (783.9, 239.2)),
        inner=(9, 6),
        four=(0.305, 0.166),
        freed=0.060,
    ),
    Board(
        name="lane_calibration17",
        corners_px=((906.3, 603.9), (415.8, 606.6), (402.6, 298.6), (930.1, 303.8)),
        inner=(9, 6),
        four=(0.934, 0.446),
        freed=0.171,
    ),
    Board(
        name="wide_GOPR0042",
        corners_px=((390.1, 302.9), (888.2, 300.6), (880.2, 640.9), (409.1, 655.7)),
        inner=(8, 6),
        four=(1.698, 1.257),
        freed=0.104,
    ),
    Board(
        name="wide_GOPR0060",
        corners_px=((279.4, 225.9), (1048.0, 306.9), (984.7, 724.0), (366.8, 862.7)),
        inner=(8, 6),
        four=(4.436, 3.140),
        freed=0.067,
    ),
    # no lens was measured for the last: its four corners alone reach this
    Board(
        name="bone_RHumerus",
        corners_px=((839.1, 637.6), (457.5, 625.9), (462.9, 436.2), (844.7, 447.8)),
        inner=(5, 3),
        four=(0.101, 0.066),
        freed=0.066,
        bowed=False,
    ),
]
