"""Safety signs: registered numbers and meanings, and what calls for them."""

import pytest

from kerfdocket.reference import load_reference

REFERENCE = load_reference()

# ISO 7010, number and title, as a public list of the registered signs has them.
REGISTERED = {
    "W015": "Overhead load",
    "W016": "Toxic material",
    "W017": "Hot surface",
    "W021": "Flammable material",
    "W028": "Oxidizing substance",
    "W029": "Pressurized cylinder",
    "W041": "Asphyxiating atmosphere",
    "P003": "No open flame; Fire, open ignition source and smoking prohibited",
    "M003": "Wear ear protection",
    "M007": "Opaque eye protection must be worn",
    "M008": "Wear safety footwear",
    "M009": "Wear protective gloves",
    "M010": "Wear protective clothing",
    "M014": "Wear head protection",
    "M017": "Wear respiratory protection",
    "M019": "Wear a welding mask",
    "M026": "Use protective apron",
    "M046": "Secure gas cylinders",
    "M048": "Use gas detector",
}


def numbers(cautions=(), items=()):
    return [row.sign for row in REFERENCE.signs_for(cautions, items)]


def test_numbers_and_meanings_are_the_registered_ones():
    assert {row.sign for row in REFERENCE.signs} == set(REGISTERED)
    for row in REFERENCE.signs:
        title = REGISTERED[row.sign]
        wanted = f"Warning: {title}" if row.kind == "warning" else title
        assert row.referent.lower() == wanted.lower()
        # The standard itself was not opened.
        assert row.trust == "published, second-hand"


def test_warnings_stand_before_prohibitions_and_those_before_what_to_wear():
    order = ["warning", "prohibition", "mandatory"]
    places = [order.index(row.kind) for row in REFERENCE.signs]
    assert places == sorted(places)


def test_what_calls_for_a_sign_exists():
    hazards = {row.key for row in REFERENCE.hazards}
    items = {row.item for row in REFERENCE.protective}
    for row in REFERENCE.signs:
        assert set(row.cautions) <= hazards
        assert set(row.items) <= items
        assert row.instead_of in {"", *REGISTERED} - {row.sign}


def test_nothing_called_no_sign():
    assert numbers() == []
    assert numbers(["storage", "hand-slip"], ["Friction lighter"]) == []


@pytest.mark.parametrize(
    ("cautions", "items", "wanted"),
    [
        (["zinc"], [], ["W016"]),
        (["paint", "zinc", "oil"], [], ["W016", "W021"]),
        (["confined"], ["Gas detector"], ["W041", "M048"]),
        ([], ["Breathing protection or extraction at the cut"], ["M017"]),
        (["leak"], [], ["W021", "P003"]),
        ([], ["Goggles or shield with filter"], ["M007"]),
    ],
)
def test_cautions_and_equipment_call_for_their_signs(cautions, items, wanted):
    assert numbers(cautions, items) == wanted


def test_a_mask_covers_the_eyes():
    both = ["Goggles or shield with filter", "Face shield with filter"]
    assert numbers(items=both) == ["M019"]


def test_an_open_flame_is_forbidden_only_under_a_condition():
    # The work is a flame: a prohibition without its condition would be read past.
    for row in REFERENCE.signs:
        assert bool(row.condition) == (row.sign == "P003")
