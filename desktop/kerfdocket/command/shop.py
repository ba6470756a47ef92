"""A shop's own folder on the command line."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from kerfdocket.job import Job, read_job
from kerfdocket.language import _, counted, listed
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference

if TYPE_CHECKING:
    from kerfdocket.sheet import Shop

__all__ = ["add_shop", "shop_text", "stated_shop"]

# One job that can be cut and one that cannot: a sheet and a draft.
_TRIALS = ("S235JR", "1.4301")


def add_shop(command: argparse.ArgumentParser) -> None:
    """Let a command take a shop's folder."""
    command.add_argument(
        "--shop",
        type=Path,
        metavar=_("FOLDER"),
        help=_("with what the shop adds; without it, the folder set up for this user"),
    )


def stated_shop(folder: Path | None) -> "Shop | None":
    """Return the shop of a folder, or of the user's own one where none is given.

    Raises:
        ShopError: the folder cannot be used.
    """
    from kerfdocket.sheet import load_shop, own_shop_folder

    folder = folder or own_shop_folder()
    return load_shop(folder) if folder is not None else None


def shop_text(folder: Path) -> str:
    """Check a shop's folder, to the last by making sheets with it, and say what it adds.

    Raises:
        ShopError: the folder cannot be used.
    """
    from kerfdocket.sheet import load_shop, sheet_pdf

    shop, reference = load_shop(folder), load_reference()
    for grade in _TRIALS:
        sheet_pdf(make_plan(_trial(grade), reference), shop=shop)
    adds = [shop.name]
    adds += [_("logo {file}", file=shop.logo)] if shop.logo else []
    adds += [_("style {file}", file=shop.style)] if shop.style else []
    adds += [_("template {file}", file=shop.template)] if shop.template else []
    if shop.cautions:
        adds.append(counted("{count} caution", "{count} cautions", len(shop.cautions)))
    if shop.fields:
        names = listed([one.name for one in shop.fields])
        adds.append(
            counted(
                "{count} field: {names}", "{count} fields: {names}", len(shop.fields), names=names
            )
        )
    return _("{folder} can be used.", folder=folder) + "\n" + "".join(f"  {one}\n" for one in adds)


def _trial(grade: str) -> Job:
    return read_job(
        {
            "kerfdocket-job": 1,
            "about": {"number": "0", "title": _("Trial")},
            "plate": {"grade": grade, "thickness": "12 mm"},
            "fuel": {"gas": "acetylene"},
        }
    )
