"""Strokes thinned to lines one pixel wide, and what such lines enclose.

Only the ink's own pixels are visited, so that a sheet of mostly bare paper costs little.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Indices = NDArray[np.intp]


def _neighbour_tables() -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
    """Return for each pattern of eight neighbours whether a step takes the middle pixel away.

    The steps are the two of thinning, and the removal of loose ends.  Zhang and Suen, A fast
    parallel algorithm for thinning digital patterns, Communications of the ACM 27 (1984),
    236-239.  Neighbours run clockwise from the one above.
    """
    bits = (np.arange(256)[:, None] >> np.arange(8)) & 1
    count = bits.sum(axis=1)
    rises = ((bits == 0) & (np.roll(bits, -1, axis=1) == 1)).sum(axis=1)
    up, right, down, left = bits[:, 0], bits[:, 2], bits[:, 4], bits[:, 6]
    common = (count >= 2) & (count <= 6) & (rises == 1)
    first = common & (up * right * down == 0) & (right * down * left == 0)
    second = common & (up * right * left == 0) & (up * down * left == 0)
    return first, second, (count <= 1) | ((count == 2) & (rises == 1))


FIRST, SECOND, LOOSE = _neighbour_tables()


def thinned(mask: Mask) -> Mask:
    """Return the strokes of a mask, one pixel wide, ends and loops kept."""
    flat, offsets = _padded(mask)
    pixels = np.flatnonzero(flat)
    while len(pixels):
        before = len(pixels)
        for table in (FIRST, SECOND):
            gone = table[_codes(flat, pixels, offsets)]
            flat[pixels[gone]] = False
            pixels = pixels[~gone]
        if len(pixels) == before:
            break
    return _unpadded(flat, mask.shape)


def without_loose_ends(lines: Mask) -> Mask:
    """Return only the lines that enclose something: dead ends are eaten away to their roots."""
    flat, offsets = _padded(lines)
    listed = np.zeros(len(flat), bool)
    pixels = np.flatnonzero(flat)
    while len(pixels):
        loose = pixels[LOOSE[_codes(flat, pixels, offsets)]]
        # of two loose neighbours the first goes, the second is asked again: a loop whose
        # corner they share must not lose both
        listed[loose] = True
        second = listed[loose[:, None] + offsets[offsets < 0]].any(axis=1)
        listed[loose] = False
        taken = loose[~second]
        flat[taken] = False
        around = (taken[:, None] + offsets).ravel()
        pixels = np.unique(np.concatenate([around[flat[around]], loose[second]]))
    return _unpadded(flat, lines.shape)


def loose_ends(lines: Mask) -> NDArray[np.intp]:
    """Return the (N, 2) places, x and y, where a line stops."""
    flat, offsets = _padded(lines)
    pixels = np.flatnonzero(flat)
    ends = pixels[LOOSE[_codes(flat, pixels, offsets)]]
    width = lines.shape[1] + 2
    return np.column_stack([ends % width - 1, ends // width - 1])


def _padded(mask: Mask) -> tuple[Mask, Indices]:
    padded = np.pad(mask, 1)
    width = padded.shape[1]
    offsets = np.array([-width, -width + 1, 1, width + 1, width, width - 1, -1, -width - 1])
    return padded.ravel(), offsets


def _unpadded(flat: Mask, shape: tuple[int, ...]) -> Mask:
    return np.ascontiguousarray(flat.reshape(shape[0] + 2, shape[1] + 2)[1:-1, 1:-1])


def _codes(flat: Mask, pixels: Indices, offsets: Indices) -> NDArray[np.uint8]:
    around = flat[pixels[:, None] + offsets]
    return np.packbits(around, axis=1, bitorder="little")[:, 0]
