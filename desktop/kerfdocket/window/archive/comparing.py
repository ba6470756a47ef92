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

    rows = []
    shown = set()
    for one in record.comparison.rows if record.comparison is not None else ():
        shown.add(one.name)
        cells = (one.label, one.planned, one.actual, _(one.sense), one.remark)
        rows.append(Row(cells, one.name, _SEVERITIES.get(one.sense, "")))
    known = [name for name in ACTUAL_FIELDS if name in record.texts]
    others = [name for name in record.texts if name not in ACTUAL_FIELDS]
    for name in (*known, *others):
        if name in shown:
            continue
        title = _(ACTUAL_FIELDS[name].title) if name in ACTUAL_FIELDS else name
        rows.append(Row((title, "", record.texts[name], _("written down"), ""), name))
    return tuple(rows)
