"""Many travellers at once, put past the chain of events: for finding, which does not read it."""

import random
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import islice

from kerfdocket.archive import STATES, Archive, Traveller
from kerfdocket.archive.replay import words_for
from kerfdocket.archive.schema import CONTENT, TRAVELLER

NOTHING = "0" * 64  # digest of a content that is none
_AT_ONCE = 5000
_PLACES = ("Halden", "Brücke", "Nord", "Ufer", "Kran", "Werft", "Tor", "Mast", "Silo", "Pfahl")
_KINDS = ("Stahlbau", "Yard", "Steel", "Works", "Söhne", "Bay")
_TITLES = (
    "Base plates",
    "Tower flange",
    "Gusset",
    "Stiffener ring",
    "Lifting lug",
    "Kopfplatte",
    "Fußplatte",
    "Web plate",
)
_GRADES = ("S235JR", "S275J2", "S355J2", "S355K2", "S460N", "A36")
_THICKNESSES_MM = (6, 8, 10, 12, 15, 20, 25, 30, 40, 60)
_GASES = ("acetylene", "propane", "natural gas")
_FIRST_NAMES = ("Ada", "Bo", "Cem", "Dana", "Eli", "Finn", "Gus", "Hana")
_FIRST_DAY = date(2016, 1, 4)


def traveller(
    number: str,
    thickness_m: float | None = None,
    state: str = "issued",
    cutter: str = "",
    revision: str = "A",
    **facts: str,
) -> Traveller:
    """A traveller without contents."""
    known = dict.fromkeys(
        ("title", "customer", "drawing", "grade", "thickness", "nozzle", "gas", "date"), ""
    )
    return Traveller(
        number=number,
        revision=revision,
        state=next(one for one in STATES if one == state),
        issued_at="2026-11-25T08:00:00.000000+00:00",
        facts={**known, **facts},
        job=NOTHING,
        plan=NOTHING,
        pdf=NOTHING,
        thickness_m=thickness_m,
        cutter=cutter,
    )


def invented(count: int, seed: int = 1) -> Iterator[tuple[Traveller, str]]:
    """Travellers of ten years of an invented shop, each with its other words; the same each time.

    Most are closed, as in a shop that has worked so long.
    """
    chance = random.Random(seed)
    parts = [f"part{number}" for number in range(3000)]
    for at in range(count):
        thickness_mm = chance.choice(_THICKNESSES_MM)
        made = traveller(
            f"KD-{at:06d}",
            thickness_m=thickness_mm / 1000,
            state=chance.choice(("closed",) * 15 + STATES),
            cutter=chance.choice(_FIRST_NAMES) + " Moor" if chance.random() < 0.7 else "",
            title=f"{chance.choice(_TITLES)} {chance.randrange(400)}",
            customer=f"{chance.choice(_PLACES)} {chance.choice(_KINDS)}",
            drawing=f"D-{chance.randrange(10**5):05d}-{chance.choice('ABC')}",
            grade=chance.choice(_GRADES),
            thickness=f"{thickness_mm} mm",
            nozzle=f"{chance.randrange(8, 25) / 10} mm",
            gas=chance.choice(_GASES),
            date=(_FIRST_DAY + timedelta(days=at * 3650 // count)).isoformat(),
        )
        yield made, " ".join(chance.sample(parts, 6))


def put_many(archive: Archive, made: Iterable[tuple[Traveller, str]]) -> None:
    """Put travellers into the table as issuing them would."""
    rows = (
        {
            **{name: value for name, value in one.__dict__.items() if name != "facts"},
            **one.facts,
            "words": words_for(one, text, {}),
        }
        for one, text in made
    )
    with archive.engine.begin() as connection:
        connection.execute(CONTENT.insert().values(digest=NOTHING, bytes=b""))
        while some := list(islice(rows, _AT_ONCE)):
            connection.execute(TRAVELLER.insert(), some)
