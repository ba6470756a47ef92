"""What stands where in the form: panels in the order in which the gas and the work flow."""

from dataclasses import dataclass

__all__ = ["PANELS", "STAGE_PLACES", "Panel", "Repeat", "Section", "Table", "headings"]


@dataclass(frozen=True)
class Section:
    """Fields that belong together.

    Attributes:
        where: path of the group that its findings name, or empty.
        heading: shown above it, or empty.
        fields: paths of the fields in order.
        wide: those that take a whole line.
        is_folded: True if it is folded up while nothing is stated in it.
        cell_ems: least width of a field, in widths of a letter.
    """

    where: str
    heading: str
    fields: tuple[str, ...]
    wide: tuple[str, ...] = ()
    is_folded: bool = False
    cell_ems: int = 20


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
    content: tuple[Section | Repeat | Table, ...]


def _line(gas: str) -> tuple[Section, ...]:
    """Regulator, arrestor and hose of one gas."""
    return (
        Section(
            f"{gas}.regulator",
            "Regulator",
            (
                f"{gas}.regulator.outlet_limit",
                f"{gas}.regulator.flow_limit",
                f"{gas}.regulator.gauge_step",
                f"{gas}.regulator.gas_letters",
            ),
        ),
        Section(
            f"{gas}.arrestor",
            "Flashback arrestor",
            (
                f"{gas}.arrestor.fitted",
                f"{gas}.arrestor.pressure_loss",
                f"{gas}.arrestor.flow_limit",
                f"{gas}.arrestor.gas_letters",
            ),
        ),
        Section(
            f"{gas}.hose",
            "Hose",
            (f"{gas}.hose.bore", f"{gas}.hose.length", f"{gas}.hose.gas_letters"),
        ),
    )


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
        "The job",
        "Who wants what",
        (
            Section(
                "",
                "",
                (
                    "about.number",
                    "about.date",
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
        "Oxygen",
        "From the cylinder to the torch",
        (
            Repeat(
                "oxygen.cylinders",
                "Cylinders on hand",
                "Add oxygen cylinders",
                ("count", "capacity", "gauge", "temperature"),
            ),
            Section("", "", ("oxygen.purity", "oxygen.reserve")),
            *_line("oxygen"),
        ),
    ),
    Panel(
        "fuel",
        "Fuel gas",
        "From the cylinder or the main to the torch",
        (
            Section("", "", ("fuel.gas", "fuel.supply")),
            Repeat(
                "fuel.cylinders",
                "Cylinders on hand",
                "Add fuel cylinders",
                ("count", "weight_now", "weight_empty", "full_content", "temperature"),
            ),
            *_line("fuel"),
        ),
    ),
    Panel(
        "torch",
        "Torch and nozzle",
        "Where the gases meet",
        (Section("", "", ("torch.kind", "torch.mixing", "torch.oxygen_hoses", "torch.nozzle")),),
    ),
    Panel(
        "plate",
        "Plate",
        "As ordered and as measured",
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
            Section(
                "plate.certificate",
                "Mill certificate, percent by mass",
                tuple(f"plate.certificate.{name}" for name in _ELEMENTS),
                is_folded=True,
                cell_ems=9,
            ),
        ),
    ),
    Panel(
        "parts",
        "Parts",
        "What is cut from it",
        (Table("parts", "Add a part", ("name", "count", "cut_length", "starts", "start")),),
    ),
    Panel(
        "site",
        "Site and quality",
        "Where it is cut, and how well",
        (
            Section(
                "site",
                "Site",
                (
                    "site.place",
                    "site.closed_container",
                    "site.temperature",
                    "site.altitude",
                    "site.pressure",
                ),
            ),
            Section(
                "quality",
                "Wanted quality",
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
        "From the nozzle's chart",
        "What the maker's chart or the shop's says goes first",
        (
            Section(
                "chart",
                "Stated values",
                (
                    "chart.nozzle",
                    "chart.bore",
                    "chart.cutting_oxygen_pressure",
                    "chart.cutting_oxygen_flow",
                    "chart.heating_oxygen_pressure",
                    "chart.heating_oxygen_flow",
                    "chart.fuel_pressure",
                    "chart.fuel_flow",
                    "chart.speed",
                    "chart.kerf",
                    "chart.start_time",
                    "chart.pierce_time",
                ),
                is_folded=True,
            ),
        ),
    ),
    Panel(
        "prices",
        "Prices",
        "For the cost; without them there is none",
        (
            Section(
                "prices",
                "What the shop pays",
                ("prices.currency", "prices.oxygen_m3", "prices.fuel_kg", "prices.hour"),
                is_folded=True,
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


def headings() -> dict[str, str]:
    """Return what to call each group, by its path."""
    named: dict[str, str] = {}
    for panel in PANELS:
        named[panel.where] = panel.heading
        for item in panel.content:
            if isinstance(item, Repeat) or (isinstance(item, Section) and item.where):
                named[item.where] = f"{panel.heading}, {item.heading[:1].lower()}{item.heading[1:]}"
    named["site"], named["quality"] = "Site", "Wanted quality"
    named["chart"], named["prices"] = "From the nozzle's chart", "Prices"
    named["plate.certificate"] = "Mill certificate"
    return named
