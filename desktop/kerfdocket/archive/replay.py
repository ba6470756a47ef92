"""What must be there if the events of the chain happened, and nothing else."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from kerfdocket.archive.model import (
    AFTER,
    STATES,
    Draft,
    Event,
    PageOfTraveller,
    Traveller,
)
from kerfdocket.archive.schema import FACTS
from kerfdocket.archive.words import words_of
from kerfdocket.errors import InputError
from kerfdocket.planning.page_code import check_of, printable
from kerfdocket.quantity import LENGTH, parse_measure

__all__ = ["CUTTER", "Key", "Known", "code_of", "words_for"]

Key = tuple[str, str]  # number and revision
CUTTER = "cutter_name"  # the actual value that a traveller is found by, as its cutter
_CONTENTS = ("job", "plan", "pdf")


def code_of(number: str, revision: str, check: str) -> str:
    """Return what the codes of a sheet say, without the side."""
    return f"{printable(number)}:{printable(revision)}:{check}"


def words_for(traveller: Traveller, text: str, actuals: Mapping[str, str]) -> str:
    """Return what a traveller is found by.

    Args:
        traveller: one.
        text: what was said besides when it was issued.
        actuals: what was written on its sheet.
    """
    facts = {name: value for name, value in traveller.facts.items() if name != "date"}
    fields = {"number": traveller.number, "cutter": traveller.cutter, **facts}
    # By name, so that they stand in one order however often and in which order they were written.
    written = (actuals[name] for name in sorted(actuals))
    return words_of(fields, (text, traveller.reason, *written))


@cache
def _thickness_m(text: str) -> float | None:
    try:
        return parse_measure(text, LENGTH).si
    except InputError:
        return None


@dataclass
class Known:
    """What is known after the events so far.

    Attributes:
        job_of: returns the job file of a digest; asked only where an old event lacks something.
        travellers: by number and revision.
        texts: what else they are found by.
        actuals: what was written on their sheets.
        pages: that came back, by file, page, number and revision.
        arrivals: in which order they came, whatever became of them since.
        drafts: by id.
        series: the last number that was taken of each.
        contents: digests that must be there.
        discarded: digests whose content was given up on purpose.
    """

    job_of: Callable[[str], str]
    travellers: dict[Key, Traveller] = field(default_factory=dict)
    texts: dict[Key, str] = field(default_factory=dict)
    actuals: dict[Key, dict[str, str]] = field(default_factory=dict)
    pages: dict[tuple[str, int, str, str], PageOfTraveller] = field(default_factory=dict)
    arrivals: dict[tuple[str, int, str, str], int] = field(default_factory=dict)
    drafts: dict[int, Draft] = field(default_factory=dict)
    series: dict[str, int] = field(default_factory=dict)
    contents: set[str] = field(default_factory=set)
    discarded: set[str] = field(default_factory=set)

    def happen(self, event: Event) -> None:
        """Let an event happen.

        Raises:
            KeyError, TypeError, ValueError: it does not fit what happened before.
        """
        details: dict[str, Any] = json.loads(event.details)
        match event.what:
            case "reserved":
                self._reserved(event, details["pattern"])
            case "issued":
                self._issued(event, details)
            case "page taken":
                self._taken(event, details)
            case "page matched" | "page set aside":
                self._sorted(event, details)
            case "page put back":
                self._put_back(event, details)
            case "recorded":
                self._recorded(event, details["values"])
            case "drafted":
                self._drafted(event, details)
            case "draft ended":
                draft = self.drafts[int(event.number)]
                self.drafts[draft.id] = replace(
                    draft, ended=details["ended"], number=details["number"]
                )
            case "discarded":
                self.discarded.update(details["contents"])
            case _:
                self._moved(event)

    def words(self, key: Key) -> str:
        """Return what a traveller must be found by."""
        return words_for(self.travellers[key], self.texts[key], self.actuals.get(key, {}))

    def _kept(self, *digests: str) -> None:
        self.contents.update(digests)
        # What was given up and then came again is there again.
        self.discarded.difference_update(digests)

    def _reserved(self, event: Event, pattern: str) -> None:
        at = pattern.index("?")
        self.series[pattern] = int(event.number[at : at + pattern.count("?")])

    def _issued(self, event: Event, details: dict[str, Any]) -> None:
        key = event.number, event.revision
        if key in self.travellers:
            raise ValueError(key)
        digests = {name: details[name] for name in _CONTENTS}
        facts = {name: details["facts"][name] for name in FACTS}
        # Archives of the first form say neither check value nor thickness.
        check = details.get("check")
        if check is None:
            check = check_of(details["program"], self.job_of(details["job"]))
        thickness_m = details.get("thickness_m", _thickness_m(facts["thickness"]))
        self.travellers[key] = Traveller(
            number=event.number,
            revision=event.revision,
            state="issued",
            issued_at=event.at,
            facts=facts,
            reason=details["reason"],
            code=code_of(event.number, event.revision, check),
            thickness_m=thickness_m,
            program=details["program"],
            tables=details["tables"],
            **digests,
        )
        self.texts[key] = details.get("text", "")
        self._kept(*digests.values())

    def _moved(self, event: Event) -> None:
        key = event.number, event.revision
        state = next((one for one in STATES if one == event.what), None)
        if state is None or state not in AFTER[self.travellers[key].state]:
            raise ValueError(event.what)
        self.travellers[key] = replace(self.travellers[key], state=state)

    def _taken(self, event: Event, details: dict[str, Any]) -> None:
        key = details["file"], details["page"], event.number, event.revision
        if key in self.pages:
            raise ValueError(key)
        if event.number:
            self.travellers[event.number, event.revision]  # must be there
        self.pages[key] = PageOfTraveller(
            file=details["file"],
            page=details["page"],
            name=details["name"],
            taken_at=event.at,
            number=event.number,
            revision=event.revision,
            side=details["side"],
            how=details["how"],
            reason=details["reason"],
            is_set_aside=False,
        )
        self.arrivals[key] = len(self.pages)
        self._kept(details["file"])

    def _sorted(self, event: Event, details: dict[str, Any]) -> None:
        in_tray = details["file"], details["page"], "", ""
        old = self.pages.pop(in_tray)
        is_matched = event.what == "page matched"
        if is_matched:
            self.travellers[event.number, event.revision]  # must be there
        new = replace(
            old,
            number=event.number,
            revision=event.revision,
            side=details.get("side", ""),
            how="hand" if is_matched else "",
            reason=details.get("reason", ""),
            is_set_aside=not is_matched,
        )
        key = new.file, new.page, new.number, new.revision
        self.pages[key] = new
        self.arrivals[key] = self.arrivals.pop(in_tray)

    def _put_back(self, event: Event, details: dict[str, Any]) -> None:
        key = details["file"], details["page"], event.number, event.revision
        old = self.pages.pop(key)
        in_tray = details["file"], details["page"], "", ""
        if in_tray in self.pages or not (old.number or old.is_set_aside):
            raise ValueError(in_tray)
        self.pages[in_tray] = replace(
            old,
            number="",
            revision="",
            side="",
            how="",
            reason=details["reason"],
            is_set_aside=False,
        )
        self.arrivals[in_tray] = self.arrivals.pop(key)

    def _recorded(self, event: Event, values: dict[str, str]) -> None:
        key = event.number, event.revision
        traveller = self.travellers[key]
        actuals = self.actuals.setdefault(key, {})
        actuals.update(values)
        for name in [name for name, text in actuals.items() if not text]:
            del actuals[name]
        self.travellers[key] = replace(traveller, cutter=actuals.get(CUTTER, ""))

    def _drafted(self, event: Event, details: dict[str, Any]) -> None:
        known = self.drafts.get(int(event.number))
        if details["version"] != (known.version if known else 0) + 1:
            raise ValueError(details["version"])
        self.drafts[int(event.number)] = Draft(
            id=int(event.number),
            version=details["version"],
            title=details["title"],
            job=details["job"],
            who=event.who,
            at=event.at,
        )
        self._kept(details["job"])
