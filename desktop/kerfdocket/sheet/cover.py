"""The cover of a pack: what to fetch, in which order to cut, where each job's sheet begins."""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from pypdf import PdfReader

from kerfdocket import __version__
from kerfdocket.language import _, counted, marked, review_note, sense, titled
from kerfdocket.planning.model import Estimate
from kerfdocket.planning.pack import (
    Fetch,
    FromOutlet,
    GasTotal,
    Missing,
    NozzleNeed,
    Pack,
    PackedJob,
    Total,
    cylinder_text,
    places_text,
)
from kerfdocket.planning.words import mixing_text, torch_text
from kerfdocket.sheet.render import html_to_pdf
from kerfdocket.sheet.templates import templates
from kerfdocket.sheet.text import page_words, plain, tied

__all__ = ["Cover", "cover_context", "cover_html", "cover_pdf", "pack_title"]

_MOST_TRIES = 4  # of page numbers: more digits may make the cover a page longer, once
_FOOT = marked(
    "The sheet of each job comes before this cover; the nozzle maker’s own chart, local rules, the "
    "equipment makers’ instructions and qualified people come before both."
)
_IN_A_ROW = 3  # facts at the head of the cover


@dataclass(frozen=True)
class Fact:
    """A label and what it says."""

    label: str
    text: str


@dataclass(frozen=True)
class GasLine:
    """What all jobs take of one gas."""

    gas: str
    takes: str
    by_weight: str
    jobs: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CylinderLine:
    """Cylinders to fetch.

    Attributes:
        fetch: number to fetch; a firm one stands alone, a guide says that it is one.
        is_firm: True if that number is an instruction.
    """

    gas: str
    item: str
    counted_as: str
    takes: str
    needed: str
    on_hand: str
    fetch: str
    is_firm: bool
    jobs: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class NozzleLine:
    """A nozzle to fetch."""

    bore: str
    name: str
    gas: str
    torch: str
    jobs: str


@dataclass(frozen=True)
class JobLine:
    """A job in the list."""

    place: str
    number: str
    title: str
    plate: str
    time: str
    pages: str
    stop: str


@dataclass(frozen=True)
class JobGroup:
    """Jobs that are cut without changing anything.

    Attributes:
        change: what is changed before them.
        set_up: what is fitted for them.
        is_gas_changed: True if that is another gas, or the first one.
    """

    change: str
    set_up: str
    is_gas_changed: bool
    jobs: tuple[JobLine, ...]


@dataclass(frozen=True)
class Cover:
    """The whole cover, as ready text."""

    language: str
    paper: str
    generator: str
    title: str
    facts: tuple[tuple[Fact, ...], ...]
    warnings: tuple[str, ...]
    gases: tuple[GasLine, ...]
    gas_aside: str
    cylinders: tuple[CylinderLine, ...]
    cylinder_aside: str
    nozzles: tuple[NozzleLine, ...]
    nozzle_notes: tuple[str, ...]
    groups: tuple[JobGroup, ...]
    drafts: tuple[JobLine, ...]
    notes: tuple[str, ...]
    foot: str
    page_words: tuple[str, ...]


def pack_title(pack: Pack) -> str:
    """Return what a pack is called."""
    return counted("Pack of {count} job", "Pack of {count} jobs", len(pack.jobs))


def cover_context(
    pack: Pack, sides: Sequence[int], cover_sides: int, not_read: Sequence[str] = ()
) -> Cover:
    """Return what a cover prints, in the current language.

    Args:
        pack: the jobs.
        sides: pages of each job's sheet, in the order of the pack.
        cover_sides: pages of the cover; what follows begins on the next front.
        not_read: names of job files that could not be read.
    """
    pages = _pages(sides, cover_sides)
    guide = _("a guide, unverified")
    is_gas_guide = _is_all_guide(gas.total.estimate for gas in pack.gases)
    is_cylinder_guide = _is_all_guide(
        one for fetch in pack.cylinders for one in (fetch.needed, fetch.fetch)
    )
    return Cover(
        language=pack.language,
        paper=pack.paper,
        generator=f"Kerfdocket {pack.program_version or __version__}",
        title=pack_title(pack),
        facts=_in_rows(tuple(_facts(pack, sides, cover_sides))),
        warnings=tuple(_warnings(pack, not_read)),
        gases=tuple(_gas(gas, is_gas_guide) for gas in pack.gases),
        gas_aside=" · ".join((pack.units.gas_reference, *[guide] * is_gas_guide)),
        cylinders=(
            *(_cylinders(pack, fetch, is_cylinder_guide) for fetch in pack.cylinders),
            *(_outlet(outlet, is_cylinder_guide) for outlet in pack.outlets),
        ),
        cylinder_aside=" · ".join(
            (
                _("write down how many, tick when they are there"),
                pack.units.gas_reference,
                *[guide] * is_cylinder_guide,
            )
        ),
        nozzles=tuple(_nozzle(need) for need in pack.nozzles),
        nozzle_notes=tuple(_missing(one) for one in pack.no_nozzle),
        groups=tuple(_groups(pack, pages)),
        drafts=tuple(_job(job, pages) for job in pack.drafts),
        notes=tuple(_notes(pack)),
        foot=f"{_(_FOOT)} {review_note()}".strip(),
        page_words=page_words(_("cover, page {page} of {pages}")),
    )


