"""What a shop's own template may do: arrange and style what the sheet has to say, and no more.

Jinja2's sandbox keeps a template from reaching into Python. This list besides keeps it from running
for ever or filling the memory, and names what is not allowed with its line. What it makes in loops
is counted while it is made.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from jinja2 import TemplateError, TemplateSyntaxError, nodes
from jinja2.sandbox import ImmutableSandboxedEnvironment

from kerfdocket.language import _
from kerfdocket.sheet.drawing import drawing_problems

__all__ = ["MOST_TEMPLATE_BYTES", "TooLong", "page_problems", "template_problems", "within_bounds"]

MOST_TEMPLATE_BYTES = 100_000  # five times the shipped one
_MOST_LETTERS = 5_000_000  # of what it makes; a sheet has some 50 000

_MOST_NESTED = 2  # loops in loops; the longest list has some hundred rows
_FILTERS = frozenset(
    {"capitalize", "count", "default", "e", "escape", "first", "join", "last", "length", "list"}
    | {"lower", "title", "trim", "upper"}
)
# What a loop may run over, and what is multiplied by a separator.
_LONGEST_CONSTANT = 200
_LONGEST_LIST = 20
# A name that may be called must be what it says.
_TAKEN = frozenset({"m", "super", "self", "loop", "sheet"})
_TESTS = frozenset(
    {"defined", "undefined", "none", "true", "false", "odd", "even", "in", "sameas", "string"}
    | {"eq", "equalto", "ne", "gt", "ge", "lt", "le"}
)
# What can make a long text of a short one, again and again; a sheet's values come ready to print.
_REFUSED: dict[type[nodes.Node], str] = {
    nodes.Add: "+",
    nodes.Concat: "~",
    nodes.Mul: "*",
    nodes.Pow: "**",
    nodes.Mod: "%",
    nodes.Dict: "{…: …}",
    nodes.With: "{% with %}",
    nodes.AssignBlock: "{% set … %}…{% endset %}",
    nodes.ScopedEvalContextModifier: "{% autoescape %}",
    nodes.Include: "{% include %}",
    nodes.FromImport: "{% from %}",
    nodes.Macro: "{% macro %}",
    nodes.CallBlock: "{% call %}",
    nodes.FilterBlock: "{% filter %}",
}
_SHEET, _MACROS = "traveller/sheet.html.j2", "shared/macros.html.j2"
_NAMED = f"{_SHEET}, {_MACROS}"


class TooLong(ValueError):
    """A template makes more than any sheet could hold."""


def within_bounds(pieces: Iterable[str]) -> str:
    """Join what a template makes, while it is not more than any sheet could hold.

    Raises:
        TooLong: it is more.
    """
    kept, letters = [], 0
    for piece in pieces:
        letters += len(piece)
        if letters > _MOST_LETTERS:
            raise TooLong(_("it makes more than {number} letters, no sheet", number=_MOST_LETTERS))
        kept.append(piece)
    return "".join(kept)


def template_problems(text: str) -> tuple[str, ...]:
    """Return what a template does that it may not, with the line.

    Args:
        text: a Jinja2 template.

    >>> template_problems("{{ sheet.number }}")
    ()
    >>> template_problems("{{ ''.__class__ }}")
    ("line 1: names that begin with an underscore are not allowed ('__class__')",)
    """
    environment = ImmutableSandboxedEnvironment()
    try:
        tree = environment.parse(text)
        problems = tuple(dict.fromkeys(_problems(tree, 0, may_grow=True)))
        if not problems:
            environment.compile(text)  # a block that is there twice is found only here
    except TemplateSyntaxError as error:
        return (_at(error.lineno, _("is no template: {reason}", reason=error.message)),)
    except (TemplateError, RecursionError, MemoryError, SyntaxError, ValueError) as error:
        # Brackets in brackets without end, or a number of thousands of digits.
        return (_at(1, _("is no template: {reason}", reason=str(error) or type(error).__name__)),)
    return problems


# What would read files, lead out of the sheet, or put another job into its file.
_NO_TAGS = frozenset(
    {"applet", "audio", "base", "button", "embed", "form", "iframe", "object", "script", "video"}
)
_INPUTS = frozenset({"text", "checkbox"})


def page_problems(root: Any) -> tuple[str, ...]:
    """Return what stands in a shop's page and may not.

    Args:
        root: of the page, an element of ElementTree.
    """
    return tuple(dict.fromkeys(_page_problems(root)))


def _page_problems(root: Any) -> Iterator[str]:
    for part in root.iter():
        tag = str(part.tag).rpartition("}")[2].lower()
        rel = (part.get("rel") or "").lower().split()
        if tag in _NO_TAGS:
            yield _("'{sign}' is not allowed", sign=f"<{tag}>")
        elif tag == "link" and rel != ["stylesheet"]:
            yield _("'{sign}' is not allowed", sign=f"<link rel={' '.join(rel)}>")
        elif tag in {"a", "area"} and (rel or not (part.get("href") or "#").startswith("#")):
            yield _("a link may only lead to another place of the sheet: {sign}", sign=f"<{tag}>")
        elif tag == "input" and (part.get("type") or "text").lower() not in _INPUTS:
            yield _("'{sign}' is not allowed", sign=f"<input type={part.get('type')}>")
        elif tag == "svg":
            yield from drawing_problems(part, "<svg>")


def _at(line: int, text: str) -> str:
    return _("line {line}: {text}", line=line, text=text)


def _problems(node: nodes.Node, depth: int, may_grow: bool) -> Iterator[str]:
    """Walk the tree; `depth` counts the loops round a node.

    What is called or joined is longer than what it was made of. It may be printed, and not be
    named, looped over or made longer again: a few dozen times would fill any memory.
    """
    if isinstance(node, nodes.For):
        depth += 1
        if node.recursive or depth > _MOST_NESTED:
            yield _at(
                node.lineno,
                _("at most {number} loops in each other, none recursive", number=_MOST_NESTED),
            )
    said = _refusal(node)
    if said:
        yield _at(node.lineno, said)
    grows = isinstance(node, nodes.Call) or (isinstance(node, nodes.Filter) and node.name == "join")
    if grows and not may_grow:
        yield _at(node.lineno, _("what is called or joined may only be printed"))
    for child in node.iter_child_nodes():
        is_source = isinstance(node, nodes.For) and child is node.iter
        stays = grows or is_source or isinstance(node, nodes.Assign)
        yield from _problems(child, depth, may_grow and not stays)


def _refusal(node: nodes.Node) -> str:
    """Say why a node is not allowed, or nothing."""
    match node:
        case nodes.Getattr(attr=str(name)) if name.startswith("_"):
            return _("names that begin with an underscore are not allowed ('{name}')", name=name)
        case nodes.Getitem(arg=nodes.Const(value=str(name))) if name.startswith("_"):
            return _("names that begin with an underscore are not allowed ('{name}')", name=name)
        case nodes.Name(name=name, ctx="store") if name in _TAKEN or name.startswith("_"):
            return _("the name '{name}' is taken", name=name)
        case nodes.Call() if not _may_call(node.node):
            return _("only the sheet's own macros may be called")
        case nodes.Const(value=str(text)) if len(text) > _LONGEST_CONSTANT:
            return _("at most {number} letters in quotes", number=_LONGEST_CONSTANT)
        case nodes.List() | nodes.Tuple(ctx="load") if not _is_plain(node.items):
            return _("a list may hold at most {number} constants", number=_LONGEST_LIST)
        case nodes.Filter(name=name) if name not in _FILTERS:
            return _("the filter '{name}' is not allowed", name=name)
        case nodes.Test(name=name) if name not in _TESTS:
            return _("the test '{name}' is not allowed", name=name)
        case nodes.Import() if not (_is(node.template, _MACROS) and node.target == "m"):
            return _("only the shipped templates may be read in: {names}", names=_NAMED)
        case nodes.Extends() if not _is(node.template, _SHEET):
            return _("only the shipped templates may be read in: {names}", names=_NAMED)
    for kind, sign in _REFUSED.items():
        if isinstance(node, kind):
            return _("'{sign}' is not allowed", sign=sign)
    return ""


def _is(template: nodes.Node, name: str) -> bool:
    return isinstance(template, nodes.Const) and template.value == name


def _is_plain(items: list[nodes.Expr]) -> bool:
    """Whether a list is no list of lists, each twice as long as the one in it."""
    return len(items) <= _LONGEST_LIST and all(isinstance(one, nodes.Const) for one in items)


def _may_call(called: nodes.Node) -> bool:
    if isinstance(called, nodes.Name):
        return called.name == "super"
    # The shipped macros, imported under one name: m.line(...).
    return (
        isinstance(called, nodes.Getattr)
        and isinstance(called.node, nodes.Name)
        and called.node.name == "m"
        and not called.attr.startswith("_")
    )
