"""What to fetch for a pack, as CSV: for a spreadsheet, or a store that takes orders by file."""

import csv
import io
from collections.abc import Iterable

from kerfdocket.language import _
from kerfdocket.planning.model import Estimate
from kerfdocket.planning.pack.model import Fetch, FromOutlet, GasTotal, NozzleNeed, Pack, Total
from kerfdocket.planning.pack.words import cylinder_text
from kerfdocket.planning.words import mixing_text, torch_text
from kerfdocket.quantity import printed_unit
from kerfdocket.storage import harmless_cell

__all__ = ["PICK_LIST_COLUMNS", "pick_list_csv"]

PICK_LIST_COLUMNS = (
    "what",
    "gas",
    "item",
    "needed",
    "needed_low",
    "needed_high",
    "on_hand",
    "fetch",
    "fetch_low",
    "fetch_high",
    "unit",
    "complete",
    "jobs",
    "without",
    "note",
)

_Row = dict[str, str]


def pick_list_csv(pack: Pack) -> str:
    """Return gas, cylinders and nozzles to fetch as CSV (RFC 4180), said in the current language.

    The columns are `PICK_LIST_COLUMNS`; `what` is `gas`, `cylinder`, `main`, `tank`, `nozzle` or
    `not counted`. Numbers have a decimal point in every language; gas volumes are at the state
    that the note names. A number that is not known is empty, the note then says why. `complete` is
    `no` where a job's part is not known: all numbers of the row are then at least what they say.
    """
    written = io.StringIO()
    writer = csv.DictWriter(written, PICK_LIST_COLUMNS, restval="")
    writer.writeheader()
    for row in _rows(pack):
        writer.writerow({name: harmless_cell(text) for name, text in row.items()})
    return written.getvalue()


def _rows(pack: Pack) -> Iterable[_Row]:
    for gas in pack.gases:
        yield from _gas_rows(pack, gas)
    for fetch in pack.cylinders:
        yield _cylinder_row(pack, fetch)
    for outlet in pack.outlets:
        yield _outlet_row(pack, outlet)
    for need in pack.nozzles:
        yield _nozzle_row(pack, need)
    for missing in pack.no_nozzle:
        yield {
            "what": "not counted",
            "item": _("nozzle"),
            "jobs": _numbers(pack, [missing.place]),
            "note": missing.reason,
        }
    for draft in pack.drafts:
        yield {
            "what": "not counted",
            "item": _("draft, not for cutting"),
            "jobs": draft.number,
            "note": " ".join(draft.stops),
        }


def _gas_rows(pack: Pack, gas: GasTotal) -> Iterable[_Row]:
    for total in (gas.total, gas.by_weight):
        if total is None:
            continue
        note = total.estimate.basis.text
        if total is gas.total:
            at = _("at {state}", state=pack.units.gas_reference)
            note = f"{at}; {note}"
        yield {
            "what": "gas",
            "gas": _(gas.gas),
            "unit": printed_unit(total.estimate.unit),
            "note": note,
            **_span("needed", total.estimate),
            **_of(pack, total, gas.jobs),
        }


def _cylinder_row(pack: Pack, fetch: Fetch) -> _Row:
    notes = [*fetch.notes, fetch.one.basis.text]
    if fetch.fetch.is_withheld:
        notes.insert(0, fetch.fetch.basis.text)
    return {
        "what": "cylinder",
        "gas": _(fetch.kind.gas),
        "item": cylinder_text(fetch.kind, pack.units),
        "on_hand": str(fetch.on_hand),
        "note": " ".join(notes),
        **_span("needed", fetch.needed),
        **_span("fetch", fetch.fetch),
        **_of(pack, fetch.takes, fetch.jobs),
    }


def _outlet_row(pack: Pack, outlet: FromOutlet) -> _Row:
    available = outlet.available.value
    notes = [_("at {state}", state=pack.units.gas_reference)]
    if outlet.is_short:
        notes.append(_("the tank holds less than the jobs take"))
    return {
        "what": outlet.supply,
        "gas": _(outlet.gas),
        "on_hand": "" if available is None else _plain(available),
        "unit": printed_unit(outlet.takes.estimate.unit),
        "note": "; ".join(notes),
        **_span("needed", outlet.takes.estimate),
        **_of(pack, outlet.takes, outlet.jobs),
    }


def _nozzle_row(pack: Pack, need: NozzleNeed) -> _Row:
    kind = need.kind
    item = f"{need.bore.value_text}, {kind.name}" if kind.name else need.bore.value_text
    return {
        "what": "nozzle",
        "gas": _(kind.fuel),
        "item": item,
        "needed": "1",
        "fetch": "1",
        "complete": "yes",
        "jobs": _numbers(pack, need.jobs),
        "note": f"{torch_text(kind.torch)}, {mixing_text(kind.mixing)}",
    }


def _span(name: str, estimate: Estimate) -> _Row:
    ends = {"": estimate.value, "_low": estimate.low, "_high": estimate.high}
    return {f"{name}{end}": "" if at is None else _plain(at) for end, at in ends.items()}


def _of(pack: Pack, total: Total, jobs: Iterable[int]) -> _Row:
    without = (f"{_numbers(pack, [one.place])}: {one.reason}" for one in total.without)
    return {
        "complete": "no" if total.is_at_least else "yes",
        "jobs": _numbers(pack, jobs),
        "without": "; ".join(without),
    }


def _numbers(pack: Pack, places: Iterable[int]) -> str:
    """Numbers of jobs; their places are no more known once the list is on its own."""
    return "; ".join(pack.jobs[place - 1].number for place in places)


def _plain(number: float) -> str:
    return f"{number:.6g}"
