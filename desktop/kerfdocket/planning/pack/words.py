"""What cylinders are called on a cover and in a pick list."""

from kerfdocket.language import _
from kerfdocket.planning.pack.model import CylinderKind
from kerfdocket.quantity import UnitSystem

__all__ = ["cylinder_text"]


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
