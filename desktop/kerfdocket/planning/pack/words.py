"""What cylinders, nozzles and torches are called on a cover and in a pick list."""

from kerfdocket.language import _, marked
from kerfdocket.planning.pack.model import CylinderKind, NozzleKind
from kerfdocket.quantity import UnitSystem

__all__ = ["cylinder_text", "mixing_text", "torch_text"]

_TORCHES = {
    "hand": marked("Hand torch"),
    "tractor": marked("Torch on a tractor"),
    "machine": marked("Machine torch"),
}
_MIXING = {
    "nozzle": marked("gases mix in the nozzle"),
    "torch": marked("gases mix in the torch"),
    "injector": marked("injector torch"),
}


def cylinder_text(kind: CylinderKind, units: UnitSystem) -> str:
    """Return what a cylinder or bundle is, its size in brackets of the other units if need be."""
    size = units.stated(kind.size) if kind.size is not None else ""
    if kind.coupled == 1:
        return _("cylinder of {size}", size=size) if size else _("cylinder")
    if not size:
        return _("bundle of {count}", count=kind.coupled)
    if kind.gas == "oxygen":
        return _("bundle of {count} × {size}", count=kind.coupled, size=size)
    return _("bundle of {count}, {size} in all", count=kind.coupled, size=size)


def torch_text(kind: NozzleKind) -> str:
    """Return the torch that a nozzle stays in."""
    return _(_TORCHES[kind.torch])


def mixing_text(kind: NozzleKind) -> str:
    """Return where the torch of a nozzle mixes its gases."""
    return _(_MIXING[kind.mixing])
