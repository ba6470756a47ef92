"""What a shop's own template may do: arrange and style what the sheet has to say, and no more.

Jinja2's sandbox keeps a template from reaching into Python. This list besides keeps it from running
for ever or filling the memory, and names what is not allowed with its line.
"""

from collections.abc import Iterator

from jinja2 import TemplateSyntaxError, nodes
from jinja2.sandbox import ImmutableSandboxedEnvironment

from kerfdocket.language import _

__all__ = ["template_problems"]

_MOST_NESTED = 2  # loops in loops; the longest list has some hundred rows
_FILTERS = frozenset(
    {"capitalize", "count", "default", "e", "escape", "first", "join", "last", "length", "list"}
    | {"lower", "title", "trim", "upper"}
)
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
    nodes.AssignBlock: "{% set … %}…{% endset %}",
    nodes.ScopedEvalContextModifier: "{% autoescape %}",
    nodes.Include: "{% include %}",
    nodes.FromImport: "{% from %}",
    nodes.Macro: "{% macro %}",
    nodes.CallBlock: "{% call %}",
    nodes.FilterBlock: "{% filter %}",
}
_SHIPPED = ("traveller/sheet.html.j2", "shared/macros.html.j2")
_NAMED = ", ".join(_SHIPPED)


def template_problems(text: str) -> tuple[str, ...]:
    """Return what a template does that it may not, with the line.

    Args:
        text: a Jinja2 template.

    >>> template_problems("{{ sheet.number }}")
    ()
    >>> template_problems("{{ ''.__class__ }}")
    ("line 1: names that begin with an underscore are not allowed ('__class__')",)
    """
    try:
        tree = ImmutableSandboxedEnvironment().parse(text)
    except TemplateSyntaxError as error:
        return (_at(error.lineno, _("is no template: {reason}", reason=error.message)),)
    return tuple(dict.fromkeys(_problems(tree, 0)))


def _at(line: int, text: str) -> str:
    return _("line {line}: {text}", line=line, text=text)


def _problems(node: nodes.Node, depth: int) -> Iterator[str]:
    """Walk the tree; `depth` counts the loops round a node."""
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
    for child in node.iter_child_nodes():
        yield from _problems(child, depth)


def _refusal(node: nodes.Node) -> str:
    """Say why a node is not allowed, or nothing."""
    match node:
        case nodes.Getattr(attr=str(name)) if name.startswith("_"):
            return _("names that begin with an underscore are not allowed ('{name}')", name=name)
        case nodes.Getitem(arg=nodes.Const(value=str(name))) if name.startswith("_"):
            return _("names that begin with an underscore are not allowed ('{name}')", name=name)
        case nodes.Call() if not _may_call(node.node):
            return _("only the sheet's own macros may be called")
        case nodes.Filter(name=name) if name not in _FILTERS:
            return _("the filter '{name}' is not allowed", name=name)
        case nodes.Test(name=name) if name not in _TESTS:
            return _("the test '{name}' is not allowed", name=name)
        case nodes.Import() | nodes.Extends() if not _is_shipped(node.template):
            return _("only the shipped templates may be read in: {names}", names=_NAMED)
    for kind, sign in _REFUSED.items():
        if isinstance(node, kind):
            return _("'{sign}' is not allowed", sign=sign)
    return ""


def _is_shipped(template: nodes.Node) -> bool:
    return isinstance(template, nodes.Const) and template.value in _SHIPPED


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
