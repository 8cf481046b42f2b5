"""What was computed once is kept on disk, by composition and by the hash of what it was computed from."""

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import asdict, fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from selector.composition import Composition
from selector.melting.alloy import Melting, melt
from selector.melting.database import MISSING
from selector.melting.parameters import thermo
from selector.policy import policy

# Counted up when the engine computes something else from the same tables.
ENGINE = "2"
FOLDER_VARIABLE = "MELTWISE_CACHE"


def inputs_hash(key: str) -> str:
    """Return a short hash of everything that a computed result rests on: engine, tables, policy, composition."""
    rules = policy().remelt
    figures = (rules.mass_fraction_percent, rules.trace_mass_percent, rules.gathered_within_k, rules.near_share)
    return hashlib.sha256("|".join((ENGINE, thermo().hash, str(figures), key)).encode()).hexdigest()[:16]


def composition_key(alloy: Composition) -> str:
    """Return a composition as an exact text, whatever it was written as."""
    return ";".join(f"{element}:{wt}" for element, wt in sorted(alloy.parts))


def cache_folder() -> Path:
    """Return where results are kept: the user's cache, or the folder that MELTWISE_CACHE names."""
    named = os.environ.get(FOLDER_VARIABLE)
    if named:
        return Path(named)
    from platformdirs import user_cache_dir

    return Path(user_cache_dir("meltwise", appauthor=False)) / "melting"


def remembered(kind: str, key: str, make: Callable[[], Any]) -> Any:
    """Return a result from the disk, or make it and keep it.

    A file that cannot be read, or a folder that cannot be written, only costs the time to compute again.
    """
    path = cache_folder() / f"{kind}-{inputs_hash(key)}.json"
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        pass
    made = make()
    _write(path, made)
    return made


def _write(path: Path, content: Any) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        # Written beside and renamed, so that another process never reads half a file.
        handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(content, file)
        Path(name).replace(path)
    except OSError:
        return


def melting_of(
    alloys: Sequence[Composition], told: Callable[[int], None] | None = None, full: bool = True
) -> tuple[Melting, ...]:
    """Return how alloys melt, each computed at most once.

    Parameters
    ----------
    alloys : sequence of Composition
    told : callable, optional
        Called with how many of those not kept are done.
    full : bool
        As of `melt`: without it what was kept in full is taken where it is there.

    Raises
    ------
    InputError
        As `melt`.
    """
    folder = cache_folder()
    paths: dict[Composition, list[Path]] = {}
    for alloy in alloys:
        key = inputs_hash(composition_key(alloy))
        paths[alloy] = [folder / f"{kind}-{key}.json" for kind in (("alloy",) if full else ("alloy", "solidus"))]
    found: dict[Composition, Melting] = {}
    for alloy, places in paths.items():
        kept = next(filter(None, map(_kept, places)), None)
        if kept is not None:
            found[alloy] = kept
    missing = [alloy for alloy in paths if alloy not in found]
    if missing:
        for alloy, result in zip(missing, melt(missing, told=told, full=full), strict=True):
            found[alloy] = result
            if str(MISSING) not in result.failures:
                # Kept, it would hide what the solver tells once it is installed.
                _write(paths[alloy][-1], asdict(result))
            _kept.cache_clear()
    return tuple(found[alloy] for alloy in alloys)


@lru_cache(maxsize=512)
def _kept(path: Path) -> Melting | None:
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(content, dict) or set(content) != {entry.name for entry in fields(Melting)}:
        return None
    return Melting(**{name: _frozen(value) for name, value in content.items()})


def _frozen(value: Any) -> Any:
    return tuple(_frozen(entry) for entry in value) if isinstance(value, list) else value
