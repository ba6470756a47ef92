"""What keeping an archive tells, in words: the same in its window and for the commands."""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from kerfdocket.archive.keeping import BANDS_M, YEARS, Copied, Exported, Proposal, Spread, Stats
from kerfdocket.language import _, counted, date_text, decimal_text, sense
from kerfdocket.planning.keys import KEYS
from kerfdocket.storage import BOM, harmless_cell

__all__ = [
    "Told",
    "end_text",
    "how_long_text",
    "made_text",
    "not_compared_text",
    "proposal_cells",
    "proposals_csv",
    "proposals_text",
    "size_text",
    "stats_told",
    "total_text",
]

_CSV_COLUMNS = ("number", "state", "since", "revisions", "pages", "bytes")
_DAY_S = 86_400.0
_NAMED = 5  # of those that could not be compared; how many more there are is only counted


@dataclass(frozen=True)
class Told:
    """Some of what an archive tells.

    Attributes:
        head: what the rows are about.
        rows: name and value of each.
    """

    head: str
    rows: tuple[tuple[str, str], ...]


# Copies


def made_text(place: Path, done: Copied | Exported) -> str:
    """Return that a backup or an export was made, and what it is."""
    if isinstance(done, Exported):
        return counted(
            "{place}: {count} file, {size} of contents",
            "{place}: {count} files, {size} of contents",
            done.files,
            place=place,
            size=size_text(done.bytes),
        )
    return _("{place} was made and verified.", place=place)


def end_text(events: int, head: str) -> str:
    """Return how many events there are and the hash of the last, to be noted down elsewhere."""
    return counted(
        "{count} event, the last is {hash}",
        "{count} events, the last is {hash}",
        events,
        hash=head,
    )


def size_text(size: int) -> str:
    """Return a size [B] in powers of ten, as disks are sold.

    >>> size_text(2_500_000)
    '2.5 MB'
    """
    if size < 1000:
        return f"{size} B"
    for unit in ("kB", "MB"):
        if size < 1e6:
            return f"{decimal_text(size / 1e3, 1)} {unit}"
        size //= 1000
    return f"{decimal_text(size / 1e3, 1)} GB"


# What need not be kept any longer


def proposal_cells(one: Proposal) -> tuple[str, str, str, str, str]:
    """Return number, state, since when, pages and size of what need not be kept any longer."""
    pages = counted("{count} page", "{count} pages", one.pages)
    return one.number, _(one.state), date_text(one.since), pages, size_text(one.bytes)


def proposals_csv(found: Iterable[Proposal]) -> bytes:
    """Return a list of what need not be kept any longer as a file for a spreadsheet."""
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow(_CSV_COLUMNS)
    for one in found:
        values = asdict(one)
        writer.writerow(harmless_cell(str(values[name])) for name in _CSV_COLUMNS)
    return (BOM + written.getvalue()).encode()


def proposals_text(count: int, years: int) -> str:
    """Return how many numbers need not be kept any longer."""
    return counted(
        "{count} number: nothing has happened to it for {years} years.",
        "{count} numbers: nothing has happened to them for {years} years.",
        count,
        years=years,
    )


def how_long_text() -> str:
    """Return what stands behind the years, and what comes before them."""
    return _(
        "How long to keep travellers is said by contracts, insurers and local law first; {years} "
        "years are only common practice, without a source.",
        years=YEARS,
    )


# What there is


def total_text(found: Stats) -> str:
    """Return how many travellers and events there are."""
    return counted(
        "{count} traveller, {events} events",
        "{count} travellers, {events} events",
        found.travellers,
        events=found.events,
    )


def stats_told(found: Stats) -> tuple[Told, ...]:
    """Return what an archive tells, head by head; one without rows is left out."""
    came_back = {
        _("all"): str(found.returned),
        _("with front and back"): str(found.complete),
        _("with a part"): str(found.in_part),
        _("without pages"): str(found.without_pages),
        _("pages in the tray"): str(found.pages_in_tray),
        _("days away, quartiles"): _spread_text(found.issued_to_returned_s, _DAY_S),
    }
    sizes = {_(kind): size_text(size) for kind, size in found.bytes_by_kind.items()}
    given_up = counted("{count} content", "{count} contents", found.given_up)
    ratios = {
        _(KEYS[key][0]) if key in KEYS else key: _spread_text(one, 1.0)
        for key, one in found.ratios.items()
    }
    told = (
        _counts(_("By state"), {_(state): count for state, count in found.by_state.items()}),
        _counts(_("By month of issue, UTC"), found.by_month),
        _counts(_("By grade"), found.by_grade),
        _counts(_("By gas"), {gas and _(gas): count for gas, count in found.by_gas.items()}),
        _counts(
            _("By thickness"),
            {_band_text(band): count for band, count in found.by_thickness.items()},
        ),
        Told(_("Came back"), tuple(came_back.items())),
        Told(sense("in bytes", "Size"), (*sizes.items(), (_("given up"), given_up))),
        Told(_("Actual over planned, quartiles"), tuple(ratios.items())),
    )
    return tuple(one for one in told if one.rows)


def not_compared_text(found: Stats) -> str:
    """Return how many could not be compared with their plans, and which; empty if all could."""
    if not found.not_compared:
        return ""
    names = ", ".join(found.which_not_compared[:_NAMED])
    if (more := found.not_compared - _NAMED) > 0:
        names = counted("{names} and {count} more", "{names} and {count} more", more, names=names)
    return counted(
        "{count} traveller could not be compared with its plan: {names}. archive compare says why.",
        "{count} travellers could not be compared with their plans: {names}. archive compare says "
        "why.",
        found.not_compared,
        names=names,
    )


def _counts(head: str, counts: Mapping[str, int]) -> Told:
    return Told(head, tuple((name or "—", str(count)) for name, count in counts.items()))


def _spread_text(spread: Spread, unit: float) -> str:
    if spread.low is None or spread.median is None or spread.high is None:
        return f"—  {spread.withheld}"
    values = (spread.low, spread.median, spread.high)
    low, middle, high = (decimal_text(value / unit, 2) for value in values)
    return f"{low} · {middle} · {high}  (n = {spread.n})"


def _band_text(band: int) -> str:
    if band < 0:
        return _("not known")
    if band == len(BANDS_M):
        return _("above {most} mm", most=f"{BANDS_M[-1] * 1e3:g}")
    most = f"{BANDS_M[band] * 1e3:g}"
    if band == 0:
        return _("up to {most} mm", most=most)
    return _("above {least} to {most} mm", least=f"{BANDS_M[band - 1] * 1e3:g}", most=most)
