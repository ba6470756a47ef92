"""Plan and work side by side, as rows."""

from typing import TYPE_CHECKING

from kerfdocket.language import _
from kerfdocket.window.archive.rows import Row

if TYPE_CHECKING:
    from kerfdocket.window.archive.looking import Record

__all__ = ["comparison_rows"]

_SEVERITIES = {"not sensible": "stop", "differs": "caution"}


def comparison_rows(record: "Record") -> tuple[Row, ...]:
    """Return a row for each value that can be compared, then one for each other that was written.

    Cells are: what it is, planned, actual, how they stand to each other, remark.
    """
    from kerfdocket.planning.actuals import ACTUAL_FIELDS

    rows: list[Row] = []
    shown = set()
    compared = record.comparison.rows if record.comparison is not None else ()
    # What nothing was written for comes last: else one looks for the rest among it.
    stated = [one for one in compared if one.sense != "not stated"]
    for one in (*stated, *(one for one in compared if one.sense == "not stated")):
        shown.add(one.name)
        cells = (one.label, one.planned, one.actual, _(one.sense), one.remark)
        rows.append(Row(cells, one.name, _SEVERITIES.get(one.sense, "")))
    doubts = record.comparison.doubts if record.comparison is not None else {}
    first = len(stated)
    known = [name for name in ACTUAL_FIELDS if name in record.texts]
    others = [name for name in record.texts if name not in ACTUAL_FIELDS]
    for name in (*known, *others):
        if name in shown:
            continue
        title = _(ACTUAL_FIELDS[name].title) if name in ACTUAL_FIELDS else name
        cells = (title, "", record.texts[name], _("written down"), doubts.get(name, ""))
        rows.insert(first, Row(cells, name))
        first += 1
    return tuple(rows)
