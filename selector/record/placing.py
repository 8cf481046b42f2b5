"""Where the words beside the lines of a chart stand: each where its line is farthest from every other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

Line = Sequence[tuple[float, float]]

WIDTH, HEIGHT = 640.0, 320.0
NARROW = 320.0
CHARACTER, LINE_HEIGHT = 6.6, 14.0
# Beside a steep line there is more room than above it.
BESIDE = 8.0
OFFSETS = (13.0, -13.0, 26.0, -26.0)
STEP = 6.0
ENOUGH = 24.0
SMALL_COST = 0.02
TAKEN = 1000.0


@dataclass(frozen=True)
class Placed:
    """A word at a place, in the units of the axes, written about its middle."""

    name: str
    x: float
    y: float


def placed(
    lines: Mapping[str, Line], x_domain: tuple[float, float], y_domain: tuple[float, float], narrow: bool = False
) -> list[Placed]:
    """Return a place for the name of every line that has a point.

    Parameters
    ----------
    lines : mapping of name to points
        A point with NaN breaks a line.
    x_domain, y_domain : tuple of float
        What the axes span.
    narrow : bool
        Whether the plot may be half as wide, as on a telephone.

    Notes
    -----
    Reckoned on a plot of 640 by 320 pixels, a narrow one on 320; another size moves the words with their lines.
    """
    dense = {name: _dense(line, x_domain, y_domain) for name, line in lines.items()}
    boxes: list[tuple[float, float, float]] = []
    found = []
    for name, own in dense.items():
        if not len(own):
            continue
        others = np.concatenate([line for other, line in dense.items() if other != name and len(line)] or [own[:0]])
        half = len(name) * CHARACTER / 2 * (WIDTH / NARROW if narrow else 1)
        x, y = _best(own, others, boxes, half)
        boxes.append((x, y, half))
        found.append(
            Placed(
                name,
                x_domain[0] + x / WIDTH * (x_domain[1] - x_domain[0]),
                y_domain[0] + y / HEIGHT * (y_domain[1] - y_domain[0]),
            )
        )
    return found


def _dense(line: Line, x_domain: tuple[float, float], y_domain: tuple[float, float]) -> np.ndarray:
    """Return points some pixels apart all along a line."""
    spans = (x_domain[1] - x_domain[0] or 1.0, y_domain[1] - y_domain[0] or 1.0)
    points = np.array(line, dtype=float).reshape(-1, 2)
    points = (points - [x_domain[0], y_domain[0]]) / spans * [WIDTH, HEIGHT]
    pieces = [points[:1]]
    for upper, lower in pairwise(points):
        length = np.hypot(*(lower - upper))
        if np.isfinite(length):
            pieces.append(np.linspace(upper, lower, int(length // STEP) + 2)[1:])
        else:
            pieces.append(lower[None, :])
    dense = np.concatenate(pieces)
    return np.asarray(dense[np.isfinite(dense).all(axis=1)])


def _best(
    own: np.ndarray, others: np.ndarray, boxes: list[tuple[float, float, float]], half: float
) -> tuple[float, float]:
    """Return the middle of the box beside a line that keeps most clear of everything."""
    best, place = -np.inf, (float(own[0, 0]), float(own[0, 1]))
    for x, y in own:
        # Where two lines lie on each other a name would belong to both.
        alone = min(_clearance(others, float(x), float(y), 0.0), ENOUGH)
        moved = [(0.0, offset) for offset in OFFSETS] + [(half + BESIDE, 0.0), (-half - BESIDE, 0.0)]
        for aside, offset in moved:
            # A word never leaves the plot; at its edge it stands beside the line's end.
            middle = float(np.clip(x + aside, half, WIDTH - half))
            height = y + offset
            if not LINE_HEIGHT / 2 <= height <= HEIGHT - LINE_HEIGHT / 2:
                continue
            clear = alone + min(_clearance(others, middle, height, half), ENOUGH)
            if _clearance(own, middle, height, half) <= 1:
                clear -= ENOUGH
            for other_x, other_y, other_half in boxes:
                if abs(other_x - middle) < other_half + half and abs(other_y - height) < LINE_HEIGHT:
                    clear -= TAKEN
            # Among places as good, the one next to its line and nearest to the middle of it.
            score = clear - SMALL_COST * abs(offset) * 10 - SMALL_COST * abs(middle - WIDTH / 2) / 10
            if score > best:
                best, place = score, (middle, float(height))
    return place


def _clearance(points: np.ndarray, x: float, y: float, half: float) -> float:
    """Return how far the nearest point lies from a box, pixels; 0 inside it."""
    if not len(points):
        return ENOUGH
    beside = np.maximum(np.abs(points[:, 0] - x) - half, 0)
    above = np.maximum(np.abs(points[:, 1] - y) - LINE_HEIGHT / 2, 0)
    return float(np.hypot(beside, above).min())
