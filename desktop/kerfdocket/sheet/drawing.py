"""What an SVG of a shop's may hold: a drawing that refers to nothing outside, and that ends.

A few hundred letters that use each other can stand for a drawing of millions of parts.
"""

import re
from collections.abc import Iterator
from typing import Any

from kerfdocket.language import _

__all__ = ["drawing_problems"]

_MOST_DRAWN = 20_000  # parts; some seconds
_ADDRESS = re.compile(r"""url\(\s*["']?\s*([^)"'\s]*)""", re.IGNORECASE)
_CHEAP = frozenset({"linearGradient", "radialGradient"})


class _EndlessError(Exception):
    """A part of a drawing is made of itself."""


def drawing_problems(root: Any, name: str) -> Iterator[str]:
    """Yield what is wrong with a drawing.

    Args:
        root: of the drawing, an element of ElementTree.
        name: of the file.
    """
    if _local(root.tag) != "svg":
        yield _("{name} is no SVG", name=name)
        return
    parts = {part.get("id"): part for part in root.iter() if part.get("id")}
    for part in root.iter():
        kind = _local(part.tag)
        if kind == "image":
            yield _("{name} has a picture in it; draw it, or give the picture itself", name=name)
            return
        if any(not to.startswith("#") for to, _times in _referred(part)):
            yield _("{name} refers to something outside itself", name=name)
            return
        if kind == "style" and not _is_style_plain(part, parts):
            yield _(
                "{name} refers to something in its <style>; only to gradients, else at the part "
                "itself",
                name=name,
            )
            return
    try:
        drawn = _drawn(root, parts, {})
    except (_EndlessError, RecursionError):
        yield _("{name} is made of itself, without end", name=name)
        return
    if drawn > _MOST_DRAWN:
        yield _("{name} has more than {number} parts to draw", name=name, number=_MOST_DRAWN)


def _local(tag: Any) -> str:
    return str(tag).rpartition("}")[2]


def _is_style_plain(style: Any, parts: dict[str, Any]) -> bool:
    text = "".join(style.itertext())
    return "@import" not in text.lower() and all(
        to.startswith("#") and to[1:] in parts and _local(parts[to[1:]].tag) in _CHEAP
        for to in _ADDRESS.findall(text)
    )


def _referred(part: Any) -> Iterator[tuple[str, int]]:
    """To what a part refers, and how often that is drawn at the most."""
    corners = max(len(part.get("d") or part.get("points") or "") // 2, 1)
    for key, value in part.items():
        if _local(key) == "href" and _local(part.tag) != "a":
            yield value.strip(), 1
        for to in _ADDRESS.findall(value):
            # A marker stands at each corner.
            yield to, corners if "marker" in key or "marker" in value else 1


def _drawn(part: Any, parts: dict[str, Any], known: dict[Any, int | None]) -> int:
    """How many parts are drawn for this one."""
    if part in known:
        drawn = known[part]
        if drawn is None:
            raise _EndlessError
        return drawn
    known[part] = None
    drawn = 1 + sum(_drawn(child, parts, known) for child in part)
    for to, times in _referred(part):
        if to[1:] in parts:
            drawn += times * _drawn(parts[to[1:]], parts, known)
    known[part] = drawn
    return drawn
