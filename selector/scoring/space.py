"""Scratch arrays that a thread keeps from piece to piece and from call to call: asking the system for them again costs
as much as the arithmetic done in them.
"""

import threading
from math import prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

MOST_KEPT_BYTES = 16 * 2**20


class Space:
    """Scratch arrays by name; what one holds is lost when the name is taken again."""

    def __init__(self) -> None:
        self._arrays: dict[str, NDArray[Any]] = {}
        self._tiles: dict[tuple[int, int, str], NDArray[Any]] = {}

    def array(self, name: str, shape: tuple[int, ...], kind: Any) -> NDArray[Any]:
        """Return an array of this shape and type, with anything in it."""
        size = prod(shape) * np.dtype(kind).itemsize
        if name not in self._arrays or self._arrays[name].size < size:
            self._arrays[name] = np.empty(size, np.uint8)
        found: NDArray[Any] = self._arrays[name][:size].view(kind).reshape(shape)
        return found

    def tile(self, count: int, step: int, rows: int, kind: Any) -> NDArray[Any]:
        """Return 0, step, 2 step ... in every row; not to be written to.

        Contiguous, since broadcasting over short rows costs twice as much.
        """
        key = (count, step, np.dtype(kind).str)
        if key not in self._tiles or len(self._tiles[key]) < rows:
            self._tiles[key] = np.tile(np.arange(count, dtype=kind) * np.dtype(kind).type(step), (rows, 1))
        return self._tiles[key][:rows]

    @property
    def bytes(self) -> int:
        """Return how much memory the arrays take."""
        return sum(each.nbytes for kept in (self._arrays, self._tiles) for each in kept.values())


_KEPT = threading.local()


def borrowed() -> Space:
    """Return this thread's scratch arrays; give them back with `returned`."""
    space: Space = getattr(_KEPT, "space", None) or Space()
    _KEPT.space = None
    return space


def returned(space: Space) -> None:
    """Keep scratch arrays for the next call of this thread, unless they are large."""
    _KEPT.space = space if space.bytes <= MOST_KEPT_BYTES else None
