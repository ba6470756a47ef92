"""What stands where in the form: panels in the order in which the gas and the work flow.

Its words are marked for the catalog and said by the widgets that show them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from kerfdocket.language import _, marked
from kerfdocket.quantity import METRIC, US_CUSTOMARY, UnitSystem
from kerfdocket.window.words import inside

__all__ = [
    "LINES",
    "PANELS",
    "STAGE_PLACES",
    "Fold",
    "Panel",
    "Repeat",
    "Section",
    "Table",
    "headings",
]


@dataclass(frozen=True)
class Section:
    """Fields that belong together.

    Attributes:
        where: path of the group that its findings name, or empty.
        heading: shown above it, or empty.
        fields: paths of the fields in order.
        wide: those that take a whole line.
        cell_ems: least width of a field, in widths of a letter.
        only_in: path of a field -> the units that it is for; in others it is shown last, and only
            while it states something.
    """

    where: str
    heading: str
    fields: tuple[str, ...]
    wide: tuple[str, ...] = ()
    cell_ems: int = 20
    only_in: Mapping[str, UnitSystem] = field(default_factory=dict)


@dataclass(frozen=True)
class Fold:
    """What few jobs state; folded up while nothing is stated in it.

    Attributes:
        where: path of the group that its findings name, or empty.
        heading: what it is folded up to.
        sections: what it shows when it is open.
        opened_by: path of a field elsewhere -> values of it that call for this.
    """

    where: str
    heading: str
    sections: tuple[Section, ...]
    opened_by: Mapping[str, tuple[object, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Repeat:
    """A list of alike groups, each with the same few fields."""

    where: str
    heading: str
    add_text: str
    names: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A list with a row for each item."""

    where: str
    add_text: str
    names: tuple[str, ...]


@dataclass(frozen=True)
class Panel:
    """One station on the way from cylinder to plate."""

    where: str
    heading: str
    hint: str
    content: tuple[Section | Fold | Repeat | Table, ...]


def _paths(group: str, *names: str) -> tuple[str, ...]:
    return tuple(f"{group}.{name}" for name in names)


def _line(gas: str) -> tuple[Section | Fold, ...]:
    """Regulator, arrestor and hose of one gas; folded, what only the equipment itself tells."""
    regulator, arrestor, hose = _paths(gas, "regulator", "arrestor", "hose")
    return (
        Section(regulator, marked("Regulator"), _paths(regulator, "outlet_limit", "flow_limit")),
        Section(
            arrestor,
            marked("Flashback arrestor"),
            _paths(arrestor, "fitted", "pressure_loss", "flow_limit"),
        ),
        Fold(
            "",
            marked("Where the arrestor's diagram was read"),
            (Section("", "", _paths(arrestor, "loss_flow", "loss_inlet", "loss_gas")),),
        ),
        Section(hose, marked("Hose"), _paths(hose, "bore", "length", "joints")),
        Fold(
            f"{gas}.standing_test",
            marked("Standing test, as it was read"),
            (
                Section(
                    "",
                    "",
                    _paths(
                        f"{gas}.standing_test",
                        "begin_gauge",
                        "end_gauge",
                        "begin_temperature",
                        "end_temperature",
                        "time",
                    ),
                ),
            ),
        ),
        Fold(
            "",
            marked("Marks on regulator, arrestor and hose"),
            (
                Section(
                    "",
                    "",
                    (
                        *_paths(regulator, "rated_class", "gauge_step"),
                        *(f"{arrestor}.functions", f"{regulator}.gas_letters"),
                        *(f"{arrestor}.gas_letters", f"{hose}.gas_letters"),
                    ),
                ),
            ),
        ),
    )


def _outlet(gas: str, opened_by: Mapping[str, tuple[object, ...]]) -> Fold:
    """Where the gas of a main or a tank comes out."""
    where = f"{gas}.outlet"
    names = ("pressure", "flow_limit", "content", "content_weight")
    return Fold(
        where,
        marked("Outlet of a main or a tank"),
        (Section("", "", _paths(where, *names)),),
        opened_by,
    )


