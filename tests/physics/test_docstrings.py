"""Every public formula is a data sheet: units, refusals, reference, example."""

import inspect
import pkgutil
import re
from collections.abc import Callable
from dataclasses import fields
from importlib import import_module
from typing import Any

import pytest

from kerfdocket import physics
from kerfdocket.physics.steel import Composition

_MODULES = sorted(
    module.name for module in pkgutil.iter_modules(physics.__path__) if module.name[0] != "_"
)
_FORMULAS = [name for name in _MODULES if name != "solve"]  # a means, no formula
_DOCUMENTED = re.compile(r"^ {4,8}(\w+): .*\[([^\]]+)\]$", flags=re.MULTILINE)
_ENTRY = re.compile(r"^ {4}(\w+): ", flags=re.MULTILINE)


def _formulas() -> list[Any]:
    found = []
    for name in _FORMULAS:
        module = import_module(f"kerfdocket.physics.{name}")
        for public in module.__all__:
            if inspect.isfunction(getattr(module, public)):
                found.append(pytest.param(getattr(module, public), id=f"{name}.{public}"))
    return found


def _section(text: str, title: str) -> str:
    match = re.search(rf"^{title}:\n(.*?)(?=^\S|\Z)", text, flags=re.MULTILINE | re.DOTALL)
    assert match, f"no section {title}"
    return match.group(1)


@pytest.mark.parametrize("formula", _formulas())
def test_every_argument_has_a_unit(formula: Callable[..., Any]) -> None:
    arguments = _section(inspect.getdoc(formula) or "", "Args")
    documented = [name for name, _unit in _DOCUMENTED.findall(arguments)]
    assert documented == _ENTRY.findall(arguments)
    assert documented == list(inspect.signature(formula).parameters)


@pytest.mark.parametrize("formula", _formulas())
def test_every_formula_states_result_refusals_source_and_example(
    formula: Callable[..., Any],
) -> None:
    text = inspect.getdoc(formula) or ""
    assert re.search(r"\[[^\]]+\]", _section(text, "Returns")), "the result has no unit"
    assert "ValueError" in _section(text, "Raises")
    assert "[1]" in _section(text, "References")
    assert ">>> " in text


@pytest.mark.parametrize("name", _MODULES)
def test_public_names_belong_to_the_module(name: str) -> None:
    module = import_module(f"kerfdocket.physics.{name}")
    own = {
        public
        for public, value in vars(module).items()
        if public[0] != "_"
        and (inspect.isfunction(value) or inspect.isclass(value))
        and value.__module__ == module.__name__
    }
    assert own <= set(module.__all__)
    assert len(set(module.__all__)) == len(module.__all__)


def test_composition_states_the_unit_of_every_element() -> None:
    documented = re.findall(r"^ {4}(\w+): \[mass %\]$", inspect.getdoc(Composition) or "", re.M)
    assert documented == [field.name for field in fields(Composition)]
