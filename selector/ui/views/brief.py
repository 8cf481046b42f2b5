"""The brief as fields and tables. What is typed is kept as typed; faults stand beside it until it is mended."""

from typing import Any

import pandas as pd
import streamlit as st

from selector import link
from selector.brief import dumps
from selector.datafiles import LARGEST_FILE_BYTES, decoded
from selector.errors import Fault, InputError
from selector.fields import UNKNOWN
from selector.findings import finding
from selector.record.labels import LABELS, Label
from selector.ui import state
from selector.ui.decisions import decided
from selector.ui.say import plain
from selector.ui.typed import cell_text, field_text, read_cell, read_field
from selector.ui.views import anchors, brief_board, moved

NOT_KNOWN = "not known"
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Product", ("title", "ipc_class", "incumbent", "use.equipment")),
    (
        "Use",
        (
            "use.worn",
            "use.skin_contact",
            "use.sweat_or_chloride",
            "use.sealed",
            "use.sold_to_public",
            "use.medical",
            "use.automotive",
            "service.shock",
        ),
    ),
    ("Service", ("service.minimum_c", "service.maximum_c", "service.cyclic_range_k", "service.cycles_per_day")),
    (
        "Board",
        (
            "board.base",
            "board.base_limit_c",
            "board.base_limit_plus_minus_k",
            "board.adhesive",
            "board.adhesive_limit_c",
            "board.adhesive_limit_plus_minus_k",
        ),
    ),
    (
        "Process",
        (
            "process.superheat_k",
            "process.board_spread_k",
            "process.oven_above_joint_k",
            "process.heating",
            "process.form",
            "process.powder_type",
        ),
    ),
)
ALWAYS_KNOWN = ("process.heating",)
COLUMNS = {
    "parts": (
        "name",
        "kind",
        "rating_c",
        "rating_plus_minus_k",
        "rating_at",
        "finish",
        "ball_alloy",
        "lead_bearing",
        "thickness_mm",
        "volume_mm3",
        "pitch_mm",
        "ball_diameter_mm",
        "pad_diameter_mm",
        "aperture_mm",
    ),
    "markets": ("market", "date", "date_kind"),
    "bans": ("element", "limit_ppm", "reason"),
    "steps": brief_board.STEP_COLUMNS,
}
TITLES = {"parts": "Parts", "markets": "Markets", "bans": "Customers' bans", "steps": "Soldering steps"}


def show() -> None:
    """Draw the page and take over what was typed."""
    case = state.current()
    st.header("Brief")
    top = st.container()
    raw: state.Raw = {
        key: value for key, value in case.raw.items() if key in ("schema_version", "preferences", "overrides")
    }
    for title, paths in GROUPS:
        st.subheader(title)
        _fields(case, raw, paths)
    with st.expander(brief_board.FOLD):
        for title, paths in brief_board.GROUPS:
            st.markdown(f"**{title}**")
            _fields(case, raw, paths)
    raw.setdefault("process", {})["routes"] = case.raw.get("process", {}).get("routes", ["reflow"])
    for table in COLUMNS:
        rows = _table(case, table)
        if rows or table in case.raw:
            raw[table] = rows
    told = case.faults
    case = state.put(_as_before(raw, case.raw))
    if case.faults != told:
        # The fields above were drawn with the faults of the run before.
        st.rerun()
    with top:
        _summary(case)
    anchors.show(case)
    _files(case)


def _fields(case: state.Case, raw: state.Raw, paths: tuple[str, ...]) -> None:
    """Draw fields in four columns and put what they hold into the tables."""
    columns = st.columns(4)
    for place, path in enumerate(paths):
        with columns[place % 4]:
            _put(raw, path, _field(case, path))


def _as_before(raw: state.Raw, before: state.Raw) -> state.Raw:
    """Return the old tables where nothing but the spelling of unknown and empty entries differs."""
    return before if link.said(raw) == link.said(before) else raw


def _put(raw: state.Raw, path: str, value: object) -> None:
    if value is None:
        return
    *tables, name = path.split(".")
    for table in tables:
        raw = raw.setdefault(table, {})
    raw[name] = value


def _get(raw: state.Raw, path: str) -> object:
    value: Any = raw
    for step in path.split("."):
        value = value.get(step, UNKNOWN) if isinstance(value, dict) else UNKNOWN
    return value


def _field(case: state.Case, path: str) -> object:
    """Draw one field with what is allowed and its faults; return what it holds, None where it is not known."""
    label, key = LABELS[path], f"{case.generation}:{path}"
    if key not in st.session_state:
        st.session_state[key] = field_text(_get(case.raw, path), label, NOT_KNOWN)
    if label.choices:
        choices = [*label.choices] if path in ALWAYS_KNOWN else [NOT_KNOWN, *label.choices]
        if st.session_state[key] not in choices:
            choices.append(st.session_state[key])
        text = st.selectbox(label.text, choices, key=key)
    else:
        text = st.text_input(label.text, key=key, placeholder=NOT_KNOWN, help=_allowed(label))
        if label.allowed:
            st.caption(label.allowed)
    for fault in case.faults:
        if fault.where.endswith(f": {path}"):
            st.error(plain(_said(fault)))
    return read_field(path, text, label, NOT_KNOWN)