def _heating_line() -> Fold:
    """The line of the heating oxygen where it has one of its own."""
    where = "oxygen.heating"
    regulator, arrestor, hose = _paths(where, "regulator", "arrestor", "hose")
    return Fold(
        where,
        marked("Heating oxygen with a hose of its own"),
        (
            Section(
                regulator,
                marked("Heating oxygen regulator"),
                _paths(
                    regulator,
                    "outlet_limit",
                    "flow_limit",
                    "gauge_step",
                    "rated_class",
                    "gas_letters",
                ),
            ),
            Section(
                arrestor,
                marked("Heating oxygen arrestor"),
                _paths(
                    arrestor,
                    "fitted",
                    "pressure_loss",
                    "flow_limit",
                    "loss_flow",
                    "loss_inlet",
                    "loss_gas",
                    "functions",
                    "gas_letters",
                ),
            ),
            Section(
                hose,
                marked("Heating oxygen hose"),
                _paths(hose, "bore", "length", "joints", "gas_letters"),
            ),
        ),
        {"torch.oxygen_hoses": (2,)},
    )


_NO_CYLINDERS = ("main", "tank")
_ELEMENTS = (
    "carbon",
    "silicon",
    "manganese",
    "chromium",
    "molybdenum",
    "nickel",
    "copper",
    "vanadium",
    "niobium",
    "boron",
)

PANELS: tuple[Panel, ...] = (
    Panel(
        "about",
        marked("The job"),
        marked("Who wants what"),
        (
            Section(
                "",
                "",
                (
                    "about.number",
                    "about.date",
                    "units",
                    "paper",
                    "language",
                    "about.revision",
                    "about.title",
                    "about.customer",
                    "about.drawing",
                    "about.prepared_by",
                    "about.note",
                ),
                wide=("about.title", "about.note"),
            ),
        ),
    ),
    Panel(
        "oxygen",
        marked("Oxygen"),
        marked("From the cylinder or the main to the torch"),
        (
            Section("", "", ("oxygen.supply", "oxygen.purity", "oxygen.reserve")),
            Repeat(
                "oxygen.cylinders",
                marked("Cylinders on hand"),
                marked("Add oxygen cylinders"),
                ("count", "coupled", "capacity", "gauge", "temperature"),
            ),
            _outlet("oxygen", {"oxygen.supply": _NO_CYLINDERS}),
            *_line("oxygen"),
            _heating_line(),
        ),
    ),
    Panel(
        "fuel",
        marked("Fuel gas"),
        marked("From the cylinder or the main to the torch"),
        (
            Section("", "", ("fuel.gas", "fuel.supply")),
            Repeat(
                "fuel.cylinders",
                marked("Cylinders on hand"),
                marked("Add fuel cylinders"),
                ("count", "coupled", "weight_now", "weight_empty", "full_content", "temperature"),
            ),
            Fold(
                "",
                marked("Draw of acetylene, where the supplier states one"),
                (Section("", "", ("fuel.draw_share",)),),
            ),
            _outlet("fuel", {"fuel.supply": _NO_CYLINDERS, "fuel.gas": ("natural gas",)}),
            *_line("fuel"),
        ),
    ),
    Panel(
        "torch",
        marked("Torch and nozzle"),
        marked("Where the gases meet"),
        (
            Section(
                "",
                "",
                (
                    "torch.kind",
                    "torch.mixing",
                    "torch.lighting",
                    "torch.oxygen_hoses",
                    "torch.nozzle",
                    "torch.flame",
                    "torch.idle_share",
                ),
            ),
        ),
    ),
    Panel(
        "plate",
        marked("Plate"),
        marked("As ordered and as measured"),
        (
            Section(
                "",
                "",
                (
                    "plate.grade",
                    "plate.thickness",
                    "plate.readings",
                    "plate.length",
                    "plate.width",
                    "plate.surface",
                    "plate.preheat",
                    "plate.tolerance_class",
                ),
                wide=("plate.readings",),
            ),
            Fold(
                "plate.certificate",
                marked("Mill certificate, percent by mass"),
                (Section("", "", _paths("plate.certificate", *_ELEMENTS), cell_ems=9),),
            ),
        ),
    ),
    Panel(
        "parts",
        marked("Parts"),
        marked("What is cut from it"),
        (Table("parts", marked("Add a part"), ("name", "count", "cut_length", "starts", "start")),),
    ),
    Panel(
        "site",
        marked("Site and quality"),
        marked("Where it is cut, and how well"),
        (
            Section(
                "site",
                marked("Site"),
                (
                    "site.place",
                    "site.region",
                    "site.closed_container",
                    "site.temperature",
                    "site.altitude",
                    "site.pressure",
                ),
            ),
            Section(
                "quality",
                marked("Wanted quality"),
                (
                    "quality.perpendicularity_range",
                    "quality.roughness_range",
                    "quality.tolerance_class",
                ),
            ),
        ),
    ),
    Panel(
        "chart",
        marked("From the nozzle's chart"),
        marked("The maker's or shop's; it goes first"),
        (
            Fold(
                "chart",
                marked("Stated values"),
                (
                    Section(
                        "",
                        "",
                        _paths(
                            "chart",
                            "nozzle",
                            "bore",
                            "bore_length",
                            "cutting_oxygen_pressure",
                            "cutting_oxygen_flow",
                            "heating_oxygen_pressure",
                            "heating_oxygen_flow",
                            "fuel_pressure",
                            "fuel_flow",
                            "speed",
                            "kerf",
                            "start_time",
                            "pierce_time",
                        ),
                    ),
                ),
            ),
        ),
    ),
    Panel(
        "prices",
        marked("Prices"),
        marked("For the cost; without them there is none"),
        (
            Fold(
                "prices",
                marked("What the shop pays"),
                (
                    Section(
                        "",
                        "",
                        _paths(
                            "prices",
                            "currency",
                            "oxygen_m3",
                            "oxygen_100ft3",
                            "fuel_kg",
                            "fuel_lb",
                            "hour",
                        ),
                        only_in={
                            "prices.oxygen_m3": METRIC,
                            "prices.oxygen_100ft3": US_CUSTOMARY,
                            "prices.fuel_kg": METRIC,
                            "prices.fuel_lb": US_CUSTOMARY,
                        },
                    ),
                ),
            ),
        ),
    ),
)

