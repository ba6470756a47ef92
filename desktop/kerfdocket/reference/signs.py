"""Registered safety signs, and what calls for each."""

from collections.abc import Iterable
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from kerfdocket.reference.table import Row, Tables

__all__ = ["SignKind", "SignRow", "read_signs", "signs_called"]

SignKind = Literal["warning", "mandatory", "prohibition"]

_LETTERS: dict[SignKind, str] = {"warning": "W", "mandatory": "M", "prohibition": "P"}


def _split(value: object) -> object:
    if isinstance(value, str):
        return tuple(word.strip() for word in value.split(";"))
    return value


Words = Annotated[tuple[str, ...], BeforeValidator(_split)]


class SignRow(Row):
    """One safety sign of ISO 7010.

    Attributes:
        sign: registered number, such as `W021`.
        kind: `warning`, `mandatory` or `prohibition`.
        referent: what it means.
        cautions: keys of the hazards that call for it; any of them is enough.
        items: protective equipment that calls for it; any of it is enough.
        instead_of: number of the sign that it stands for as well; may be empty.
        condition: when it holds; empty if it always does.
    """

    sign: str = Field(pattern=r"^[MPW]\d{3}$")
    kind: SignKind
    referent: str = Field(min_length=3)
    cautions: Words = ()
    items: Words = ()
    instead_of: str = ""
    condition: str = ""

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        if not self.sign.startswith(_LETTERS[self.kind]):
            raise ValueError(f"sign {self.sign} must be of kind {self.kind}")
        if not (self.cautions or self.items):
            raise ValueError(f"sign {self.sign} must name a caution or an item")
        return self

    @property
    def key(self) -> str:
        """The registered number."""
        return self.sign


def signs_called(
    signs: Iterable[SignRow], cautions: Iterable[str], items: Iterable[str]
) -> tuple[SignRow, ...]:
    """Return the signs that cautions and protective equipment call for, in the table's order.

    Args:
        signs: all of them.
        cautions: keys of the hazards that apply.
        items: the protective equipment that is asked for.
    """
    stated, asked = frozenset(cautions), frozenset(items)
    called = [
        row
        for row in signs
        if not (stated.isdisjoint(row.cautions) and asked.isdisjoint(row.items))
    ]
    covered = {row.instead_of for row in called}
    return tuple(row for row in called if row.sign not in covered)


def read_signs(tables: Tables) -> tuple[SignRow, ...]:
    """Read the safety signs."""
    return tables.rows("hazards/signs", SignRow)