def _allowed(label: Label) -> str:
    return f"Allowed: {label.allowed}. Leave it empty where it is not known." if label.allowed else ""


def _said(fault: Fault) -> str:
    got = f" (got {fault.value})" if fault.value else ""
    allowed = f"; allowed: {fault.allowed}" if fault.allowed else ""
    return f"{fault.problem}{got}{allowed}"


def _table(case: state.Case, table: str) -> list[dict[str, object]]:
    """Draw one table that can be typed and pasted into; return its rows as typed, empty ones dropped."""
    st.subheader(TITLES[table])
    names = COLUMNS[table]
    labels = {name: LABELS[f"{table}.{name}"] for name in names}
    limits = [f"{label.text}: {label.allowed}" for label in labels.values() if label.allowed]
    st.caption("; ".join([*limits, "an empty cell is not known. Rows can be pasted from a spreadsheet."]))
    count_key, source_key = f"{case.generation}:{table}:visit", f"{case.generation}:{table}:source"
    key = f"{case.generation}:{table}:{st.session_state.get(count_key, 0)}"
    if key not in st.session_state or source_key not in st.session_state:
        # A name of its own for every visit: under an old one the browser still holds the edits of the last visit and
        # takes a figure typed back to what it once was for no edit at all.
        st.session_state[count_key] = st.session_state.get(count_key, 0) + 1
        key = f"{case.generation}:{table}:{st.session_state[count_key]}"
        rows = case.raw.get(table) or []
        data = [{name: cell_text(row.get(name, UNKNOWN), labels[name]) for name in names} for row in rows]
        st.session_state[source_key] = pd.DataFrame(data, columns=list(names), dtype="object").fillna("")
    config = {
        name: st.column_config.SelectboxColumn(label.text, options=list(label.choices))
        if label.choices
        else st.column_config.TextColumn(label.text, help=label.allowed or None)
        for name, label in labels.items()
    }
    edited = st.data_editor(
        st.session_state[source_key],
        key=key,
        num_rows="dynamic",
        hide_index=True,
        width="stretch",
        column_config=config,
    )
    for fault in case.faults:
        where = fault.where.split(": ", 1)[-1]
        if where.startswith(f"{table}["):
            row, _, column = where.removeprefix(f"{table}[").partition("]")
            name = labels[column[1:]].title if column[1:] in labels else column[1:]
            st.error(plain(f"Row {int(row) + 1}, {name}: {_said(fault)}"))
    read = [
        {name: value for name in names if (value := read_cell(f"{table}.{name}", row[name], labels[name])) is not None}
        for row in edited.to_dict("records")
    ]
    return [row for row in read if row]


def _summary(case: state.Case) -> None:
    if case.faults:
        st.error(
            f"{len(case.faults)} fault{'s' if len(case.faults) != 1 else ''} below. The other pages show the last"
            " brief without faults."
        )
        elsewhere = [fault for fault in case.faults if not _shown_below(fault)]
        for fault in elsewhere:
            st.error(plain(f"{fault.where.split(': ', 1)[-1]}: {_said(fault)}"))
    else:
        st.markdown(f"**{plain(finding(decided(case.brief)))}**")
        moved.show(case)


def _shown_below(fault: Fault) -> bool:
    where = fault.where.split(": ", 1)[-1]
    shown = {path for _, paths in (*GROUPS, *brief_board.GROUPS) for path in paths}
    return where in shown or where.split("[")[0] in COLUMNS


def _files(case: state.Case) -> None:
    st.subheader("Open, save, share")
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    with left:
        name = st.selectbox("Open an example brief", state.SHIPPED, key="shipped_choice")
        if st.button("Open it", key="open_shipped"):
            state.open_shipped(name)
            st.rerun()
    with middle:
        taken = st.file_uploader("Open a TOML file", type=["toml"], key=f"{case.generation}:upload")
        if taken is not None and st.button("Open the file", key="open_file"):
            _open_upload(taken.getvalue(), taken.name)
    with right:
        if case.faults:
            st.caption("Saving waits until the faults are mended.")
        else:
            st.download_button(
                "Save as TOML", dumps(case.brief), "brief.toml", "application/toml", on_click="ignore", key="save"
            )
    if case.faults:
        st.caption("Sharing waits until the faults are mended.")
        return
    try:
        st.caption("Link to hand over; what a customer bans and whose weights apply are not in it:")
        st.code(state.shareable(case.raw), language=None, wrap_lines=True)
    except InputError as error:
        st.info(plain(error.faults[0]))


def _open_upload(content: bytes, name: str) -> None:
    try:
        if len(content) > LARGEST_FILE_BYTES:
            raise InputError(name, [Fault(name, "is too large", f"{len(content):,} bytes", "at most 1 MB")])
        state.open_text(decoded(content, name, name), name)
    except InputError as error:
        st.error("\n".join(f"- {plain(fault)}" for fault in error.faults))
        return
    st.rerun()