# Where a finding is shown that names a stage of the plan and not a field.
STAGE_PLACES: dict[str, str] = {
    "steel": "plate.grade",
    "nozzle": "torch.nozzle",
    "setting": "torch",
    "line": "oxygen",
    "cut": "parts",
    "use": "oxygen",
    "supply": "oxygen.cylinders",
    "hazard": "site",
    "steps": "about",
    "cost": "prices",
}


# What a field is called after where another has the same title.
LINES: dict[str, str] = {
    "oxygen": marked("Oxygen"),
    "oxygen.cylinders": marked("Oxygen cylinders"),
    "oxygen.outlet": marked("Oxygen main or tank:"),
    "oxygen.standing_test": marked("Oxygen standing test:"),
    "oxygen.heating": marked("Heating oxygen"),
    "fuel": marked("Fuel"),
    "fuel.cylinders": marked("Fuel cylinders"),
    "fuel.outlet": marked("Fuel main or tank:"),
    "fuel.standing_test": marked("Fuel standing test:"),
    "chart": marked("Nozzle's chart:"),
}


def headings() -> dict[str, str]:
    """Return what to call each group, by its path, in the language that is spoken."""
    named: dict[str, str] = {}
    for panel in PANELS:
        named[panel.where] = _(panel.heading)
        for item in panel.content:
            within = item.sections if isinstance(item, Fold) else ()
            for group in (item, *within):
                if not isinstance(group, Table) and group.where:
                    named[group.where] = _(
                        "{panel}, {group}",
                        panel=_(panel.heading),
                        group=inside(_(group.heading)),
                    )
    named["site"], named["quality"] = _("Site"), _("Wanted quality")
    named["chart"], named["prices"] = _("From the nozzle's chart"), _("Prices")
    named["plate.certificate"] = _("Mill certificate")
    return named
