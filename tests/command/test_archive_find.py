"""Finding in the archive on the command line."""

import io
import json
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from archive.many import put_many, traveller
from kerfdocket.archive import open_archive
from kerfdocket.command import BAD_INPUT, GOOD, run
from kerfdocket.language import language_named, speaking

Find = Callable[..., tuple[int, str, str]]


@pytest.fixture
def find(tmp_path: Path) -> Find:
    place = str(tmp_path / "a.sqlite")
    known = [
        traveller(
            "KD-1",
            0.012,
            title="Bases",
            customer="Yard 2",
            grade="S355J2",
            thickness="12 mm",
            date="2026-01-10",
        ),
        traveller(
            "KD-2",
            0.0254,
            state="on the floor",
            cutter="Ada",
            title="Türblech",
            grade="S235JR",
            thickness="1 in",
            gas="propane",
            date="2026-02-01",
        ),
    ]
    with closing(open_archive(place)) as archive:
        put_many(archive, [(one, "stair tower") for one in known])

    def call(*arguments: str) -> tuple[int, str, str]:
        output, errors = io.StringIO(), io.StringIO()
        whole = ["archive", "--archive", place, "find", *arguments]
        code = run(whole, lambda *_given: 9, output, errors)
        return code, output.getvalue(), errors.getvalue()

    return call


def test_lines_that_are_aligned(find: Find) -> None:
    code, said, errors = find()
    assert (code, errors) == (GOOD, "")
    assert said.splitlines() == [
        "KD-2           A   on the floor     S235JR          1 in "
        "                         Türblech",
        "KD-1           A   issued           S355J2         12 mm Yard 2                   Bases",
    ]


@pytest.mark.parametrize(
    ("arguments", "found"),
    [
        (("stair", "base"), ["KD-1"]),
        (("tower stair",), ["KD-2", "KD-1"]),
        (("tower", "--limit", "1"), ["KD-2"]),
        (("--number", "kd-1"), ["KD-1"]),
        (("--title", "tur"), ["KD-2"]),
        (("--customer", "yard"), ["KD-1"]),
        (("--grade", "s2"), ["KD-2"]),
        (("--gas", "prop"), ["KD-2"]),
        (("--cutter", "ada"), ["KD-2"]),
        (("--drawing", "x"), []),
        (("--nozzle", "x"), []),
        (("--thickness", "12 mm"), ["KD-1"]),
        (("--thickness", "10 mm..1 in"), ["KD-2", "KD-1"]),
        (("--thickness", "25,4 mm.."), ["KD-2"]),
        (("--thickness", " .. 20 mm "), ["KD-1"]),
        (("--from", "2026-01-10", "--to", "2026-01-31"), ["KD-1"]),
        (("--from", "2026-01-11"), ["KD-2"]),
        (("--state", "issued"), ["KD-1"]),
        (("--state", "On the floor"), ["KD-2"]),
        (("--state", "issued", "--state", "on the floor"), ["KD-2", "KD-1"]),
    ],
)
def test_what_is_found(find: Find, arguments: tuple[str, ...], found: list[str]) -> None:
    code, said, errors = find(*arguments)
    assert code == GOOD
    assert errors.startswith("Nothing was found") == (not found)
    assert [line.split()[0] for line in said.splitlines()] == found


def test_for_programs(find: Find) -> None:
    _code, said, _errors = find("--json")
    first, second = map(json.loads, said.splitlines())
    assert (first["number"], first["title"], first["state"]) == ("KD-2", "Türblech", "on the floor")
    assert second == {
        "number": "KD-1",
        "revision": "A",
        "state": "issued",
        "title": "Bases",
        "customer": "Yard 2",
        "grade": "S355J2",
        "thickness": "12 mm",
        "nozzle": "",
        "gas": "",
        "cutter": "",
        "date": "2026-01-10",
        "issued_at": "2026-11-25T08:00:00.000000+00:00",
    }


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--thickness", "10..12 mm"), "'10' is not a length: the unit is missing"),
        (("--thickness", "thick"), "'thick' is not a length"),
        (("--thickness", ""), "'' is not a length"),
        (("--thickness", ".."), "has neither end; give '10 mm..25 mm'"),
        (("--thickness", "25 mm..10 mm"), "25 mm is more than 10 mm; give the smaller one first"),
        (("--from", "25.11.2026"), "--from '25.11.2026' is not a date; give year, month and day"),
        (("--to", "2026-02-30"), "--to '2026-02-30' is not a date"),
        (("--from", "2026-02-02", "--to", "2026-02-01"), "is after --to 2026-02-01"),
        (("--state", "lost"), "--state 'lost' is not known; known: 'issued', 'on the floor'"),
        (("--limit", "0"), "--limit 0: give 1 or more"),
        ((" ".join(f"x{at:03d}" for at in range(101)),), "101 words are too many"),
    ],
)
def test_what_cannot_be_read_is_said(find: Find, arguments: tuple[str, ...], said: str) -> None:
    code, output, errors = find(*arguments)
    assert (code, output) == (BAD_INPUT, "")
    assert said in errors


def test_a_state_as_it_is_said_here(find: Find) -> None:
    from kerfdocket.language import _

    german = language_named("de")
    with speaking(german):
        said = _("on the floor")
    assert said != "on the floor"
    with speaking(german):
        code, output, _errors = find("--state", said)
    assert (code, output.split()[0]) == (GOOD, "KD-2")


def test_a_gas_as_it_is_called_here(tmp_path: Path) -> None:
    """The archive keeps natural gas, and German shops look for Erdgas."""
    place = str(tmp_path / "a.sqlite")
    gases = {"KD-1": "natural gas", "KD-2": "propane"}
    with closing(open_archive(place)) as archive:
        put_many(archive, [(traveller(number, 0.01, gas=gas), "") for number, gas in gases.items()])
    with speaking(language_named("de")):
        for typed, number in (("Erdgas", "KD-1"), ("prop", "KD-2"), ("natural gas", "KD-1")):
            output = io.StringIO()
            whole = ["archive", "--archive", place, "find", "--gas", typed]
            assert run(whole, lambda *_given: 9, output, io.StringIO()) == GOOD
            assert [line.split()[0] for line in output.getvalue().splitlines()] == [number]
