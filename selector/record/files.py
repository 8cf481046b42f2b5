"""Writing a chart or a text to a file that a person named."""

from pathlib import Path
from typing import TYPE_CHECKING

from selector.errors import Fault, InputError, shown
from selector.record import theme

if TYPE_CHECKING:
    import altair as alt

CHART_WIDTH = 640
PIXELS_A_POINT = 2
ENDINGS = (".svg", ".png")


def output_faults(path: Path | None) -> list[Fault]:
    """Return what is wrong with the name of a file for a chart, before anything is computed for it."""
    if path is None:
        return []
    faults, given = [], shown(str(path))
    if path.suffix.lower() not in ENDINGS:
        faults.append(Fault("--output", "is neither SVG nor PNG by its ending", given, "a name in .svg or .png"))
    if path.is_dir():
        faults.append(Fault("--output", "is a folder", given, "a file", "name a file in it"))
    elif not path.parent.is_dir():
        faults.append(Fault("--output", "lies in a folder that does not exist", given, remedy="make the folder first"))
    return faults


def write_chart(chart: "alt.LayerChart | alt.VConcatChart", path: Path, dark: bool = False) -> int:
    """Write a chart as SVG or PNG, as the ending of the name says, and return its size in bytes.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    import vl_convert

    look = theme.config(dark) | {"background": theme.GROUND[dark]}
    specification = chart.configure(**look).to_json()
    if path.suffix.lower() == ".svg":
        content = vl_convert.vegalite_to_svg(specification).encode()
    else:
        content = vl_convert.vegalite_to_png(specification, scale=PIXELS_A_POINT)
    return write(path, content)


def write(path: Path, content: bytes) -> int:
    """Write a file that a person named, and return its size in bytes.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    try:
        return path.write_bytes(content)
    except OSError as error:
        raise InputError(
            "the output file", [Fault(str(path), f"cannot be written ({error.strerror})", remedy="name another file")]
        ) from None
