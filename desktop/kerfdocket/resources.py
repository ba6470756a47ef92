"""Where the shipped tables and sheet templates are, installed or in a checkout."""

from importlib.resources import files
from pathlib import Path

from kerfdocket.errors import ResourceMissing
from kerfdocket.language import _

__all__ = ["data_dir"]

_KINDS = ("tables", "sheet_templates")


def _checkout_root() -> Path | None:
    root = Path(__file__).resolve().parents[2]  # desktop/kerfdocket/resources.py -> root
    is_checkout = (root / "pyproject.toml").is_file() and (root / "desktop").is_dir()
    return root if is_checkout else None


def data_dir(kind: str) -> Path:
    """Return the folder of one kind of shipped data.

    Args:
        kind: `tables` or `sheet_templates`.

    Raises:
        ValueError: `kind` is neither.
        ResourceMissing: the folder is not there; the installation is damaged.
    """
    if kind not in _KINDS:
        raise ValueError(f"kind={kind!r} must be one of {_KINDS}")
    root = _checkout_root()
    # `tables` never becomes an import package: that name belongs to a well-known library.
    folder = root / kind if root else Path(str(files("kerfdocket"))) / "_data" / kind
    if not folder.is_dir():
        raise ResourceMissing(
            _("no {kind} folder at {folder}; install kerfdocket again", kind=kind, folder=folder)
        )
    return folder