def _pages(sides: Sequence[int], cover_sides: int) -> list[str]:
    """Pages of each job within the pack: each begins on the front of a sheet of paper."""
    found, first = [], cover_sides + cover_sides % 2 + 1
    for count in sides:
        found.append(str(first) if count == 1 else f"{first}–{first + count - 1}")
        first += count + count % 2
    return found


def _hours(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    if minutes < 60:
        return _("{minutes} min", minutes=minutes)
    return _("{hours} h {minutes} min", hours=minutes // 60, minutes=f"{minutes % 60:02}")


def _said(value: str, span: str, is_guide: bool, is_at_least: bool = False) -> str:
    """A value with its range; one that nothing confirms is a guide and says so."""
    both = f"{value}\u00a0({span})" if span else value
    if is_at_least:
        both = _("at least {amount}", amount=both)
    return _("guide {span}, unverified", span=both) if is_guide else both


def _amount(total: Total, is_all_guide: bool) -> str:
    one = total.estimate
    if one.is_withheld:
        return "—"
    is_guide = one.is_unverified and not is_all_guide
    return _said(tied(one.value_text), one.range_text, is_guide, total.is_at_least)


def _time(total: Total) -> str:
    one = total.estimate
    if one.value_si is None or one.low_si is None or one.high_si is None:
        return "—"
    low, value, high = (tied(_hours(end)) for end in (one.low_si, one.value_si, one.high_si))
    span = _("{low} to {high}", low=low, high=high)
    return _said(value, span, one.is_unverified, total.is_at_least)


def _number(one: Estimate, is_all_guide: bool, is_at_least: bool = False) -> str:
    if one.value is None:
        return "—"
    is_guide = one.is_unverified and not is_all_guide
    return _said(one.number_text(one.value), one.range_text, is_guide, is_at_least)


def _is_all_guide(estimates: Iterable[Estimate]) -> bool:
    """Tell whether nothing in a table is confirmed: it is then said once, above it."""
    return all(one.is_unverified or one.is_withheld for one in estimates)


def _gas_name(gas: str) -> str:
    return titled(_(gas))


def _missing(one: Missing) -> str:
    return _("Without job {place}: {reason}.", place=one.place, reason=plain(one.reason))


def _in_rows(facts: tuple[Fact, ...]) -> tuple[tuple[Fact, ...], ...]:
    return tuple(facts[at : at + _IN_A_ROW] for at in range(0, len(facts), _IN_A_ROW))


def _facts(pack: Pack, sides: Sequence[int], cover_sides: int) -> Iterable[Fact]:
    papers = sum((count + 1) // 2 for count in (cover_sides, *sides))
    yield Fact(_("To cut"), counted("{count} job", "{count} jobs", len(pack.to_cut)))
    if pack.drafts:
        drafts = counted("{count} draft", "{count} drafts", len(pack.drafts))
        yield Fact(_("Not for cutting"), drafts)
    printed = counted("{count} sheet of paper", "{count} sheets of paper", papers)
    yield Fact(_("Printed on both sides"), printed)
    yield Fact(_("On the clock"), _time(pack.clock_time))
    yield Fact(_("On the flame"), _time(pack.flame_time))
    changes, given = pack.changes, pack.changes_as_given
    said = _("gas {gas}, nozzle {nozzle}", gas=changes.gas, nozzle=changes.nozzle)
    if changes != given:
        said = _(
            "gas {gas}, nozzle {nozzle}; as given {given_gas} and {given_nozzle}",
            gas=changes.gas,
            nozzle=changes.nozzle,
            given_gas=given.gas,
            given_nozzle=given.nozzle,
        )
    yield Fact(_("Changes between jobs"), said)


def _warnings(pack: Pack, not_read: Sequence[str]) -> Iterable[str]:
    if not_read:
        files = plain(", ".join(not_read))
        yield _("Not in this pack, as no sheet could be made of them: {files}.", files=files)
    if pack.drafts:
        yield counted(
            "Job {places} is stopped: a draft at the end of the pack, not for cutting, and counted "
            "in nothing below.",
            "Jobs {places} are stopped: drafts at the end of the pack, not for cutting, and "
            "counted in nothing below.",
            len(pack.drafts),
            places=places_text(job.place for job in pack.drafts),
        )
    for outlet in pack.outlets:
        if outlet.is_short:
            yield _(
                "{gas}: the tank holds {volume}, less than its jobs take. Have it filled before "
                "the work begins.",
                gas=_gas_name(outlet.gas),
                volume=tied(outlet.available.stated_text),
            )


def _gas(gas: GasTotal, is_all_guide: bool) -> GasLine:
    return GasLine(
        gas=_gas_name(gas.gas),
        takes=_amount(gas.total, is_all_guide),
        by_weight="" if gas.by_weight is None else _amount(gas.by_weight, is_all_guide),
        jobs=places_text(gas.jobs),
        notes=tuple(_missing(one) for one in gas.total.without),
    )


def _cylinders(pack: Pack, fetch: Fetch, is_all_guide: bool) -> CylinderLine:
    volume = tied(fetch.one.value_text)
    counted_as = ""
    if not fetch.one.is_withheld:
        counted_as = (
            _("full, {volume}", volume=volume)
            if fetch.is_full
            else _("as the fullest stated, {volume}", volume=volume)
        )
    on_hand = sense("of cylinders on hand", "none")
    if fetch.on_hand:
        has = tied(fetch.available.value_text)
        on_hand = _("{count} with {volume}", count=fetch.on_hand, volume=has)
    notes = list(fetch.notes)
    if fetch.fetch.is_withheld:
        notes.insert(0, _("Not known: {reason}.", reason=fetch.fetch.basis.text))
    if fetch.beside is not None and (fetch.beside.value or 0.0) > 1.0:
        beside = _number(fetch.beside, is_all_guide)
        notes.append(_("Open at once, side by side: {number}.", number=beside))
    is_at_least = fetch.takes.is_at_least
    return CylinderLine(
        gas=_gas_name(fetch.kind.gas),
        item=cylinder_text(fetch.kind, pack.units),
        counted_as=counted_as,
        takes=_amount(fetch.takes, is_all_guide),
        needed=_number(fetch.needed, is_all_guide, is_at_least),
        on_hand=on_hand,
        fetch=_number(fetch.fetch, is_all_guide, is_at_least),
        is_firm=not fetch.fetch.is_unverified and not fetch.fetch.is_withheld,
        jobs=places_text(fetch.jobs),
        notes=tuple(plain(note) for note in notes),
    )


def _outlet(outlet: FromOutlet, is_all_guide: bool) -> CylinderLine:
    on_hand = "—"
    if not outlet.available.is_withheld:
        on_hand = _("{volume} in it", volume=tied(outlet.available.value_text))
    return CylinderLine(
        gas=_gas_name(outlet.gas),
        item=_("from the tank") if outlet.supply == "tank" else _("from the main"),
        counted_as="",
        takes=_amount(outlet.takes, is_all_guide),
        needed="",
        on_hand=on_hand,
        fetch="",
        is_firm=False,
        jobs=places_text(outlet.jobs),
        notes=(),
    )


def _nozzle(need: NozzleNeed) -> NozzleLine:
    kind = need.kind
    name = plain(kind.name)
    if kind.is_of_chart:
        name = _("{name}, by its maker’s chart", name=name) if name else _("by its maker’s chart")
    return NozzleLine(
        bore=tied(need.bore.value_text),
        name=name,
        gas=_gas_name(kind.fuel),
        torch=f"{torch_text(kind.torch)}, {mixing_text(kind.mixing)}",
        jobs=places_text(need.jobs),
    )


def _groups(pack: Pack, pages: Sequence[str]) -> Iterable[JobGroup]:
    before: PackedJob | None = None
    for _kind, jobs in groupby(pack.to_cut, key=_set_up):
        group = list(jobs)
        yield JobGroup(
            change=_change(before, group[0]),
            set_up=_set_up_text(group[0]),
            is_gas_changed=before is None or before.fuel != group[0].fuel,
            jobs=tuple(_job(job, pages) for job in group),
        )
        before = group[-1]


def _set_up(job: PackedJob) -> object:
    return job.nozzle or job.place  # one that is not known is like no other


def _change(before: PackedJob | None, job: PackedJob) -> str:
    if before is None:
        return _("Fit first")
    if before.fuel != job.fuel:
        return _("Change gas and nozzle")
    old, new = before.nozzle, job.nozzle
    if old is not None and new is not None and (old.torch, old.mixing) != (new.torch, new.mixing):
        return _("Change torch and nozzle")
    return _("Change nozzle")


def _set_up_text(job: PackedJob) -> str:
    kind = job.nozzle
    if kind is None:
        return " · ".join((_gas_name(job.fuel), _("nozzle not known")))
    nozzle = _("nozzle {bore}", bore=tied(job.bore.value_text))
    named = f"{nozzle} ({plain(kind.name)})" if kind.name else nozzle
    return f"{_gas_name(kind.fuel)} · {torch_text(kind.torch)} · {named}"


def _job(job: PackedJob, pages: Sequence[str]) -> JobLine:
    number = plain(job.number)
    clock_s = job.clock_time.value_si
    return JobLine(
        place=str(job.place),
        number=f"{number} · {plain(job.revision)}" if job.revision else number,
        title=plain(job.title),
        plate=f"{tied(job.thickness.value_text)} {plain(job.grade)}",
        time="—" if clock_s is None else tied(_hours(clock_s)),
        pages=pages[job.place - 1],
        stop=plain(job.stops[0]) if job.stops else "",
    )


def _notes(pack: Pack) -> Iterable[str]:
    if len(pack.to_cut) > 1:
        yield _(
            "Order: jobs are together by gas, within it by torch, within that by nozzle, and as "
            "they were given otherwise. No order changes the gas less often, and of those none the "
            "nozzle. Which job is urgent, and what is fitted before the first, is not known here."
        )
        yield _(
            "Sums take all jobs at the same end of their ranges at once: the widest that they can "
            "be. The time on the clock has the setting up of each job in it."
        )
    if pack.cylinders:
        yield _(
            "Cylinders: one may serve several jobs. Those that several jobs state are taken for "
            "the same ones and counted once, as much as the job states that states most. Compare "
            "it with what is there."
        )
    if any(fetch.kind.gas == "acetylene" for fetch in pack.cylinders):
        yield _("Acetylene: a tenth of a full cylinder is left in it: common practice, no source.")
    if any(fetch.kind.gas == "propane" for fetch in pack.cylinders):
        yield _(
            "Propane: cold may keep a cylinder from giving all that it holds; this is not counted "
            "here but on each sheet."
        )
    torches = {need.kind.torch for need in pack.nozzles}
    if len(torches) > 1:
        yield _("Nozzles: one stays in its torch; another torch has one of its own.")
    for total, text in (
        (pack.clock_time, _("Time on the clock")),
        (pack.flame_time, _("Time on the flame")),
    ):
        for one in total.without:
            yield f"{text}: {_missing(one)}"
    other = [job for job in pack.jobs if job.paper != pack.paper]
    for paper in dict.fromkeys(job.paper for job in other):
        places = [job.place for job in other if job.paper == paper]
        yield counted(
            "Paper: the sheet of job {places} is {paper}.",
            "Paper: the sheets of jobs {places} are {paper}.",
            len(places),
            paper=paper,
            places=places_text(places),
        )


def cover_html(cover: Cover) -> str:
    """Return a cover as HTML; its links are relative to the folder of the traveller's template."""
    return templates().get_template("pack/cover.html.j2").render(cover=cover)


def cover_pdf(pack: Pack, sides: Sequence[int], not_read: Sequence[str] = ()) -> bytes:
    """Return a cover as PDF, in the current language.

    Args:
        pack: the jobs.
        sides: pages of each job's sheet, in the order of the pack.
        not_read: names of job files that could not be read.
    """
    own = 2
    for _try in range(_MOST_TRIES):
        content = html_to_pdf(cover_html(cover_context(pack, sides, own, not_read)))
        found = len(PdfReader(io.BytesIO(content)).pages)
        if found + found % 2 == own + own % 2:
            break
        own = found
    return content
